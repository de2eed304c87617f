"""Power cuts: the folder as it was after an acknowledgement, with the log torn after it.

A frame of the log is a head of 24 bytes and a page; the log begins with a head of 32 bytes that
holds the salts of its frames (SQLite's file format, section 4). After each act the log is
synced, so its length then is what a power cut leaves for sure; anything of the next act may be
there in any part. The database file is that of the same moment: it is written only after a sync
of the log.
"""

from __future__ import annotations

import random
import shutil
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, event

from tailrace.records.engine import FILE
from tailrace.records.store import Store
from tailrace.records.tally import tally_file
from tests.full_record import SITE, T0, ph
from tests.soak_work import Checker, Tally, acknowledge, begin

_HEAD, _FRAME_HEAD, _PAGE, _SECTOR = 32, 24, 4096, 512
_FRAME = _FRAME_HEAD + _PAGE
_CHECKPOINT_PAGES = 60  # often, so that many cuts fall around a checkpoint
_WITHIN_A_FRAME = (0, 1, 8, 16, 23, 24, 25, 24 + _SECTOR, 24 + 7 * _SECTOR, _FRAME - 1, _FRAME)
_KEPT = (FILE, f"{FILE}-wal", tally_file(Path(FILE)).name)


@dataclass(frozen=True)
class Copy:
    """The folder after an acknowledgement."""

    folder: Path
    acks: Path

    @property
    def log(self) -> bytes:
        return (self.folder / f"{FILE}-wal").read_bytes()

    @property
    def synced(self) -> int:
        """Length of the log that holds frames of the present salts."""
        log, end = self.log, _HEAD
        while log[end + 8 : end + 16] == log[16:24] and len(log) >= end + _FRAME:
            end += _FRAME
        return end


def power_cuts(folder: Path, rng: random.Random, count: int, asked: Checker) -> Tally:
    """Try cuts, half of them beyond the sync and half within; returns what was counted."""
    copies = _copies(folder, rng, acts=max(30, min(count // 10, 120)))
    told = Tally()
    for n in range(count):
        place = rng.randrange(len(copies) - 1)
        before, after = copies[place], copies[place + 1]
        beyond = n % 2 == 0
        log = _torn(before, after, rng) if beyond else _damaged(before, rng)
        trial = folder / "trial"
        shutil.rmtree(trial, ignore_errors=True)
        shutil.copytree(before.folder, trial)
        (trial / f"{FILE}-wal").write_bytes(log)
        answer = asked.check(str(trial), [before.acks])
        told.trials += 1
        told.acknowledged += answer["acknowledged"]
        told.found += answer["found"]
        told.doubled += answer["doubled"]
        if beyond:
            told.lost += answer["lost"]
            told.faults += len(answer["said"])
        else:
            told.said += bool(answer["said"])
            told.lost += answer["lost"] if not answer["said"] else 0  # lost without a word
    return told


def _copies(folder: Path, rng: random.Random, acts: int) -> list[Copy]:
    record, acks = folder / "record", folder / "acks"
    begin(str(record))
    store = Store.open(record)

    def often(connection: Connection) -> None:
        connection.exec_driver_sql(f"PRAGMA wal_autocheckpoint={_CHECKPOINT_PAGES}")

    event.listen(store.engine, "begin", often)
    made = []
    for n in range(acts):
        size = rng.choice((10, 10, 3000, 12_000))
        note = f"a-{n}" + "." * size
        store.add_entry(SITE, ph(note=note, at=T0), received_at=T0)
        acknowledge(acks, note)
        kept = Copy(folder / f"copy{n}", folder / f"acks{n}")
        kept.folder.mkdir()
        for name in _KEPT:
            shutil.copyfile(record / name, kept.folder / name)
        shutil.copyfile(acks, kept.acks)
        made.append(kept)
    store.close()
    return made


def _torn(before: Copy, after: Copy, rng: random.Random) -> bytes:
    """Return a log of which any part of the next act has arrived."""
    old, new = before.log, after.log
    reset = old[16:24] != new[16:24]  # the next act began the log anew, over the old frames
    begin_at = 0 if reset else before.synced
    frames = max(1, (after.synced - max(begin_at, _HEAD)) // _FRAME)
    cut = rng.randrange(frames) * _FRAME + rng.choice(_WITHIN_A_FRAME)
    cut += _HEAD if reset and rng.random() < 0.9 else 0
    end = min(begin_at + cut, after.synced)
    arrived = bytearray(new[begin_at:end])
    kind = rng.choice(("cut", "zeros", "noise", "holes"))
    if kind != "cut" and arrived:
        first = max(0, len(arrived) - rng.choice((1, 100, _SECTOR, _PAGE)))
        if kind == "holes":  # a later sector arrived before an earlier one
            first, stop = max(0, first - _SECTOR), first
        else:
            stop = len(arrived)
        size = max(0, stop - first)
        arrived[first:stop] = bytes(size) if kind != "noise" else rng.randbytes(size)
    rest = old[begin_at + len(arrived) :] if reset or len(old) > begin_at else b""
    return old[:begin_at] + bytes(arrived) + rest


def _damaged(copy: Copy, rng: random.Random) -> bytes:
    """Return a log that is cut or torn within what was synced."""
    log = copy.log
    place = rng.randrange(1, copy.synced) if rng.random() < 0.8 else copy.synced - 1
    if rng.random() < 0.5:
        return log[:place]
    spoilt = bytearray(log)
    size = min(rng.choice((1, 16, _SECTOR, _PAGE)), copy.synced - place)
    spoilt[place : place + size] = bytes(b ^ 0xA5 for b in spoilt[place : place + size])
    return bytes(spoilt)
