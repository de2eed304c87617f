"""A file to a table: which kind of file, where its header is, and its rows as a stream.

`tailrace.intake.text_table` reads text, `tailrace.intake.workbook` spreadsheets, and
`tailrace.intake.columns` says what the header's names mean.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from io import BytesIO
from itertools import islice
from pathlib import Path
from typing import BinaryIO

from tailrace.errors import Fault, FileFaultsError
from tailrace.intake.columns import Mapping, propose
from tailrace.intake.text_table import DELIMITERS, Row, encoding_of, lines_of, split_rows
from tailrace.intake.workbook import open_workbook

_HEADER_WITHIN = 30
_CHUNK = 1 << 20
_ZIPPED = b"PK\x03\x04"
_EXPECTED = (
    "a header row with at least the columns 'what' and 'when' (or 'date' and 'time'), and "
    "usually 'value', 'unit', 'method', 'place', 'who' and 'note'; or a date and one column for "
    "each thing measured, such as 'pH' and 'temp (F)'; see docs/log-file.md"
)


@dataclass(frozen=True, slots=True)
class Source:
    """A file that can be read more than once.

    Parameters
    ----------
    name
        Its name, for the words of an error.
    open
        Opens it for reading bytes.
    sheet
        Sheet of a workbook to read; empty for the first one with a usable header.
    """

    name: str
    open: Callable[[], BinaryIO]
    sheet: str = ""

    @classmethod
    def of(cls, where: bytes | Path, name: str, *, sheet: str = "") -> Source:
        """Return the source of bytes or of a file.

        Parameters
        ----------
        where
            Bytes, or the path of a file.
        name
            Its name.
        sheet
            Sheet of a workbook; empty for the first one with a usable header.

        Returns
        -------
        Source
            The source.
        """
        if isinstance(where, bytes):
            return cls(name, partial(BytesIO, where), sheet)
        return cls(name, lambda: where.open("rb"), sheet)

    def sha256(self) -> str:
        """Return the digest of its bytes."""
        digest = hashlib.sha256()
        with self.open() as stream:
            while chunk := stream.read(_CHUNK):
                digest.update(chunk)
        return digest.hexdigest()


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table with its header found.

    Parameters
    ----------
    kind
        Character encoding of a text, or the kind of spreadsheet and the name of the sheet.
    delimiter
        The sign between cells; empty for a spreadsheet.
    header_row
        Number of the header's row.
    mapping
        What each column is used for.
    above
        Rows above the header that hold something.
    marks
        What was done to the text.
    read
        Reads all rows, as often as it is called.
    """

    kind: str
    delimiter: str
    header_row: int
    mapping: Mapping
    above: int
    marks: tuple[str, ...]
    read: Callable[[], Iterator[Row]]

    def rows(self) -> Iterator[Row]:
        """Yield the rows below the header, blank ones too."""
        return (row for row in self.read() if row.number > self.header_row)


@dataclass(frozen=True, slots=True)
class _Candidate:
    kind: str
    delimiter: str
    marks: tuple[str, ...]
    read: Callable[[], Iterator[Row]]


def open_sheet(source: Source, *, places: Iterable[str] = ()) -> Sheet:
    """Open a table: a text with commas, semicolons, tabs or bars; an XLSX, XLS or ODS workbook.

    Parameters
    ----------
    source
        The file.
    places
        Names of places that a column's name may hold, such as ``tank 2``.

    Returns
    -------
    Sheet
        Its header and a way to read its rows; signs that could not be decoded stand as U+FFFD.

    Raises
    ------
    FileFaultsError
        The file cannot be read or has no usable header.
    """
    known = tuple(places)
    best: tuple[int, Row, Mapping, _Candidate] | None = None
    for candidate in _candidates(source):
        for row in islice(candidate.read(), _HEADER_WITHIN):
            mapping = propose(row.cells, known)
            if mapping.usable and (best is None or mapping.known > best[0]):
                best = (mapping.known, row, mapping, candidate)
    if best is None:
        fault = Fault(0, f"no header was found; expected is {_EXPECTED}.")
        raise FileFaultsError(source.name, [fault])
    _, header, mapping, chosen = best
    _refuse_doubles(mapping, header.number, source.name)
    above = sum(not row.blank for row in islice(chosen.read(), header.number - 1))
    return Sheet(
        chosen.kind, chosen.delimiter, header.number, mapping, above, chosen.marks, chosen.read
    )


def _candidates(source: Source) -> Iterator[_Candidate]:
    with source.open() as stream:
        head = stream.read(8)
    if head.startswith((_ZIPPED, b"\xd0\xcf\x11\xe0")):
        for sheet in open_workbook(source.open, source.name, source.sheet):
            yield _Candidate(sheet.kind, "", (), sheet.rows)
        return
    codec, told = encoding_of(source.open)
    marks = _marks(source)
    for delimiter in DELIMITERS:
        yield _Candidate(told, delimiter, marks, partial(_text_rows, source, codec, delimiter))


def _text_rows(source: Source, codec: str, delimiter: str) -> Iterator[Row]:
    return split_rows(lines_of(source.open, codec), delimiter)


def _marks(source: Source) -> tuple[str, ...]:
    found = []
    with source.open() as stream:
        head = stream.read(_CHUNK)
        wide = head.startswith((b"\xff\xfe", b"\xfe\xff"))
        if not wide and (b"\0" in head or any(b"\0" in part for part in iter(
            partial(stream.read, _CHUNK), b""
        ))):  # fmt: skip
            found.append("NUL bytes were left out")
    if head.startswith(b"\xef\xbb\xbf"):
        found.append("a byte order mark was left out")
    return tuple(found)


def _refuse_doubles(mapping: Mapping, row: int, name: str) -> None:
    faults = []
    for what, headers in mapping.doubles():
        named = " and ".join(map(repr, headers))
        faults.append(Fault(row, f"the columns {named} both mean {what!r}; keep one."))
    if faults:
        raise FileFaultsError(name, faults)
