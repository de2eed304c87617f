"""The long trials of the record, run short; `make soak` runs them in full."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

import pytest

from tailrace.records.store import Store
from tests.full_record import SITE, T0, ph
from tests.soak import run
from tests.soak_check import check
from tests.soak_work import acknowledge, begin


@pytest.mark.parametrize(
    ("fault", "count"), [("kill", 4), ("wal", 40), ("clock", 40), ("mqtt", 500)]
)
def test_nothing_that_was_acknowledged_is_lost_or_doubled(fault: str, count: int) -> None:
    told = run(fault, seed=7, count=count)
    assert told.acknowledged > 0
    assert (told.lost, told.doubled, told.faults) == (0, 0, 0)


def test_the_checker_finds_what_is_lost_and_doubled(tmp_path: Path) -> None:
    begin(str(tmp_path / "record"))
    store = Store.open(tmp_path / "record")
    for note in ("a-0", "a-1", "a-1"):
        store.add_entry(SITE, ph(note=note), received_at=T0)
    for note in ("a-0", "a-1", "a-2"):
        acknowledge(tmp_path / "acks", note)
    found = check(str(tmp_path / "record"), [str(tmp_path / "acks")])
    assert found == {"acknowledged": 3, "found": 2, "lost": 1, "doubled": 1, "said": []}


def _told_as_nobody(home: Path) -> str:
    """Write in a record as a user who owns nothing; everything is imported by then."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            if os.getuid() == 0:
                os.setgroups([])
                os.setgid(65534)
                os.setuid(65534)
            Store.open(home).add_entry(SITE, ph(), received_at=T0)
        except Exception as error:  # noqa: BLE001  # whatever it was, the parent shall see it
            os.write(writing, f"{type(error).__name__}: {error}".encode())
        finally:
            os._exit(0)
    os.close(writing)
    os.waitpid(child, 0)
    with os.fdopen(reading, "rb") as stream:
        return stream.read().decode()


@pytest.mark.parametrize("mode", [0o555, 0o000])
def test_a_folder_that_may_only_be_read_is_said(mode: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        home = Path(name) / "record"
        begin(str(home))
        home.chmod(mode)
        told = _told_as_nobody(home)
        home.chmod(0o755)
    assert told.startswith("RecordError: ")
    assert "cannot be written. Give this user the right" in told or (
        "cannot be opened. Check that the folder exists" in told
    )
