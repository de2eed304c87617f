"""Array calls of formulas on a million values, as multiples of the same arithmetic in bare NumPy.

Run as ``python benchmarks/formulas.py``; both are measured in one run, best of five, on one core.
The first call, which compiles, is left out and shown by itself.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray

from tailrace.water.ammonia import ammonium_pka_emerson_1975
from tailrace.water.oxygen import oxygen_saturation_g_m3
from tailrace.water.properties import density_kg_m3

COUNT = 1_000_000
Array = NDArray[np.float64]


def best_of_five(call: Callable[[], object]) -> float:
    """Shortest of five runs, in seconds of this process."""
    times = []
    for _ in range(5):
        begun = time.process_time()
        call()
        times.append(time.process_time() - begun)
    return min(times)


def bare_saturation(t: Array) -> Array:
    """Fresh-water saturation at one atmosphere, the same polynomial."""
    k = t + 273.15
    return np.asarray(
        np.exp(
            -139.34411
            + 1.575701e5 / k
            - 6.642308e7 / k**2
            + 1.243800e10 / k**3
            - 8.621949e11 / k**4
        )
    )


def bare_pka(t: Array) -> Array:
    """Return the acid constant of ammonium."""
    return np.asarray(0.09018 + 2729.92 / (t + 273.15))


def bare_density(t: Array) -> Array:
    """Kell's rational polynomial."""
    top = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - t * 280.54253e-12)))
    )
    return np.asarray(top / (1.0 + 16.897850e-3 * t))


def main() -> None:
    """Print one line a formula."""
    t = np.linspace(0.5, 39.5, COUNT)
    for name, formula, bare in (
        ("oxygen saturation", oxygen_saturation_g_m3, bare_saturation),
        ("pKa of ammonium", ammonium_pka_emerson_1975, bare_pka),
        ("density of water", density_kg_m3, bare_density),
    ):
        begun = time.process_time()
        formula(t)
        first = time.process_time() - begun
        ours, theirs = best_of_five(partial(formula, t)), best_of_five(partial(bare, t))
        print(
            f"{name:20} {ours / theirs:6.2f} x bare NumPy "
            f"({1e3 * ours:.0f} ms against {1e3 * theirs:.0f} ms; first call {first:.1f} s)"
        )


if __name__ == "__main__":
    main()
