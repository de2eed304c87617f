"""The calculators: each question, both unit families, JSON, and what is said of bad input."""

from __future__ import annotations

import json
import math
import shlex
from typing import Any

import pytest
from typer.testing import CliRunner

from tailrace.cli.commands import app
from tailrace.errors import InputError, NotKnownError, OutsideRangeError, TailraceError, UnitError
from tailrace.operations import dose_calculators, flow_calculators, water_calculators
from tailrace.operations.calculators import Answer, convert, spread, typed
from tailrace.operations.sodium_calculators import SodiumAsTyped
from tailrace.site import UnitFamily
from tailrace.sources import sources
from tailrace.units import parse

COMMANDS = {
    "water oxygen": "--temperature '20 degC' --pressure '101.325 kPa' --reading '6 mg/L'",
    "water ammonia": "--total '2 ppm as N' --ph 7.4 --temperature '26 C' --fish nile_tilapia",
    "water carbonate": "--alkalinity '80 ppm as CaCO3' --ph 7 --temperature 25C --calcium 40mg/L",
    "water dose": "NaHCO3 --volume '480 gal' --alkalinity '30 ppm as CaCO3' --ph 6.8 "
    "--to '80 ppm as CaCO3' --temperature '26 C' --total-ammonia '1 ppm as N'",
    "water mix": "nitrate --now '120 ppm as N' --new '5 ppm as N' --share '20 %' --target 60ppm",
    "water salt": "--nitrite '1 ppm as N' --chloride '2 ppm' --volume '480 gal'",
    "water dechlorinate": "--chlorine '2 ppm' --volume '50 gal' --chloramine",
    "water convert": "'3 dKH' 'ppm as CaCO3'",
    "flow pipe": "--flow '12 gal/min' --bore '1.6 in' --length '30 ft' "
    "--fitting elbow_90_standard:3 --fitting exit",
    "flow pump": "--point '0 gal/min @ 14 ft' --point '20 gal/min @ 0 ft' --flow '12 gal/min' "
    "--power '90 W'",
    "flow air": "--depth '30 in' --maximum '57 in H2O' --free-flow '60 SCFH'",
    "flow rotameter": "--reading '0.15 SCFH' --pressure '14 kPa' --altitude '4600 ft'",
}


def run(command: str, more: str = "") -> str:
    arguments = [*command.split(), *shlex.split(COMMANDS[command]), *more.split()]
    result = CliRunner().invoke(app, arguments, catch_exceptions=False)
    assert result.exit_code == 0, result.output
    return result.output


def figures(answer: Answer) -> dict[str, tuple[float, float]]:
    return {figure.name: (figure.low, figure.high) for figure in answer.figures}


def said(answer: Answer, family: UnitFamily = UnitFamily.METRIC) -> str:
    return " ".join(answer.as_object(family)["said"])


@pytest.mark.parametrize("command", COMMANDS)
def test_an_answer_says_how_sure_it_is_and_what_it_rests_on(command: str) -> None:
    printed = run(command)
    assert "How sure: " in printed
    assert "Rests on: " in printed
    assert "nan" not in printed


@pytest.mark.parametrize("family", ["us", "metric"])
@pytest.mark.parametrize("command", COMMANDS)
def test_json_is_one_object_with_words_and_numbers(command: str, family: str) -> None:
    made: dict[str, Any] = json.loads(run(command, f"--json --units {family}"))
    assert made["units"] == family
    assert made["given"]
    assert made["answer"]
    for figure in made["answer"]:
        assert figure["low"] <= figure["high"]
        assert figure["text"]
    assert all(source["key"] in sources() for source in made["sources"])


@pytest.mark.parametrize(
    "command",
    [c for c in COMMANDS if c not in ("water convert",)],
)
def test_what_touches_chemicals_electricity_or_animals_carries_its_caution(command: str) -> None:
    assert json.loads(run(command, "--json"))["cautions"]


def test_units_of_the_answer_follow_the_family() -> None:
    assert " ft" in run("flow pipe", "--units us")
    assert " m\n" in run("flow pipe")
    assert " oz" in run("water dose", "--units us")


# --- the numbers ----------------------------------------------------------------------------


def test_oxygen_at_saturation_is_the_printed_one() -> None:
    found = figures(water_calculators.oxygen("20 degC", reading="4.546 mg/L", pressure="1 atm"))
    assert found["oxygen when full"] == pytest.approx((9.092, 9.092), abs=0.001)
    assert found["share of it measured"][0] == pytest.approx(0.5, abs=0.001)


def test_without_a_barometer_the_weather_widens_the_answer() -> None:
    low, high = figures(water_calculators.oxygen("20 degC"))["oxygen when full"]
    assert low < 9.092 < high
    assert (high - low) / 9.092 == pytest.approx(0.06, abs=0.005)


def test_an_interval_as_typed_goes_through_to_the_answer() -> None:
    low, high = figures(
        water_calculators.ammonia("1-3 ppm as N", ph="7.2-7.6", temperature="25 C")
    )["toxic part"]
    alone = figures(water_calculators.ammonia("2 ppm as N", ph="7.4-7.4", temperature="25 C"))
    assert low < alone["toxic part"][0] <= alone["toxic part"][1] < high


def test_the_answer_is_set_against_the_limits_of_the_fish() -> None:
    answer = water_calculators.ammonia(
        "2 ppm as N", ph="8.2", temperature="26 C", fish="rainbow_trout"
    )
    assert "above 0.066 mg/L as N: danger for rainbow trout" in said(answer)
    assert "above 0.066 ppm as N: danger for rainbow trout" in said(answer, UnitFamily.US)
    with pytest.raises(NotKnownError, match="'koi' is not in the table"):
        water_calculators.ammonia("2 ppm", ph="7", temperature="20 C", fish="koi")


def loop(total_ammonia: str = "0 ppm as N") -> dose_calculators.LoopAsTyped:
    return dose_calculators.LoopAsTyped(
        "1 m3", "30 mg/L as CaCO3", "6.8", "26 degC", total_ammonia
    )


def test_a_dose_is_the_stoichiometric_one_and_its_steps_add_up() -> None:
    answer = dose_calculators.dose("NaHCO3", loop(), wanted="80 mg/L as CaCO3")
    found = figures(answer)
    assert found["amount in all"][0] == pytest.approx(83.9, abs=0.1)  # 50 mg/L in 1 m3
    steps = found["steps"][0]
    assert steps * found["amount of a step"][0] == pytest.approx(found["amount in all"][0])
    half = dose_calculators.dose("NaHCO3", loop(), wanted="80 mg/L as CaCO3", purity="50 %")
    assert figures(half)["amount in all"][0] == pytest.approx(2.0 * found["amount in all"][0])


def test_a_dose_that_would_turn_ammonia_toxic_is_held_back() -> None:
    answer = dose_calculators.dose("Na2CO3", loop("6 ppm as N"), wanted="150 mg/L as CaCO3")
    found = figures(answer)
    assert found["steps"][0] * found["amount of a step"][0] < found["amount in all"][0]
    assert "Bring the ammonia down first" in said(answer)
    assert " oz of it for now" in said(answer, UnitFamily.US)


def test_an_acid_does_not_raise_alkalinity() -> None:
    with pytest.raises(InputError):
        dose_calculators.dose("HCl", loop(), wanted="80 mg/L as CaCO3")
    with pytest.raises(NotKnownError, match="'soda pop' is not known"):
        dose_calculators.dose("soda pop", loop(), wanted="80 mg/L as CaCO3")


def test_water_changes_until_a_target() -> None:
    answer = water_calculators.mix(
        "nitrate", now="100 mg/L as N", new="5 mg/L as N", share="10 %", target="50 mg/L as N"
    )
    assert figures(answer)["changes to reach the target"] == (8.0, 8.0)
    never = water_calculators.mix(
        "nitrate", now="100 mg/L as N", new="60 mg/L as N", share="10 %", target="50 mg/L as N"
    )
    assert never.said == ("This new water cannot bring it there in every case.",)
    with pytest.raises(InputError, match=r"'ph' does not mix by volume.*pH does not"):
        water_calculators.mix("ph", now="7", new="8", share="10 %")


def test_salt_counts_nitrite_as_the_ion_unless_told() -> None:
    ion = figures(dose_calculators.salt("1 mg/L as N", chloride="0 mg/L", volume="1 m3"))
    plain = figures(
        dose_calculators.salt("1 mg/L as N", chloride="0 mg/L", volume="1 m3", counted_as_n=True)
    )
    assert plain["chloride to add"][0] == pytest.approx(10.0)
    assert ion["chloride to add"][0] == pytest.approx(32.8, abs=0.1)
    assert plain["sodium chloride (salt)"][0] == pytest.approx(16.48, abs=0.01)


def test_the_sodium_of_a_year_is_set_beside_what_the_crop_stands() -> None:
    often = SodiumAsTyped("lettuce", "7 days")
    answer = dose_calculators.dose("NaHCO3", loop(), wanted="40 mg/L as CaCO3", sodium=often)
    found = figures(answer)
    each = 16.786 * 22.98977 / 84.006  # 10 mg/L of alkalinity in 1 m3, as sodium
    year = 365.25 / 7.0 * each
    assert found["sodium after a year at this pace"][0] == pytest.approx(year, rel=1e-3)
    assert found["sodium that lettuce stands"] == (50.0, 50.0)
    assert "Within a year the sodium passes the 50 mg/L that lettuce stands" in said(answer)
    assert "50 ppm" in said(answer, UnitFamily.US)
    per_eq = found["amount in all"][0] / 84.006
    assert found["instead: potassium bicarbonate"][0] == pytest.approx(per_eq * 100.114, rel=1e-3)
    renewed = SodiumAsTyped("lettuce", "7 days", renewed="200 L/day")
    less = dose_calculators.dose("NaHCO3", loop(), wanted="40 mg/L as CaCO3", sodium=renewed)
    assert "stays below the 50 mg/L" in said(less)


def test_potassium_brings_no_sodium_and_salt_does() -> None:
    asked = SodiumAsTyped("tomato", "30 days")
    answer = dose_calculators.dose("KHCO3", loop(), wanted="40 mg/L as CaCO3", sodium=asked)
    assert "brings no sodium" in said(answer)
    assert not any(name.startswith("sodium") for name in figures(answer))
    salted = dose_calculators.salt(
        "1 mg/L as N", chloride="0 mg/L", volume="1 m3", counted_as_n=True, sodium=asked
    )
    once = 10.0 * 22.98977 / 35.45
    found = figures(salted)
    assert found["sodium after a year at this pace"][0] == pytest.approx(
        once * 365.25 / 30.0, rel=1e-3
    )
    assert found["sodium that tomato stands"][0] > 150.0
    with pytest.raises(InputError, match="time between doses"):
        dose_calculators.salt(
            "1 mg/L", chloride="0 mg/L", volume="1 m3", sodium=SodiumAsTyped("tomato", "0 days")
        )
    with pytest.raises(NotKnownError, match="'triffid' is not in the table"):
        dose_calculators.salt(
            "1 mg/L", chloride="0 mg/L", volume="1 m3", sodium=SodiumAsTyped("triffid", "7 days")
        )


def test_chloramine_leaves_its_ammonia() -> None:
    answer = dose_calculators.dechlorinate("2 mg/L", volume="1 m3", chloramine=True)
    assert figures(answer)["total ammonia set free"][0] == pytest.approx(0.395, abs=0.001)
    assert figures(answer)["sodium thiosulfate"][0] == pytest.approx(1.5 * 2.0 * 7.0, rel=0.001)


def test_a_slimed_pipe_takes_more_and_a_longer_one_too() -> None:
    short = figures(flow_calculators.pipe("12 gal/min", bore="1.6 in", length="10 ft"))
    long = figures(flow_calculators.pipe("12 gal/min", bore="1.6 in", length="30 ft"))
    assert short["head lost"][0] < short["head lost"][1]
    assert long["head lost"][0] == pytest.approx(3.0 * short["head lost"][0])


def test_a_pump_gives_the_head_of_its_points() -> None:
    points = ["0 L/min @ 4 m", "80 L/min @ 0 m"]
    at = figures(flow_calculators.pump(points, flow="40 L/min", power="60 W"))
    assert at["head"][0] == pytest.approx(3.0)
    assert at["power in the water"][0] == pytest.approx(998.2 * 9.80665 * 40 / 6e4 * 3, rel=1e-3)
    with pytest.raises(InputError, match="does not reach 90 L/min"):
        flow_calculators.pump(points, flow="90 L/min")
    with pytest.raises(InputError, match="needs flow and head with @ between"):
        flow_calculators.pump(["5 gal/min 3 ft"], flow="1 gal/min")


def test_air_too_deep_for_the_pump_is_said() -> None:
    answer = flow_calculators.air("3 m", maximum="20 kPa", free_flow="60 SCFH")
    assert figures(answer)["air flow left"] == (0.0, 0.0)
    assert answer.said == ("In the worst case the pump gives no air at this depth.",)
    with pytest.raises(InputError, match="both ends of the pump's curve"):
        flow_calculators.air("1 m", maximum="20 kPa")


def test_a_straight_air_pump_gives_half_its_flow_at_half_its_pressure() -> None:
    answer = flow_calculators.air("0 m", diffuser="10 kPa", maximum="20 kPa", free_flow="60 L/min")
    low, high = (end * 6e4 for end in figures(answer)["air flow left"])
    assert low == pytest.approx(30.0)
    assert high == pytest.approx(60.0 * math.sqrt(0.5))


def test_a_rotameter_at_its_own_state_reads_true() -> None:
    found = figures(flow_calculators.rotameter("2 L/min", pressure="0 kPa", temperature="70 degF"))
    assert found["flow at 70 degF and 1 atm"] == pytest.approx((2 / 6e4, 2 / 6e4), rel=1e-4)
    assert found["flow as it is in the tube"] == pytest.approx((2 / 6e4, 2 / 6e4), rel=1e-4)


# --- conversion -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "unit", "wanted"),
    [
        ("3 dKH", "ppm as CaCO3", 53.54),
        ("8 dGH", "ppm as CaCO3", 142.8),
        ("2 meq/L", "ppm as CaCO3", 100.09),
        ("5 mg/L as NO3", "mg/L as N", 1.1295),
        ("1 ppm as N", "ppm as NO2", 3.284),
        ("40 ppm as NaCl", "ppm as Cl", 24.26),
        ("80 degF", "degC", 26.667),
        ("480 gal", "L", 1817.0),
        ("57 in H2O", "kPa", 14.2),
        ("0.15 SCFH", "mL/min", 70.8),
        ("100 ft2", "m2", 9.290),
        ("20 g/day", "oz/day", 0.7055),
    ],
)
def test_units_and_bases_are_converted(text: str, unit: str, wanted: float) -> None:
    made = convert(text, unit).figures[0]
    shown = made.as_object(UnitFamily.METRIC)["low"]
    assert shown == pytest.approx(wanted, rel=2e-3)


@pytest.mark.parametrize(
    ("text", "unit", "said"),
    [
        ("5 gal", "lb", "do not measure the same thing"),
        ("5 mg/L", "mg/L as N", "name both"),
        ("5 foo", "gal", "unit 'foo' is not known"),
        ("gal", "L", "holds no number"),
    ],
)
def test_what_cannot_be_converted_is_refused(text: str, unit: str, said: str) -> None:
    with pytest.raises(TailraceError, match=said):
        convert(text, unit)


# --- bad input ------------------------------------------------------------------------------


def test_an_error_names_what_it_is_about() -> None:
    with pytest.raises(UnitError, match=r"^volume: "):
        dose_calculators.salt("1 ppm as N", chloride="0 ppm", volume="5 degC")
    with pytest.raises(InputError, match=r"^pH: "):
        water_calculators.ammonia("1 ppm", ph="neutral", temperature="20 C")
    with pytest.raises(InputError, match="has an open end"):
        typed(">5 mg/L", "_g_m3", "chlorine")
    with pytest.raises(OutsideRangeError, match="given in kelvin"):
        water_calculators.oxygen("298 degC")


SAID_OF_PH = r"pH is 70, outside 0 to 14\. Was 7 meant\?"
SAID_OF_HEAT = "Was it given in Fahrenheit"


@pytest.mark.parametrize(
    ("command", "options", "expected"),
    [
        ("water ammonia", "--total '1 ppm' --temperature '25 C' --ph 70", SAID_OF_PH),
        ("water ammonia", "--total '1 ppm' --temperature '78 C' --ph 7", SAID_OF_HEAT),
        ("water oxygen", "--temperature '78 degC'", SAID_OF_HEAT),
        ("water carbonate", "--alkalinity 4dKH --ph 70 --temperature 25C", SAID_OF_PH),
        ("water carbonate", "--alkalinity 4dKH --ph 7 --temperature 78C", SAID_OF_HEAT),
        (
            "water dose",
            "NaHCO3 --volume 1m3 --alkalinity 2dKH --to 4dKH --ph 70 --temperature 25C "
            "--total-ammonia 0ppm",
            SAID_OF_PH,
        ),
        (
            "water dose",
            "NaHCO3 --volume 1m3 --alkalinity 2dKH --to 4dKH --ph 7 --temperature 78C "
            "--total-ammonia 0ppm",
            SAID_OF_HEAT,
        ),
        ("flow pipe", "--flow 1L/min --bore 20mm --length 1m --temperature 78C", SAID_OF_HEAT),
        (
            "flow pump",
            "--point '0 L/min @ 4 m' --point '80 L/min @ 0 m' --flow 9L/min --temperature 78C",
            SAID_OF_HEAT,
        ),
        (
            "flow rotameter",
            "--reading 2L/min --pressure 0kPa --temperature 298C",
            "Was it given in kelvin",
        ),
    ],
)
def test_what_cannot_be_is_refused_with_a_guess_at_what_was_meant(
    command: str, options: str, expected: str
) -> None:
    arguments = [*command.split(), *shlex.split(options)]
    with pytest.raises(OutsideRangeError, match=expected):
        CliRunner().invoke(app, arguments, catch_exceptions=False, standalone_mode=False)


def test_a_spread_takes_the_worst_corners() -> None:
    assert spread(lambda a, b: a / b, parse("1-2", ""), parse("4-5", "")) == (0.2, 0.5)
