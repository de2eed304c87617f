"""Weighings, rations, stock plans, balances and printed figures: against numerics and laws."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from tailrace.errors import InputError, NotKnownError, OutsideRangeError
from tailrace.husbandry import (
    all_printed,
    appetite_frac,
    fish_left,
    flow_through_treatment_m3_s,
    flow_to_carry_off_m3_s,
    flow_to_supply_m3_s,
    growth_time_s,
    mass_by_specific_growth_kg,
    printed,
    rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s,
    ration_from_growth_per_s,
    ration_steps,
    salmon_oxygen_uptake_liao_1971_per_s,
    specific_growth_per_s,
    stock_density_kg_m3,
    tabled_ration_per_s,
    tanks_in_turn,
    trout_oxygen_uptake_liao_1971_per_s,
)
from tailrace.quantities import subjects, suffixes
from tailrace.sources import sources

DAY_S = 86400.0
WEIGHTS = "tailrace.husbandry.weights."
SCIPY = "SciPy, integrated numerically"
COEFFICIENT = 0.2e-3 / DAY_S


# --- against a general library of numerics -------------------------------------------------


@pytest.mark.outside(
    WEIGHTS + "specific_growth_per_s", WEIGHTS + "mass_by_specific_growth_kg", source=SCIPY
)
def test_specific_growth_solves_its_equation() -> None:
    rate, time = 0.02 / DAY_S, 35.0 * DAY_S
    found = solve_ivp(lambda _, w: rate * w, (0.0, time), [0.010], rtol=1e-10, atol=1e-14)
    end = found.y[0, -1]
    assert mass_by_specific_growth_kg(0.010, rate, time) == pytest.approx(end, rel=1e-8)
    assert specific_growth_per_s(0.010, end, time) == pytest.approx(rate, rel=1e-8)


@pytest.mark.outside("tailrace.husbandry.stock.fish_left", source=SCIPY)
def test_steady_losses_solve_their_equation() -> None:
    rate, time = 0.002 / DAY_S, 200.0 * DAY_S
    found = solve_ivp(lambda _, n: -rate * n, (0.0, time), [1000.0], rtol=1e-10, atol=1e-10)
    assert fish_left(1000.0, rate, time) == pytest.approx(found.y[0, -1], rel=1e-8)


@pytest.mark.outside(
    WEIGHTS + "growth_time_s",
    "tailrace.husbandry.ration.ration_from_growth_per_s",
    source=SCIPY,
)
def test_a_ration_fed_at_its_conversion_grows_fish_in_the_time_of_the_growth_law() -> None:
    def seconds_for_a_gain(mass_kg: float) -> float:
        ration = ration_from_growth_per_s(mass_kg, COEFFICIENT, 14.0, 1.2)
        return 1.2 / (ration * mass_kg)

    time, _ = quad(seconds_for_a_gain, 0.050, 0.350)
    assert growth_time_s(0.050, 0.350, COEFFICIENT, 14.0) == pytest.approx(time, rel=1e-8)


# --- rations --------------------------------------------------------------------------------


def test_the_ration_table_joins_up_and_falls_with_size() -> None:
    steps = ration_steps()
    assert all(step.source in sources() for step in steps)
    for one, two in pairwise(steps):
        assert one.species == two.species
        assert one.to_mass_kg == two.from_mass_kg
        assert one.to_per_s == pytest.approx(two.from_per_s)
    assert all(step.to_per_s < step.from_per_s for step in steps)


def test_a_ration_outside_the_table_is_refused_with_what_is_allowed() -> None:
    with pytest.raises(OutsideRangeError, match=r"800 g, outside 0\.5 to 450 g"):
        tabled_ration_per_s("nile_tilapia", 0.800)
    with pytest.raises(NotKnownError, match="there is one for nile_tilapia"):
        tabled_ration_per_s("arctic_charr", 0.1)


@given(temperature=st.floats(-1.0, 45.0))
def test_appetite_is_a_share_and_nothing_outside(temperature: float) -> None:
    share = appetite_frac(temperature, 17.2, 25.0, 30.0, 32.0)
    assert 0.0 <= share <= 1.0
    assert (share == 1.0) == (25.0 <= temperature <= 30.0)
    if temperature <= 17.2 or temperature >= 32.0:
        assert share == 0.0


def test_temperatures_out_of_order_give_no_appetite_at_all() -> None:
    assert math.isnan(appetite_frac(20.0, 25.0, 17.0, 30.0, 32.0))


# --- breathing ------------------------------------------------------------------------------

UPTAKES = (
    trout_oxygen_uptake_liao_1971_per_s,
    salmon_oxygen_uptake_liao_1971_per_s,
    rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s,
)


@pytest.mark.parametrize("uptake", UPTAKES, ids=lambda f: f.name.rpartition(".")[2])
def test_fish_breathe_more_in_warmth_and_less_by_mass_when_big(uptake) -> None:  # type: ignore[no-untyped-def]
    warm = uptake(0.2, np.linspace(4.0, 22.0, 100))
    jump = 0.995 if uptake is salmon_oxygen_uptake_liao_1971_per_s else 1.0
    assert (warm[1:] >= jump * warm[:-1]).all()
    assert (np.diff(uptake(np.linspace(0.005, 2.0, 50), 12.0)) < 0.0).all()


def test_the_two_equations_of_trout_agree_in_warmer_water_and_differ_in_cold() -> None:
    def ratio(temperature_degc: float) -> float:
        liao = trout_oxygen_uptake_liao_1971_per_s(0.1, temperature_degc)
        other = rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s(0.1, temperature_degc)
        return liao / other

    assert all(0.85 < ratio(temperature) < 1.15 for temperature in (12.0, 15.0, 18.0, 20.0))
    assert all(1.5 < ratio(temperature) < 2.5 for temperature in (5.0, 8.0, 10.0))


# --- balances -------------------------------------------------------------------------------


@given(load=st.floats(1e-4, 1e3), inside=st.floats(0.1, 100.0), gap=st.floats(0.1, 100.0))
def test_flows_close_their_balance(load: float, inside: float, gap: float) -> None:
    brought = flow_to_supply_m3_s(load, inside + gap, inside) * gap
    assert brought == pytest.approx(load, rel=1e-9)
    carried = flow_to_carry_off_m3_s(load, inside + gap, inside) * gap
    assert carried == pytest.approx(load, rel=1e-9)
    assert flow_through_treatment_m3_s(load, inside, 0.5) * inside * 0.5 == pytest.approx(load)


def test_no_flow_is_enough_when_the_water_brings_nothing() -> None:
    assert math.isnan(flow_to_supply_m3_s(1.0, 5.0, 5.0))
    assert math.isnan(flow_to_carry_off_m3_s(1.0, 8.0, 9.0))


# --- stock in turn --------------------------------------------------------------------------


def test_the_plan_gives_back_the_production_and_keeps_the_density() -> None:
    wanted = 500.0 / (365.25 * DAY_S)
    plan = tanks_in_turn(
        wanted,
        3,
        growth_time_s=180.0 * DAY_S,
        harvest_mass_kg=0.5,
        density_kg_m3=40.0,
        survival_frac=0.9,
    )
    assert plan.harvest_kg / plan.interval_s == pytest.approx(wanted)
    assert plan.interval_s * plan.tanks == pytest.approx(180.0 * DAY_S)
    standing = stock_density_kg_m3(plan.fish_stocked / plan.tank_volume_m3, 0.9, 0.5)
    assert standing == pytest.approx(40.0, rel=0.01)
    assert plan.fish_stocked * 0.9 * 0.5 >= plan.harvest_kg


def test_a_plan_without_tanks_or_survivors_is_refused() -> None:
    with pytest.raises(InputError, match="0 tanks and a survival of 90 % cannot be planned"):
        tanks_in_turn(
            1e-5,
            0,
            growth_time_s=180.0 * DAY_S,
            harvest_mass_kg=0.5,
            density_kg_m3=40.0,
            survival_frac=0.9,
        )


# --- what is printed ------------------------------------------------------------------------


@pytest.mark.parametrize(
    "row", all_printed(), ids=lambda r: f"{r.species}-{r.quantity}-{r.kind}-{r.source}-{r.stage}"
)
def test_a_printed_row_is_in_order(row) -> None:  # type: ignore[no-untyped-def]
    assert row.low <= row.high
    assert math.isfinite(row.low) or math.isfinite(row.high)
    assert row.suffix in suffixes() or row.suffix == ""
    assert row.stage in ("", "egg", "fry", "juvenile", "adult")
    assert row.kind in ("optimum", "tolerated", "fed", "lives", "limit", "half_die")
    if row.quantity in subjects() and row.quantity != "nitrite":  # its basis is not always known
        assert row.suffix == subjects()[row.quantity].suffix
    if row.obtained == "opened":
        assert sources()[row.source].obtained == "opened"
        assert row.place


def test_sources_stand_side_by_side_and_one_can_be_asked_for() -> None:
    both = printed("channel_catfish", "water_temperature", kind="optimum")
    assert {row.source for row in both} == {"somerville_2014", "mcmahon_terrell_1982"}
    one = printed("channel_catfish", "water_temperature", kind="optimum", source="somerville_2014")
    assert [row.low for row in one] == [24.0]
    with pytest.raises(NotKnownError, match="nothing printed on 'koi'"):
        printed("koi", "oxygen")
