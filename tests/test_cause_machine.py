"""Signs that the tables ground on the machine model, held against the machine model itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from tailrace.beadfilter.charge import charge
from tailrace.beadfilter.circuit import water_state
from tailrace.beadfilter.machine import Day, Machine, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.diagnosis.catalogue import catalogue
from tests.logs import SCFH_M3_S, prototype

DAY = Day(27.0, 24.0, 101325.0)
OPENING = 0.70
MACHINE = prototype().filter.machine
GAP = needle_gap_for_float_m(MACHINE, OPENING, 0.175 * SCFH_M3_S, DAY)


def readings(machine: Machine, opening: float, gap: float) -> dict[str, float]:
    water = water_state(machine, opening, DAY)
    made = charge(machine, Setting(opening, gap), DAY, water=water)
    return {
        "air_float": made.float_start_m3_s / SCFH_M3_S,
        "backwash_count": made.per_day,
        "return": water.filter_flow_m3_s,
        "bypass": water.bypass_flow_m3_s,
    }


def air_pump(share: float) -> Callable[[Machine], Machine]:
    def change(machine: Machine) -> Machine:
        pump = machine.air_pump
        worn = replace(pump, maximum_pa_gauge=pump.maximum_pa_gauge * share)
        return replace(machine, air_pump=worn)

    return change


def same(machine: Machine) -> Machine:
    return machine


# What is changed for a fault: the machine, the opening of the bypass, the gap of the needle.
CASES: dict[str, tuple[Callable[[Machine], Machine], float, float]] = {
    "A2": (air_pump(0.85), OPENING, GAP),
    "A3": (same, OPENING, GAP - 3e-6),
    "A4": (same, OPENING, 0.05 * GAP),
    "A5": (air_pump(0.70), OPENING, GAP),
    "A6": (lambda m: replace(m, check_valve_pa=m.check_valve_pa + 2000.0), OPENING, GAP),
    "B1": (same, 0.0, GAP),
    "B2": (same, 1.0, GAP),
    "B6": (lambda m: replace(m, outlet_height_m=m.outlet_height_m + 0.3), OPENING, GAP),
    "C5": (same, OPENING, 3.0 * GAP),
}
WAY = {"low": -1, "bottom": -1, "high": 1, "few": -1, "none": -1, "many": 1}


@pytest.mark.parametrize("name", CASES)
def test_the_model_moves_float_and_count_the_way_the_tables_say(name: str) -> None:
    change, opening, gap = CASES[name]
    before, after = readings(MACHINE, OPENING, GAP), readings(change(MACHINE), opening, gap)
    for question in ("air_float", "backwash_count"):
        sign = catalogue().causes[name].signs[question]
        likeliest = max(sign.chances, key=lambda level: sign.chances[level])
        assert WAY[likeliest] * (after[question] - before[question]) > 0.0, (name, question)


def test_the_bypass_moves_both_flows_the_way_the_tables_say() -> None:
    healthy = readings(MACHINE, OPENING, GAP)
    shut, wide = readings(MACHINE, 0.0, GAP), readings(MACHINE, 1.0, GAP)
    assert shut["return"] > healthy["return"] > wide["return"]
    assert shut["bypass"] < healthy["bypass"] < wide["bypass"]
    causes = catalogue().causes
    assert "bypass_down" in causes["B1"].signs["two_flows"].chances
    assert "bypass_up" in causes["B2"].signs["two_flows"].chances
