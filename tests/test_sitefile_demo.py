"""The invented demonstration sites say so, and their filters work as such filters do."""

from __future__ import annotations

from pathlib import Path

import pytest
from scipy.optimize import brentq

from tailrace.beadfilter.charge import Charge, Outcome, charge
from tailrace.beadfilter.machine import Day, Setting
from tailrace.hydraulics.valves import ValveKind
from tailrace.site.records import Site, UnitFamily
from tailrace.sitefile import SiteReading, read_site
from tailrace.water.air import pressure_at_altitude_pa_abs

DEMO = Path(__file__).parents[1] / "demo"
SITES = ("school", "yard")


def reading(name: str) -> SiteReading:
    return read_site((DEMO / name / "site.toml").read_bytes(), f"demo/{name}/site.toml")


def charge_at(site: Site, open_frac: float, gap_m: float) -> Charge:
    day = Day(
        site.water_temperature_degc,
        site.air_temperature_degc,
        float(pressure_at_altitude_pa_abs(site.altitude_m)),
    )
    return charge(site.filter.machine, Setting(open_frac, gap_m), day)


def gap_m(site: Site) -> float:
    start = site.filter.start
    return float(
        brentq(
            lambda gap: (
                charge_at(site, start.bypass_open_frac, gap).float_start_m3_s
                - start.air_float_m3_s
            ),
            2e-6,
            2e-4,
        )
    )


@pytest.mark.parametrize("name", SITES)
def test_says_that_it_is_invented(name: str) -> None:
    found = reading(name)
    assert found.site.invented
    assert "invented" in found.site.title
    assert "invented" in (DEMO / name / "site.toml").read_text(encoding="utf-8").split("\n")[0]
    assert found.implausible == ()


def test_two_families_and_two_valves() -> None:
    school, yard = (reading(name).site for name in SITES)
    assert (school.name, school.units) == ("lantern-school", UnitFamily.US)
    assert (yard.name, yard.units) == ("millrace-yard", UnitFamily.METRIC)
    assert school.filter.machine.bypass_valve is ValveKind.QUARTER_TURN
    assert yard.filter.machine.bypass_valve is ValveKind.GATE
    assert yard.filter.bypass_turns == 7.0


@pytest.mark.parametrize("name", SITES)
def test_backwashes_as_often_as_such_filters_do(name: str) -> None:
    # 4 to 7 a day at the usual setting: common practice, no source
    site = reading(name).site
    made = charge_at(site, site.filter.start.bypass_open_frac, gap_m(site))
    assert made.outcome is Outcome.CHARGING
    assert 4.0 <= made.per_day <= 7.0
    assert 2000.0 < made.margin_end_pa < made.margin_start_pa < 9000.0


@pytest.mark.parametrize("name", SITES)
def test_shut_bypass_overpowers_the_air(name: str) -> None:
    # the water overpowers the air with the bypass shut: common practice, no source
    site = reading(name).site
    assert charge_at(site, 0.0, gap_m(site)).outcome is Outcome.STALLED


@pytest.mark.parametrize("name", SITES)
def test_measured_flows_are_near_the_computed_ones(name: str) -> None:
    site = reading(name).site
    measured = site.filter.measured
    assert measured.bypass_open_frac is not None
    water = charge_at(site, measured.bypass_open_frac, gap_m(site)).water
    assert measured.return_flow_m3_s == pytest.approx(water.return_flow_m3_s, rel=0.05)
    assert measured.bypass_flow_m3_s == pytest.approx(water.bypass_flow_m3_s, rel=0.05)


@pytest.mark.parametrize("name", SITES)
def test_feed_is_modest_for_the_beads(name: str) -> None:
    # about 1 lb of feed a day for each cubic foot of beads: common practice, no source
    site = reading(name).site
    assert 0.3 < site.ration_kg / site.filter.machine.bed.volume_m3 / 16.018 < 0.7
