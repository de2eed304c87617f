"""Chemicals in the water: the table, the amounts, what follows, and mixing."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from tailrace.errors import InputError, NotKnownError
from tailrace.water import molar_masses as mass
from tailrace.water.chemicals import PARTS, chemicals, product
from tailrace.water.chemistry import Water, balanced, charge_gap_eq_m3, mixed
from tailrace.water.dechlorination import (
    ammonia_from_chloramine_n_g_m3,
    dechlorinator,
    dechlorinator_g,
    dechlorinator_per_chlorine_kg_kg,
    dechlorinators,
)
from tailrace.water.dosing import (
    build_up,
    dose_for_alkalinity_g_m3,
    dose_for_hardness_g_m3,
    dose_for_part_g_m3,
    dose_for_ph_g_m3,
    dosed,
    outcome,
)
from tailrace.water.dosing_steps import Limits, steps
from tailrace.water.speciation import (
    at_calcite_and_carbon_dioxide,
    speciate,
    speciate_at_carbon_dioxide,
    speciate_at_ph,
)
from tailrace.water.species import Ions
from tests.geochemistry import bare_database, library, solution

LOOP = balanced(
    Water(
        temperature_degc=26.0,
        alkalinity_eq_m3=0.6,
        dic_mol_m3=0.95,
        total_ammonia_n_g_m3=1.5,
        phosphate_p_g_m3=8.0,
        nitrate_n_g_m3=40.0,
        calcium_g_m3=30.0,
        magnesium_g_m3=6.0,
        potassium_g_m3=40.0,
    )
)
TAP = balanced(
    Water(
        temperature_degc=12.0,
        alkalinity_eq_m3=3.6,
        dic_mol_m3=3.8,
        calcium_g_m3=62.0,
        magnesium_g_m3=9.0,
        sodium_g_m3=15.0,
    )
)
# Without nitrogen, which the library lets react to nitrogen gas as soon as anything is added.
QUIET = balanced(LOOP.changed(total_ammonia_n_g_m3=0.0, nitrate_n_g_m3=0.0))
share = st.floats(0.0, 1.0)


@pytest.fixture(scope="module")
def full() -> Any:
    return library("phreeqc.dat")


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Any:
    return bare_database(tmp_path_factory.mktemp("database"))


# --- the tables -------------------------------------------------------------------------------


@pytest.mark.parametrize("key", list(chemicals()))
def test_molar_masses_agree_with_the_elements_library(key: str) -> None:
    elements = pytest.importorskip("periodictable")
    ours = chemicals()[key].molar_mass_g_mol
    assert ours == pytest.approx(elements.formula(key).mass, rel=3e-5)


@pytest.mark.parametrize("key", list(chemicals()))
def test_the_alkalinity_of_a_chemical_follows_from_its_ions(key: str) -> None:
    found = chemicals()[key]
    charges = {"calcium": 2, "magnesium": 2, "potassium": 1, "sodium": 1, "ammonium": 1}
    charges |= {"chloride": -1, "sulfate": -2, "nitrate": -1, "phosphate": -1}
    alkalinity = sum(charges[part] * amount for part, amount in found.parts.items())
    assert found.alkalinity_eq_mol == alkalinity
    assert (found.alkalinity_eq_mol > 0) == (found.kind == "base")
    assert (found.alkalinity_eq_mol < 0) == (found.kind == "acid")


@pytest.mark.outside(
    "tailrace.water.dechlorination.dechlorinator_g",
    "tailrace.water.dechlorination.ammonia_from_chloramine_n_g_m3",
    source="periodictable (molar masses), with the reactions as written",
)
def test_dechlorination_agrees_with_the_elements_library() -> None:
    elements = pytest.importorskip("periodictable")
    chlorine = elements.formula("Cl2").mass
    formulas = {
        "sodium thiosulfate": "Na2S2O3",
        "ascorbic acid": "C6H8O6",
        "sodium ascorbate": "NaC6H7O6",
        "sodium sulfite": "Na2SO3",
        "sodium bisulfite": "NaHSO3",
        "sodium metabisulfite": "Na2S2O5",
    }
    for agent in dechlorinators():
        theirs = elements.formula(formulas[agent.key]).mass
        theirs += agent.hydrate_mol * elements.formula("H2O").mass
        per_chlorine = agent.agent_mol_per_chlorine_mol * theirs / chlorine
        assert dechlorinator_per_chlorine_kg_kg(agent) == pytest.approx(per_chlorine, rel=1e-4)
        ours = dechlorinator_g(2.0, 3.0, dechlorinator_per_chlorine_kg_kg(agent), 1.0)
        assert ours == pytest.approx(6.0 * per_chlorine, rel=1e-4)
    nitrogen = elements.formula("N").mass / chlorine
    assert ammonia_from_chloramine_n_g_m3(2.0, 0.3) == pytest.approx(2.0 * nitrogen + 0.3)


@pytest.mark.parametrize(
    ("text", "waters"), [("CaCl2.2H2O", 2), ("MgSO4·7H2O", 7), ("CaSO4.H2O", 1), (" NaCl ", 0)]
)
def test_water_of_crystallisation_may_stand_in_the_formula(text: str, waters: int) -> None:
    assert product(text).hydrate_mol == waters


def test_what_is_not_known_or_not_possible_is_said() -> None:
    with pytest.raises(NotKnownError, match=r"'NaF' is not known\. Known are: NaHCO3"):
        product("NaF")
    with pytest.raises(InputError, match="purity of NaCl is 95; it must be above 0 and up to 1"):
        product("NaCl", purity_frac=95.0)
    with pytest.raises(InputError, match="water of crystallisation of CaCl2 is -1"):
        product("CaCl2", hydrate_mol=-1.0)
    with pytest.raises(NotKnownError, match=r"'charm' is not known\. Known are: sodium thiosulf"):
        dechlorinator("charm")
    with pytest.raises(NotKnownError, match="ascorbic acid to gold"):
        dechlorinator("ascorbic acid", "gold")
    with pytest.raises(InputError, match="purity is 0"):
        dechlorinator_per_chlorine_kg_kg(dechlorinator("sodium sulfite"), purity_frac=0.0)


# --- doses ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("formula", "dose"),
    [
        ("NaHCO3", 60.0),
        ("KHCO3", 60.0),
        ("Na2CO3", 25.0),
        ("K2CO3", 20.0),
        ("Ca(OH)2", 15.0),
        ("CaCO3", 25.0),
        ("Mg(OH)2", 12.0),
        ("MgO", 8.0),
        ("HCl", 8.0),
        ("H2SO4", 10.0),
        ("H3PO4", 20.0),
        ("CaCl2", 50.0),
        ("KH2PO4", 30.0),
    ],
)
def test_ph_after_a_dose_agrees_with_the_geochemistry_library(
    full: Any, formula: str, dose: float
) -> None:
    """Source: phreeqpython (phreeqc.dat), which adds the same moles."""
    start = speciate_at_ph(QUIET, 6.6)
    theirs = solution(full, QUIET, names="full", ph=6.6)
    added = product(formula)
    theirs.add(formula, dose / added.product_g_mol)
    ours = speciate(dosed(start.water, added, dose))
    assert ours.ph == pytest.approx(theirs.pH, abs=0.005)


@pytest.mark.parametrize(
    ("formula", "named", "dose"),
    [("HNO3", "HNitO3", 15.0), ("NaHCO3", "NaHCO3", 60.0), ("NH4Cl", "AmmHCl", 5.0)],
)
def test_ph_after_a_dose_agrees_in_the_database_without_pairs(
    bare: Any, formula: str, named: str, dose: float
) -> None:
    """Source: phreeqpython; here nitrogen does not react."""
    start = speciate_at_ph(LOOP, 6.6, Ions.SEPARATE)
    theirs = solution(bare, LOOP, names="bare", ph=6.6)
    added = product(formula)
    theirs.add(named, dose / added.product_g_mol)
    ours = speciate(dosed(start.water, added, dose), Ions.SEPARATE)
    assert ours.ph == pytest.approx(theirs.pH, abs=0.005)


@given(st.sampled_from(list(chemicals())), st.floats(0.0, 500.0))
def test_a_dose_keeps_a_neutral_water_neutral(key: str, dose: float) -> None:
    after = dosed(TAP, product(key), dose)
    assert charge_gap_eq_m3(after) == pytest.approx(0.0, abs=1e-9 + 2e-3 * dose / 100.0)


@given(st.floats(0.01, 5.0), st.floats(0.1, 1.0))
def test_a_dose_for_alkalinity_brings_it(rise: float, purity: float) -> None:
    base = product("K2CO3", purity_frac=purity)
    after = dosed(LOOP, base, dose_for_alkalinity_g_m3(base, rise))
    assert after.alkalinity_eq_m3 == pytest.approx(LOOP.alkalinity_eq_m3 + rise)
    acid = product("HCl", purity_frac=purity)
    after = dosed(LOOP, acid, dose_for_alkalinity_g_m3(acid, -rise))
    assert after.alkalinity_eq_m3 == pytest.approx(LOOP.alkalinity_eq_m3 - rise)


@given(st.sampled_from(list(PARTS)), st.floats(0.1, 100.0))
def test_a_dose_for_an_ion_brings_it(part: str, rise: float) -> None:
    field = PARTS[part][0]
    for chemical in chemicals().values():
        if chemical.parts[part]:
            bag = product(chemical.key)
            after = dosed(LOOP, bag, dose_for_part_g_m3(bag, part, rise))
            assert getattr(after, field) == pytest.approx(getattr(LOOP, field) + rise)


@pytest.mark.parametrize(
    ("formula", "ph"), [("NaHCO3", 7.2), ("K2CO3", 8.4), ("NaOH", 9.5), ("HCl", 5.0)]
)
def test_a_dose_for_a_ph_reaches_it(formula: str, ph: float) -> None:
    bag = product(formula)
    dose = dose_for_ph_g_m3(LOOP, bag, ph)
    assert speciate(dosed(LOOP, bag, dose)).ph == pytest.approx(ph, abs=1e-6)


def test_a_dose_that_cannot_do_it_says_why() -> None:
    with pytest.raises(InputError, match=r"sodium bicarbonate .* does not bring this water from"):
        dose_for_ph_g_m3(LOOP, product("NaHCO3"), 9.5)
    with pytest.raises(InputError, match="hydrochloric acid does not raise alkalinity"):
        dose_for_alkalinity_g_m3(product("HCl"), 1.0)
    with pytest.raises(InputError, match="potassium chloride brings no sodium"):
        dose_for_part_g_m3(product("KCl"), "sodium", 1.0)
    with pytest.raises(InputError, match="rise of chloride is -1 g/m3"):
        dose_for_part_g_m3(product("KCl"), "chloride", -1.0)
    with pytest.raises(InputError, match="brings no hardness"):
        dose_for_hardness_g_m3(product("NaCl"), 10.0)
    with pytest.raises(InputError, match="dose is -1 g/m3"):
        dosed(LOOP, product("NaCl"), -1.0)
    assert dose_for_alkalinity_g_m3(product("HCl"), 0.0) == 0.0
    assert dose_for_ph_g_m3(LOOP, product("HCl"), speciate(LOOP).ph) == 0.0


def test_bicarbonate_lifts_ph_little_at_once_and_more_once_carbon_dioxide_has_left() -> None:
    found = outcome(LOOP, product("NaHCO3"), 60.0, carbon_dioxide_pa_abs=42.0)
    assert found.before.ph < found.now.ph < found.at_air.ph
    assert found.at_air.ph > 8.0
    assert found.at_air.carbon_dioxide_pa_abs == pytest.approx(42.0)
    assert found.at_air.un_ionised_ammonia_n_g_m3 > 3.0 * found.now.un_ionised_ammonia_n_g_m3


# --- steps ------------------------------------------------------------------------------------


@settings(max_examples=15, deadline=None)
@given(st.sampled_from(["NaHCO3", "K2CO3", "NaOH", "HCl"]), st.floats(2.0, 40.0), share)
@example("HCl", 40.0, 0.0)
def test_no_step_passes_a_limit(formula: str, dose: float, part: float) -> None:
    limits = Limits(ph_change=0.2 + part, un_ionised_ammonia_n_g_m3=0.02 + 0.1 * part)
    try:
        found = steps(LOOP, product(formula), dose, limits)
    except InputError as error:  # refusing is right where a step of fifty is still too large
        if "more than 50 steps" not in str(error):
            raise
        parts = [
            outcome(LOOP, product(formula), dose * n / 50.0, carbon_dioxide_pa_abs=42.0).now.ph
            for n in range(51)
        ]
        if max(abs(b - a) for a, b in pairwise(parts)) <= limits.ph_change:
            raise
        return
    states = found.states
    assert len(states) == found.count + 1
    assert found.each_g_m3 * found.count == pytest.approx(found.total_g_m3)
    for before, after in pairwise(states):
        assert abs(after.ph - before.ph) <= limits.ph_change + 1e-6
        assert after.un_ionised_ammonia_n_g_m3 <= limits.un_ionised_ammonia_n_g_m3 * (1 + 1e-5)
    assert (found.total_g_m3 < dose) == (found.limited_by == "toxic part")


def test_a_dose_that_would_poison_in_any_number_of_steps_is_cut() -> None:
    found = steps(LOOP, product("NaOH"), 40.0, Limits(0.3, 0.05))
    assert found.limited_by == "toxic part"
    assert found.states[-1].un_ionised_ammonia_n_g_m3 == pytest.approx(0.05, rel=1e-4)
    already = LOOP.changed(total_ammonia_n_g_m3=60.0)
    assert steps(already, product("NaOH"), 10.0, Limits(0.3, 0.01)).count == 0
    lowered = steps(already, product("HCl"), 4.0, Limits(0.5, 0.01))
    assert lowered.total_g_m3 == 4.0


def test_one_step_will_do_or_none_or_too_many() -> None:
    small = steps(LOOP, product("NaHCO3"), 5.0, Limits(0.3, 0.1))
    assert (small.count, small.limited_by) == (1, "nothing")
    none = steps(LOOP, product("NaHCO3"), 0.0, Limits(0.3, 0.1))
    assert (none.count, none.limited_by) == (0, "nothing")
    with pytest.raises(InputError, match="more than 50 steps"):
        steps(LOOP, product("NaHCO3"), 80.0, Limits(0.005, 0.1))
    with pytest.raises(InputError, match="both must be above zero"):
        steps(LOOP, product("NaHCO3"), 80.0, Limits(0.0, 0.1))


# --- build-up ---------------------------------------------------------------------------------


def test_sodium_builds_up_to_what_leaves_with_the_water() -> None:
    bag = product("NaHCO3")
    flow, dose = 0.05 / 86400.0, 20.0 / 86400.0
    found = build_up(
        bag,
        "sodium",
        product_g_s=dose,
        now_g_m3=20.0,
        make_up_g_m3=10.0,
        exchange_m3_s=flow,
        volume_m3=4.0,
    )
    brought = dose * mass.SODIUM_G_MOL / bag.product_g_mol
    assert flow * (found.in_the_end_g_m3 - 10.0) == pytest.approx(brought)
    assert 20.0 < found.after_a_year_g_m3 < found.in_the_end_g_m3
    closed = build_up(
        bag,
        "sodium",
        product_g_s=dose,
        now_g_m3=20.0,
        make_up_g_m3=10.0,
        exchange_m3_s=0.0,
        volume_m3=4.0,
    )
    assert closed.in_the_end_g_m3 == math.inf
    year = closed.after_a_year_g_m3 - 20.0
    assert year == pytest.approx(brought * 365.25 * 86400.0 / 4.0)
    none = build_up(
        product("KHCO3"),
        "sodium",
        product_g_s=dose,
        now_g_m3=20.0,
        make_up_g_m3=10.0,
        exchange_m3_s=0.0,
        volume_m3=4.0,
    )
    assert none.after_a_year_g_m3 == none.in_the_end_g_m3 == 20.0


# --- mixing and the record itself ---------------------------------------------------------------


def test_a_mixture_agrees_with_the_geochemistry_library(full: Any) -> None:
    """Source: phreeqpython (phreeqc.dat), which mixes the two solutions by mass."""
    for part in (0.1, 0.33, 0.7):
        old, new = speciate_at_ph(QUIET, 6.7), speciate_at_ph(TAP, 7.8)
        theirs = solution(full, QUIET, names="full", ph=6.7) * (1.0 - part)
        theirs = theirs + solution(full, TAP, names="full", ph=7.8) * part
        ours = speciate(mixed(old.water, new.water, part))
        assert ours.water.temperature_degc == pytest.approx(theirs.temperature, abs=0.01)
        assert ours.ph == pytest.approx(theirs.pH, abs=0.005)
        assert ours.water.dic_mol_m3 == pytest.approx(theirs.total_element("C"), rel=0.002)


@given(share)
def test_mixing_conserves_alkalinity_and_carbon_but_not_ph(part: float) -> None:
    found = mixed(LOOP, TAP, part)
    for name in ("alkalinity_eq_m3", "dic_mol_m3", "calcium_g_m3", "temperature_degc"):
        wanted = (1.0 - part) * getattr(LOOP, name) + part * getattr(TAP, name)
        assert getattr(found, name) == pytest.approx(wanted)
    assert charge_gap_eq_m3(found) == pytest.approx(0.0, abs=1e-9)


def test_a_water_that_cannot_be_is_refused_with_what_is_wrong() -> None:
    with pytest.raises(InputError, match="calcium_g_m3 of a water is -3; it must be a number"):
        TAP.changed(calcium_g_m3=-3.0)
    with pytest.raises(InputError, match="dic_mol_m3 of a water is nan"):
        TAP.changed(dic_mol_m3=math.nan)
    with pytest.raises(InputError, match="share of new water is 20"):
        mixed(LOOP, TAP, 20.0)
    with pytest.raises(InputError, match="cannot belong to the same water"):
        speciate_at_ph(TAP.changed(alkalinity_eq_m3=0.01), 9.5)
    with pytest.raises(InputError, match=r"must be above zero. Open air has about 42 Pa"):
        speciate_at_carbon_dioxide(TAP, 0.0)
    with pytest.raises(InputError, match="must be above zero"):
        at_calcite_and_carbon_dioxide(20.0, -1.0)
    with pytest.raises(InputError, match=r"no pH was found .* Check both"):
        speciate(TAP.changed(alkalinity_eq_m3=1e9))
    with pytest.raises(InputError, match=r"no pH was found .* under 42 Pa"):
        speciate_at_carbon_dioxide(TAP.changed(alkalinity_eq_m3=1e12), 42.0, Ions.SEPARATE)
