"""Durable entries from four processes, and a bulk import, as shares of plain sqlite3.

Run as ``python benchmarks/record.py [FOLDER]``. The floor is sqlite3 alone: the same pragmas,
tables, indexes and guards, the same values ready made, BEGIN IMMEDIATE and a commit for each
entry. Floor and record take turns, three times, on the same disk; the medians are compared.
"""

from __future__ import annotations

import itertools
import multiprocessing
import platform
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any

from tailrace.observations import Entry, Interval, Meaning
from tailrace.records.home import FILE
from tailrace.records.store import Store

PROCESSES, SINGLE, BULK, TURNS = 4, 250, 100_000, 3
SITE, T0 = "invented", datetime(2026, 3, 1, 8, tzinfo=UTC)
PRAGMAS = ("journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", "recursive_triggers=ON")
PH = Entry("", "ph", "7,2", "", (Meaning("", Interval(7.15, 7.25)),), T0, who="AB")


def prepare(folder: Path) -> Path:
    """Make a record with its site, and return its folder."""
    store = Store.open(folder)
    store.add_site_version(SITE, "invented", received_at=T0)
    store.close()
    return folder


def plain(folder: Path) -> sqlite3.Connection:
    """Open a record without this software."""
    raw = sqlite3.connect(folder / FILE, isolation_level=None, timeout=5.0)
    for pragma in PRAGMAS:
        raw.execute(f"PRAGMA {pragma}")
    return raw


def plain_rows(folder: Path, count: int) -> tuple[str, Iterator[tuple[Any, ...]]]:
    """Return a statement and rows as the record itself wrote one, but for their uid."""
    store = Store.open(folder)
    store.add_entry(SITE, PH, received_at=T0)
    store.close()
    with closing(sqlite3.connect(folder / FILE)) as raw:
        found = raw.execute("SELECT * FROM entries ORDER BY number DESC LIMIT 1")
        names = [column[0] for column in found.description][1:]
        row = found.fetchone()[1:]
    marks = ", ".join("?" for _ in names)
    told = ", ".join(f'"{name}"' for name in names)
    uid = names.index("uid")
    seed = time.time_ns()
    rows = ((*row[:uid], f"{seed + n:032x}", *row[uid + 1 :]) for n in range(count))
    return f"INSERT INTO entries ({told}) VALUES ({marks})", rows


def single_plain(folder: Path, start: Any, number: int) -> None:
    """Write entries one by one with sqlite3 alone."""
    statement, made = plain_rows(folder, SINGLE)
    rows = [(*r,) for r in made]
    raw = plain(folder)
    start.wait()
    for row in rows:
        raw.execute("BEGIN IMMEDIATE")
        raw.execute(statement, row)
        raw.execute("COMMIT")
    raw.close()
    del number


def single_record(folder: Path, start: Any, number: int) -> None:
    """Write entries one by one with the record."""
    store = Store.open(folder)
    store.add_entry(SITE, PH, received_at=T0)
    start.wait()
    for n in range(SINGLE):
        entry = replace(PH, taken_at=T0 + timedelta(minutes=n), who=str(number))
        store.add_entry(SITE, entry, received_at=T0)
    store.close()


def from_processes(work: Callable[[Path, Any, int], None], folder: Path) -> float:
    """Return entries per second of all processes together; every one must end well."""
    context = multiprocessing.get_context("fork")
    start = context.Barrier(PROCESSES + 1)
    running = [
        context.Process(target=work, args=(folder, start, number)) for number in range(PROCESSES)
    ]
    for process in running:
        process.start()
    start.wait()
    begun = time.perf_counter()
    for process in running:
        process.join()
    took = time.perf_counter() - begun
    if any(process.exitcode for process in running):
        raise SystemExit("a writer failed")
    return PROCESSES * SINGLE / took


def bulk_plain(folder: Path) -> float:
    """Return rows per second of one transaction with sqlite3 alone."""
    statement, rows = plain_rows(folder, BULK)
    ready = list(rows)
    with closing(plain(folder)) as raw:
        begun = time.perf_counter()
        raw.execute("BEGIN IMMEDIATE")
        raw.executemany(statement, ready)
        raw.execute("COMMIT")
        return BULK / (time.perf_counter() - begun)


def bulk_record(folder: Path) -> float:
    """Return rows per second of an import of entries already understood."""
    store = Store.open(folder)
    made = [replace(PH, taken_at=T0 + timedelta(minutes=n), row=n + 2) for n in range(BULK)]
    digest = f"{time.time_ns():064x}"
    begun = time.perf_counter()
    store.add_stream(SITE, made, file="log.csv", sha256=digest, received_at=T0)
    took = time.perf_counter() - begun
    store.close()
    return BULK / took


def compare(
    folder: Path, name: str, floor: Callable[[Path], float], ours: Callable[[Path], float]
) -> None:
    """Print the medians of floor and record, taken in turns, and their ratio."""
    numbers = itertools.count()
    found = [
        (
            floor(prepare(folder / f"{name}{next(numbers)}")),
            ours(prepare(folder / f"{name}{next(numbers)}")),
        )
        for _ in range(TURNS)
    ]
    low, high = median(f for f, _ in found), median(r for _, r in found)
    print(f"{name:28} floor {low:>9.0f}/s  record {high:>9.0f}/s  ratio {high / low:.2f}")


def main() -> None:
    """Measure in a folder of the disk that is asked about."""
    where = sys.argv[1] if len(sys.argv) > 1 else None
    print(f"{platform.processor() or platform.machine()}, sqlite {sqlite3.sqlite_version}")
    with tempfile.TemporaryDirectory(prefix="tailrace-record-", dir=where) as name:
        folder = Path(name)
        compare(
            folder,
            "single entries, 4 processes",
            lambda home: from_processes(single_plain, home),
            lambda home: from_processes(single_record, home),
        )
        compare(folder, "bulk import", bulk_plain, bulk_record)


if __name__ == "__main__":
    main()
