"""Reactions, factors of growth, growth of nitrifiers and heterotrophs, start-up."""

from __future__ import annotations

import math

import periodictable
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import minimize_scalar

from tailrace.biology import stoichiometry as st_
from tailrace.biology.factors import (
    alkalinity_monod_frac,
    arrhenius_factor,
    haldane_frac,
    monod_frac,
    nitrifier_ph_frac_ekama,
    nitrifier_ph_frac_usepa_1975,
    non_competitive_frac,
    theta_factor,
)
from tailrace.biology.heterotrophs import (
    denitrified_n_g_m3_s,
    denitrifier_growth_per_s,
    heterotroph_growth_per_s,
    hydrolysis_cod_g_m3_s,
    mineralised_n_g_s,
)
from tailrace.biology.inhibition import (
    free_ammonia_anthonisen_1976_g_m3,
    free_nitrous_acid_anthonisen_1976_g_m3,
    inhibition_onset,
    inhibition_onsets,
)
from tailrace.biology.nitrifiers import (
    DAY_S,
    ammonia_oxidiser_growth_per_s,
    ammonia_oxidiser_growth_usepa_1975_per_s,
    nitrite_half_saturation_usepa_1975_n_g_m3,
    nitrite_oxidiser_growth_per_s,
    substrate_use_g_m3_s,
)
from tailrace.biology.observed import observation, observations
from tailrace.biology.parameters import kinetic_parameter, kinetic_parameters
from tailrace.biology.startup import (
    crowded_growth_kg,
    growth_s,
    lowest_retention_s,
    lowest_substrate_g_m3,
)
from tailrace.errors import InputError, NotKnownError
from tailrace.sources import sources
from tailrace.water.ammonia import un_ionised_ammonia_frac

# --- stoichiometry ------------------------------------------------------------------------

# Printed with rounded coefficients: what a coefficient's last digit can leave over.
ROUNDED = {
    "ammonia_to_nitrate_ebeling_2006": 0.05,
    "heterotrophic_ebeling_2006": 0.06,
    "ammonia_to_nitrate_usepa_1975": 0.11,
}


@pytest.mark.parametrize("key", st_.reactions())
def test_a_reaction_makes_no_element_and_no_charge_out_of_nothing(key: str) -> None:
    left = st_.reactions()[key].imbalance()
    assert max(map(abs, left.values())) <= ROUNDED.get(key, 1e-9), left
    assert st_.reaction_source(key) in sources()


@pytest.mark.parametrize("species", ["C5H7O2N", "NO3-", "C6H12O6", "C106H263O110N16P", "HPO4-2"])
def test_molar_masses_are_those_of_a_library_of_the_elements(species: str) -> None:
    bare = species.split("-", maxsplit=1)[0]
    expected = float(periodictable.formula(bare).mass)
    assert st_.molar_mass_g_mol(species) == pytest.approx(expected, rel=2e-5)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("NH4+ + 2 O2", "one arrow"),
        ("NH4+ + 2 O2 -> NO3- -> N2", "one arrow"),
        ("ammonia -> NO3-", "not a number and a formula"),
        ("NH4+ + x O2 -> NO3-", "not a number and a formula"),
    ],
)
def test_a_reaction_that_cannot_be_read_is_said(text: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        st_.reaction_from(text)


def test_a_reaction_of_other_things_is_said() -> None:
    with pytest.raises(InputError, match="uses no NH4"):
        st_.reaction_from("C6H12O6 + 6 O2 -> 6 CO2 + 6 H2O").made_g_g("O2")
    with pytest.raises(InputError, match="element S is not one of"):
        st_.molar_mass_g_mol("H2SO4")
    with pytest.raises(NotKnownError, match="no reaction 'anammox'"):
        st_.reaction_source("anammox")


def test_cells_spare_oxygen_and_published_reactions_agree_on_how_much() -> None:
    table = st_.reactions()
    bare = -table["ammonia_to_nitrate"].made_g_g("O2")
    by_ebeling = -table["ammonia_to_nitrate_ebeling_2006"].made_g_g("O2")
    by_usepa = -table["ammonia_to_nitrate_usepa_1975"].made_g_g("O2")
    assert by_ebeling == pytest.approx(by_usepa, rel=0.01)
    assert by_ebeling < bare
    # Two steps with cells together, from memory: 4.2 g O2 and 7.1 g CaCO3 per g N in texts.
    first, second = table["ammonia_to_nitrite_usepa_1975"], table["nitrite_to_nitrate_usepa_1975"]
    assert -first.made_g_g("O2") - second.made_g_g("O2") == pytest.approx(4.2, abs=0.1)


@pytest.mark.outside(
    "tailrace.biology.stoichiometry.organic_demand_per_nitrate_kg_kg",
    source="form 2.86/(1 - 1.42 x 0.32) = 5.2, read in public source code that cites "
    "Metcalf & Eddy 5th ed., page 879",
)
def test_the_organic_demand_of_denitrification_is_the_handbook_s() -> None:
    assert st_.organic_demand_per_nitrate_kg_kg(1.42 * 0.32) == pytest.approx(5.2, abs=0.05)


# --- factors ------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.biology.factors.theta_factor",
    source="ratio of the printed ASM3 decay rates, 0.15 at 20 and 0.05 at 10 degC",
)
def test_a_theta_of_the_printed_ratio_gives_the_printed_rates() -> None:
    warm = kinetic_parameter("ASM3", "nitrifiers", parameter="b").value
    cool = kinetic_parameter("ASM3", "nitrifiers", parameter="b", temperature_degc=10.0).value
    theta = (warm / cool) ** 0.1
    assert warm * theta_factor(10.0, theta) == pytest.approx(cool)
    assert theta == pytest.approx(math.exp(0.11), abs=0.003)  # printed factor, from memory


@given(st.floats(0.0, 40.0), st.floats(3e4, 9e4))
def test_arrhenius_is_one_at_its_reference_and_rises(temperature: float, energy: float) -> None:
    assert arrhenius_factor(20.0, 20.0, energy) == 1.0
    there = arrhenius_factor(temperature, 20.0, energy)
    back = arrhenius_factor(20.0, temperature, energy)
    assert there * back == pytest.approx(1.0)
    assert arrhenius_factor(temperature + 1.0, 20.0, energy) > there


@pytest.mark.outside(
    "tailrace.biology.factors.monod_frac",
    "tailrace.biology.factors.non_competitive_frac",
    source="half at the half-saturation and complementary, Activated Sludge Model No. 1 (read)",
)
@given(st.floats(1e-3, 1e3), st.floats(1e-3, 1e3))
def test_a_switch_is_what_growth_leaves(concentration: float, half: float) -> None:
    on, off = monod_frac(concentration, half), non_competitive_frac(concentration, half)
    assert on + off == pytest.approx(1.0)
    assert monod_frac(half, half) == pytest.approx(0.5)
    assert monod_frac(0.0, 0.0) == alkalinity_monod_frac(0.0) == 0.0


@pytest.mark.outside(
    "tailrace.biology.factors.haldane_frac", source="scipy.optimize: maximum at sqrt(K Ki)"
)
@given(st.floats(0.1, 5.0), st.floats(1.0, 50.0))
def test_what_inhibits_itself_is_best_in_between(half: float, inhibition: float) -> None:
    best = minimize_scalar(
        lambda c: -haldane_frac(c, half, inhibition),
        bounds=(0.0, 100.0),
        method="bounded",
        options={"xatol": 1e-8},
    )
    assert float(best.x) == pytest.approx(math.sqrt(half * inhibition), rel=1e-3)


@given(st.floats(3.0, 12.0))
def test_ph_factors_are_shares(ph: float) -> None:
    for share in (
        nitrifier_ph_frac_usepa_1975(ph),
        nitrifier_ph_frac_ekama(ph),
    ):
        assert 0.0 <= share <= 1.0


def test_ph_factors_of_different_authors_part_below_seven() -> None:
    assert nitrifier_ph_frac_usepa_1975(7.2) == nitrifier_ph_frac_ekama(7.2) == 1.0
    assert nitrifier_ph_frac_usepa_1975(6.0) == pytest.approx(0.0, abs=1e-3)
    assert nitrifier_ph_frac_ekama(6.0) == pytest.approx(2.35**-1.2)


# --- inhibition ---------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.biology.inhibition.free_ammonia_anthonisen_1976_g_m3",
    source="Emerson and others 1975, whose constant was fitted to the same data",
)
@given(st.floats(6.0, 9.5), st.floats(5.0, 35.0))
def test_free_ammonia_is_the_un_ionised_ammonia_within_four_percent(
    ph: float, temperature: float
) -> None:
    # 6344 K is 2755 ln(10) against 2729.92 + 0.09018 T of Emerson, counted as NH3.
    emerson = un_ionised_ammonia_frac(ph, temperature) * 17.031 / 14.007
    ours = free_ammonia_anthonisen_1976_g_m3(1.0, ph, temperature)
    assert ours == pytest.approx(emerson, rel=0.04)


def test_nitrous_acid_falls_tenfold_with_each_unit_of_ph() -> None:
    low = free_nitrous_acid_anthonisen_1976_g_m3(5.0, 6.0, 25.0)
    assert low / free_nitrous_acid_anthonisen_1976_g_m3(5.0, 7.0, 25.0) == pytest.approx(10.0)
    # pKa of nitrous acid 3.25 to 3.4 at 25 degC (CRC Handbook, from memory).
    assert math.log10(math.exp(2300.0 / 298.0)) == pytest.approx(3.33, abs=0.1)


def test_nitrite_oxidisers_are_the_first_to_suffer_from_free_ammonia() -> None:
    first = inhibition_onset("free ammonia", "nitrite oxidisers")
    second = inhibition_onset("free ammonia", "ammonia oxidisers")
    assert first.high_g_m3 < second.low_g_m3
    assert {o.source for o in inhibition_onsets()} <= set(sources())
    with pytest.raises(NotKnownError, match="no onset known for copper"):
        inhibition_onset("copper", "nitrite oxidisers")


# --- growth -------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.biology.nitrifiers.nitrite_half_saturation_usepa_1975_n_g_m3",
    source="1.3 g N/m3 at 20 degC in texts after Knowles and others 1965, from memory",
)
def test_the_nitrite_half_saturation_is_that_of_texts() -> None:
    assert nitrite_half_saturation_usepa_1975_n_g_m3(20.0) == pytest.approx(1.3, abs=0.05)


@pytest.mark.outside(
    "tailrace.biology.nitrifiers.ammonia_oxidiser_growth_per_s",
    "tailrace.biology.nitrifiers.nitrite_oxidiser_growth_per_s",
    source="range of the highest growth in the published models of parameters.csv",
)
def test_two_step_growth_lies_within_the_published_models() -> None:
    published = [
        row.value
        for row in kinetic_parameters()
        if row.parameter == "mu_max" and row.temperature_degc == 20.0
        if row.organism in ("nitrifiers", "AOB", "NOB")
    ]
    plenty = ammonia_oxidiser_growth_per_s(20.0, 1e3, 50.0, 50.0, 7.5, 0.75 / DAY_S) * DAY_S
    assert min(published) - 0.05 < plenty < max(published)
    default = ammonia_oxidiser_growth_per_s(20.0, 1e3, 50.0, 50.0, 7.5) * DAY_S
    usepa = ammonia_oxidiser_growth_usepa_1975_per_s(20.0, 1e3, 50.0, 7.5) * DAY_S
    assert default / usepa == pytest.approx(1.0, abs=0.5)
    nitrite = nitrite_oxidiser_growth_per_s(20.0, 1e3, 50.0, 50.0, 0.0, 0.0, 1.0 / DAY_S)
    assert nitrite * DAY_S == pytest.approx(1.0, rel=0.05)


@given(st.floats(10.0, 30.0), st.floats(0.01, 5.0), st.floats(0.5, 9.0), st.floats(0.1, 4.0))
def test_growth_rises_with_all_that_it_needs(
    warm: float, ammonia: float, oxygen: float, alkalinity: float
) -> None:
    now = ammonia_oxidiser_growth_per_s(warm, ammonia, oxygen, alkalinity, 7.0)
    assert ammonia_oxidiser_growth_per_s(warm + 1, ammonia, oxygen, alkalinity, 7.0) > now
    assert ammonia_oxidiser_growth_per_s(warm, 2 * ammonia, oxygen, alkalinity, 7.0) > now
    assert ammonia_oxidiser_growth_per_s(warm, ammonia, 2 * oxygen, alkalinity, 7.0) > now
    assert ammonia_oxidiser_growth_per_s(warm, ammonia, oxygen, 2 * alkalinity, 7.0) > now
    assert ammonia_oxidiser_growth_per_s(warm, ammonia, oxygen, alkalinity, 6.5) < now
    nitrite = nitrite_oxidiser_growth_per_s(warm, ammonia, oxygen, alkalinity, 0.0, 0.0)
    assert nitrite_oxidiser_growth_per_s(warm, ammonia, oxygen, alkalinity, 1.0, 0.0) < nitrite
    assert nitrite_oxidiser_growth_per_s(warm, ammonia, oxygen, alkalinity, 0.0, 0.1) < nitrite


@pytest.mark.parametrize("left_out", ["ammonia", "oxygen", "alkalinity"])
def test_without_one_of_them_nothing_grows(left_out: str) -> None:
    ammonia, oxygen, alkalinity = (
        0.0 if name == left_out else 1.0 for name in ("ammonia", "oxygen", "alkalinity")
    )
    assert ammonia_oxidiser_growth_per_s(25.0, ammonia, oxygen, alkalinity, 7.0) == 0.0


@pytest.mark.outside(
    "tailrace.biology.heterotrophs.heterotroph_growth_per_s",
    "tailrace.biology.heterotrophs.denitrifier_growth_per_s",
    "tailrace.biology.heterotrophs.hydrolysis_cod_g_m3_s",
    "tailrace.biology.heterotrophs.denitrified_n_g_m3_s",
    source="rate expressions of Activated Sludge Model No. 1 as read in a library's documentation",
)
def test_heterotrophs_follow_the_forms_of_activated_sludge_model_1() -> None:
    top, organic, oxygen, nitrate, half = 6.0, 15.0, 0.3, 8.0, 20.0
    aerobic = top * organic / (half + organic) * oxygen / (0.2 + oxygen)
    assert heterotroph_growth_per_s(top / DAY_S, organic, oxygen) * DAY_S == pytest.approx(aerobic)
    anoxic = top * organic / (half + organic) * 0.2 / (0.2 + oxygen) * nitrate / (0.5 + nitrate)
    got = denitrifier_growth_per_s(top / DAY_S, organic, nitrate, oxygen) * DAY_S
    assert got == pytest.approx(0.8 * anoxic)
    solids, bacteria = 12.0, 100.0
    hydrolysed = 3.0 * (solids / bacteria) / (0.03 + solids / bacteria) * bacteria
    assert hydrolysis_cod_g_m3_s(solids, bacteria) * DAY_S == pytest.approx(hydrolysed)
    used = (1.0 - 0.67) / (2.86 * 0.67) * anoxic * bacteria  # 2.86 is printed
    got = denitrified_n_g_m3_s(anoxic / DAY_S, bacteria) * DAY_S
    assert got == pytest.approx(used, rel=0.002)
    assert hydrolysis_cod_g_m3_s(5.0, 0.0) == 0.0


def test_rates_of_use_and_of_rotting_are_proportional() -> None:
    assert substrate_use_g_m3_s(0.5 / DAY_S, 0.1, 20.0) * DAY_S == pytest.approx(100.0)
    assert mineralised_n_g_s(5.0, 1e-6, 30.0) == pytest.approx(5e-6 * 1.07**10)


# --- start-up -----------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.biology.startup.growth_s",
    "tailrace.biology.startup.crowded_growth_kg",
    "tailrace.biology.startup.lowest_substrate_g_m3",
    "tailrace.biology.startup.lowest_retention_s",
    source="scipy.integrate.solve_ivp of the growth laws",
)
def test_start_up_solves_its_growth_laws() -> None:
    growth, decay, days = 0.6 / DAY_S, 0.1 / DAY_S, 9.0
    grown = solve_ivp(
        lambda _, x: (growth - decay) * x, (0.0, days * DAY_S), [1e-6], rtol=1e-10, atol=1e-18
    ).y[0, -1]
    assert growth_s(1e-6, float(grown), growth, decay) == pytest.approx(days * DAY_S, rel=1e-5)
    crowded = solve_ivp(
        lambda _, x: growth * x * (1.0 - x / 2.0),
        (0.0, days * DAY_S),
        [0.01],
        rtol=1e-10,
        atol=1e-14,
    ).y[0, -1]
    assert crowded_growth_kg(0.01, 2.0, growth, days * DAY_S) == pytest.approx(
        float(crowded), rel=1e-6
    )
    least = lowest_substrate_g_m3(0.7, growth, decay)
    assert growth * monod_frac(least, 0.7) == pytest.approx(decay)
    assert lowest_retention_s(growth, decay) * (growth - decay) == pytest.approx(1.0)


def test_bacteria_that_do_not_grow_never_get_there() -> None:
    assert growth_s(1.0, 2.0, 1e-5, 1e-5) == math.inf
    assert growth_s(2.0, 1.0, 1e-5, 5e-6) == 0.0
    assert lowest_retention_s(0.1e-5, 0.2e-5) == math.inf
    assert lowest_substrate_g_m3(0.7, 0.1e-5, 0.2e-5) == math.inf
    assert crowded_growth_kg(0.0, 1.0, 1e-5, 1e5) == 0.0


# --- tables -------------------------------------------------------------------------------


def test_every_cell_names_a_source_and_how_it_was_obtained() -> None:
    known = {"opened", "from memory", "common practice", "judgement"}
    cells: list[tuple[str, str]] = []
    cells += [(row.source, row.obtained) for row in kinetic_parameters()]
    cells += [(row.source, row.obtained) for row in observations()]
    cells += [(row.source, row.obtained) for row in inhibition_onsets()]
    for source, obtained in cells:
        assert source in sources()
        assert obtained in known
        assert obtained != "opened" or sources()[source].obtained == "opened", source


def test_a_cell_that_is_not_there_is_answered_with_those_that_are() -> None:
    with pytest.raises(NotKnownError, match=r"no K_P at 20 degC.*There are K_N at 20 degC"):
        kinetic_parameter("ASM3", "nitrifiers", parameter="K_P")
    with pytest.raises(NotKnownError, match="ASM1: nitrifiers"):
        kinetic_parameter("ASM9", "nitrifiers", parameter="mu_max")
    with pytest.raises(NotKnownError, match="nothing observed of dreams"):
        observation("dreams", "at night")
