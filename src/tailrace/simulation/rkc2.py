"""Second-order Runge-Kutta-Chebyshev steps: explicit, stable far along the negative axis.

Sommeijer, Shampine & Verwer, J. Comput. Appl. Math. 88 (1998) 315-326, from memory; a test holds
the coefficients to the order conditions and to the stability bound. `march` drives them.
"""

from __future__ import annotations

import math
from typing import Any

from tailrace.simulation.apart import rates_into
from tailrace.simulation.compiled import inlined_kernel, kernel
from tailrace.simulation.layout import Array

DAMPING = 2.0 / 13.0
MOST_STAGES = 250
_SAFETY = 1.2
_POWER_ITERATIONS = 8
_POWER_TOLERANCE = 0.1
_NUDGE = 1e-6
_SPARK = 1e-12  # so that a loop at rest still gives a direction


@kernel
def stages_for(h: float, spectral_radius_per_s: float) -> int:
    """Stages that keep a step stable.

    Parameters
    ----------
    h
        Step [s].
    spectral_radius_per_s
        Largest rate of the system.

    Returns
    -------
    int
        Stages, two or more.
    """
    return max(2, 1 + int(math.sqrt(1.54 * h * spectral_radius_per_s + 1.0)))


@kernel
def step(t: float, h: float, stages: int, y: Array, work: Array, c: Any) -> None:
    """One step.

    Parameters
    ----------
    t, h
        Time and step [s].
    stages
        Stages, two or more.
    y
        State at `t`.
    work
        Rows: rate at `t`; result, written to; then three rows of scratch.
    c
        Context of the right-hand side.
    """
    f0, new, last, before, rate = work[0], work[1], work[2], work[3], work[4]
    moving = c[1].moving
    w0 = 1.0 + DAMPING / (stages * stages)
    w1 = _shift(stages, w0)
    b_before = b_last = 1.0 / (4.0 * w0 * w0)  # b0 = b1 = b2
    t_before, t_last = 1.0, w0
    d_before, d_last, dd_before, dd_last = 0.0, 1.0, 0.0, 0.0
    c_before, c_last = 0.0, b_last * w1
    for i in range(moving):
        before[i] = y[i]
        last[i] = y[i] + h * c_last * f0[i]
    for _ in range(2, stages + 1):
        t_j = 2.0 * w0 * t_last - t_before
        d_j = 2.0 * w0 * d_last - d_before + 2.0 * t_last
        dd_j = 2.0 * w0 * dd_last - dd_before + 4.0 * d_last
        b_j = dd_j / (d_j * d_j)
        mu, nu = 2.0 * b_j * w0 / b_last, -b_j / b_before
        pull = 2.0 * b_j * w1 / b_last
        gamma = -(1.0 - b_last * t_last) * pull
        rates_into(t + h * c_last, last, rate, c)
        for i in range(moving):
            new[i] = (
                (1.0 - mu - nu) * y[i]
                + mu * last[i]
                + nu * before[i]
                + h * (pull * rate[i] + gamma * f0[i])
            )
        c_j = mu * c_last + nu * c_before + pull + gamma
        for i in range(moving):
            before[i] = last[i]
            last[i] = new[i]
        b_before, b_last, t_before, t_last = b_last, b_j, t_last, t_j
        d_before, d_last, dd_before, dd_last = d_last, d_j, dd_last, dd_j
        c_before, c_last = c_last, c_j
    for i in range(moving, y.size):
        new[i] = y[i]


@inlined_kernel
def _shift(stages: int, w0: float) -> float:
    """First over second derivative of the Chebyshev polynomial at w0."""
    t_before, t_last = 1.0, w0
    d_before, d_last, dd_before, dd_last = 0.0, 1.0, 0.0, 0.0
    for _ in range(2, stages + 1):
        t_j = 2.0 * w0 * t_last - t_before
        d_j = 2.0 * w0 * d_last - d_before + 2.0 * t_last
        dd_j = 2.0 * w0 * dd_last - dd_before + 4.0 * d_last
        t_before, t_last, d_before, d_last = t_last, t_j, d_last, d_j
        dd_before, dd_last = dd_last, dd_j
    return d_last / dd_last


@kernel
def error_of(h: float, y: Array, work: Array, c: Any, tolerance: float) -> float:
    """Estimated error of a step over what is allowed.

    Parameters
    ----------
    h
        Step [s].
    y
        State before it.
    work
        Rows as in `step`; row 4 holds the rate after it, row 7 the scale of each state.
    c
        Context.
    tolerance
        Relative tolerance.

    Returns
    -------
    float
        At most 1 when the step may stand; not a number when it failed. Ledgers do not count.
    """
    f0, new, f1, scale, moving = work[0], work[1], work[4], work[7], c[1].moving
    worst = 0.0
    for i in range(moving):
        if scale[i] > 0.0:
            size = max(abs(y[i]), abs(new[i])) + scale[i]
            off = abs(0.8 * (y[i] - new[i]) + 0.4 * h * (f0[i] + f1[i])) / (tolerance * size)
            if not math.isfinite(off):
                return math.nan
            worst = max(worst, off)
    return worst


@inlined_kernel
def _start(work: Array, moving: int) -> float:
    """Take the rate as direction where none is known; returns the direction's length."""
    f0, direction, scale = work[0], work[5], work[7]
    length = _length(direction, scale, moving)
    if length <= 0.0:
        for i in range(moving):
            direction[i] = f0[i] + _SPARK
        length = _length(direction, scale, moving)
    return length


@inlined_kernel
def _turn(t: float, y: Array, nudge: float, length: float, work: Array, c: Any) -> float:
    """Turn the direction towards the largest rate; returns its new length."""
    f0, moved, rate, direction, scale = work[0], work[2], work[4], work[5], work[7]
    moving = c[1].moving
    for i in range(moving):
        if scale[i] > 0.0:
            moved[i] = y[i] + direction[i] * nudge / length
    rates_into(t, moved, rate, c)
    for i in range(moving):
        direction[i] = rate[i] - f0[i]
    return _length(direction, scale, moving)


@kernel
def spectral_radius_per_s(t: float, y: Array, work: Array, c: Any) -> float:
    """Largest rate of the system, by power iteration on the right-hand side.

    Parameters
    ----------
    t
        Time [s].
    y
        State.
    work
        Row 0: rate at `y`; row 2 and 4: scratch; row 5: direction, kept from call to call.
    c
        Context.

    Returns
    -------
    float
        Estimate with a fifth for safety.
    """
    for i in range(y.size):
        work[2, i] = y[i]
    nudge = _NUDGE * _length(y, work[7], c[1].moving)
    length = _start(work, c[1].moving)
    found = 0.0
    for turn in range(_POWER_ITERATIONS):
        length = _turn(t, y, nudge, length, work, c)
        if length <= 0.0:
            break
        was, found = found, length / nudge
        if turn > 1 and abs(found - was) <= _POWER_TOLERANCE * found:
            break
    return found * _SAFETY


@kernel
def _length(vector: Array, scale: Array, moving: int) -> float:
    """Length of a vector, ledgers left out."""
    squares = 0.0
    for i in range(moving):
        if scale[i] > 0.0:
            squares += vector[i] * vector[i]
    return math.sqrt(squares)
