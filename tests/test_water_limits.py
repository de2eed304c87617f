"""Limits, exchange of water and dissolved gases: against general libraries, and by their laws."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tailrace.water import acid_constants, criteria, exchange, gases
from tailrace.water.air import oxygen_partial_pressure_pa_abs, vapour_pressure_pa_abs
from tailrace.water.nitrite import chloride_to_add_g_m3, nitrite_by_chloride_n_g_m3
from tailrace.water.oxygen import oxygen_saturation_g_m3
from tailrace.water.properties import density_kg_m3
from tests.geochemistry import library

ph = st.floats(6.5, 9.0)
warm = st.floats(0.0, 35.0)


# --- limits -------------------------------------------------------------------------------------


@given(ph, warm, st.floats(0.01, 0.5))
def test_ammonia_limits_fall_with_ph_and_never_rise_with_warmth(
    acidity: float, t: float, step: float
) -> None:
    for limit in (
        criteria.ammonia_acute_usepa_2013_n_g_m3,
        criteria.ammonia_acute_oncorhynchus_usepa_2013_n_g_m3,
        criteria.ammonia_chronic_usepa_2013_n_g_m3,
        criteria.ammonia_acute_no_mussels_usepa_2013_n_g_m3,
        criteria.ammonia_acute_oncorhynchus_no_mussels_usepa_2013_n_g_m3,
        criteria.ammonia_chronic_no_mussels_usepa_2013_n_g_m3,
        criteria.ammonia_chronic_no_mussels_no_early_stages_usepa_2013_n_g_m3,
        criteria.ammonia_chronic_usepa_1999_n_g_m3,
        criteria.ammonia_chronic_no_early_stages_usepa_1999_n_g_m3,
    ):
        here = limit(acidity, t)
        if acidity + step <= 9.0:
            assert limit(acidity + step, t) < here
        if t + step <= 35.0:
            assert limit(acidity, t + step) <= here


@given(ph, warm)
def test_ammonia_limits_stand_in_their_order(acidity: float, t: float) -> None:
    chronic = criteria.ammonia_chronic_usepa_2013_n_g_m3(acidity, t)
    with_trout = criteria.ammonia_acute_oncorhynchus_usepa_2013_n_g_m3(acidity, t)
    without = criteria.ammonia_acute_usepa_2013_n_g_m3(acidity, t)
    assert chronic < with_trout <= without + 1e-12
    early = criteria.ammonia_chronic_usepa_1999_n_g_m3(acidity, t)
    assert early <= criteria.ammonia_chronic_no_early_stages_usepa_1999_n_g_m3(acidity, t)
    salmonids = criteria.ammonia_acute_salmonids_usepa_1999_n_g_m3(acidity)
    assert salmonids < criteria.ammonia_acute_usepa_1999_n_g_m3(acidity)


@given(ph, warm)
def test_without_mussels_more_ammonia_is_allowed(acidity: float, t: float) -> None:
    pairs = (
        (
            criteria.ammonia_acute_usepa_2013_n_g_m3,
            criteria.ammonia_acute_no_mussels_usepa_2013_n_g_m3,
        ),
        (
            criteria.ammonia_acute_oncorhynchus_usepa_2013_n_g_m3,
            criteria.ammonia_acute_oncorhynchus_no_mussels_usepa_2013_n_g_m3,
        ),
        (
            criteria.ammonia_chronic_usepa_2013_n_g_m3,
            criteria.ammonia_chronic_no_mussels_usepa_2013_n_g_m3,
        ),
        (
            criteria.ammonia_chronic_no_mussels_usepa_2013_n_g_m3,
            criteria.ammonia_chronic_no_mussels_no_early_stages_usepa_2013_n_g_m3,
        ),
    )
    for mussels, none in pairs:
        assert mussels(acidity, t) <= none(acidity, t) * (1.0 + 1e-12)


def test_chloride_beyond_the_cap_gives_no_more_and_enough_asks_for_none() -> None:
    at_cap = nitrite_by_chloride_n_g_m3(40.0, 0.59, 3.9, 10.0, 40.0)
    assert nitrite_by_chloride_n_g_m3(400.0, 0.59, 3.9, 10.0, 40.0) == at_cap
    assert chloride_to_add_g_m3(1.0, 30.0, 10.0) == 0.0


# --- exchange -----------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.water.exchange.after_continuous_exchange_g_m3",
    "tailrace.water.exchange.replaced_frac",
    source="scipy (solve_ivp on the mass balance)",
)
@pytest.mark.parametrize(("flow", "dose"), [(0.0, 0.0), (0.0, 3.0), (0.4, 0.0), (0.4, 3.0)])
def test_continuous_exchange_agrees_with_the_balance_integrated(flow: float, dose: float) -> None:
    volume, source, start, days = 2.0, 5.0, 60.0, 9.0
    theirs = solve_ivp(
        lambda _, c: (flow * (source - c) + dose) / volume,
        (0.0, days),
        [start],
        rtol=1e-10,
        atol=1e-10,
    )
    ours = exchange.after_continuous_exchange_g_m3(
        start, source, flow / 86400.0, volume, days * 86400.0, dose / 86400.0
    )
    assert ours == pytest.approx(theirs.y[0, -1], rel=1e-8)
    if not dose:
        replaced = exchange.replaced_frac(flow / 86400.0, volume, days * 86400.0)
        mixture = start + replaced * (source - start)
        assert mixture == pytest.approx(theirs.y[0, -1], rel=1e-8)


@given(st.floats(0.0, 200.0), st.floats(0.0, 50.0), st.floats(0.01, 0.99), st.integers(0, 30))
def test_batch_exchange_is_one_change_after_the_other(
    start: float, source: float, share: float, count: int
) -> None:
    once = start
    for _ in range(count):
        once = exchange.after_batch_exchange_g_m3(once, source, share)
    all_at_once = exchange.after_batch_exchange_g_m3(start, source, share, float(count))
    assert all_at_once == pytest.approx(once, rel=1e-9, abs=1e-9)


@given(st.floats(1.0, 200.0), st.floats(0.0, 50.0), st.floats(0.02, 0.9), st.floats(0.0, 200.0))
def test_the_number_of_changes_is_the_smallest_that_does_it(
    start: float, source: float, share: float, target: float
) -> None:
    count = exchange.batch_exchanges_needed(start, source, share, target)
    between = min(start, source) <= target <= max(start, source)
    if not between or target == source:
        return
    reached = exchange.after_batch_exchange_g_m3(start, source, share, count)
    assert abs(reached - source) <= abs(target - source) * (1.0 + 1e-6) + 1e-9
    if count > 0.0:
        short = exchange.after_batch_exchange_g_m3(start, source, share, count - 1.0)
        assert abs(short - source) >= abs(target - source) * (1.0 - 1e-6) - 1e-9


@pytest.mark.parametrize(
    ("start", "source", "share", "target", "count"),
    [
        (50.0, 5.0, 0.2, 50.0, 0.0),  # already there
        (40.0, 5.0, 0.2, 50.0, 0.0),  # better than wanted
        (50.0, 5.0, 0.2, 4.0, math.inf),  # below what the new water has
        (50.0, 5.0, 0.0, 20.0, math.inf),
        (50.0, 5.0, 1.0, 20.0, 1.0),
        (50.0, 5.0, 1.0, 5.0, 1.0),
        (50.0, 5.0, 0.5, 5.0, math.inf),  # only ever nearer
        (5.0, 5.0, 0.5, 5.0, 0.0),
        (5.0, 5.0, 0.5, 6.0, math.inf),
        (100.0, 0.0, 0.5, 25.0, 2.0),  # exactly two
    ],
)
def test_the_number_of_changes_at_its_edges(
    start: float, source: float, share: float, target: float, count: float
) -> None:
    assert exchange.batch_exchanges_needed(start, source, share, target) == count


def test_the_repeating_peak_is_where_many_changes_lead() -> None:
    level, dose, volume, share, source = 0.0, 8.0, 1.5, 0.15, 3.0
    for _ in range(400):
        peak = level + dose / volume
        level = exchange.after_batch_exchange_g_m3(peak, source, share)
    day = 86400.0
    ours = exchange.peak_with_batch_exchange_g_m3(source, dose / day, day, share, volume)
    assert ours == pytest.approx(peak, rel=1e-9)


# --- gases --------------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.water.gases.nitrogen_saturation_hamme_emerson_2004_mol_m3",
    "tailrace.water.gases.nitrogen_partial_pressure_pa_abs",
    source="phreeqpython (phreeqc.dat, N2 gas)",
)
@pytest.mark.parametrize("t", [5.0, 15.0, 25.0, 35.0])
def test_nitrogen_agrees_with_the_geochemistry_library(t: float) -> None:
    engine: Any = library("phreeqc.dat")
    theirs = engine.add_solution({"units": "mmol/kgw", "temp": t, "pH": 7.0})
    pressure = gases.nitrogen_partial_pressure_pa_abs(t) / 101325.0
    theirs.equalize(["Ntg(g)"], [math.log10(pressure)])
    amount = theirs.total_element("Ntg") / 1000.0 * density_kg_m3(t)
    ours = gases.nitrogen_saturation_hamme_emerson_2004_mol_m3(t)
    assert ours == pytest.approx(amount, rel=0.025)


@given(st.floats(0.0, 40.0), st.floats(0.0, 40.0), st.floats(60e3, 110e3))
def test_water_at_equilibrium_with_air_has_the_pressure_of_the_air(
    t: float, salinity: float, pressure: float
) -> None:
    oxygen = oxygen_saturation_g_m3(t, salinity, pressure)
    total = gases.total_gas_pressure_pa_abs(oxygen, 1.0, t, salinity, pressure)
    assert total == pytest.approx(pressure, rel=0.0005)  # carbon dioxide is the rest


@given(st.floats(0.0, 40.0), st.floats(0.0, 20.0), st.floats(0.5, 1.5))
def test_nitrogen_is_found_back_from_the_excess_pressure(
    t: float, oxygen: float, share: float
) -> None:
    total = gases.total_gas_pressure_pa_abs(oxygen, share, t)
    back = gases.nitrogen_saturation_from_gas_excess_frac(total - 101325.0, oxygen, t)
    assert back == pytest.approx(share)


def test_warming_water_in_a_closed_pipe_supersaturates_it() -> None:
    cold, warmed = 8.0, 20.0
    oxygen = oxygen_saturation_g_m3(cold)
    nitrogen = gases.nitrogen_saturation_hamme_emerson_2004_mol_m3(cold)
    share = nitrogen / gases.nitrogen_saturation_hamme_emerson_2004_mol_m3(warmed)
    excess = gases.total_gas_pressure_pa_abs(oxygen, share, warmed) - 101325.0
    assert 0.2 < excess / 101325.0 < 0.35
    assert gases.gas_excess_at_depth_pa(excess, 4.0) < 0.0


def test_the_pressures_of_the_air_add_up() -> None:
    parts = (
        oxygen_partial_pressure_pa_abs(20.0),
        gases.nitrogen_partial_pressure_pa_abs(20.0),
        vapour_pressure_pa_abs(20.0),
    )
    assert sum(parts) == pytest.approx(101325.0 * 0.991, rel=0.001)  # the rest is argon


@pytest.mark.outside(
    "tailrace.water.gases.nitrogen_saturation_hamme_emerson_2004_mol_m3",
    "tailrace.water.gases.argon_saturation_hamme_emerson_2004_mol_m3",
    source="check values of the paper at 10 degC and 35 g/kg, from memory; density by gsw",
)
@pytest.mark.parametrize(
    ("formula", "umol_kg"),
    [
        (gases.nitrogen_saturation_hamme_emerson_2004_mol_m3, 500.885),
        (gases.argon_saturation_hamme_emerson_2004_mol_m3, 13.4622),
    ],
)
def test_nitrogen_and_argon_meet_the_check_values_of_their_paper(
    formula: Any, umol_kg: float
) -> None:
    import gsw  # noqa: PLC0415  # slow, wanted here alone

    salt = gsw.SA_from_SP(35.0, 0.0, 0.0, 0.0)
    kg_m3 = gsw.rho(salt, gsw.CT_from_t(salt, 10.0, 0.0), 0.0)
    assert formula(10.0, 35.0, 101325.0) / kg_m3 * 1e6 == pytest.approx(umol_kg, rel=5e-6)


@pytest.mark.outside(
    "tailrace.water.acid_constants.phosphoric_acid_pk1",
    "tailrace.water.acid_constants.phosphoric_acid_pk2",
    "tailrace.water.acid_constants.phosphoric_acid_pk3",
    source="handbook values at 25 degC (2.15, 7.20, 12.35), from memory",
)
def test_phosphoric_acid_has_the_constants_of_handbooks() -> None:
    assert acid_constants.phosphoric_acid_pk1(25.0) == pytest.approx(2.15, abs=0.03)
    assert acid_constants.phosphoric_acid_pk2(25.0) == pytest.approx(7.20, abs=0.03)
    assert acid_constants.phosphoric_acid_pk3(25.0) == pytest.approx(12.35, abs=0.05)
