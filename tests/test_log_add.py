"""`tailrace log add` and `log import` against a record: asked first, stored once, taken back."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from tailrace.cli.commands import app
from tailrace.errors import InputError
from tailrace.observations import Instrument
from tailrace.operations.entry import store_line, understand_line
from tailrace.operations.imports import Answers, preview_file, store_file
from tailrace.operations.record import open_record
from tailrace.records.store import Store
from tests.test_intake_files import WIDE

NAME = "lantern-school"
SITE_FILE = Path(__file__).parents[1] / "demo" / "school" / "site.toml"
NOW = datetime(2026, 11, 20, 19, 30, tzinfo=UTC)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = open_record(str(tmp_path / "record"), create=True)
    made.add_site_version(NAME, SITE_FILE.read_text(encoding="utf-8"), received_at=NOW)
    return made


def run(store: Store, *words: str, typed: str | None = None) -> str:
    found = CliRunner().invoke(app, [*words, "--home", str(store.home)], input=typed)
    error = f"{type(found.exception).__name__}: {found.exception}" if found.exception else ""
    return found.output + error


def test_a_line_is_said_back_and_stored_once_for_its_key(store: Store) -> None:
    line = understand_line(store, NAME, "ph 7.1; fed 2 scoops", now=NOW, who="AB")
    first = store_line(store, NAME, line, now=NOW, key="k1")
    assert store_line(store, NAME, line, now=NOW, key="k1") == first
    assert [(e.subject, e.who) for e in store.entries(NAME)] == [("ph", "AB"), ("feed", "AB")]


def test_a_line_with_a_question_stores_nothing(store: Store) -> None:
    line = understand_line(store, NAME, "ph 7.1; nitrite 0.25", now=NOW)
    with pytest.raises(InputError, match="not clear yet"):
        store_line(store, NAME, line, now=NOW)
    said = run(store, "log", "add", NAME, "ph 7.1; nitrite 0.25", "--yes")
    assert "write 'nitrite 0.25 as NO2'" in said
    assert "InputError: nothing was stored" in said
    assert store.entries(NAME) == ()


def test_the_command_stores_only_when_told_to(store: Store) -> None:
    assert "Nothing stored yet: say --yes" in run(store, "log", "add", NAME, "ph 7.1")
    assert store.entries(NAME) == ()
    said = run(store, "log", "add", NAME, "ph 7.1; note: fish lively", "--yes", "--who", "AB")
    assert "stored 2 entries: e1, e2." in said


def test_a_kit_of_the_record_settles_what_a_line_leaves_open(store: Store) -> None:
    kit = Instrument("blue box", "colour chart", "nitrite", "ppm as NO2", (0.0, 0.2, 0.5))
    store.set_instrument(kit, site=NAME, received_at=NOW)
    line = understand_line(store, NAME, "nitrite 0.2 by blue box", now=NOW)
    assert line.clear
    assert line.entries[0].instrument == "blue box"


def test_a_wide_file_goes_in_is_remembered_and_taken_back_whole(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "wide.csv"
    path.write_text(WIDE, encoding="utf-8")
    told: list[int] = []
    answers = Answers(columns=(("Notes", "nothing"),), dates="month first")
    found = preview_file(store, NAME, path, now=NOW, answers=answers)
    assert store.entries(NAME) == ()
    batch = store_file(store, found, who="AB", tell=lambda _, number, __: told.append(number))
    entries = store.entries(NAME)
    assert len(entries) == found.tally.taken == 10
    assert {e.batch for e in entries} == {batch}
    with pytest.raises(InputError, match="already taken in"):
        store_file(store, found)
    store.undo_batch(batch, at=NOW, why="tried")
    assert store.entries(NAME) == ()

    path.write_text(WIDE.replace("78,7.2", "79,7.2"), encoding="utf-8")
    again = preview_file(store, NAME, path, now=NOW)
    assert again.remembered
    assert (again.log.mapping.order, again.log.mapping.uses[-1].column) == ("month first", "")
    assert not preview_file(store, NAME, path, now=NOW, answers=Answers(anew=True)).remembered


def test_a_file_that_changes_after_its_preview_is_not_stored(store: Store, tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text("when,what,value\n2026-11-01 8:00,ph,7\n", encoding="utf-8")
    found = preview_file(store, NAME, path, now=NOW)
    path.write_text(
        "when,what,value\n2026-11-01 8:00,ph,7\n2026-11-02 8:00,ph,7\n", encoding="utf-8"
    )
    with pytest.raises(InputError, match="changed since the preview"):
        store_file(store, found)
    assert store.entries(NAME) == ()
    assert store.batches(NAME) == ()


def test_what_a_file_does_not_settle_is_asked_with_the_option_that_answers(
    store: Store, tmp_path: Path
) -> None:
    path = tmp_path / "log.csv"
    path.write_text("date,what,value\n3/4/2026,ph,7\n", encoding="utf-8")
    said = run(store, "log", "import", NAME, str(path))
    assert "ASKED: The order of day and month is not settled" in said
    assert "--dates 'day first'" in said
    said = run(store, "log", "import", NAME, str(path), "--dates", "day first", "--yes")
    assert "stored 1 rows as b1" in said
    assert store.entries(NAME)[0].taken_at.month == 4


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("Temp", "write it such as --map"),
        ("Nope=ph", "there is no column 'Nope'"),
        ("date=nothing", "no column is left"),
        ("value=note", "'note' both mean|value and note both mean|both mean note"),
    ],
)
def test_a_use_of_a_column_that_cannot_be_is_refused(
    store: Store, tmp_path: Path, option: str, words: str
) -> None:
    path = tmp_path / "log.csv"
    path.write_text("date,what,value,note\n2026-03-04,ph,7,\n", encoding="utf-8")
    said = run(store, "log", "import", NAME, str(path), "--map", option)
    assert any(each in said for each in words.split("|"))
