"""Backups are proved, restored and rotated; what is wrong with a record is said."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from typer.testing import CliRunner

import tailrace.cli.record  # noqa: F401  # adds its commands
from tailrace.cli.commands import app
from tailrace.errors import InputError, RecordError
from tailrace.operations import keeping
from tailrace.records.copies import BACKUPS
from tailrace.records.engine import FILE
from tailrace.records.home import find_place
from tailrace.records.keeping import DAILY, backups_in, spent
from tailrace.records.store import Store
from tailrace.records.verify import photo_files, verify_record
from tests.full_record import SITE, T0, fill, ph

NOW = datetime(2026, 3, 10, 6, tzinfo=UTC)
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def _home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TAILRACE_HOME", str(tmp_path / "server home"))


@pytest.fixture
def filled(record_address: str) -> str:
    store = Store.open(record_address)
    fill(store)
    store.close()
    return record_address


def rows(address: str) -> list[object]:
    store = Store.open(address)
    found: list[object] = list(store.rows())
    store.close()
    return found


def test_a_backup_restores_to_the_same_rows_and_photos(filled: str, tmp_path: Path) -> None:
    made = keeping.back_up(filled, tmp_path / "disk", now=NOW)
    before = rows(filled)
    store = Store.open(filled)
    store.add_entry(SITE, ph("8"), received_at=T0)
    store.close()
    elsewhere = str(tmp_path / "elsewhere")
    found = keeping.restore(made.folder, elsewhere, now=NOW)
    assert (found.faults, found.photos) == ((), 1)
    assert rows(elsewhere) == before
    with pytest.raises(InputError, match=r"there is a record in .* already; say --replace"):
        keeping.restore(made.folder, filled, now=NOW)
    assert keeping.restore(made.folder, filled, replace=True, now=NOW).faults == ()
    assert rows(filled) == before


def test_a_replaced_record_is_kept(filled: str, tmp_path: Path) -> None:
    made = keeping.back_up(filled, tmp_path / "disk", now=NOW)
    store = Store.open(filled)
    store.add_entry(SITE, ph("8.88"), received_at=T0)
    store.close()
    keeping.restore(made.folder, filled, replace=True, now=NOW)
    home = find_place(filled).home
    kept = [*home.glob(f"replaced-*/{FILE}"), *home.glob(f"{BACKUPS}/before-restore-*/{FILE}")]
    assert len(kept) == 1
    assert any("8.88" in str(row) for row in rows(str(kept[0])))


def test_a_backup_that_changed_is_not_restored(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "home")
    fill(store)
    made = keeping.back_up(str(tmp_path / "home"), None, now=NOW)
    with (made.folder / FILE).open("r+b") as stream:
        stream.seek(5000)
        stream.write(b"x")
    with pytest.raises(RecordError, match="is not what it was when the backup was made"):
        keeping.restore(made.folder, str(tmp_path / "other"), now=NOW)
    with pytest.raises(InputError, match="is no backup"):
        keeping.restore(tmp_path / "nothing", str(tmp_path / "other"), now=NOW)


def test_a_record_that_is_not_sound_makes_no_backup(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    fill(store)
    for photo in photo_files(tmp_path / "photos").values():
        photo.write_bytes(b"other bytes")
    with pytest.raises(
        RecordError, match=r"the backup is not sound.*not what it was when it came"
    ):
        keeping.back_up(str(tmp_path), None, now=NOW)
    assert list((tmp_path / BACKUPS).iterdir()) == []


def test_the_backup_of_the_day_is_made_once_and_old_ones_go(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    fill(store)
    where = find_place(tmp_path)
    assert keeping.back_up_if_due(where, now=NOW) is not None
    assert keeping.back_up_if_due(where, now=NOW + DAY / 2) is None
    for n in range(1, 9):
        assert keeping.back_up_if_due(where, now=NOW + n * DAY) is not None
    ages = [(NOW + 8 * DAY - b.made_at).days for b in backups_in(tmp_path / BACKUPS, DAILY)]
    assert ages == [7, 6, 5, 4, 3, 2, 1, 0]


def test_a_clock_that_ran_ahead_stops_no_backup(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    fill(store)
    where = find_place(tmp_path)
    assert keeping.back_up_if_due(where, now=NOW + 100 * DAY)
    assert keeping.back_up_if_due(where, now=NOW)


def test_weeks_are_kept_after_the_days() -> None:
    made = tuple(NOW - n * DAY for n in range(60))
    kept = sorted(set(made) - set(spent(made, NOW)))
    assert [(NOW - moment).days for moment in reversed(kept)] == [*range(7), 7, 14, 21, 28]


def test_a_redacted_note_leaves_the_backups_as_they_rotate(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    store.add_site_version(SITE, "x", received_at=T0)
    name = store.add_entry(SITE, ph(note="a secret of somebody"), received_at=T0)
    where = find_place(tmp_path)
    keeping.back_up_if_due(where, now=NOW)
    runner = CliRunner()
    done = runner.invoke(
        app, ["record", "redact", name, "--why", "asked", "--home", str(tmp_path)]
    )
    assert done.exit_code == 0, done.output
    for n in range(1, 60):
        if n % 7 == 0 or n > 50:
            keeping.back_up_if_due(where, now=NOW + n * DAY)
    backups = list((tmp_path / BACKUPS).glob("daily-20260[3-5]*/*.sqlite3"))
    assert backups
    store.close()
    for file in backups:
        assert b"a secret of somebody" not in file.read_bytes()


# what is wrong is said


def damage(home: Path, *statements: str) -> None:
    with closing(sqlite3.connect(home / FILE)) as raw, raw:
        for (name,) in raw.execute(
            "SELECT name FROM sqlite_master WHERE type='trigger'"
        ).fetchall():
            raw.execute(f"DROP TRIGGER {name}")
        for statement in statements:
            raw.execute(statement)


@pytest.mark.parametrize(
    ("statement", "said"),
    [
        ("UPDATE entries SET taken_at = 'noon' WHERE number = 1", "which is no moment"),
        ("UPDATE entries SET meanings = '[' WHERE number = 1", "meanings cannot be read"),
        (
            """UPDATE entries SET meanings = '[["", "2", "1"]]' WHERE number = 1""",
            "interval 2 to 1 is none",
        ),
        ("UPDATE entries SET supersedes = uid WHERE number = 1", "it corrects itself"),
        ("UPDATE site_versions SET text = 'x'", "its text is not the one that was stored"),
        ("DROP TABLE advice", "the table advice is missing"),
        ("ALTER TABLE entries DROP COLUMN note", "the table entries lacks note"),
        ("UPDATE record_schema SET writes = 0", "confirmed acts of writing are missing"),
    ],
)
def test_what_is_wrong_is_said(tmp_path: Path, statement: str, said: str) -> None:
    store = Store.open(tmp_path)
    fill(store)
    store.close()
    assert verify_record(tmp_path).faults == ()
    damage(tmp_path, statement)
    faults = verify_record(tmp_path).faults
    assert any(said in fault for fault in faults), faults
    assert any("the table entries is no longer guarded" in fault for fault in faults)


def test_a_page_of_noise_is_said(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    fill(store)
    for n in range(200):
        store.add_entry(SITE, ph(str(n), note="x" * 300), received_at=T0)
    store.close()
    with (tmp_path / FILE).open("r+b") as stream:
        stream.seek(4096 * 40)
        stream.write(b"\xa5" * 4096 * 4)
    said = CliRunner().invoke(app, ["record", "verify", "--home", str(tmp_path)])
    assert said.exit_code != 0
    assert "damaged" in str(said.exception)


def test_a_photo_that_is_missing_or_changed_is_said(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    fill(store)
    ((_, photo),) = photo_files(tmp_path / "photos").items()
    photo.write_bytes(b"other bytes")
    assert "is not what it was when it came" in verify_record(tmp_path).faults[0]
    photo.unlink()
    assert "is missing; a backup may have it" in verify_record(tmp_path).faults[0]


# the commands


def test_the_commands_say_what_they_did(tmp_path: Path, record_address: str) -> None:
    store = Store.open(record_address)
    fill(store)
    store.close()
    runner = CliRunner()
    home = ["--home", record_address]
    made = runner.invoke(app, ["record", "backup", str(tmp_path / "disk"), *home])
    assert "restored once, and sound" in made.output, made.exception
    sound = runner.invoke(app, ["record", "verify", *home])
    assert "sound;" in sound.output
    (backup,) = (tmp_path / "disk").iterdir()
    back = runner.invoke(app, ["record", "restore", str(backup), "--home", str(tmp_path / "new")])
    assert "sound;" in back.output, back.exception
    moved = runner.invoke(app, ["record", "move", str(tmp_path / "newer"), *home])
    assert "each as it was" in moved.output, moved.exception
