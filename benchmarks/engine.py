"""The engine against CVODE and LSODA, in one run: ``python -m benchmarks.engine``.

CPU seconds on the same right-hand side, without backwashes so that every solver can follow it.
The others call the compiled right-hand side through Python, which costs them some 50 us a call;
the figures say so. Writes ``benchmarks/results/engine.json``.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.integrate import solve_ivp

from tailrace.simulation import (
    Ensemble,
    Loop,
    Ration,
    Schedule,
    right_hand_side,
    simulate,
    start_state,
)
from tailrace.simulation.outputs import COLUMN
from tests.loops import DAY_S, classroom, farm, loop, stiff, usual, without_air

RESULTS = Path(__file__).parent / "results" / "engine.json"
WATCHED = ("total_ammonia", "nitrite", "nitrate", "oxygen", "ph", "alkalinity")


def timed(work: Callable[[], Any], rounds: int = 3) -> tuple[float, Any]:
    """Least CPU seconds of several rounds, and the last result."""
    best, result = float("inf"), None
    for _ in range(rounds):
        begun = time.process_time()
        result = work()
        best = min(best, time.process_time() - begun)
    return best, result


def against_others(of: Loop, feed_kg_day: float, days: float) -> dict[str, float]:
    """Measure the engine beside CVODE and LSODA on one loop."""
    ration = Ration(0.0, feed_kg_day / DAY_S, 0.35)
    start = start_state(of)
    control = start.control.copy()
    control["air_pump_on"] = 0.0
    sides = right_hand_side(of, start=replace(start, control=control), ration=ration)
    schedule = Schedule((ration, without_air()))
    until = days * DAY_S
    own_s, own = timed(lambda: simulate(of, start=start, schedule=schedule, until_s=until))
    exact = solve_ivp(sides, (0.0, until), sides.y0, "LSODA", rtol=1e-9, atol=1e-10).y[:, -1]
    truth = sides.measure(exact)
    lsoda_s, _ = timed(
        lambda: solve_ivp(sides, (0.0, until), sides.y0, "LSODA", rtol=1e-4, atol=1e-4), 1
    )
    found = {
        "own_s": own_s,
        "lsoda_s": lsoda_s,
        "speedup_vs_lsoda_compiled": lsoda_s / own_s,
        "error_frac": max(abs(own[n][-1] / truth[COLUMN[n]] - 1.0) for n in WATCHED),
        "balance_rel": max(own.balance_error.values()),
    }
    return found | _cvode(sides, until, own_s)


def _cvode(sides: Any, until: float, own_s: float) -> dict[str, float]:
    try:
        from sksundae.cvode import CVODE  # noqa: PLC0415  # optional
    except ImportError:
        return {}

    def function(t: float, y: Any, dy: Any) -> None:
        dy[:] = sides(t, y)

    solver = CVODE(function, rtol=1e-4, atol=1e-4)
    cvode_s, _ = timed(lambda: solver.solve(np.array([0.0, until]), sides.y0), 1)
    return {"cvode_s": cvode_s, "speedup_vs_cvode": cvode_s / own_s}


def ensemble(members: int = 200, days: float = 14.0) -> dict[str, float]:
    """Members a second, and how busy the cores were."""
    many = Ensemble(loop(), members)
    wall, cpu = time.perf_counter(), time.process_time()
    many.advance(days * DAY_S, usual(300.0, int(days)), tolerance=1e-3)
    wall, cpu = time.perf_counter() - wall, time.process_time() - cpu
    return {
        "wall_s": wall,
        "cpu_s": cpu,
        "cpu_over_wall": cpu / wall,
        "members_per_s": members / wall,
    }


def main() -> None:
    """Measure, print and write."""
    simulate(loop(), until_s=3600.0)
    cases = {"usual": (loop(), 0.3), "stiff": (stiff(), 0.3), "classroom": (classroom(), 0.006)}
    found: dict[str, Any] = {n: against_others(of, feed, 5.0) for n, (of, feed) in cases.items()}
    found["ensemble"] = ensemble()
    single, _ = timed(lambda: simulate(loop(), schedule=usual(300.0, 30), until_s=30.0 * DAY_S))
    year, run = timed(
        lambda: simulate(
            farm(),
            schedule=Schedule((Ration(0.0, 1.2 / DAY_S, 0.35),)),
            until_s=365.0 * DAY_S,
            every_s=DAY_S,
        ),
        1,
    )
    found["single_30_days_s"] = single
    found["farm_year_s"] = year
    found["farm_year_balance_rel"] = max(run.balance_error.values())
    found["cores"] = os.cpu_count()
    print(json.dumps(found, indent=2))
    RESULTS.parent.mkdir(exist_ok=True)
    RESULTS.write_text(json.dumps(found, indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
