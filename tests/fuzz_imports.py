"""Spoilt files: ``python -m tests.fuzz_imports [FILES] [SEED]`` reads them and counts what came.

Each file is a real-looking one (the invented demonstration logs, wide tables, workbooks) that was
cut, mixed, doubled, encoded anew or hit at random bytes. The law: no file ends the program with
anything but a sentence for people, and every row that holds something is an entry, a row kept
aside with its reasons, or counted as a date and nothing else.
"""

from __future__ import annotations

import random
import sys
import time
from collections import Counter
from collections.abc import Callable
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path

import openpyxl

from tailrace.errors import InputError
from tailrace.intake.logfile import LogFile, open_log
from tailrace.intake.result import Aside, Taken
from tailrace.intake.sheet import Source
from tailrace.intake.text_table import encoding_of, lines_of
from tests.test_log_import import SITE, US

NOW = datetime(2026, 11, 20, tzinfo=UTC)
DEMO = Path(__file__).parents[1] / "demo"
WIDE = (
    "Date,Time,Temp (F),pH,NO2 ppm,Fed (scoops),Backwash,Notes\n"
    + "".join(
        f"3/{d}/2026,7:{d:02} AM,7{d % 9},7.{d % 9},0.{d % 5},{d % 3},x,ok\n" for d in range(1, 29)
    )
)  # fmt: skip
ODD = ["", '"', "1,250", "<0.02", "trace", "3/4/26", "x" * 3000, "\0", "½", "٣", "1e999", "=1+1",
       "'=1", "-", "NaN", "8am", "2026-02-30", "99999999999999999999", "°F", "ppm as NO3", "\x85",
       "\u2028", "ph", "when", "\ufeff", "%", "1/0", "１２", "nil", "#REF!"]  # fmt: skip

Spoil = Callable[[random.Random, bytes], bytes]


def seeds() -> list[tuple[str, bytes]]:
    """Real-looking files with their names."""
    logs = [(DEMO / site / "log.csv").read_bytes() for site in ("school", "yard")]
    text = logs[0].decode()
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for line in text.splitlines()[:60]:
        sheet.append([float(c) if c.replace(".", "", 1).isdigit() else c for c in line.split(",")])
    out = BytesIO()
    book.save(out)
    short = [b"\n".join(log.splitlines()[:80]) for log in logs]
    return [("school.csv", short[0]), ("yard.csv", short[1]), ("wide.csv", WIDE.encode()),
            ("log.xlsx", out.getvalue())]  # fmt: skip


def hit_bytes(draw: random.Random, data: bytes) -> bytes:
    """Change a few bytes anywhere."""
    spoilt = bytearray(data)
    for _ in range(draw.randint(1, 12)):
        if spoilt:
            spoilt[draw.randrange(len(spoilt))] = draw.randrange(256)
    return bytes(spoilt)


def cut(draw: random.Random, data: bytes) -> bytes:
    """Leave out a stretch, or the end."""
    start = draw.randrange(len(data) + 1)
    return data[:start] + data[start + draw.randint(0, 400) :] * draw.randint(0, 1)


def odd_cells(draw: random.Random, data: bytes) -> bytes:
    """Put odd words in place of cells."""
    lines = data.decode("utf-8", "replace").split("\n")
    for _ in range(draw.randint(1, 15)):
        place = draw.randrange(len(lines))
        sign = ";" if ";" in lines[place] else ","
        cells = lines[place].split(sign)
        cells[draw.randrange(len(cells))] = draw.choice(ODD)
        lines[place] = sign.join(cells)
    return "\n".join(lines).encode("utf-8", "replace")


def mixed_rows(draw: random.Random, data: bytes) -> bytes:
    """Double, drop and shuffle rows, and blank some."""
    lines = data.splitlines()
    head, rows = lines[:1], lines[1:]
    draw.shuffle(rows)
    rows = [row for row in rows if draw.random() > 0.2] + rows[: draw.randint(0, 9)]
    blank = [
        row if draw.random() > 0.1 else draw.choice([b"", b",,,,", b" ", b";;;"]) for row in rows
    ]
    return draw.choice([b"\n", b"\r\n", b"\r"]).join([*head, *blank])


def other_encoding(draw: random.Random, data: bytes) -> bytes:
    """Encode it as an old program would."""
    text = data.decode("utf-8", "replace")
    codec = draw.choice(
        ["utf-16", "utf-8-sig", "cp1252", "latin-1", "mac_roman", "cp850", "cp1250"]
    )
    return text.encode(codec, "replace")


def other_sign(draw: random.Random, data: bytes) -> bytes:
    """Put another sign between the cells, quotes or not."""
    return data.replace(b",", draw.choice([b";", b"\t", b"|", b",,", b'","', b", "]))


def open_quotes(draw: random.Random, data: bytes) -> bytes:
    """Put quotes where none belong."""
    spoilt = bytearray(data)
    for _ in range(draw.randint(1, 6)):
        spoilt.insert(draw.randrange(len(spoilt) + 1), 0x22)
    return bytes(spoilt)


SPOILS: tuple[Spoil, ...] = (
    hit_bytes, cut, odd_cells, mixed_rows, other_encoding, other_sign, open_quotes,
)  # fmt: skip


def check(name: str, data: bytes) -> Counter[str]:
    """Read a file and hold it to the law; an AssertionError says where it breaks."""
    for site in (SITE, US):
        source = Source.of(data, name)
        try:
            log = open_log(source, site, received_at=NOW)
        except InputError:
            return Counter(files=1, refused_whole=1)
        items = list(log.read())
        counts = _counted(log, items)
    if log.sheet.delimiter:
        _no_text_lost(source, log)
    return counts + Counter(files=1)


def _counted(log: LogFile, items: list[Taken | Aside]) -> Counter[str]:
    taken = {item.entry.row for item in items if isinstance(item, Taken)}
    asides = [item for item in items if isinstance(item, Aside)]
    assert all(aside.reasons and all(aside.reasons) for aside in asides)
    filled = {row.number for row in log.sheet.rows() if not row.blank}
    missing = filled - taken - {aside.row for aside in asides}
    bare = log.reader.bare if log.reader else 0
    assert len(missing) == bare, f"rows lost silently: {sorted(missing)[:5]}"
    assert taken | {aside.row for aside in asides} <= filled
    for item in items:
        if isinstance(item, Taken):
            assert item.entry.taken_at <= NOW
            assert len(item.doubts) <= len(item.entry.flags)
    return Counter(rows=len(filled), entries=len(items) - len(asides), kept_aside=len(asides),
                   date_alone=bare)  # fmt: skip


def _no_text_lost(source: Source, log: LogFile) -> None:
    """The texts of the rows, put together, are the lines of the file."""
    lines = list(lines_of(source.open, encoding_of(source.open)[0]))
    assert "\n".join(row.text for row in log.sheet.read()) == "\n".join(lines)


def run(files: int, seed: int) -> Counter[str]:
    """Read so many spoilt files."""
    draw, kept, total = random.Random(seed), seeds(), Counter[str]()
    for number in range(files):
        name, data = draw.choice(kept)
        for _ in range(draw.randint(1, 3)):
            spoil = draw.choice(SPOILS) if name.endswith(".csv") else draw.choice((hit_bytes, cut))
            data = spoil(draw, data) or b" "
        try:
            total += check(name, data)
        except Exception as error:
            error.add_note(f"file {number} of seed {seed}: {name}, {data[:300]!r}")
            raise
    return total


def main() -> None:
    """Print the counts."""
    files = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    started = time.monotonic()
    total = run(files, seed)
    spent = time.monotonic() - started
    counts = ", ".join(f"{n:,} {what}" for what, n in sorted(total.items()))
    sys.stdout.write(f"seed {seed}: {counts}\n")
    sys.stdout.write(f"crashes 0, rows lost silently 0; {spent:.0f} s\n")


if __name__ == "__main__":
    main()
