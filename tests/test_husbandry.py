"""Fish, feed and limits: against printed figures, a geochemistry library, and laws."""

from __future__ import annotations

from collections.abc import Callable
from importlib.resources import files
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailrace.errors import NotKnownError, OutsideRangeError
from tailrace.husbandry import (
    Level,
    Limit,
    Stage,
    excreted_ammonia_by_share_n_g_s,
    excreted_total_ammonia_n_g_s,
    feed_solids_kg_s,
    grown_mass_kg,
    limit,
    limits,
    nile_tilapia_oxygen_uptake_per_s,
    released_nitrogen_kg_kg,
    respired_carbon_dioxide_kg_s,
    species,
    thermal_growth_kg13_per_degc_s,
)
from tailrace.quantities import subjects
from tailrace.sources import sources

DAY_S = 86400.0
LEVELS: tuple[Level, ...] = ("good", "act", "danger")
STAGES: tuple[Stage, ...] = ("", "egg", "fry", "juvenile", "adult")
GENERAL = [row for key in species() for row in limits(key)]
EVERY = GENERAL + [
    row for key in species() for stage in STAGES[1:] for row in limits(key, stage) if row.stage
]
NITROGEN_G_MOL = 14.007


def _name(row: Limit) -> str:
    return f"{row.species}{row.stage}-{row.quantity}-{row.side}-{row.level}"


def _value(key: str, quantity: str, side: str, level: str) -> float:
    found = limit(key, quantity, side, level)  # type: ignore[arg-type]  # from parametrize
    assert found is not None
    return found.value


# --- the tables ---------------------------------------------------------------------------


def test_there_are_twelve_species_and_more_of_warm_cool_and_cold_water() -> None:
    found = [row.water for row in species().values()]
    assert len(found) >= 12
    assert all(found.count(water) >= 3 for water in ("warm", "cool", "cold"))
    assert all(row.source in sources() for row in species().values())


@pytest.mark.parametrize("key", list(species()))
def test_what_harms_within_hours_has_a_limit_for_every_fish(key: str) -> None:
    for level in LEVELS:
        assert _value(key, "oxygen", "low", level) > 0.0
        assert _value(key, "un_ionised_ammonia", "high", level) > 0.0
    assert _value(key, "nitrite", "high", "good") > 0.0


@pytest.mark.parametrize("row", EVERY, ids=_name)
def test_row_is_in_order(row: Limit) -> None:
    subject = subjects()[row.quantity]
    assert row.suffix == subject.suffix, "a limit is kept in the unit of the log"
    assert subject.possible_low <= row.value <= subject.possible_high
    assert row.side in ("low", "high")
    assert row.level in LEVELS
    source = sources()[row.source]
    if row.obtained == "opened":
        assert source.obtained == "opened", "an opened figure needs an opened source"
        assert row.place, "an opened figure has a place"
    if row.obtained == "common practice":
        assert row.source == "common_practice"
    if row.quantity.endswith("ammonia") or row.quantity in ("nitrite", "nitrate"):
        assert row.note.startswith("as N;") or row.note == "as N", "the basis is said"


def test_no_cell_stands_twice() -> None:
    cells = [_name(row) for row in EVERY]
    assert len(cells) == len(set(cells))


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("key", list(species()))
def test_limits_grow_more_severe_outwards(key: str, stage: Stage) -> None:
    for quantity, side in product(sorted({r.quantity for r in EVERY}), ("low", "high")):
        rows = limits(key, stage)
        found = {r.level: r.value for r in rows if (r.quantity, r.side) == (quantity, side)}
        steps = [found[level] for level in LEVELS if level in found]
        sign = 1.0 if side == "high" else -1.0
        assert all(sign * (b - a) > 0 for a, b in pairwise(steps)), (key, quantity, side)


@pytest.mark.parametrize("stage", STAGES)
@pytest.mark.parametrize("key", list(species()))
def test_comfort_is_not_empty(key: str, stage: Stage) -> None:
    for quantity in ("water_temperature", "ph"):
        low = limit(key, quantity, "low", "good", stage)
        high = limit(key, quantity, "high", "good", stage)
        assert low is not None
        assert high is not None
        assert low.value < high.value


def test_eggs_and_fry_have_limits_of_their_own_in_every_kind_of_water() -> None:
    found = {row.species for row in EVERY if row.stage in ("egg", "fry")}
    assert {species()[key].water for key in found} == {"warm", "cool", "cold"}
    trout = limit("rainbow_trout", "water_temperature", "high", "danger", "egg")
    grown = limit("rainbow_trout", "water_temperature", "high", "danger")
    assert trout is not None
    assert grown is not None
    assert trout.value < grown.value


# --- the 3 ppm rule -----------------------------------------------------------------------


@pytest.mark.parametrize("key", list(species()))
def test_total_ammonia_limits_hold_only_between_ph_6_8_and_7_2(key: str) -> None:
    rows = [row for row in limits(key) if row.quantity == "total_ammonia"]
    assert rows
    for row in rows:
        assert [row.holds_at(ph) for ph in (6.79, 6.8, 7.0, 7.2, 7.21, None)] == [
            False,
            True,
            True,
            True,
            False,
            False,
        ]


@pytest.fixture(scope="module")
def toxic_part() -> Callable[[float, float, float], float]:
    """Un-ionised ammonia, g N/m3, of a total in a dilute salt solution, by PHREEQC."""
    from phreeqpython import PhreeqPython  # noqa: PLC0415  # slow, wanted here alone

    library = PhreeqPython()

    def found(total_n_g_m3: float, ph: float, temperature_degc: float) -> float:
        solution = library.add_solution(
            {
                "units": "mmol/l",
                "pH": ph,
                "temp": temperature_degc,
                "Amm": total_n_g_m3 / NITROGEN_G_MOL,
                "Na": 5.0,
                "Cl": 5.0,
            }
        )
        share = solution.species["Amm"] / (solution.species["Amm"] + solution.species["AmmH+"])
        return float(share * total_n_g_m3)

    return found


def test_three_ppm_in_its_band_leaves_tilapia_below_their_toxic_limit(
    toxic_part: Callable[[float, float, float], float],
) -> None:
    warmest = _value("nile_tilapia", "water_temperature", "high", "act")
    assert toxic_part(3.0, 7.2, warmest) < _value(
        "nile_tilapia", "un_ionised_ammonia", "high", "good"
    )


def test_three_ppm_outside_its_band_would_not_be_safe(
    toxic_part: Callable[[float, float, float], float],
) -> None:
    assert toxic_part(3.0, 8.2, 28.0) > _value("nile_tilapia", "un_ionised_ammonia", "high", "act")
    assert (
        toxic_part(3.0, 8.2, 22.0)
        > _value("yellow_perch", "un_ionised_ammonia", "high", "danger") / 2
    )


def test_the_species_decides_at_the_edge_of_the_band(
    toxic_part: Callable[[float, float, float], float],
) -> None:
    act = _value("yellow_perch", "un_ionised_ammonia", "high", "act")
    assert toxic_part(3.0, 6.8, 22.0) < act
    assert toxic_part(3.0, 7.2, 24.0) > act


# --- accessors ----------------------------------------------------------------------------


def test_unknown_names_are_answered_with_the_known_ones() -> None:
    with pytest.raises(NotKnownError, match=r"'koi' is not in the table\. Known: nile_tilapia"):
        limits("koi")
    with pytest.raises(NotKnownError, match=r"'phosphate' is not known\. Limits are given"):
        limit("yellow_perch", "phosphate", "high", "act")


def test_a_gap_is_none_and_not_a_guess() -> None:
    assert limit("yellow_perch", "nitrate", "high", "danger") is None
    assert limit("yellow_perch", "water_temperature", "low", "danger") is None


def test_a_limit_is_passed_beyond_it_and_not_at_it() -> None:
    low = limit("nile_tilapia", "oxygen", "low", "act")
    high = limit("nile_tilapia", "nitrite", "high", "act")
    assert low is not None
    assert high is not None
    assert [low.is_passed(v) for v in (3.9, 4.0, 4.1)] == [True, False, False]
    assert [high.is_passed(v) for v in (0.9, 1.0, 1.1)] == [False, False, True]


# --- printed figures and libraries --------------------------------------------------------

FEED = "tailrace.husbandry.feed."
GROWTH = "tailrace.husbandry.growth."


@pytest.mark.outside(
    FEED + "excreted_total_ammonia_n_g_s", source="Timmons & Ebeling, from memory"
)
@pytest.mark.parametrize(
    ("feed_kg_d", "protein", "printed_g_d"), [(100.0, 0.35, 3220.0), (2.5, 0.45, 103.5)]
)
def test_ammonia_from_feed(feed_kg_d: float, protein: float, printed_g_d: float) -> None:
    found = excreted_total_ammonia_n_g_s(feed_kg_d / DAY_S, protein) * DAY_S
    assert found == pytest.approx(printed_g_d, rel=0.005)


@pytest.mark.outside(
    FEED + "excreted_ammonia_by_share_n_g_s", source="FAO 589 (2014), Appendix 4, from memory"
)
def test_ammonia_as_a_share_of_the_nitrogen_fed() -> None:
    found = excreted_ammonia_by_share_n_g_s(0.2 / DAY_S, 0.32) * DAY_S
    assert found == pytest.approx(6.25, rel=0.01)


def test_the_two_ways_to_ammonia_differ_by_six_percent() -> None:
    ratio = excreted_ammonia_by_share_n_g_s(1e-5, 0.35) / excreted_total_ammonia_n_g_s(1e-5, 0.35)
    assert ratio == pytest.approx(1.061, abs=0.001)


@pytest.mark.outside(
    GROWTH + "thermal_growth_kg13_per_degc_s",
    source="Iwama & Tautz 1981 form, worked numbers from a public note",
)
def test_growth_coefficient_of_a_worked_example() -> None:
    found = thermal_growth_kg13_per_degc_s(
        0.010, 0.350, water_temperature_degc=11.0, duration_s=200.0 * DAY_S
    )
    assert found * DAY_S / 1e-3 == pytest.approx(0.222, abs=0.0005)


@pytest.mark.outside(FEED + "respired_carbon_dioxide_kg_s", source="PHREEQC gram formula weights")
def test_carbon_dioxide_is_the_ratio_of_molar_masses() -> None:
    text = (files("phreeqpython") / "database" / "phreeqc.dat").read_text(encoding="latin-1")
    weights = {
        cells[0]: float(cells[4])
        for line in text.splitlines()
        if len(cells := line.split()) == 5 and cells[0] in ("C", "O") and cells[1][-1:] != "+"
    }
    ratio = (weights["C"] + 2.0 * weights["O"]) / (2.0 * weights["O"])
    assert respired_carbon_dioxide_kg_s(1.0) == pytest.approx(ratio, rel=5e-4)


# --- laws ---------------------------------------------------------------------------------

MASS = st.floats(0.001, 2.0)
TEMPERATURE = st.floats(5.0, 35.0)
DURATION = st.floats(60.0, 400.0).map(lambda days: days * DAY_S)


@given(start=MASS, gain=st.floats(1.0, 10.0), temperature=TEMPERATURE, duration=DURATION)
def test_growth_and_its_coefficient_are_inverse(
    start: float, gain: float, temperature: float, duration: float
) -> None:
    coefficient = thermal_growth_kg13_per_degc_s(
        start, start * gain, water_temperature_degc=temperature, duration_s=duration
    )
    grown = grown_mass_kg(
        start, coefficient, water_temperature_degc=temperature, duration_s=duration
    )
    assert grown == pytest.approx(start * gain, rel=1e-9)


@given(protein=st.floats(0.28, 0.6), conversion=st.floats(1.0, 3.0))
def test_ammonia_excreted_is_part_of_the_nitrogen_released(
    protein: float, conversion: float
) -> None:
    ammonia_kg_kg = excreted_total_ammonia_n_g_s(1e-3, protein)
    kept_kg_kg = 0.0272 / conversion
    released = released_nitrogen_kg_kg(protein, conversion)
    assert released + kept_kg_kg == pytest.approx(0.16 * protein)
    if conversion >= 1.5:
        assert ammonia_kg_kg < released


def test_oxygen_uptake_rises_with_warmth_and_falls_with_size_over_its_whole_range() -> None:
    valid = nile_tilapia_oxygen_uptake_per_s.valid
    mass, temperature = np.meshgrid(
        np.linspace(*valid["fish_mass_kg"], 60), np.linspace(*valid["water_temperature_degc"], 60)
    )
    uptake = nile_tilapia_oxygen_uptake_per_s(mass, temperature)
    assert (np.diff(uptake, axis=0) > 0).all()
    assert (np.diff(uptake, axis=1) < 0).all()


def test_arrays_agree_with_single_values() -> None:
    feed = np.array([[0.0, 1e-6], [2e-6, 5e-6]])
    found = excreted_total_ammonia_n_g_s(feed, np.array([0.32, 0.45]))
    assert found.shape == (2, 2)
    assert found[1, 1] == pytest.approx(excreted_total_ammonia_n_g_s(5e-6, 0.45))
    grown = grown_mass_kg(
        np.array([0.05, 0.1]), 2e-4 / DAY_S, water_temperature_degc=14.0, duration_s=120.0 * DAY_S
    )
    assert grown[0] == pytest.approx(0.34951, abs=1e-5)


def test_protein_in_percent_is_refused() -> None:
    with pytest.raises(OutsideRangeError, match=r"feed protein is 35, outside 0\.1 to 0\.7"):
        excreted_total_ammonia_n_g_s(1e-6, 35.0)
    with pytest.raises(OutsideRangeError, match="water temperature is 20 degC, outside 26 to 32"):
        nile_tilapia_oxygen_uptake_per_s(0.05, 20.0)
    assert np.isnan(feed_solids_kg_s(-1.0, outside="nan"))
