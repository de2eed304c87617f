"""Bytes of a table saved as text to rows of cells: encoding, delimiter, quotes, header.

Nothing here knows what the cells mean, except which words a header may hold (``columns.csv``).
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from charset_normalizer import from_bytes

from tailrace.errors import Fault, FileFaultsError

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
BROKEN = "\ufffd"

_HEADER_WITHIN = 30
_LONGEST_CELL_ROWS = 20
_LIKELY_ENCODINGS = ["cp1252", "latin_1", "cp1250", "mac_roman", "cp850", "utf_16_le", "utf_16_be"]
_EXPECTED = (
    "a header row with at least the columns 'what' and 'when' (or 'date' and 'time'), and "
    "usually 'value', 'unit', 'method', 'place', 'who' and 'note'; see docs/log-file.md"
)


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
    """

    number: int
    cells: tuple[str, ...]
    text: str

    @property
    def blank(self) -> bool:
        """Whether no cell holds anything."""
        return not any(self.cells)


@dataclass(frozen=True, slots=True)
class Header:
    """The header of a table.

    Parameters
    ----------
    row
        Its number.
    names
        The cells as written.
    columns
        The column that each was taken for; empty where none.
    hints
        What stands in brackets behind a column's name, such as a unit; by column.
    """

    row: int
    names: tuple[str, ...]
    columns: tuple[str, ...]
    hints: dict[str, str]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A table saved as text.

    Parameters
    ----------
    encoding
        Character encoding.
    delimiter
        The sign between cells.
    header
        Its header.
    rows
        The rows below the header, blank ones left out.
    remarks
        What was done to the text.
    """

    encoding: str
    delimiter: str
    header: Header
    rows: tuple[Row, ...]
    remarks: tuple[str, ...]


def read_sheet(data: bytes, name: str) -> Sheet:
    """Read a table saved as text.

    Parameters
    ----------
    data
        Bytes of the file.
    name
        Its name, for the words of an error.

    Returns
    -------
    Sheet
        Header and rows; signs that could not be decoded stand as U+FFFD.

    Raises
    ------
    FileFaultsError
        The file has no usable header.
    """
    text, encoding = decode(data)
    remarks = []
    if "\0" in text:
        text = text.replace("\0", "")
        remarks.append("NUL bytes were left out")
    if text.startswith("\ufeff"):
        text = text.lstrip("\ufeff")
        remarks.append("a byte order mark was left out")
    delimiter, header = _find_header(text, name)
    rows = list(split_rows(text, delimiter))
    below = [row for row in rows if row.number > header.row]
    blank = sum(row.blank for row in below)
    if blank:
        remarks.append(f"blank rows left out: {blank}")
    above = [row for row in rows if row.number < header.row and not row.blank]
    if above:
        remarks.append(f"rows above the header left out: {len(above)}")
    kept = tuple(row for row in below if not row.blank)
    return Sheet(encoding, delimiter, header, kept, tuple(remarks))


def decode(data: bytes) -> tuple[str, str]:
    """Decode the bytes of a text.

    Parameters
    ----------
    data
        Any bytes.

    Returns
    -------
    tuple
        Text and the name of its encoding. A text that is mostly UTF-8 is read so, with U+FFFD
        for what is broken; another is read in the likeliest old encoding.

    Examples
    --------
    >>> decode("25 °C".encode())
    ('25 °C', 'utf-8')
    """
    for mark, encoding in ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            return data.decode(encoding, errors="replace"), encoding
    try:
        return data.decode("utf-8"), "utf-8"
    except UnicodeDecodeError:
        pass
    if _has_utf8_line(data):
        return data.decode("utf-8", errors="replace"), "utf-8 with broken signs"
    best = from_bytes(data, cp_isolation=_LIKELY_ENCODINGS).best()
    alike = [] if best is None else best.could_be_from_charset
    encoding = "cp1252" if best is None or "cp1252" in alike else best.encoding
    return data.decode(encoding, errors="replace"), encoding


def _has_utf8_line(data: bytes) -> bool:
    for line in data.splitlines():
        if line.isascii():
            continue
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            continue
        return True
    return False


def split_rows(text: str, delimiter: str) -> Iterator[Row]:
    r"""Split a text into rows of cells.

    Parameters
    ----------
    text
        The text.
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
    lines = re.split(r"\r\n|\r|\n", text)
    if lines and not lines[-1]:
        lines.pop()
    place, number = 0, 0
    while place < len(lines):
        number += 1
        cells, used = _one_row(lines, place, delimiter)
        yield Row(number, cells, "\n".join(lines[place : place + used]))
        place += used


def _one_row(lines: list[str], place: int, delimiter: str) -> tuple[tuple[str, ...], int]:
    for used in range(1, _LONGEST_CELL_ROWS + 1):
        if place + used > len(lines):
            break
        cells = _cells("\n".join(lines[place : place + used]), delimiter)
        if cells is not None:
            return cells, used
    return _trimmed(lines[place].replace('"', "").split(delimiter)), 1


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
    return tuple(" ".join(cell.split()) for cell in cells)


@cache
def column_words() -> dict[str, str]:
    """Return the words that a header may hold.

    Returns
    -------
    dict
        Lower-case word to column.

    Examples
    --------
    >>> column_words()["remarks"]
    'note'
    """
    with files("tailrace.intake").joinpath("columns.csv").open(encoding="utf-8") as stream:
        return {row["word"]: row["column"] for row in csv.DictReader(stream)}


def _column(name: str) -> tuple[str, str]:
    """Return the column of a header's cell, and what stands in brackets behind it."""
    match = re.fullmatch(r"(.*?)\s*[\(\[](.*)[\)\]]", name)
    word, hint = (match[1], match[2]) if match else (name, "")
    plain = word.replace("_", " ").strip(" :.*#").casefold()
    return column_words().get(" ".join(plain.split()), ""), hint


def _find_header(text: str, name: str) -> tuple[str, Header]:
    """Return the delimiter and the header: the row that holds the most known words."""
    best: tuple[int, str, Header] | None = None
    head = "\n".join(re.split(r"\r\n|\r|\n", text, maxsplit=_HEADER_WITHIN)[:_HEADER_WITHIN])
    for delimiter in DELIMITERS:
        for row in split_rows(head, delimiter):
            header = _header(row)
            usable = "what" in header.columns and {"when", "date"} & set(header.columns)
            known = sum(map(bool, header.columns))
            if usable and (best is None or known > best[0]):
                best = (known, delimiter, header)
    if best is None:
        fault = Fault(0, f"no header was found; expected is {_EXPECTED}.")
        raise FileFaultsError(name, [fault])
    _refuse_doubles(best[2], name)
    return best[1], best[2]


def _header(row: Row) -> Header:
    pairs = [_column(cell) for cell in row.cells]
    hints = {column: hint for column, hint in pairs if column and hint}
    return Header(row.number, row.cells, tuple(column for column, _ in pairs), hints)


def _refuse_doubles(header: Header, name: str) -> None:
    faults = []
    for column in sorted(set(header.columns) - {""}):
        named = [n for n, c in zip(header.names, header.columns, strict=True) if c == column]
        if len(named) > 1:
            text = f"the columns {' and '.join(map(repr, named))} both mean {column!r}; keep one."
            faults.append(Fault(header.row, text))
    if faults:
        raise FileFaultsError(name, faults)
