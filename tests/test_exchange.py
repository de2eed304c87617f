"""Files out of the record: the archive is exact, tables are harmless, the calendar is plain."""

from __future__ import annotations

import csv
import hashlib
import io
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pyarrow.parquet as pq
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from tailrace.errors import FileFaultsError, InputError
from tailrace.exchange.archive import (
    FORM,
    PlainRow,
    check_archive,
    line_of,
    read_archive,
    write_archive,
)
from tailrace.exchange.calendar import Due, calendar
from tailrace.exchange.tables import (
    CUT,
    SHEET_CELL,
    Column,
    Kind,
    Table,
    write_table,
)
from tailrace.units.cells import as_written, harmless

T0 = datetime(2026, 3, 1, 8, tzinfo=UTC)
TEXTS = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)
PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**70), 2**70)
    | st.floats(allow_nan=False, allow_infinity=False)
    | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=6,
)
UIDS = st.integers(0, 2**128 - 1).map(lambda n: f"{n:032x}")
ROWS = st.dictionaries(
    UIDS, st.dictionaries(TEXTS.filter(lambda t: t != "uid"), PLAIN, max_size=4), max_size=6
).map(lambda found: [("entries", found[uid] | {"uid": uid}) for uid in sorted(found)])


def uid(n: int) -> str:
    return f"{n:032x}"


def archive(rows: list[PlainRow]) -> bytes:
    out = io.BytesIO()
    write_archive(rows, out)
    return out.getvalue()


# the archive


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(ROWS)
def test_an_archive_read_and_written_again_is_the_same_bytes(rows: list[PlainRow]) -> None:
    data = archive(rows)
    back = list(read_archive(io.BytesIO(data), "a.jsonl"))
    assert back == rows
    assert archive(back) == data
    assert check_archive(io.BytesIO(data), "a.jsonl").count == len(rows)


def test_every_line_of_an_archive_is_json_with_sorted_keys() -> None:
    rows: list[PlainRow] = [
        ("sites", {"uid": uid(9), "name": "lantern"}),
        ("entries", {"uid": uid(1), "text": "7,2\u2028ü", "at": 1.5, "b": None, "a": [1, "x"]}),
        ("samples", {"series": uid(3), "at": 5, "value": 0.1}),
        ("samples", {"series": uid(3), "at": 40, "value": 0.1}),
    ]
    lines = archive(rows).decode().split("\n")
    assert lines[0] == '{"archive":"tailrace record","form":1}'
    assert lines[1] == f'{{"row":{{"name":"lantern","uid":"{uid(9)}"}},"table":"sites"}}'
    above = "\n".join(lines[:5]) + "\n"
    assert json.loads(lines[5]) == {
        "end": {"sites": 1, "entries": 1, "samples": 2},
        "sha256": hashlib.sha256(above.encode()).hexdigest(),
    }
    assert lines[6:] == [""]


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([("e", {"uid": uid(2)}), ("e", {"uid": uid(1)})], "out of order or twice"),
        ([("e", {"uid": uid(1)}), ("e", {"uid": uid(1)})], "out of order or twice"),
        ([("e", {"uid": uid(1)}), ("f", {"uid": uid(1)}), ("e", {"uid": uid(2)})], "together"),
        ([("e", {"text": "7"})], "neither a 'uid' nor"),
        ([("e", {"uid": uid(1), "x": float("nan")})], "cannot be written as it is"),
        ([("e", {"uid": uid(1), "x": T0})], "cannot be written as it is"),
    ],
)
def test_rows_that_would_not_come_back_are_refused(rows: list[PlainRow], said: str) -> None:
    with pytest.raises(InputError, match=said):
        archive(rows)


GOOD = archive([("entries", {"uid": uid(n), "text": f"{n}"}) for n in range(4)])


def test_an_archive_cut_anywhere_is_found_out() -> None:
    for kept in range(len(GOOD)):
        with pytest.raises(FileFaultsError, match="cut short or changed"):
            list(read_archive(io.BytesIO(GOOD[:kept]), "a.jsonl"))


@settings(max_examples=100, deadline=None)
@given(st.integers(0, len(GOOD) - 1), st.integers(1, 255))
def test_an_archive_with_one_byte_changed_is_found_out(place: int, by: int) -> None:
    changed = bytearray(GOOD)
    changed[place] ^= by
    with pytest.raises(FileFaultsError):
        list(read_archive(io.BytesIO(bytes(changed)), "a.jsonl"))


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_refused_in_words(data: bytes) -> None:
    with pytest.raises(FileFaultsError):
        list(read_archive(io.BytesIO(data), "a.jsonl"))


def test_a_newer_archive_is_refused_in_words() -> None:
    newer = line_of({"archive": "tailrace record", "form": FORM + 1})
    with pytest.raises(FileFaultsError, match=r"newer version of this software \(form 2"):
        list(read_archive(io.BytesIO(newer), "a.jsonl"))


def test_something_behind_the_end_or_nested_without_end_is_said() -> None:
    with pytest.raises(FileFaultsError, match="behind the last line"):
        list(read_archive(io.BytesIO(GOOD + b"\n"), "a.jsonl"))
    deep = GOOD.split(b"\n")[0] + b"\n" + b"[" * 100_000 + b"\n"
    with pytest.raises(FileFaultsError, match="line 2: the line is no JSON"):
        list(read_archive(io.BytesIO(deep), "a.jsonl"))


# tables for reading


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=8) | st.text("=+-@\t\r\n' 01.,e\uff1d", max_size=8))
def test_harmless_text_acts_on_nothing_and_comes_back_exactly(text: str) -> None:
    safe = harmless(text)
    assert as_written(safe) == text
    if safe[:1] in {"=", "@", "\t", "\r", "\n"}:
        pytest.fail(f"{safe!r} would be worked out")
    if safe[:1] in {"+", "-"}:
        float(safe.replace(",", "")) if safe.count(",") > 1 else float(safe.replace(",", "."))


@pytest.mark.parametrize("number", ["-0.5", "-1,5", "+3", "-1e-3", "-1,250", "-.5"])
def test_a_negative_number_stays_a_number(number: str) -> None:
    assert harmless(number) == number


# The forms of attack are those of the usual advice on formulas in CSV files, from memory.
@pytest.mark.parametrize(
    "text",
    ["=HYPERLINK(1)", "+1+1", "-2+3", "@SUM(1)", "\t=1", "\r=1", " =1", "\uff1d1", "-1 degC"],
)
def test_text_that_would_be_worked_out_is_made_harmless(text: str) -> None:
    assert harmless(text) == f"'{text}"


TABLE = Table(
    "lantern",
    "America/Denver",
    (
        Column("when", Kind.MOMENT),
        Column("value"),
        Column("low", Kind.NUMBER),
        Column("n", Kind.WHOLE),
    ),
)
CELLS: list[list[Any]] = [
    [T0, "=1+1", -0.5, 3],
    [None, "7,0", float("inf"), None],
    [datetime(2026, 7, 1, 8, tzinfo=UTC), 'a "b"\nc\x01', 2.0, -1],
]


def test_a_csv_file_reads_back_with_times_of_the_site(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    assert write_table(path, TABLE, rows=CELLS) == 3
    assert path.read_bytes().startswith(b"\xef\xbb\xbfwhen,value,low,n\r\n")
    with path.open(encoding="utf-8-sig", newline="") as stream:
        rows = list(csv.reader(stream))
    assert rows[1:] == [
        ["2026-03-01 01:00:00-07:00", "'=1+1", "-0.5", "3"],
        ["", "7,0", "", ""],
        ["2026-07-01 02:00:00-06:00", 'a "b"\nc\x01', "2.0", "-1"],
    ]


def test_a_workbook_reads_back_with_text_as_text_and_numbers_as_numbers(tmp_path: Path) -> None:
    path = tmp_path / "log.xlsx"
    rows = [*CELLS, [None, "#N/A", None, None], [None, "x" * 40_000, None, None]]
    assert write_table(path, TABLE, rows=rows) == 5
    sheet = openpyxl.load_workbook(path)["log"]
    found = [[cell.value for cell in row] for row in sheet.iter_rows()]
    assert found[0] == ["when", "value", "low", "n"]
    assert found[1] == ["2026-03-01 01:00:00-07:00", "'=1+1", -0.5, 3]
    assert found[2][1:] == ["7,0", None, None]
    assert found[3][1] == 'a "b"\nc\ufffd'
    assert [sheet.cell(5, 2).value, sheet.cell(5, 2).data_type] == ["#N/A", "s"]
    assert len(found[5][1]) == SHEET_CELL
    assert found[5][1].endswith(CUT)
    assert not any(cell.data_type == "f" for row in sheet.iter_rows() for cell in row)


def test_a_workbook_goes_on_with_another_sheet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tailrace.exchange.tables.SHEET_ROWS", 3)
    path = tmp_path / "log.xlsx"
    write_table(path, TABLE, rows=[[None, str(n), None, n] for n in range(5)])
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["log", "log 2", "log 3"]
    assert [[row[3] for row in sheet.values] for sheet in book] == [
        ["n", 0, 1],
        ["n", 2, 3],
        ["n", 4],
    ]
    write_table(path, TABLE, rows=[])
    assert openpyxl.load_workbook(path).sheetnames == ["log"]


def test_a_parquet_file_reads_back_with_its_types(tmp_path: Path) -> None:
    path = tmp_path / "log.parquet"
    write_table(path, TABLE, rows=CELLS)
    found = pq.read_table(path).to_pydict()
    assert found["when"] == [T0, None, CELLS[2][0]]
    assert str(found["when"][0].tzinfo) == "America/Denver"
    assert found["value"][0] == "'=1+1"
    assert found["low"] == [-0.5, None, 2.0]
    assert found["n"] == [3, None, -1]


def test_a_table_that_cannot_be_written_leaves_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("old")

    def broken() -> Any:
        yield CELLS[0]
        raise InputError("the record went away")

    with pytest.raises(InputError, match="went away"):
        write_table(path, TABLE, rows=broken())
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(InputError, match=r"let its name end in .csv, .xlsx or .parquet"):
        write_table(tmp_path / "log.doc", TABLE, rows=[])
    with pytest.raises(InputError, match="cannot be written"):
        write_table(tmp_path / "nowhere" / "log.csv", TABLE, rows=[])


# the calendar, read by the library that carries RFC 5545


def test_a_calendar_holds_each_check_once_and_is_read_by_the_library() -> None:
    due = [
        Due("ph", "Test pH; now, then", "Same hour.\nEach time.", "tank", T0 + timedelta(hours=3)),
        Due("drain", "Drain sludge " * 12, "See the sheet.", "filter", T0),
    ]
    made = calendar("lantern", "Lantern (invented)", due=due, made_at=T0)
    assert made == calendar("lantern", "Lantern (invented)", due=due, made_at=T0)
    assert all(len(line) <= 75 for line in made.split(b"\r\n"))
    found = Calendar.from_ical(made)
    events = list(found.walk("VEVENT"))
    assert [event.decoded("dtstart") for event in events] == [T0 + timedelta(hours=3), T0]
    assert str(events[0]["summary"]) == "Lantern (invented): Test pH; now, then"
    assert str(events[0]["description"]) == "Same hour.\nEach time."
    assert len({str(event["uid"]) for event in events}) == 2
    later = calendar("lantern", "Lantern (invented)", due=due, made_at=T0 + timedelta(days=1))
    again = list(Calendar.from_ical(later).walk("VEVENT"))
    assert [str(e["uid"]) for e in again] == [str(e["uid"]) for e in events]
    assert int(str(again[0]["sequence"])) > int(str(events[0]["sequence"]))


def test_a_calendar_needs_moments_with_their_zone() -> None:
    with pytest.raises(InputError, match="no time zone"):
        calendar("l", "L", due=[Due("a", "b", "c", "d", T0.replace(tzinfo=None))], made_at=T0)
