"""The carbonate system: against libraries of geochemistry and of sea water, and by its laws."""

from __future__ import annotations

import math
import warnings
from itertools import product
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailrace.water import acid_constants, calcite
from tailrace.water.acid_constants import water_pkw
from tailrace.water.carbonate import (
    alkalinity_from_ph_and_dic_eq_m3,
    bicarbonate_mol_m3,
    carbon_dioxide_mol_m3,
    carbonate_mol_m3,
    dic_from_alkalinity_and_ph_mol_m3,
    ph_from_alkalinity_and_dic,
)
from tailrace.water.chemistry import Water, balanced
from tailrace.water.speciation import (
    at_calcite_and_carbon_dioxide,
    speciate,
    speciate_at_carbon_dioxide,
    speciate_at_ph,
)
from tailrace.water.species import Ions, species
from tests.geochemistry import bare_database, library, solution

CARBONATE = "tailrace.water.carbonate."
CONSTANTS = "tailrace.water.acid_constants."
temperature = st.floats(0.0, 45.0)
strength = st.floats(0.0, 100.0)


@pytest.fixture(scope="module")
def full() -> Any:
    return library("phreeqc.dat")


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory) -> Any:
    folder: Path = tmp_path_factory.mktemp("database")
    return bare_database(folder)


@pytest.fixture(scope="module")
def co2sys() -> Any:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of what PyCO2SYS imports
        return pytest.importorskip("PyCO2SYS")


# --- the short form against others ------------------------------------------------------------


@pytest.mark.outside(
    CARBONATE + "ph_from_alkalinity_and_dic",
    CARBONATE + "dic_from_alkalinity_and_ph_mol_m3",
    CARBONATE + "alkalinity_from_ph_and_dic_eq_m3",
    source="phreeqpython (phreeqc.dat)",
)
@pytest.mark.parametrize(
    ("t", "alkalinity", "ph"),
    [*product((5.0, 15.0, 25.0, 35.0), (0.2, 1.0, 3.0), (5.5, 7.0, 8.3))],
)
def test_simple_bicarbonate_water_agrees_with_the_geochemistry_library(
    full: Any, t: float, alkalinity: float, ph: float
) -> None:
    theirs = full.add_solution(
        {
            "units": "mmol/kgw",
            "temp": t,
            "pH": ph,
            "Na": f"{alkalinity} charge",
            "Alkalinity": alkalinity,
        }
    )
    dic, ionic = theirs.total_element("C"), 1000.0 * theirs.I
    # sodium's pairs, which the short form leaves out, show where pH hangs on a hair
    allowed = 0.02 if (alkalinity, ph) == (3.0, 8.3) else 0.01
    found = ph_from_alkalinity_and_dic(alkalinity, dic, 0.0, t, ionic)
    assert found == pytest.approx(ph, abs=allowed)
    ours = dic_from_alkalinity_and_ph_mol_m3(alkalinity, ph, 0.0, t, ionic)
    assert ours == pytest.approx(dic, rel=0.005)
    back = alkalinity_from_ph_and_dic_eq_m3(ph, dic, 0.0, t, ionic)
    assert back == pytest.approx(alkalinity, rel=0.005)


@pytest.mark.outside(
    CARBONATE + "carbon_dioxide_mol_m3",
    CARBONATE + "bicarbonate_mol_m3",
    CARBONATE + "carbonate_mol_m3",
    CARBONATE + "alkalinity_from_ph_and_dic_eq_m3",
    CONSTANTS + "carbonic_acid_pk2_plummer_busenberg_1982",
    CONSTANTS + "water_pkw",
    source="PyCO2SYS (fresh water of Millero 1979, salinity 0, free scale)",
)
@pytest.mark.parametrize(
    ("t", "dic", "ph"), [*product((5.0, 15.0, 25.0, 35.0), (500.0, 3000.0), (6.0, 7.5, 9.0, 10.0))]
)
def test_with_activities_off_it_agrees_with_the_sea_water_library_at_no_salt(
    co2sys: Any, t: float, dic: float, ph: float
) -> None:
    theirs = co2sys.sys(
        par1=dic,
        par2=ph,
        par1_type=2,
        par2_type=3,
        salinity=0.0,
        temperature=t,
        opt_k_carbonic=8,
        opt_pH_scale=3,
        total_borate=0.0,
    )
    mol_m3 = dic / 1000.0
    co2 = carbon_dioxide_mol_m3(mol_m3, ph, t, 0.0)
    assert co2 == pytest.approx(float(theirs["CO2"]) / 1000.0, rel=0.008)
    assert bicarbonate_mol_m3(mol_m3, ph, t, 0.0) == pytest.approx(
        float(theirs["HCO3"]) / 1000.0, rel=0.008
    )
    assert carbonate_mol_m3(mol_m3, ph, t, 0.0) == pytest.approx(
        float(theirs["CO3"]) / 1000.0, rel=0.012
    )
    alkalinity = float(theirs["alkalinity"]) / 1000.0
    assert ph_from_alkalinity_and_dic(alkalinity, mol_m3, 0.0, t, 0.0) == pytest.approx(
        ph, abs=0.01
    )
    assert 10.0 ** (-water_pkw(t)) == pytest.approx(float(theirs["k_water"]), rel=0.02)
    pk2 = acid_constants.carbonic_acid_pk2_plummer_busenberg_1982(t)
    assert pk2 == pytest.approx(-math.log10(float(theirs["k_carbonic_2"])), abs=0.005)


@pytest.mark.outside(
    CARBONATE + "ph_from_alkalinity_and_dic",
    "tailrace.water.alkalinity.phosphate_alkalinity_eq_m3",
    "tailrace.water.alkalinity.alkalinity_without_carbon_eq_m3",
    CONSTANTS + "phosphoric_acid_pk1",
    CONSTANTS + "phosphoric_acid_pk2",
    CONSTANTS + "phosphoric_acid_pk3",
    CONSTANTS + "mixed_acid_constant",
    source="phreeqpython (a database without pairs, Davies activity)",
)
@pytest.mark.parametrize(
    ("t", "ph", "phosphorus", "ammonia"),
    [*product((8.0, 28.0), (3.5, 6.2, 7.4, 9.0, 11.0), (0.0, 30.0), (0.0, 5.0))],
)
def test_phosphate_and_ammonia_in_the_alkalinity_agree_with_the_geochemistry_library(
    bare: Any, t: float, ph: float, phosphorus: float, ammonia: float
) -> None:
    theirs = bare.add_solution(
        {
            "units": "mmol/kgw",
            "temp": t,
            "pH": ph,
            "C": 2.0,
            "P": phosphorus / 30.974,
            "Amm": ammonia / 14.007,
            "Na": "6.0 charge",
            "Cl": 2.0,
        }
    )
    weights = {"HCO3-": 1, "CO3-2": 2, "OH-": 1, "H+": -1, "Amm": 1}
    weights |= {"HPO4-2": 1, "PO4-3": 2, "H3PO4": -1}
    amounts = theirs.species
    alkalinity = 1000.0 * sum(n * amounts.get(name, 0.0) for name, n in weights.items())
    ours = ph_from_alkalinity_and_dic(alkalinity, 2.0, ammonia, t, 1000.0 * theirs.I, phosphorus)
    assert ours == pytest.approx(ph, abs=0.005)


@pytest.mark.outside(
    CONSTANTS + "log_k_van_t_hoff", source="phreeqpython (phreeqc.dat, phosphate)"
)
@pytest.mark.parametrize("t", [5.0, 15.0, 35.0])
def test_a_constant_moved_by_its_heat_agrees_with_the_geochemistry_library(
    full: Any, t: float
) -> None:
    theirs = full.add_solution({"units": "mmol/kgw", "temp": t, "pH": 7.0, "P": 0.01})
    logs = {name: math.log10(theirs.activity(name)) for name in ("HPO4-2", "H2PO4-")}
    pk2 = 7.0 + logs["H2PO4-"] - logs["HPO4-2"]
    assert acid_constants.phosphoric_acid_pk2(t) == pytest.approx(pk2, abs=0.001)


# --- laws of the short form -------------------------------------------------------------------

state = {
    "alkalinity": st.one_of(st.just(0.0), st.floats(-20.0, 50.0)),
    "dic": st.one_of(st.just(0.0), st.floats(1e-9, 50.0)),
    "ammonia": st.one_of(st.just(0.0), st.floats(0.0, 100.0)),
    "phosphorus": st.one_of(st.just(0.0), st.floats(0.0, 100.0)),
}


@given(t=temperature, ionic=strength, **state)
def test_every_state_has_a_ph_and_its_residual_is_nothing(
    alkalinity: float, dic: float, ammonia: float, phosphorus: float, t: float, ionic: float
) -> None:
    ph = ph_from_alkalinity_and_dic(alkalinity, dic, ammonia, t, ionic, phosphorus)
    assert 0.0 < ph < 14.0
    back = alkalinity_from_ph_and_dic_eq_m3(ph, dic, ammonia, t, ionic, phosphorus)
    largest = abs(alkalinity) + dic + ammonia + phosphorus
    assert back == pytest.approx(alkalinity, abs=1e-11 * largest + 1e-14)


@given(st.floats(3.0, 11.5), st.floats(1e-3, 30.0), st.floats(0.0, 50.0), temperature, strength)
def test_ph_goes_to_alkalinity_and_back(
    ph: float, dic: float, phosphorus: float, t: float, ionic: float
) -> None:
    alkalinity = alkalinity_from_ph_and_dic_eq_m3(ph, dic, 1.0, t, ionic, phosphorus)
    back = ph_from_alkalinity_and_dic(alkalinity, dic, 1.0, t, ionic, phosphorus)
    assert back == pytest.approx(ph, abs=1e-6)
    if ph >= 5.0:
        carbon = dic_from_alkalinity_and_ph_mol_m3(alkalinity, ph, 1.0, t, ionic, phosphorus)
        assert carbon == pytest.approx(dic, rel=1e-4, abs=1e-6)


@given(st.floats(0.0, 50.0), st.floats(0.0, 14.0), temperature, strength)
def test_the_three_forms_of_carbon_add_up(dic: float, ph: float, t: float, ionic: float) -> None:
    forms = (carbon_dioxide_mol_m3, bicarbonate_mol_m3, carbonate_mol_m3)
    assert sum(form(dic, ph, t, ionic) for form in forms) == pytest.approx(dic, rel=1e-12)


@given(t=temperature, more=st.floats(1e-3, 5.0), **state)
def test_ph_rises_with_alkalinity_and_falls_with_carbon(
    alkalinity: float, dic: float, ammonia: float, phosphorus: float, t: float, more: float
) -> None:
    rest = (ammonia, t, 5.0, phosphorus)
    ph = ph_from_alkalinity_and_dic(alkalinity, dic, *rest)
    assert ph_from_alkalinity_and_dic(alkalinity + more, dic, *rest) > ph
    assert ph_from_alkalinity_and_dic(alkalinity, dic + more, *rest) <= ph


def test_pure_water_is_neutral_and_what_no_ph_fits_is_nan() -> None:
    assert ph_from_alkalinity_and_dic(0.0, 0.0, 0.0, 25.0, 0.0) == pytest.approx(
        water_pkw(25.0) / 2.0, abs=1e-9
    )
    beyond = ph_from_alkalinity_and_dic.unchecked()
    assert math.isnan(beyond(1e6, 0.0, 0.0, 25.0, 0.0, 0.0))
    assert math.isnan(dic_from_alkalinity_and_ph_mol_m3(0.001, 10.0, 0.0, 25.0, 0.0))


def test_the_compiled_search_finds_what_the_plain_one_finds() -> None:
    compiled = ph_from_alkalinity_and_dic.dispatcher()
    for given_state in product((-1.0, 0.0, 0.3, 2.0), (0.0, 0.3, 2.0), (0.0, 2.0), (12.0, 28.0)):
        plain = ph_from_alkalinity_and_dic(*given_state, 5.0, 4.0)
        assert compiled(*given_state, 5.0, 4.0) == pytest.approx(plain, abs=1e-9)


# --- the long form with and without pairs -----------------------------------------------------


def waters() -> list[tuple[Water, float]]:
    """Waters of every kind met in a loop, each with a pH."""
    found = []
    for number, (t, alkalinity, calcium, phosphorus, ph) in enumerate(
        product((6.0, 18.0, 30.0), (0.6, 2.0, 4.0), (0.0, 20.0, 60.0), (0.0, 8.0), (6.3, 7.4, 8.5))
    ):
        if number % 3:
            continue
        water = Water(
            temperature_degc=t,
            alkalinity_eq_m3=alkalinity,
            dic_mol_m3=0.0,
            total_ammonia_n_g_m3=2.0 if number % 2 else 0.0,
            phosphate_p_g_m3=phosphorus,
            nitrate_n_g_m3=50.0 if number % 4 == 0 else 0.0,
            calcium_g_m3=calcium,
            magnesium_g_m3=10.0 if calcium else 0.0,
            potassium_g_m3=40.0 if number % 5 == 0 else 0.0,
            sulfate_g_m3=40.0 if number % 7 == 0 else 0.0,
        )
        found.append((balanced(water), ph))
    return found


@pytest.mark.parametrize("ions", [Ions.PAIRED, Ions.SEPARATE])
def test_species_agree_with_the_geochemistry_library(full: Any, bare: Any, ions: Ions) -> None:
    """Source: phreeqpython with phreeqc.dat, and with a database without pairs."""
    engine, names = (full, "full") if ions is Ions.PAIRED else (bare, "bare")
    for water, ph in waters():
        ours = speciate_at_ph(water, ph, ions)
        theirs = solution(engine, water, names=names, ph=ph)
        assert ours.water.dic_mol_m3 == pytest.approx(theirs.total_element("C"), rel=0.001)
        assert ours.carbon_dioxide_mol_m3 == pytest.approx(
            1000 * theirs.species["CO2"], rel=0.0015
        )
        assert ours.ionic_strength_mol_m3 == pytest.approx(1000 * theirs.I, rel=0.001)
        if water.calcium_g_m3:
            index = ours.calcite_saturation_index
            assert index == pytest.approx(theirs.si("Calcite"), abs=0.0015)
        if water.total_ammonia_n_g_m3:
            amount = theirs.species["NH3" if names == "full" else "Amm"]
            share = 1000.0 * amount * 14.007 / water.total_ammonia_n_g_m3
            assert ours.un_ionised_ammonia_frac == pytest.approx(share, rel=0.002)


@pytest.mark.parametrize("ions", [Ions.PAIRED, Ions.SEPARATE])
def test_ph_after_carbon_leaves_agrees_with_the_geochemistry_library(
    full: Any, bare: Any, ions: Ions
) -> None:
    """Source: phreeqpython; the pressure is that of the carbon dioxide it finds."""
    engine, names = (full, "full") if ions is Ions.PAIRED else (bare, "bare")
    for water, ph in waters()[::4]:
        theirs = solution(engine, water, names=names, ph=ph)
        theirs.equalize(["CO2(g)"], [-3.0])
        pressure = speciate_at_ph(water, theirs.pH, ions).carbon_dioxide_pa_abs
        ours = speciate_at_carbon_dioxide(water, pressure, ions)
        assert ours.ph == pytest.approx(theirs.pH, abs=1e-6)
        assert ours.water.dic_mol_m3 == pytest.approx(theirs.total_element("C"), rel=0.002)
        if names == "bare":  # it has our solubility constant
            assert pressure == pytest.approx(101.325, rel=0.003)


@pytest.mark.outside(
    "tailrace.water.calcite.calcite_pksp_plummer_busenberg_1982",
    "tailrace.water.calcite.calcite_saturation_index",
    source="phreeqpython (a database without pairs, Davies activity)",
)
def test_water_over_calcite_agrees_with_the_geochemistry_library(bare: Any) -> None:
    for t, log_pressure in product((5.0, 25.0), (-3.4, -2.0)):
        theirs = bare.add_solution({"units": "mmol/kgw", "temp": t, "pH": 7.0})
        theirs.equalize(["Calcite", "CO2(g)"], [0.0, log_pressure])
        ours = at_calcite_and_carbon_dioxide(t, 101325.0 * 10.0**log_pressure, Ions.SEPARATE)
        assert ours.ph == pytest.approx(theirs.pH, abs=0.003)
        calcium = theirs.total_element("Ca")
        assert ours.water.calcium_g_m3 / 40.078 == pytest.approx(calcium, rel=0.003)
        short = calcite.calcite_saturation_index(
            40.078 * calcium, theirs.total_element("C"), theirs.pH, t, 1000.0 * theirs.I
        )
        assert short == pytest.approx(0.0, abs=0.003)


def test_without_pairs_the_long_form_is_the_short_one() -> None:
    for water, ph in waters()[::3]:
        long = speciate_at_ph(water, ph, Ions.SEPARATE)
        short = ph_from_alkalinity_and_dic(
            water.alkalinity_eq_m3,
            long.water.dic_mol_m3,
            water.total_ammonia_n_g_m3,
            water.temperature_degc,
            long.ionic_strength_mol_m3,
            water.phosphate_p_g_m3,
        )
        # they differ by the activity of uncharged species and by two fits of one constant
        assert short == pytest.approx(ph, abs=0.005)


@settings(max_examples=60, deadline=None)
@given(
    t=temperature,
    ph=st.floats(3.0, 11.0),
    dic=st.floats(0.0, 30.0),
    calcium=st.floats(0.0, 400.0),
    phosphorus=st.floats(0.0, 60.0),
    sodium=st.floats(0.0, 3000.0),
    ions=st.sampled_from(Ions),
)
def test_every_water_is_solved_and_its_amounts_add_up(
    t: float,
    ph: float,
    dic: float,
    calcium: float,
    phosphorus: float,
    sodium: float,
    ions: Ions,
) -> None:
    alkalinity = alkalinity_from_ph_and_dic_eq_m3(ph, dic, 3.0, t, 10.0, phosphorus)
    water = balanced(
        Water(
            temperature_degc=t,
            alkalinity_eq_m3=alkalinity,
            dic_mol_m3=dic,
            total_ammonia_n_g_m3=3.0,
            phosphate_p_g_m3=phosphorus,
            calcium_g_m3=calcium,
            sodium_g_m3=sodium,
        )
    )
    found = speciate(water, ions)
    amounts = found.amounts_mol_m3
    total = sum(amount for name, amount in amounts.items() if "Ca" in name)
    assert total == pytest.approx(calcium / 40.078, rel=1e-9, abs=1e-12)
    charges = {s.name: s.charge for s in species()}
    gap = sum(charges[name] * amount for name, amount in amounts.items())
    assert gap == pytest.approx(0.0, abs=1e-8 * (1.0 + sum(amounts.values())))


def test_pairs_lower_the_free_calcium_and_the_index() -> None:
    hard = balanced(
        Water(
            temperature_degc=25.0,
            alkalinity_eq_m3=3.0,
            dic_mol_m3=3.0,
            phosphate_p_g_m3=10.0,
            calcium_g_m3=60.0,
        )
    )
    paired, separate = speciate(hard, Ions.PAIRED), speciate(hard, Ions.SEPARATE)
    assert paired.amounts_mol_m3["Ca"] < separate.amounts_mol_m3["Ca"]
    assert paired.calcite_saturation_index < separate.calcite_saturation_index


def test_water_without_calcium_or_carbon_has_no_index_and_no_carbon_dioxide() -> None:
    bare_water = speciate(Water(temperature_degc=20.0, alkalinity_eq_m3=0.0, dic_mol_m3=0.0))
    assert bare_water.calcite_saturation_index == -math.inf
    assert bare_water.carbon_dioxide_mol_m3 == 0.0
    assert bare_water.carbon_dioxide_pa_abs == 0.0
    assert math.isnan(bare_water.un_ionised_ammonia_frac)
