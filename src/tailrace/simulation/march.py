"""One member through time: steps, backwashes found on the way, events, samples.

An output at the time of an event is the state before it.
"""

from __future__ import annotations

import math
from typing import Any

from tailrace.simulation import layout as lay
from tailrace.simulation.apart import outputs_into, rates_into
from tailrace.simulation.compiled import inlined_kernel, kernel
from tailrace.simulation.fittings import Record
from tailrace.simulation.jumps import Act, act, backwash
from tailrace.simulation.layout import Array
from tailrace.simulation.rkc2 import MOST_STAGES, error_of, spectral_radius_per_s, stages_for, step

REFRESH = 25  # steps after which the largest rate is looked for again
_LONGEST_S = 7200.0
_SHORTEST_S = 1e-4
_AFTER_JUMP_S = 300.0  # after a jump a longer first step is mostly refused
_WORK_ROWS = 8
WORK_ROWS = _WORK_ROWS
DONE, STUCK = 0, 1
_FIRST_SETTING = int(Act.SETTING)


@kernel
def _cubic(
    theta: float, h: float, first: tuple[float, float], second: tuple[float, float]
) -> float:
    """Cubic through two values and their slopes, at a place between 0 and 1."""
    a, b = first[0], second[0]
    bulge = (theta - 1.0) * h * first[1] + theta * h * second[1]
    between = (1.0 - theta) * a + theta * b
    return between + theta * (theta - 1.0) * ((1.0 - 2.0 * theta) * (b - a) + bulge)


@kernel
def _blend(theta: float, h: float, y: Array, work: Array, moving: int) -> None:
    """State between the ends of a step: cubic for what moves."""
    out = work[6]
    for i in range(y.size):
        if i < moving:
            out[i] = _cubic(theta, h, (y[i], work[0, i]), (work[1, i], work[4, i]))
        else:
            out[i] = y[i]


@kernel
def _full(work: Array, g: Record, first: int) -> int:
    """Next filter whose air charge is full at the end of a step; -1 when there is none."""
    for f in range(first, g.filters):
        if work[1, g.filters_at + f * lay.FILTER + lay.AIR_CHARGE] >= 1.0:
            return f
    return -1


@kernel
def _crossing(h: float, y: Array, work: Array, i: int) -> float:
    """Part of a step at which an air charge is full, by bisection of its cubic."""
    first, second = (y[i], work[0, i]), (work[1, i], work[4, i])
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        if _cubic(middle, h, first, second) < 1.0:
            low = middle
        else:
            high = middle
    return high


@inlined_kernel
def _take(t: float, h: float, radius: float, y: Array, work: Array, c: Any) -> None:
    step(t, h, stages_for(h, radius), y, work, c)
    rates_into(t + h, work[1], work[4], c)


@inlined_kernel
def _first_full(h: float, y: Array, work: Array, g: Record) -> tuple[int, float]:
    """Filter whose air charge is full first within a step, and the part of the step."""
    which, part = -1, 2.0
    f = _full(work, g, 0)
    while f >= 0:
        crossed = _crossing(h, y, work, g.filters_at + f * lay.FILTER + lay.AIR_CHARGE)
        if crossed < part:
            which, part = f, crossed
        f = _full(work, g, f + 1)
    return which, part


@inlined_kernel
def _to_backwash(
    t: float, h: float, radius: float, y: Array, work: Array, c: Any
) -> tuple[float, int]:
    """Step again to the moment at which an air charge is full; returns the step and filter."""
    g = c[1]
    which, part = _first_full(h, y, work, g)
    if which < 0:
        return h, which
    charge = g.filters_at + which * lay.FILTER + lay.AIR_CHARGE
    part *= h
    _take(t, part, radius, y, work, c)
    growth = work[4, charge]
    if growth > 0.0:
        better = part - (work[1, charge] - 1.0) / growth
        if 0.0 < better <= h:
            part = better
            _take(t, part, radius, y, work, c)
    return part, which


@kernel
def _sample(
    t: float, h: float, y: Array, work: Array, c: Any, sink: tuple[Array, Array, Array], at: int
) -> int:
    """Write outputs due within a step; returns the position of the next."""
    times, outputs, states = sink
    while at < times.size and times[at] <= t + h:
        theta = (times[at] - t) / h if h > 0.0 else 0.0
        _blend(theta, h, y, work, c[1].moving)
        outputs_into(work[6], c, outputs[at])
        if states.shape[0] > at:
            for i in range(y.size):
                states[at, i] = work[6, i]
        at += 1
    return at


@inlined_kernel
def _next_step(h: float, error: float) -> float:
    if not math.isfinite(error):
        return 0.2 * h
    grown = 0.8 * math.pow(max(error, 1e-6), -1.0 / 3.0)
    return h * min(5.0, max(0.2, grown))


@inlined_kernel
def _attempt(
    span: tuple[float, float], radius: float, y: Array, work: Array, c: Any, tolerance: float
) -> tuple[float, float]:
    """Step from a time by at most a span; returns the step taken and the next; 0 if stuck."""
    t, h = span
    while h > _SHORTEST_S:
        stages = stages_for(h, radius)
        if stages > MOST_STAGES:
            h *= 0.5
            continue
        _take(t, h, radius, y, work, c)
        error = error_of(h, y, work, c, tolerance)
        following = _next_step(h, error)
        if error <= 1.0:
            return h, following
        h = min(following, 0.8 * h)
    return 0.0, h


@inlined_kernel
def _accept(y: Array, work: Array, moving: int) -> None:
    for i in range(moving):
        y[i] = work[1, i]
        work[0, i] = work[4, i]


@kernel
def _events_at(
    t: float, y: Array, c: Any, events: tuple[Array, Array, Array], at: int, drained: Array
) -> int:
    """Do every event due at a time; returns the position of the next."""
    times, kinds, numbers = events
    while at < times.size and times[at] <= t:
        drained[at] = act(times[at], y, c, int(kinds[at]), numbers[at])
        at += 1
    return at


@inlined_kernel
def _changes_rates(kinds: Array, first: int, last: int) -> bool:
    """Whether an event changed flows or temperature, and with them the largest rate."""
    greatest = -1
    for at in range(first, last):
        greatest = max(greatest, int(kinds[at]))
    return greatest >= _FIRST_SETTING


@inlined_kernel
def _note(places: Array, at: int, t: float) -> int:
    """Write a time down where there is room; returns the next place."""
    if at < places.size:
        places[at] = t
    return at + 1


@inlined_kernel
def _span(h: float, room: float) -> float:
    """Step to try: all the room when it is near, half of it rather than leave a sliver."""
    h = min(h, _LONGEST_S)
    if h >= room:
        return room
    return 0.5 * room if 2.0 * h > room else h


@inlined_kernel
def march(
    span: tuple[float, float, float],
    y: Array,
    c: Any,
    work: Array,
    events: tuple[Array, Array, Array],
    sink: tuple[Array, Array, Array],
    notes: tuple[Array, Array],
) -> tuple[float, int]:
    """Take one member from one time to another.

    Parameters
    ----------
    span
        From, until [s] and the relative tolerance.
    y
        State, changed.
    c
        Context.
    work
        Rows of scratch, `WORK_ROWS` x states.
    events
        Times, kinds and numbers, in order of time.
    sink
        Times at which outputs are due, outputs and states to write to.
    notes
        Times of backwashes (as many as fit) and dry mass drained at each event, written to.

    Returns
    -------
    tuple
        Time reached and `DONE` or `STUCK`.
    """
    t, until, tolerance = span
    event = sample = steps = 0
    washes, drained = notes
    seen = 0
    radius = 0.0
    u = c[3][0]
    h = u.step_s
    sample = _sample(t, 0.0, y, work, c, sink, sample)
    event = _events_at(t, y, c, events, event, drained)
    rates_into(t, y, work[0], c)
    while t < until:
        if steps % REFRESH == 0:
            radius = spectral_radius_per_s(t, y, work, c)
        steps += 1
        target = until if event >= events[0].size else min(until, events[0][event])
        room = target - t
        wanted = _span(h, room)
        taken, following = _attempt((t, wanted), radius, y, work, c, tolerance)
        if taken <= 0.0:
            return t, STUCK
        taken, full = _to_backwash(t, taken, radius, y, work, c)
        sample = _sample(t, taken, y, work, c, sink, sample)
        # A step cut short by an event says little about how long the next may be.
        h = max(h, following) if taken == wanted and wanted < h else following
        _accept(y, work, c[1].moving)
        t = target if taken == room else t + taken
        if full >= 0:
            backwash(t, y, c, full)
            seen = _note(washes, seen, t)
        before = event
        event = _events_at(t, y, c, events, event, drained)
        if full >= 0 or event != before:
            h = min(h, _AFTER_JUMP_S)
            rates_into(t, y, work[0], c)
        if event != before and _changes_rates(events[1], before, event):
            steps = 0
    u.step_s = h
    return t, DONE
