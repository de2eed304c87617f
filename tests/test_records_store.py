"""The record: nothing changed, nothing lost, and every fault in a plain sentence."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection, event

from tailrace.errors import InputError, NotKnownError, RecordError
from tailrace.intake.result import Aside, ImportResult, Understood
from tailrace.migrations.env import BEFORE_STEPS
from tailrace.observations import Entry, Interval, Meaning
from tailrace.records import engine as engine_module
from tailrace.records import tables
from tailrace.records.engine import FILE
from tailrace.records.home import find_place, home_folder
from tailrace.records.kept import KeptForecast
from tailrace.records.store import Store
from tailrace.records.upgrade import change_form
from tests.full_record import fill

T0 = datetime(2026, 3, 1, 8, tzinfo=UTC)
PH = Entry("", "ph", "7,2", "", (Meaning("", Interval(7.15, 7.25)),), T0, who="AB")


def result(count: int = 2, digest: str = "a") -> ImportResult:
    made = tuple(replace(PH, taken_at=T0 + timedelta(hours=n), row=n + 2) for n in range(count))
    aside = (Aside(99, "tomorrow,ph,7", ("no date",)),)
    understood = Understood("utf-8", "comma", 1, (), "point", "")
    return ImportResult("log.csv", digest * 64, T0, made, aside, (), understood)


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = Store.open(tmp_path / "home")
    made.add_site_version("lantern", "first", received_at=T0)
    return made


def test_an_entry_comes_back_as_it_went_in(store: Store) -> None:
    entry = replace(
        PH,
        meanings=(Meaning("N", Interval(0.1, 0.2)), Meaning("NO2", Interval(0.0, float("inf")))),
        taken_also=T0 + timedelta(hours=1),
        flags=("basis not known",),
        note="Ünïcode; 'quotes'",
        received_at=T0.astimezone(),
    )
    name = store.add_entry("lantern", entry, received_at=T0)
    found = store.entries("lantern")[0]
    assert found == replace(entry, id=name, uid=found.uid)
    assert len(found.uid) == 32
    assert found.taken_at.utcoffset() == timedelta(0)


def test_a_moment_without_zone_is_refused(store: Store) -> None:
    naive = replace(PH, taken_at=T0.replace(tzinfo=None))
    with pytest.raises(InputError, match="no time zone"):
        store.add_entry("lantern", naive, received_at=T0)


def test_site_versions_are_kept_and_asked_for_by_time(store: Store) -> None:
    assert store.add_site_version("lantern", "second", received_at=T0 + timedelta(days=1))
    assert not store.add_site_version("lantern", "second", received_at=T0 + timedelta(days=2))
    assert store.site_text("lantern") == "second"
    assert store.site_text("lantern", at=T0 + timedelta(hours=1)) == "first"
    assert store.site_names() == ("lantern",)
    with pytest.raises(NotKnownError, match="no description yet"):
        store.site_text("lantern", at=T0 - timedelta(days=1))
    with pytest.raises(NotKnownError, match=r"'lanten' is not in the record.*it holds lantern"):
        store.site_text("lanten")


def test_a_file_is_taken_once_until_it_is_undone(store: Store) -> None:
    batch = store.add_batch("lantern", result(), who="AB")
    assert [e.batch for e in store.entries("lantern")] == [batch, batch]
    assert store.asides("lantern")[0][1].text == "tomorrow,ph,7"
    with pytest.raises(InputError, match="already taken in as b1 on 2026-03-01; undo b1 first"):
        store.add_batch("lantern", result())
    store.undo_batch(batch, at=T0, why="wrong site")
    assert store.entries("lantern") == ()
    assert store.asides("lantern") == ()
    assert len(store.all_entries("lantern")) == 2
    assert store.batches("lantern")[0].undone_why == "wrong site"
    with pytest.raises(InputError, match="already undone"):
        store.undo_batch(batch, at=T0, why="again")
    assert store.add_batch("lantern", result()) == "b2"


def test_a_correction_supersedes_and_both_stay(store: Store) -> None:
    first = store.add_entry("lantern", PH, received_at=T0)
    second = store.correct(first, replace(PH, text="7,4"), received_at=T0, why="misread")
    assert [e.id for e in store.entries("lantern")] == [second]
    assert [(v.entry.id, v.why) for v in store.history(first)] == [
        (first, ""),
        (second, "misread"),
    ]
    with pytest.raises(InputError, match=f"already corrected by {second}; correct that one"):
        store.correct(first, PH, received_at=T0, why="again")
    store.undo_entry(second, at=T0, why="it was right")
    assert [e.id for e in store.entries("lantern")] == [first]
    assert store.history(second)[1].undone_why == "it was right"


def test_undoing_an_import_takes_its_corrections_along(store: Store) -> None:
    batch = store.add_batch("lantern", result(1))
    entry = store.entries("lantern")[0]
    store.correct(entry.id, replace(entry, text="7,3"), received_at=T0, why="misread")
    store.undo_batch(batch, at=T0, why="wrong file")
    assert store.entries("lantern") == ()
    assert len(store.all_entries("lantern")) == 2


FORECAST = KeptForecast(
    key="k" * 64,
    at=T0,
    issued_at=T0,
    version="0.1.0",
    seed=7,
    entries=("e1", "e2"),
    body={"say": "invented"},
)


def test_a_forecast_is_kept_once_with_what_was_known(store: Store) -> None:
    assert store.keep_forecast("lantern", FORECAST)
    assert not store.keep_forecast("lantern", replace(FORECAST, body={"say": "another"}))
    assert store.forecasts("lantern") == (FORECAST,)


def test_a_record_of_the_first_schema_gains_the_new_table(store: Store) -> None:
    store.engine.dispose()
    change_form(find_place(store.home), BEFORE_STEPS + 1)
    raw = sqlite3.connect(store.home / FILE)
    with raw:
        raw.execute("DROP TABLE forecasts")
        raw.execute("UPDATE record_schema SET version = 1")
        raw.execute("ALTER TABLE record_schema DROP COLUMN writes")
    raw.close()
    again = Store.open(store.home)
    assert again.keep_forecast("lantern", FORECAST)
    assert Store.open(store.home).forecasts("lantern") == (FORECAST,)


@pytest.mark.parametrize("table", [t.name for t in tables.APPEND_ONLY])
def test_no_row_can_be_changed_removed_or_replaced(store: Store, table: str) -> None:
    fill(store)
    with sqlite3.connect(store.home / FILE) as raw:
        column = [row[1] for row in raw.execute(f"PRAGMA table_info({table})")][-1]
        before = raw.execute(f"SELECT * FROM {table}").fetchall()
        assert before
        for statement in (
            f"UPDATE {table} SET {column} = {column}",
            f"DELETE FROM {table}",
            f"INSERT OR REPLACE INTO {table} SELECT * FROM {table}",
        ):
            with pytest.raises(sqlite3.IntegrityError, match="append-only"):
                raw.execute(statement)
        assert raw.execute(f"SELECT * FROM {table}").fetchall() == before
    raw.close()


def test_ctrl_c_within_an_import_stores_nothing(store: Store) -> None:
    seen = []

    def interrupt(_c: Any, _cur: Any, statement: str, *_rest: Any) -> None:
        if statement.startswith("INSERT INTO asides"):  # the entries are written by then
            seen.append(statement)
            raise KeyboardInterrupt

    event.listen(store._engine, "before_cursor_execute", interrupt)
    with pytest.raises(KeyboardInterrupt):
        store.add_batch("lantern", result(50))
    event.remove(store._engine, "before_cursor_execute", interrupt)
    assert seen
    assert store.all_entries("lantern") == ()
    assert store.batches("lantern") == ()
    assert store.add_batch("lantern", result(50)) == "b1"


_KILLED = """
import os, signal, sys
from pathlib import Path
from sqlalchemy import Connection, event
from tests.test_records_store import Store, result
store = Store.open(Path(sys.argv[1]))
def die(_c, _cur, statement, *_rest):
    if statement.startswith("INSERT INTO asides"):
        os.kill(os.getpid(), signal.SIGKILL)
event.listen(store._engine, "before_cursor_execute", die)
store.add_batch("lantern", result(50))
"""


def test_a_process_killed_within_an_import_leaves_the_record_whole(store: Store) -> None:
    root = str(Path(__file__).parent.parent)
    run = subprocess.run(
        [sys.executable, "-c", _KILLED, str(store.home)],
        check=False,
        cwd=root,
        env={**os.environ, "PYTHONPATH": root},
    )
    assert run.returncode == -signal.SIGKILL
    again = Store.open(store.home)
    assert again.all_entries("lantern") == ()
    assert again.add_batch("lantern", result()) == "b1"


def _write_many(home: Path, who: str) -> None:
    store = Store.open(home)
    for n in range(25):
        entry = replace(PH, who=who, taken_at=T0 + timedelta(minutes=n))
        store.add_entry("lantern", entry, received_at=T0)


def test_two_processes_write_at_once_and_none_fails(store: Store) -> None:
    context = multiprocessing.get_context("spawn")
    people = [context.Process(target=_write_many, args=(store.home, who)) for who in ("AB", "CD")]
    for person in people:
        person.start()
    for person in people:
        person.join()
    assert [person.exitcode for person in people] == [0, 0]
    assert len({e.id for e in store.entries("lantern")}) == 50


def test_the_database_is_set_as_the_record_needs(store: Store) -> None:
    with store._engine.connect() as connection:
        asked = ("journal_mode", "synchronous", "foreign_keys", "busy_timeout")
        found = [connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in asked]
    assert found == ["wal", 2, 1, 5000]


# every fault in one plain sentence


def test_a_locked_record_is_said_to_be_locked(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engine_module, "BUSY_TIMEOUT_S", 0.05)
    impatient = Store.open(store.home)
    raw = sqlite3.connect(store.home / FILE, isolation_level=None)
    raw.execute("BEGIN IMMEDIATE")
    with pytest.raises(RecordError, match="is locked: another program"):
        impatient.add_entry("lantern", PH, received_at=T0)
    assert impatient.entries("lantern") == ()  # reading goes on
    raw.execute("ROLLBACK")
    raw.close()
    assert impatient.add_entry("lantern", PH, received_at=T0) == "e1"


def test_a_full_disk_is_said_and_nothing_is_half_stored(store: Store) -> None:
    def small(connection: Connection) -> None:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar_one()
        connection.exec_driver_sql(f"PRAGMA max_page_count={pages + 2}")

    event.listen(store._engine, "begin", small)
    with pytest.raises(RecordError, match=r"the disk is full. Nothing of this act was stored"):
        store.add_batch("lantern", result(500))
    event.remove(store._engine, "begin", small)
    assert store.all_entries("lantern") == ()


def _not_a_database(home: Path) -> None:
    (home / FILE).write_bytes(b"when,what,value\n" * 200)


def _another_database(home: Path) -> None:
    with sqlite3.connect(home / FILE) as raw:
        raw.execute("CREATE TABLE recipes (name TEXT)")
    raw.close()


def _newer(home: Path) -> None:
    Store.open(home)
    with sqlite3.connect(home / FILE) as raw:
        raw.execute("UPDATE record_schema SET version = 99")
    raw.close()


def _damaged(home: Path) -> None:
    Store.open(home)
    size = (home / FILE).stat().st_size
    with (home / FILE).open("r+b") as stream:
        stream.seek(100)
        stream.write(b"\xff" * (size - 100))


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (_not_a_database, "is not a database. Move that file away"),
        (_another_database, "is a database, but no record of this software"),
        (_newer, r"newer version of this software \(schema 99, this one knows up to \d+\)"),
        (_damaged, "is damaged|is not a database"),
    ],
)
def test_a_file_that_cannot_be_the_record_is_said(
    tmp_path: Path, spoil: Callable[[Path], None], said: str
) -> None:
    spoil(tmp_path)
    with pytest.raises(RecordError, match=said):
        Store.open(tmp_path)


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(RecordError, match="cannot be opened"):
        Store.open(tmp_path / "file" / "home")


def test_a_folder_that_cannot_be_written_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(*_args: Any, **_kwargs: Any) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "mkdir", refuse)  # tests may run as a user who may write anywhere
    with pytest.raises(RecordError, match=r"cannot be written. Give this user the right"):
        Store.open(tmp_path / "home")


def test_a_missing_record_is_said(tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="there is no record in"):
        Store.open(tmp_path / "nowhere", create=False)
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("name", ["e9", "17", "e", "ex", "e-1", "e" + "9" * 40])
def test_an_unknown_entry_is_said(store: Store, name: str) -> None:
    with pytest.raises(NotKnownError, match=r"no name of the record|not in the record"):
        store.history(name)


def test_home_is_the_option_then_the_environment_then_the_user_folder(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("TAILRACE_HOME", "/srv/environment")
    assert home_folder("/srv/option") == Path("/srv/option")
    assert home_folder(None) == Path("/srv/environment")
    monkeypatch.delenv("TAILRACE_HOME")
    assert home_folder(None).name == "tailrace"
