"""A table saved as text to rows of cells: encoding, sign between cells, quotes.

The rows are read as a stream: a file of a million rows is never held whole. Nothing here knows
what the cells mean; `tailrace.intake.sheet` finds the header.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import BinaryIO

from charset_normalizer import from_bytes

from tailrace.units.cells import as_written

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
BROKEN = "\ufffd"

_LONGEST_CELL_ROWS = 20
_LONGEST_LINE = 1_000_000
_CHUNK = 1 << 20
_SAMPLE = 1 << 18
_LIKELY_ENCODINGS = ["cp1252", "latin_1", "cp1250", "mac_roman", "cp850", "utf_16_le", "utf_16_be"]


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table.

    Parameters
    ----------
    number
        Its number as a spreadsheet counts it, from 1.
    cells
        Its cells, trimmed.
    text
        The row as it stood.
    typed
        Places of the cells that a spreadsheet held as numbers or dates, written with a point.
    """

    number: int
    cells: tuple[str, ...]
    text: str
    typed: frozenset[int] = frozenset()

    @property
    def blank(self) -> bool:
        """Whether no cell holds anything."""
        return not any(self.cells)


def encoding_of(open_file: Callable[[], BinaryIO]) -> tuple[str, str]:
    """Find the encoding of a text by reading it through once.

    Parameters
    ----------
    open_file
        Opens the file; it is called anew for each pass.

    Returns
    -------
    tuple
        Codec to decode it with, and the name to tell. A text that is mostly UTF-8 is read so,
        with U+FFFD for what is broken; another is read in the likeliest old encoding.

    Examples
    --------
    >>> encoding_of(lambda: io.BytesIO("25 °C".encode()))
    ('utf-8', 'utf-8')
    """
    with open_file() as stream:
        if stream.read(2) in {b"\xff\xfe", b"\xfe\xff"}:
            return "utf-16", "utf-16"
        stream.seek(0)
        if _is_utf8(stream):
            return "utf-8", "utf-8"
        stream.seek(0)
        sample, has_utf8 = _odd_lines(stream)
    if has_utf8:
        return "utf-8", "utf-8 with broken signs"
    best = from_bytes(sample, cp_isolation=_LIKELY_ENCODINGS).best()
    alike = [] if best is None else best.could_be_from_charset
    found = "cp1252" if best is None or "cp1252" in alike else best.encoding
    return found, found


def _is_utf8(stream: BinaryIO) -> bool:
    decoder = codecs.getincrementaldecoder("utf-8")()
    try:
        while chunk := stream.read(_CHUNK):
            decoder.decode(chunk)
        decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return False
    return True


def _odd_lines(stream: BinaryIO) -> tuple[bytes, bool]:
    """Return the head of the text and its first lines beyond ASCII; and whether one is UTF-8."""
    kept = bytearray(stream.read(_SAMPLE))
    stream.seek(0)
    has_utf8 = False
    while line := stream.readline(_LONGEST_LINE):
        for part in line.splitlines():
            if part.isascii():
                continue
            if len(kept) < 2 * _SAMPLE and stream.tell() > _SAMPLE:
                kept += part + b"\n"
            try:
                part.decode("utf-8")
            except UnicodeDecodeError:
                continue
            has_utf8 = True
    return bytes(kept), has_utf8


def lines_of(open_file: Callable[[], BinaryIO], codec: str) -> Iterator[str]:
    r"""Yield the lines of a text without their ends.

    Parameters
    ----------
    open_file
        Opens the file.
    codec
        Codec to decode it with.

    Yields
    ------
    str
        Lines, cut at ``\n``, ``\r`` and ``\r\n``; NUL bytes and a byte order mark left out.
        A line longer than a million signs comes in pieces.
    """
    with (
        open_file() as raw,
        io.TextIOWrapper(raw, encoding=codec, errors="replace", newline=None) as text,
    ):
        first = True
        while line := text.readline(_LONGEST_LINE):
            if first:
                line, first = line.lstrip("\ufeff"), False
            yield line.rstrip("\n").replace("\0", "")


def split_rows(lines: str | Iterable[str], delimiter: str) -> Iterator[Row]:
    r"""Split a text into rows of cells.

    Parameters
    ----------
    lines
        The text, or its lines.
    delimiter
        The sign between cells.

    Yields
    ------
    Row
        Rows, blank ones too. A quote that is never closed does not swallow the rows below it.

    Examples
    --------
    >>> [row.cells for row in split_rows('a,"b,c"\nd,5"', ",")]
    [('a', 'b,c'), ('d', '5"')]
    """
    source = iter(_cut(lines) if isinstance(lines, str) else lines)
    ahead: deque[str] = deque()
    number = 0
    while True:
        if not ahead and not _fill(ahead, source, 1):
            return
        number += 1
        if '"' not in ahead[0]:
            line = ahead.popleft()
            yield Row(number, _trimmed(line.split(delimiter)), line)
            continue
        _fill(ahead, source, _LONGEST_CELL_ROWS)
        cells, used = _one_row(ahead, delimiter)
        yield Row(number, cells, "\n".join(ahead.popleft() for _ in range(used)))


def _cut(text: str) -> list[str]:
    lines = re.split(r"\r\n|\r|\n", text)
    if lines and not lines[-1]:
        lines.pop()
    return lines


def _fill(ahead: deque[str], source: Iterator[str], wanted: int) -> bool:
    ahead.extend(islice(source, max(wanted - len(ahead), 0)))
    return bool(ahead)


def _one_row(ahead: deque[str], delimiter: str) -> tuple[tuple[str, ...], int]:
    for used in range(1, min(_LONGEST_CELL_ROWS, len(ahead)) + 1):
        cells = _cells("\n".join(islice(ahead, used)), delimiter)
        if cells is not None:
            return cells, used
    return _trimmed(ahead[0].replace('"', "").split(delimiter)), 1


def _cells(text: str, delimiter: str) -> tuple[str, ...] | None:
    """Return the cells of one row; None while a quote stands open."""
    try:
        return _trimmed(_parsed(text, delimiter, strict=True))
    except csv.Error as error:
        if "unexpected end" in str(error):
            return None
    try:
        return _trimmed(_parsed(text, delimiter, strict=False))
    except csv.Error:  # a cell longer than the reader takes
        return _trimmed(text.split(delimiter))


def _parsed(text: str, delimiter: str, *, strict: bool) -> list[str]:
    lines = csv.reader([text], delimiter=delimiter, skipinitialspace=True, strict=strict)
    return next(lines, [])


def _trimmed(cells: list[str]) -> tuple[str, ...]:
    return tuple(
        " ".join((as_written(cell) if cell[:1] == "'" else cell).split()) for cell in cells
    )
