"""Every mapped row of every file of published values."""

from __future__ import annotations

import csv
import dataclasses
import json
from pathlib import Path

import pytest

from tests.docstrings import formulas
from tests.pages import checks_of, unchecked
from tests.published.compare import agrees
from tests.published.registry import find, maps, run
from tests.published.rows import COLUMNS, HERE, Row, expected, files, given, read
from tests.published.run import main
from tests.published.units import convert

ROWS = [row for path in files() for row in read(path)]
MAPPED = [row for row in ROWS if find(row) is not None]


@pytest.mark.parametrize("row", MAPPED, ids=lambda row: f"{row.file}:{row.id}")
def test_a_published_value_is_met(row: Row) -> None:
    mapped = find(row)
    assert mapped is not None
    outcome = run(row, mapped)
    assert agrees(row, outcome.got), (
        f"{row}\n got {outcome.got} {row.unit}, published {row.expected} ({row.tolerance})"
    )


def test_only_the_common_table_may_hold_rows_that_nothing_takes() -> None:
    assert [str(row) for row in ROWS if row.file != "checks.csv" and find(row) is None] == []


def test_every_row_names_its_source_and_has_an_id_of_its_own() -> None:
    assert [row.id for row in ROWS if not (row.source and row.obtained)] == []
    ids = [row.id for row in ROWS]
    assert len(ids) == len(set(ids))


def test_every_public_formula_has_an_outside_check_or_a_reason() -> None:
    checked = checks_of()
    bare = [name for name in formulas() if not checked[name].any and name not in unchecked()]
    assert bare == []


def test_a_reason_for_having_no_outside_check_is_given_only_where_there_is_none() -> None:
    checked = checks_of()
    assert [n for n in unchecked() if n not in formulas() or checked[n].any] == []
    assert all(reason for reason in unchecked().values())


# --- the harness itself -------------------------------------------------------------------


def row(quantity: str, wanted: str, tolerance: str, inputs: str = "T=20 degC") -> Row:
    found = next(r for r in ROWS if r.quantity == "dissolved oxygen at saturation")
    return dataclasses.replace(
        found,
        quantity=quantity,
        expected=expected(wanted),
        tolerance=tolerance,
        inputs={g.name: g for g in map(given, inputs.split("; "))},
    )


@pytest.mark.parametrize(
    ("text", "numbers", "unit"),
    [
        ("T=20 degC", (20.0,), "degC"),
        ("TAN_in=2..3 mg N/L", (2.0, 3.0), "mg N/L"),
        ("pump_H=8|6|0 m", (8.0, 6.0, 0.0), "m"),
        ("nu=1.022e-6 m2/s", (1.022e-06,), "m2/s"),
        ("lat=-20 deg", (-20.0,), "deg"),
        ("from=NO2-N", (), ""),
        ("particle_size=above 55 um", (), ""),
        ("reaction=(A + 2 B -> C)", (), ""),
    ],
)
def test_an_input_is_a_number_a_range_a_list_or_words(
    text: str, numbers: tuple[float, ...], unit: str
) -> None:
    read_back = given(text)
    assert (read_back.numbers, read_back.unit) == (numbers, unit)


@pytest.mark.parametrize(
    ("wanted", "tolerance", "got", "agreed"),
    [
        ("9.092", "abs:0.01", 9.10, True),
        ("9.092", "abs:0.01", 9.11, False),
        ("100", "rel:0.02", 102.0, True),
        ("100", "rel:0.02", 103.0, False),
        ("8", "exact", 8.0, True),
        ("8", "exact", 8.1, False),
        ("35..105", "range", 40.0, True),
        ("35..105", "range", 110.0, False),
        ("35..105", "range", (36.0, 103.0), True),
        ("35..105", "range", (36.0, 120.0), False),
        ("9", "abs:1", (8.0, 10.0), False),
        ("9", "abs:1", float("nan"), False),
        ("safe", "exact", "safe", True),
    ],
)
def test_agreement_follows_the_tolerance(
    wanted: str, tolerance: str, got: float | tuple[float, float] | str, agreed: bool
) -> None:
    assert agrees(row("x", wanted, tolerance), got) is agreed


def test_a_row_with_an_unknown_input_or_model_is_left_unmapped() -> None:
    known = row("dissolved oxygen at saturation", "9.09", "abs:0.01", "T=20 degC; S=0 g/kg")
    assert find(known) is not None
    more = row("dissolved oxygen at saturation", "9.09", "abs:0.01", "T=20 degC; depth=3 m")
    assert find(more) is None
    assert find(dataclasses.replace(known, model="another model")) is None


def test_a_temperature_is_converted_as_a_temperature_and_not_as_a_difference() -> None:
    warm = row("unit conversion", "25", "abs:0.001", "value=77; from=degF; to=degC")
    mapped = find(warm)
    assert mapped is not None
    assert agrees(warm, run(warm, mapped).got)


def test_inputs_are_read_in_whatever_unit_they_are_given() -> None:
    warm = row("dissolved oxygen at saturation", "9.092", "abs:0.001", "T=68 degF; P=760 mmHg")
    mapped = find(warm)
    assert mapped is not None
    assert agrees(warm, run(warm, mapped).got)


def test_two_mappings_of_one_row_are_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.published.registry._MAPPED", [])
    for _ in range(2):
        maps("twice", gives="-", needs="T")(lambda inputs: inputs["T"].to("degC"))
    with pytest.raises(LookupError, match="2 mappings"):
        find(row("twice", "20", "exact"))


@pytest.mark.parametrize(
    ("value", "unit", "to", "wanted"),
    [
        (5.0, "mg NO2-N/L", "g/m3", 5.0),
        (1.0, "lb/100 lb/d", "1/d", 0.01),
        (5.0, "US gal", "L", 18.92706),
        (1.0, "lb/US gal", "g/L", 119.8264),
        (50.0, "percent", "fraction", 0.5),
        (14.696, "psia", "kPa", 101.325),
        (10.0, "umol/kg", "mol/kg", 1e-5),
        (35.0, "US gal/min/ft2", "m3/h/m2", 85.566),
    ],
)
def test_units_as_the_rows_write_them(value: float, unit: str, to: str, wanted: float) -> None:
    assert convert(value, unit, to) == pytest.approx(wanted, rel=1e-5)


def test_the_runner_counts_and_names_what_fails(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "three.csv"
    base = ["1 oxygen solubility", "dissolved oxygen at saturation"]
    rest = ["mg/L", "abs:0.01", "a source", "read", ""]
    with file.open("w", newline="", encoding="utf-8") as stream:
        writer = csv.writer(stream)
        writer.writerow(COLUMNS)
        writer.writerow(["A", *base, "T=20 degC", "9.092", *rest])
        writer.writerow(["B", *base, "T=20 degC", "9.5", *rest])
        writer.writerow(["C", "9 fish", "length of a dream", "T=20 degC", "1", *rest])
    assert main([str(file), "--json"]) == 1
    printed = capsys.readouterr().out
    assert "a source (read)" in printed
    assert json.loads(printed.splitlines()[-1]) == {
        "passed": 1,
        "failed": 1,
        "unmapped": 1,
        "failing_ids": ["B"],
    }


def test_a_file_of_another_form_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "other.csv"
    file.write_text("a,b\n1,2\n", encoding="utf-8")
    with pytest.raises(ValueError, match="columns must be id, topic"):
        read(file)
    assert HERE / "unchecked.csv" not in files()
