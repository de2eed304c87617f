"""RODAS4, a Rosenbrock method of fourth order, as a reference for the engine's own stepper.

Hairer & Wanner, Solving Ordinary Differential Equations II, coefficients from memory; a test
holds it to its order. It solves a linear system each stage, so it shares nothing with RKC2.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import lu_factor, lu_solve

Array = NDArray[np.float64]
Function = Callable[[float, Array], Array]

GAMMA = 0.25
_A = (
    (),
    (1.544,),
    (0.9466785280815826, 0.2557011698983284),
    (3.314825187068521, 2.896124015972201, 0.9986419139977817),
    (1.221224509226641, 6.019134481288629, 12.53708332932087, -0.687886036105895),
)
_C = (
    (),
    (-5.6688,),
    (-2.430093356833875, -0.2063599157091915),
    (-0.1073529058151375, -9.594562251023355, -20.47028614809616),
    (7.496443313967647, -10.24680431464352, -33.99990352819905, 11.7089089320616),
    (
        8.083246795921522,
        -7.981132988064893,
        -31.52159432874371,
        16.31930543123136,
        -6.058818238834054,
    ),
)


def jacobian(f: Function, t: float, y: Array, f0: Array, active: NDArray[np.bool_]) -> Array:
    """Forward differences; states that nothing depends on are left out."""
    found = np.zeros((y.size, y.size))
    for i in np.flatnonzero(active):
        moved = y.copy()
        moved[i] += 1e-7 * max(abs(y[i]), 1e-3)
        found[:, i] = (f(t, moved) - f0) / (moved[i] - y[i])
    return found


def step(f: Function, t: float, y: Array, h: float, jac: Array) -> tuple[Array, Array]:
    """One step of a system that does not depend on time; returns the state and the error."""
    solved = lu_factor(np.eye(y.size) / (GAMMA * h) - jac)
    stages: list[Array] = []
    at = y
    for number in range(6):
        if number < 5:
            at = y + sum(
                (a * u for a, u in zip(_A[number], stages, strict=True)), np.zeros(y.size)
            )
        else:
            at = at + stages[-1]
        pull = sum((c * u for c, u in zip(_C[number], stages, strict=True)), np.zeros(y.size))
        stages.append(lu_solve(solved, f(t, at) + pull / h))
    return at + stages[-1], stages[-1]


def integrate(
    f: Function,
    y0: Array,
    until_s: float,
    *,
    active: NDArray[np.bool_],
    rtol: float = 1e-5,
    scale: Array | None = None,
) -> Array:
    """Follow a system to a time."""
    y, t, h = y0.copy(), 0.0, 60.0
    floor = np.full(y.size, 1e-3) if scale is None else scale
    while t < until_s:
        f0 = f(t, y)
        jac = jacobian(f, t, y, f0, active)
        while True:
            h = min(h, until_s - t)
            new, error = step(f, t, y, h, jac)
            size = np.maximum(np.abs(y), np.abs(new)) + floor
            off = float(np.max(np.abs(error[active]) / (rtol * size[active])))
            following = h * min(4.0, max(0.2, 0.9 * max(off, 1e-8) ** -0.25))
            if off <= 1.0:
                break
            h = following
        y, t, h = new, t + h, following
    return y
