"""What writes during a soak, and how it notes what was acknowledged."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from tailrace.records.store import Store
from tests.full_record import SITE, T0, ph

ROOT = Path(__file__).parent.parent


@dataclass
class Tally:
    """What a soak counted."""

    trials: int = 0
    acknowledged: int = 0
    found: int = 0
    lost: int = 0
    doubled: int = 0
    said: int = 0
    faults: int = 0

    def line(self, fault: str, seed: int) -> str:
        """Return the line that is printed."""
        return (
            f"{fault} seed {seed}: {self.trials} trials; acknowledged {self.acknowledged}, "
            f"found {self.found}, lost {self.lost}, doubled {self.doubled}; damage said "
            f"{self.said} times, unsound {self.faults}"
        )


class Checker:
    """The checker, a program of its own."""

    def __init__(self) -> None:
        self._process = subprocess.Popen(
            [sys.executable, "-m", "tests.soak_check"],
            cwd=ROOT,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def check(self, record: str, acks: list[Path], what: str = "entries") -> dict[str, Any]:
        """Ask it about a record."""
        stdin, stdout = self._process.stdin, self._process.stdout
        assert stdin is not None
        assert stdout is not None
        asked = {"record": record, "acks": [str(a) for a in acks], "what": what}
        stdin.write(json.dumps(asked) + "\n")
        stdin.flush()
        answer: dict[str, Any] = json.loads(stdout.readline())
        return answer

    def close(self) -> None:
        """End it."""
        self._process.communicate()


@contextmanager
def checker() -> Iterator[Checker]:
    """Run the checker."""
    running = Checker()
    try:
        yield running
    finally:
        running.close()


def begin(record: str) -> None:
    """Make a record with one invented site."""
    store = Store.open(record)
    store.add_site_version(SITE, "invented", received_at=T0)
    store.close()


def acknowledge(acks: Path, name: str) -> None:
    """Note that an act was confirmed, in one write."""
    handle = os.open(acks, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o666)
    try:
        os.write(handle, f"{name}\n".encode())
    finally:
        os.close(handle)


def acknowledged(acks: Path) -> int:
    """Return how many acts were confirmed."""
    return acks.read_bytes().count(b"\n") if acks.exists() else 0


def write_on(store: Store, acks: Path, worker: str, *, at_most: int = 10**9) -> None:
    """Write act after act; goes on where the acknowledgements end.

    The first act may have been confirmed before the acknowledgement was written: its key keeps
    it from being stored twice.
    """
    begun = acknowledged(acks)
    for n in range(begun, begun + at_most):
        name = f"{worker}-{n}"
        entry = ph(note=name, who=worker, at=T0)
        store.add_entries(SITE, (entry,), received_at=datetime.now(UTC), key=name)
        acknowledge(acks, name)


def work(record: str, folder: str, worker: str, threads: int) -> None:
    """Write from several threads until killed."""
    store = Store.open(record)
    running = [
        threading.Thread(
            target=write_on, args=(store, Path(folder) / f"{worker}.{n}", f"{worker}.{n}")
        )
        for n in range(threads)
    ]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()
