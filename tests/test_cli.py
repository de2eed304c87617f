"""The command line as a person meets it: answers, plain sentences for faults, no traceback."""

from __future__ import annotations

import json
import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from tests.logs import DEMOS, ROOT

AT = "2026-11-09 08:24"
SCHOOL = DEMOS["lantern-school"]


def run(*words: str, home: Path, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "tailrace.cli", *words, "--home", str(home)],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, **environment},
        cwd=ROOT,
    )


def said(done: subprocess.CompletedProcess[str]) -> str:
    """The one sentence of a command that failed as it should."""
    assert done.returncode == 1, done
    assert "Traceback" not in done.stderr
    assert done.stderr.startswith("tailrace: ")
    return done.stderr


@pytest.fixture
def home(demo_home: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_home, tmp_path / "record"))


def test_round_as_text_and_as_json(home: Path) -> None:
    text = run("round", "lantern-school", "--at", AT, home=home)
    assert text.returncode == 0
    assert "WHAT NEEDS ATTENTION" in text.stdout
    made = json.loads(run("round", "lantern-school", "--at", AT, "--json", home=home).stdout)
    assert made["at"] == "2026-11-09T08:24-07:00"
    assert made["attention"][0]["title"] in text.stdout


def test_round_in_the_other_units(home: Path) -> None:
    made = run("round", "lantern-school", "--at", AT, "--units", "metric", "--json", home=home)
    assert json.loads(made.stdout)["drain"]["draw"]["unit"] == "L"


def test_advice_on_air_and_drain(home: Path) -> None:
    air = run("advise", "air", "millrace-yard", "--at", "2026-11-09 07:28", home=home)
    assert "turns open" in air.stdout
    assert "LOOK EACH 15 MIN" in air.stdout
    drain = run("advise", "drain", "lantern-school", "--at", AT, home=home)
    assert "1 min after a backwash" in drain.stdout


def test_no_record_yet(tmp_path: Path) -> None:
    assert "there is no record" in said(run("round", "nowhere", home=tmp_path / "none"))


def test_a_site_that_is_not_known(home: Path) -> None:
    assert "lantern-school" in said(run("round", "lantern", home=home))


def test_a_moment_that_is_none(home: Path) -> None:
    assert "no moment" in said(run("round", "lantern-school", "--at", "soon", home=home))


def test_a_file_that_is_not_there(home: Path) -> None:
    assert "no such file" in said(run("site", "load", "gone.toml", home=home))
    assert "no such file" in said(run("log", "import", "lantern-school", "gone.csv", home=home))


def test_a_record_that_is_no_database(tmp_path: Path) -> None:
    (tmp_path / "record.sqlite3").write_text("this is no database, only words" * 50)
    said(run("round", "lantern-school", home=tmp_path))


def test_a_record_that_another_program_holds(home: Path) -> None:
    with closing(sqlite3.connect(home / "record.sqlite3")) as connection:
        connection.execute("BEGIN EXCLUSIVE")
        done = run("site", "load", str(_changed(home)), home=home)
        connection.rollback()
    said(done)


def _changed(folder: Path) -> Path:
    file = folder / "changed.toml"
    text = (SCHOOL / "site.toml").read_text(encoding="utf-8")
    file.write_text(text.replace("count = 72", "count = 71"), encoding="utf-8")
    return file


def test_site_check_says_what_was_understood_assumed_and_computed() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tailrace.cli", "site", "check", str(SCHOOL / "site.toml")],
        capture_output=True,
        text=True,
        check=True,
    )
    for head in ("UNDERSTOOD", "ASSUMED", "LOOKS WRONG", "COMPUTED"):
        assert head in done.stdout
    assert "times a day" in done.stdout


def test_site_load_twice_is_one_version(home: Path) -> None:
    again = run("site", "load", str(SCHOOL / "site.toml"), home=home)
    assert "already in the record" in again.stdout
    assert "loaded" in run("site", "load", str(_changed(home)), home=home).stdout


def test_import_previews_and_stores_nothing_unasked(tmp_path: Path) -> None:
    run("site", "load", str(SCHOOL / "site.toml"), home=tmp_path)
    log = str(SCHOOL / "log.csv")
    preview = run("log", "import", "lantern-school", log, home=tmp_path)
    assert "Nothing stored yet" in preview.stdout
    assert run("log", "show", "lantern-school", home=tmp_path).stdout == ""
    stored = run("log", "import", "lantern-school", log, "--yes", home=tmp_path)
    assert "KEPT ASIDE" in stored.stdout
    assert "stored" in stored.stdout
    again = run("log", "import", "lantern-school", log, "--yes", home=tmp_path)
    assert "b1" in said(again)
    undone = run("log", "undo", "lantern-school", "b1", home=tmp_path)
    assert "undone" in undone.stdout
    assert "e1 " not in run("log", "show", "lantern-school", home=tmp_path).stdout


def test_correct_and_withdraw_keep_the_history(home: Path) -> None:
    shown = run("log", "show", "lantern-school", home=home).stdout
    entry = next(line.split()[0] for line in shown.splitlines() if "air float 0.1" in line)
    done = run(
        "log", "correct", "lantern-school", entry, "--value", "0.15", "--why", "slip", home=home
    )
    assert "corrected by" in done.stdout
    new = done.stdout.split("corrected by ")[1].split(";")[0]
    history = run("log", "show", "lantern-school", new, home=home).stdout
    assert "slip" in history
    assert "0.15 SCFH" in history
    gone = run(
        "log", "correct", "lantern-school", new, "--withdraw", "--why", "written twice", home=home
    )
    assert "withdrawn" in gone.stdout
    bad = run("log", "correct", "lantern-school", entry, "--value", "0.2", "--why", "x", home=home)
    assert "no live entry" in said(bad)


def test_a_correction_that_cannot_be_read_changes_nothing(home: Path) -> None:
    shown = run("log", "show", "lantern-school", home=home).stdout
    entry = next(line.split()[0] for line in shown.splitlines() if " pH 7" in line)
    done = run(
        "log", "correct", "lantern-school", entry, "--value", "74", "--why", "slip", home=home
    )
    assert "Was 7.4 meant?" in said(done)
    assert run("log", "show", "lantern-school", home=home).stdout == shown


def test_stopping_an_import_leaves_the_record_whole(tmp_path: Path) -> None:
    run("site", "load", str(SCHOOL / "site.toml"), home=tmp_path)
    command = ["log", "import", "lantern-school", str(SCHOOL / "log.csv"), "--yes"]
    running = subprocess.Popen(
        [sys.executable, "-m", "tailrace.cli", *command, "--home", str(tmp_path)],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
        text=True,
    )
    database = tmp_path / "record.sqlite3"
    while running.poll() is None and not _writing(database):
        time.sleep(0)
    running.send_signal(signal.SIGINT)
    _, told = running.communicate()
    assert "Traceback" not in told
    with closing(sqlite3.connect(database)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        batches = connection.execute("SELECT count(*) FROM batches").fetchone()[0]
        entries = connection.execute("SELECT count(*) FROM entries").fetchone()[0]
    assert (batches == 0) == (entries == 0)


def _writing(database: Path) -> bool:
    log = database.with_name(database.name + "-wal")
    return log.exists() and log.stat().st_size > 0


def test_version() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tailrace.cli", "--version"],
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.startswith("tailrace ")
