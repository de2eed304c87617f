"""Units against pint's own table, NIST values and round trips."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailrace import units
from tailrace.errors import InputError, UnitError
from tailrace.quantities import subjects
from tailrace.units.registry import inside

REGISTRY: pint.UnitRegistry[float] = pint.UnitRegistry()
MEASURES = {"scoop": (0.085, "_kg"), "bucket": (0.009, "_m3"), "turn": (0.25, "_frac")}


# source: pint's own definitions, run beside ours
@pytest.mark.parametrize(
    ("unit", "suffix", "pint_unit", "inside_unit"),
    [
        ("gal", "_m3", "gallon", "m**3"),
        ("imp gal", "_m3", "imperial_gallon", "m**3"),
        ("ft3", "_m3", "foot**3", "m**3"),
        ("fl oz", "_m3", "fluid_ounce", "m**3"),
        ("lb", "_kg", "pound", "kg"),
        ("oz", "_kg", "ounce", "kg"),
        ("SCFH", "_m3_s", "foot**3/hour", "m**3/s"),
        ("gph", "_m3_s", "gallon/hour", "m**3/s"),
        ("gpm", "_m3_s", "gallon/minute", "m**3/s"),
        ("lph", "_m3_s", "liter/hour", "m**3/s"),
        ("L/min std", "_m3_s", "liter/minute", "m**3/s"),
        ("psi", "_pa_gauge", "psi", "pascal"),
        ("mbar", "_pa_gauge", "millibar", "pascal"),
        ("cm H2O", "_pa_gauge", "centimeter_H2O", "pascal"),
        ("uS/cm", "_s_m", "microsiemens/centimeter", "siemens/meter"),
        ("mS/cm", "_s_m", "millisiemens/centimeter", "siemens/meter"),
        ("ppm", "_g_m3", "milligram/liter", "gram/meter**3"),
        ("lb/day", "_kg_s", "pound/day", "kilogram/second"),
        ("%", "_frac", "percent", "dimensionless"),
        ("ft2", "_m2", "foot**2", "meter**2"),
    ],
)
def test_a_unit_converts_as_in_pint(
    unit: str, suffix: str, pint_unit: str, inside_unit: str
) -> None:
    expected = REGISTRY.Quantity(1.0, pint_unit).to(inside_unit).magnitude
    assert units.from_unit(1.0, unit, suffix) == pytest.approx(expected, rel=1e-12)


# source: NIST SP 811 (2008) appendix B.8, from memory; in H2O is the conventional 2.490 889 E+02
@pytest.mark.parametrize(
    ("unit", "suffix", "expected", "rel"),
    [
        ("gal", "_m3", 3.785412e-3, 5e-7),
        ("in H2O", "_pa_gauge", 249.0889, 5e-7),
        ("cm H2O", "_pa_gauge", 98.0665, 5e-7),
        ("oz", "_kg", 2.834952e-2, 5e-7),
        ("psi", "_pa", 6894.757, 5e-7),
    ],
)
def test_a_unit_converts_as_printed_by_nist(
    unit: str, suffix: str, expected: float, rel: float
) -> None:
    assert units.from_unit(1.0, unit, suffix) == pytest.approx(expected, rel=rel)


@pytest.mark.parametrize("sign", ["degF", "F", "°F", "deg F", "Fahrenheit"])
def test_fahrenheit_in_every_spelling_agrees_with_pint(sign: str) -> None:
    expected = REGISTRY.Quantity(80.0, "degF").to("degC").magnitude
    assert units.parse(f"80 {sign}", "_degc").low == pytest.approx(expected, rel=1e-12)


def test_a_basis_is_part_of_a_unit() -> None:
    # molar masses N 14.007, O 15.999, H 1.008: IUPAC, from memory
    no3 = 14.007 / (14.007 + 3 * 15.999)
    assert units.from_unit(10, "ppm NO3", "_n_g_m3") == pytest.approx(10 * no3, rel=1e-4)
    assert units.from_unit(10, "mg/L as N", "_n_g_m3") == 10
    assert units.from_unit(10, "mg NO3-N/L", "_n_g_m3") == 10
    # 1 eq/m3 is 50.04 mg/L as CaCO3; 1 dKH is 10 mg/L CaO, 17.85 mg/L as CaCO3: from memory
    assert units.from_unit(50.04, "ppm as CaCO3", "_eq_m3") == pytest.approx(1, abs=1e-4)
    assert units.from_unit(1, "dKH", "_eq_m3") == pytest.approx(17.85 / 50.04, abs=1e-4)
    assert units.from_unit(1, "dGH", "_caco3_g_m3") == pytest.approx(17.85, abs=5e-3)
    assert units.from_unit(2, "meq/L", "_eq_m3") == 2


@pytest.mark.parametrize(
    ("text", "suffix", "low", "high"),
    [
        ("0,35 L", "_m3", 0.35e-3, 0.35e-3),
        ("1.5-2 L", "_m3", 1.5e-3, 2e-3),
        ("1,5 – 2 L", "_m3", 1.5e-3, 2e-3),
        ("1.5 L to 2 L", "_m3", 1.5e-3, 2e-3),
        ("<0.02 ppm", "_g_m3", 0, 0.02),
        ("≤ 0,02 mg/L", "_g_m3", 0, 0.02),
        (">8 mg/L", "_g_m3", 8, math.inf),
        ("trace", "_g_m3", 0, math.inf),
        ("1 1/2 scoops", "_kg", 0.1275, 0.1275),
        ("1½ scoops", "_kg", 0.1275, 0.1275),
        ("2 scoops of feed", "_kg", 0.17, 0.17),
        ("half a scoop", "_kg", 0.0425, 0.0425),
        ("about 5 kg", "_kg", 4.5, 5.5),
        ("~5 kg", "_kg", 4.5, 5.5),
        ("3 turns", "_frac", 0.75, 0.75),
        ("2/3", "_frac", 2 / 3, 2 / 3),
        ("36 %", "_frac", 0.36, 0.36),
        ("1-1/2 in", "_m", 0.0381, 0.0381),
        ("-5 - -2 degC", "_degc", -5, -2),
        ("1,250.5 L", "_m3", 1.2505, 1.2505),
        ("1.250,5 L", "_m3", 1.2505, 1.2505),
        ("1 250 L", "_m3", 1.25, 1.25),
        ("1.9 m H2O", "_pa_gauge", 18632.635, 18632.635),
        ("pH 7.2", "", 7.2, 7.2),
        ("12 fish", "", 12, 12),
    ],
)
def test_a_quantity_is_read_as_people_type_it(
    text: str, suffix: str, low: float, high: float
) -> None:
    found = units.parse(text, suffix, measures=MEASURES)
    assert (found.low, found.high) == pytest.approx((low, high))
    assert found.text == text


@pytest.mark.parametrize(
    ("text", "suffix", "said"),
    [
        ("12 oz", "_m3", "measures mass, not volume.*fl oz meant"),
        ("5", "_m3", "5 has no unit; .*480 gal"),
        ("36", "_frac", "36 without a unit, outside 0 to 1; write such as '36 %'"),
        ("10 in", "_degc", "measures length, not temperature; use one of degC, degF"),
        ("5 galons", "_m3", "'galons' is not known.*Was gal meant"),
        ("1 L - 2 gal", "_m3", "mixes two units"),
        ("", "_m3", "the value is empty"),
        ("some", "_m3", "holds no number"),
        ("5-3 L", "_m3", "runs from high to low"),
        ("1/0 L", "_m3", "divides by zero"),
        ("1e999 L", "_m3", "is not a number"),
        ("1,2,3 L", "_m3", "is not a number"),
        ("5 ppm as NO2", "_eq_m3", "basis 'NO2' does not suit"),
    ],
)
def test_what_cannot_be_read_is_refused_in_a_sentence(text: str, suffix: str, said: str) -> None:
    with pytest.raises(InputError, match=said):
        units.parse(text, suffix)


def test_one_comma_before_three_digits_is_ambiguous_until_the_sign_is_known() -> None:
    with pytest.raises(units.AmbiguousNumberError, match=r"1\.25 or as 1250") as caught:
        units.parse("1,250 gal", "_m3")
    assert caught.value.readings == (1.25, 1250)
    assert units.parse("1,250 L", "_m3", decimal="point").low == pytest.approx(1.25)
    assert units.parse("1,250 L", "_m3", decimal="comma").low == pytest.approx(1.25e-3)


@pytest.mark.parametrize("subject", [s for s in subjects().values() if s.suffix])
@given(value=st.floats(0.001, 1000))
def test_every_unit_shown_to_people_goes_there_and_back(subject: object, value: float) -> None:
    assert isinstance(subject, type(subjects()["ph"]))
    for family in ("us", "metric"):
        unit = units.subject_unit(subject, family)
        there = units.from_unit(value, unit, subject.suffix)
        assert units.to_unit(there, subject.suffix, unit) == pytest.approx(value, rel=1e-9)


def test_every_example_of_a_suffix_can_be_read() -> None:
    for suffix in ("", "_m3", "_degc", "_n_g_m3", "_eq_m3", "_caco3_g_m3", "_s_m", "_delta_k"):
        assert units.parse(inside(suffix).example, suffix).unit is not None


@pytest.mark.parametrize(
    ("value", "suffix", "unit", "shown"),
    [
        (1.817, "_m3", "gal", "480 gal"),
        (0.00012345, "_g_m3", "mg/L", "0.000123 mg/L"),
        (12345.0, "_m3", "m3", "12300 m3"),
        (99.96, "_g_m3", "ppm", "100 ppm"),
        (7.2, "", "", "7.2"),
        (0.0, "_m3", "L", "0 L"),
        (25.0, "_degc", "degF", "77 degF"),
    ],
)
def test_a_value_is_shown_with_three_digits_at_most(
    value: float, suffix: str, unit: str, shown: str
) -> None:
    assert units.show(value, suffix, unit) == shown


def test_ranges_are_shown_in_words_where_open() -> None:
    assert units.show_range(1e-3, 2e-3, "_m3", "L") == "1 to 2 L"
    assert units.show_range(8, math.inf, "_g_m3", "mg/L") == "at least 8 mg/L"
    assert units.show_range(-math.inf, 5, "_degc", "degC") == "up to 5 degC"
    assert units.show_range(-math.inf, math.inf, "_degc", "degC") == "not known"
    assert units.show_range(1.0001, 1.0002, "_g_m3", "mg/L") == "1 mg/L"


@given(st.text(max_size=24))
def test_any_text_is_read_or_refused_never_a_traceback(text: str) -> None:
    for suffix in ("", "_m3", "_degc", "_frac", "_n_g_m3"):
        try:
            found = units.parse(text, suffix, measures=MEASURES)
        except InputError:
            continue
        assert found.low <= found.high


def test_an_unknown_family_or_suffix_is_refused() -> None:
    with pytest.raises(UnitError, match="us or metric"):
        units.subject_unit("feed", "imperial")
    with pytest.raises(UnitError, match="has no units"):
        units.parse("5 L", "_furlongs")
