"""Export, archive, parcel and calendar of the demonstration sites, as a person does it."""

from __future__ import annotations

import csv
import re
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pyarrow.parquet as pq
import pytest
from icalendar import Calendar
from typer.testing import CliRunner

import tailrace.cli.export  # adds the commands that are tried here
from tailrace.cli.commands import app
from tailrace.errors import InputError
from tailrace.exchange.archive import FORM
from tailrace.intake import read_log
from tailrace.observations import Entry
from tailrace.operations.calendar import round_calendar
from tailrace.operations.export import COLUMNS, archive_record, export_log, first_moment
from tailrace.operations.imports import preview_file
from tailrace.operations.parcel import pack_site, unpack
from tailrace.operations.record import newest_moment, open_record, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.records.plain_rows import PLAIN
from tailrace.records.store import Store
from tailrace.site import UnitFamily
from tests.full_record import T0, ph
from tests.logs import DEMOS, ROOT
from tests.words import misused_words

DOC = ROOT / "docs" / "archive.md"
SCHOOL = "lantern-school"


def run(*words: str) -> str:
    assert tailrace.cli.export is not None
    found = CliRunner().invoke(app, list(words), catch_exceptions=False)
    assert found.exit_code == 0, found.output
    return found.output


def table(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8-sig", newline="") as stream:
        return list(csv.DictReader(stream))


@pytest.mark.parametrize("name", DEMOS)
def test_a_log_written_as_csv_or_xlsx_is_understood_again_as_it_was(
    demo_home: Path, tmp_path: Path, name: str
) -> None:
    store = open_record(str(demo_home))
    kept = store.entries(name)
    now = kept[-1].taken_at + timedelta(days=1)
    fresh = Store.open(tmp_path / "fresh")
    fresh.add_site_version(name, store.site_text(name), received_at=now)
    assert export_log(store, name, tmp_path / "log.csv") == len(kept)
    log, site = (tmp_path / "log.csv").read_bytes(), site_reading(fresh, name).site
    found = read_log(log, "log.csv", site, received_at=now).entries
    assert sorted(map(meaning, found)) == sorted(map(meaning, kept))
    export_log(store, name, tmp_path / "log.xlsx")
    seen = preview_file(fresh, name, tmp_path / "log.xlsx", now=now)
    assert (seen.tally.taken, seen.tally.aside) == (len(kept), 0)


def meaning(entry: Entry) -> str:
    """What an entry says, but for what the record or the import adds to it."""
    bare = {"id": "", "uid": "", "received_at": None, "batch": "", "row": 0, "flags": ()}
    return str(replace(entry, **bare, taken_also=None))  # type: ignore[arg-type]


def test_numbers_are_in_the_units_that_are_asked_for(demo_home: Path, tmp_path: Path) -> None:
    store = open_record(str(demo_home))
    rows = {}
    for family in UnitFamily:
        path = tmp_path / f"{family.value}.csv"
        export_log(store, SCHOOL, path, units=family)
        rows[family] = [r for r in table(path) if r["what"] == "water temperature"]
    first = store.entries(SCHOOL)[0]
    us, metric = rows[UnitFamily.US][0], rows[UnitFamily.METRIC][0]
    assert first.interval is not None
    assert us["record: unit of low and high"] == "degF"
    assert float(metric["record: low"]) == pytest.approx(first.interval.low, abs=1e-4)
    assert float(us["record: low"]) == pytest.approx(first.interval.low * 1.8 + 32.0, abs=1e-3)
    assert [us["value"], us["unit"]] == [first.text, first.unit]


def test_corrected_entries_are_written_only_when_asked(tmp_path: Path, demo_home: Path) -> None:
    store = open_record(str(demo_home))
    mine = Store.open(tmp_path / "home")
    mine.add_site_version(SCHOOL, store.site_text(SCHOOL), received_at=T0)
    name = mine.add_entry(SCHOOL, ph("=7.2", note="@home"), received_at=T0)
    mine.correct(name, ph("7.4"), received_at=T0, why="misread")
    assert export_log(mine, SCHOOL, tmp_path / "log.csv") == 1
    assert export_log(mine, SCHOOL, tmp_path / "all.csv", everything=True) == 2
    rows = {row["record: entry"]: row for row in table(tmp_path / "all.csv")}
    assert [rows[n]["record: state"] for n in ("e1", "e2")] == ["corrected or withdrawn", "holds"]
    assert (rows["e1"]["value"], rows["e1"]["note"]) == ("'=7.2", "'@home")
    late = T0 + timedelta(days=1)
    assert export_log(mine, SCHOOL, tmp_path / "log.parquet", since=late) == 0
    assert pq.read_table(tmp_path / "log.parquet").num_rows == 0


def test_a_date_alone_means_from_its_midnight_on(demo_home: Path) -> None:
    site = site_reading(open_record(str(demo_home)), SCHOOL).site
    first = first_moment("2026-10-14", site)
    assert first == first_moment("2026-10-14T00:00", site)
    assert first_moment(None, site) is None
    with pytest.raises(InputError, match="no moment"):
        first_moment("last week", site)


def test_the_commands_write_and_read_every_file(demo_home: Path, tmp_path: Path) -> None:
    home, other = ["--home", str(demo_home)], ["--home", str(tmp_path / "other")]
    for ending in ("csv", "xlsx", "parquet"):
        path = tmp_path / f"log.{ending}"
        assert f"entries of {SCHOOL}" in run("log", "export", SCHOOL, str(path), *home)
    names = {column.name for column in COLUMNS}
    assert {
        cell.value for cell in openpyxl.load_workbook(tmp_path / "log.xlsx")["log"][1]
    } == names
    assert set(pq.read_table(tmp_path / "log.parquet").column_names) == names
    parcel = str(tmp_path / "school.zip")
    assert "0 photos" in run("record", "pack", SCHOOL, parcel, *home)
    said = run("record", "unpack", parcel, *other)
    assert re.search(r"[1-9]\d* rows are new, 0 were here already", said)
    assert "\n0 rows are new" in run("record", "unpack", parcel, *other)
    first, again = tmp_path / "first.jsonl", tmp_path / "again.jsonl"
    assert "rows, digest" in run("record", "archive", str(first), *other)
    run("record", "unpack", str(first), "--home", str(tmp_path / "third"))
    run("record", "archive", str(again), "--home", str(tmp_path / "third"))
    assert first.read_bytes() == again.read_bytes()


def test_a_round_from_an_unpacked_site_is_the_same(demo_home: Path, tmp_path: Path) -> None:
    store = open_record(str(demo_home))
    pack_site(store, SCHOOL, tmp_path / "school.zip", now=T0)
    other = Store.open(tmp_path / "other")
    unpack(other, tmp_path / "school.zip")
    at = newest_moment(store, site_reading(store, SCHOOL).site)
    assert at is not None
    rounds = [
        todays_round(each, SCHOOL, at=at.isoformat(), ahead=Ahead.NOT) for each in (store, other)
    ]
    assert _without_names(rounds[0]) == _without_names(rounds[1])


def _without_names(value: Any) -> Any:
    """Leave out the local names of entries, which each record gives by itself."""
    if isinstance(value, dict):
        return {k: _without_names(v) for k, v in value.items() if k != "readings"}
    return [_without_names(each) for each in value] if isinstance(value, list) else value


def test_the_calendar_holds_every_check_of_the_round(demo_home: Path, tmp_path: Path) -> None:
    store = open_record(str(demo_home))
    at = newest_moment(store, site_reading(store, SCHOOL).site)
    assert at is not None
    made = todays_round(store, SCHOOL, at=at.isoformat(), ahead=Ahead.NOT)
    path = tmp_path / "round.ics"
    run("calendar", SCHOOL, str(path), "--at", at.isoformat(), "--home", str(demo_home))
    assert path.read_bytes() == round_calendar(store, SCHOOL, at=at.isoformat())
    events = list(Calendar.from_ical(path.read_bytes()).walk("VEVENT"))
    found = sorted((e.decoded("dtstart"), str(e["summary"]).rpartition(": ")[2]) for e in events)
    due = sorted((datetime.fromisoformat(c["due"]), c["what"]) for c in made["checks"])
    assert found == due


def test_the_page_says_the_form_that_is_written(tmp_path: Path) -> None:
    text = DOC.read_text(encoding="utf-8")
    store = Store.open(tmp_path / "home")
    archive_record(store, tmp_path / "empty.jsonl")
    for line in (tmp_path / "empty.jsonl").read_text(encoding="utf-8").splitlines():
        assert line in text
    assert all(f"`{column.name}`" in text for column in COLUMNS)
    assert all(f"`{table.name}`" in text for table in PLAIN)
    assert not misused_words(text)
    assert text.count(f"Form {FORM}") == 2
