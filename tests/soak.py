"""Long trials of the record: ``python -m tests.soak FAULT --seed N`` (``make soak``).

Prints what was acknowledged, found, lost and doubled; ends with 1 where anything was lost,
doubled or damaged without a word. What each trial does stands in docs/theory/record.md.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path

from tailrace.errors import RecordError
from tailrace.operations import keeping
from tailrace.records.home import find_place
from tailrace.records.store import Store
from tests.full_record import SITE, T0, ph
from tests.servers import mosquitto, postgres
from tests.soak_mqtt import messages
from tests.soak_wal import power_cuts
from tests.soak_work import Checker, Tally, acknowledge, begin, checker, work, write_on

_FULL_MIB = 3


def kill(folder: Path, rng: random.Random, count: int, *, address: str = "") -> Tally:
    """Kill -9 one of two processes of four threads, at random moments under load."""
    record, acks = address or str(folder / "record"), folder / "acks"
    acks.mkdir()
    begin(record)
    context = multiprocessing.get_context("fork")  # imports are done: it writes at once
    told = Tally()

    def start(name: str) -> multiprocessing.process.BaseProcess:
        process = context.Process(target=work, args=(record, str(acks), name, 4))
        process.start()
        return process

    running = [start("a"), start("b")]
    for _ in range(count):
        time.sleep(rng.uniform(0.005, 0.15))
        victim = rng.randrange(2)
        pid = running[victim].pid
        assert pid is not None
        os.kill(pid, signal.SIGKILL)
        running[victim].join()
        running[victim] = start("ab"[victim])
        told.trials += 1
    for process in running:
        process.kill()
        process.join()
    with checker() as asked:
        _count(told, asked, record, sorted(acks.iterdir()))
    return told


def full(folder: Path, rng: random.Random, count: int) -> Tally:
    """Write until the disk is full, again and again; then with room."""
    told = Tally()
    with checker() as asked:
        for n in range(count):
            with _small_disk(folder / f"disk{n}", rng.randrange(256)) as disk:
                record, acks = str(disk / "record"), folder / f"acks{n}"
                begin(record)
                store = Store.open(record)
                try:
                    write_on(store, acks, "a", at_most=20_000)
                except RecordError as error:
                    told.said += "the disk is full" in str(error) or "is full" in str(error)
                store.close()
                next(disk.glob("filler")).unlink()  # somebody frees some space
                store = Store.open(record)
                write_on(store, acks, "a", at_most=20)
                store.close()
                told.trials += 1
                _count(told, asked, record, [acks])
    return told


@contextmanager
def _small_disk(folder: Path, odd_kib: int) -> Iterator[Path]:
    """Mount a small file system in memory; a filler makes its room differ by trial."""
    folder.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={_FULL_MIB}m", "tmpfs", str(folder)], check=False
    )
    if made.returncode:
        raise SystemExit("the trial of a full disk mounts a small disk: run it as root")
    try:
        (folder / "filler").write_bytes(b"x" * (1024 * (512 + odd_kib)))
        yield folder
    finally:
        subprocess.run(["umount", str(folder)], check=True)


def wal(folder: Path, rng: random.Random, count: int) -> Tally:
    """Cut the power: the end of the log torn beyond what was synced, and damage within it."""
    with checker() as asked:
        return power_cuts(folder, rng, count, asked)


def clock(folder: Path, rng: random.Random, count: int) -> Tally:
    """Let the clock jump back and ahead between acts; what was said last must hold."""
    record, acks = str(folder / "record"), folder / "acks"
    begin(record)
    store, now = Store.open(record), T0 + timedelta(days=400)
    told, name, text = Tally(), "", ""
    for n in range(count):
        now += timedelta(seconds=rng.choice((1, 60, 86_400, -1, -3_600, -86_400 * 30)))
        note = f"a-{n}"
        told.trials += 1
        if n % 5 == 4:
            name = store.correct(name, ph(str(n), note=note, at=T0), received_at=now, why="x")
            held = {entry.id for entry in store.entries(SITE)}
            told.lost += name not in held
        else:
            name = store.add_entry(SITE, ph(str(n), note=note, at=T0), received_at=now)
        acknowledge(acks, note)
        if n % 7 == 0:
            text = f"version {n}"
            store.add_site_version(SITE, text, received_at=now)
        told.lost += bool(text) and store.site_text(SITE) != text
        if n % 50 == 0:
            made = keeping.back_up_if_due(find_place(record), now=now)
            told.said += made is not None
    store.close()
    with checker() as asked:
        _count(told, asked, record, [acks])
    return told


def mqtt(folder: Path, rng: random.Random, count: int) -> Tally:
    """Send messages twice and out of order, while broker and listener are stopped and started."""
    with mosquitto() as broker:
        return messages(folder, rng, count, broker)


def kill_postgres(folder: Path, rng: random.Random, count: int) -> Tally:
    """Kill -9 writers as `kill` does, to a PostgreSQL that syncs."""
    os.environ["TAILRACE_HOME"] = str(folder / "home")
    with postgres(()) as server:
        return kill(folder, rng, count, address=server.new_database())


def _count(told: Tally, asked: Checker, record: str, acks: list[Path]) -> None:
    answer = asked.check(record, acks)
    told.acknowledged += answer["acknowledged"]
    told.found += answer["found"]
    told.lost += answer["lost"]
    told.doubled += answer["doubled"]
    told.faults += len(answer["said"])
    for sentence in answer["said"][:5]:
        sys.stderr.write(f"{sentence}\n")


FAULTS: dict[str, tuple[Callable[[Path, random.Random, int], Tally], int]] = {
    "kill": (kill, 200),
    "postgres": (kill_postgres, 200),
    "full": (full, 20),
    "wal": (wal, 1000),
    "clock": (clock, 500),
    "mqtt": (mqtt, 20_000),
}


def run(fault: str, seed: int, count: int | None = None) -> Tally:
    """Run one kind of trial in a new folder."""
    trial, usual = FAULTS[fault]
    with tempfile.TemporaryDirectory(prefix="tailrace-soak-") as name:
        return trial(Path(name), random.Random(seed), usual if count is None else count)


def main() -> int:
    """Run what was asked and print it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("fault", choices=FAULTS)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int)
    asked = parser.parse_args()
    told = run(asked.fault, asked.seed, asked.count)
    sys.stdout.write(told.line(asked.fault, asked.seed) + "\n")
    return int(bool(told.lost or told.doubled or told.faults))


if __name__ == "__main__":
    sys.exit(main())
