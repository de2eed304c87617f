"""Tables for reading, in CSV, XLSX or Parquet; each row goes out as it comes.

They are for people and for other programs to read; what is exact is the archive
(`tailrace.exchange.archive`). Text that a spreadsheet would work out is made harmless.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from itertools import islice
from pathlib import Path
from zoneinfo import ZoneInfo

from tailrace.errors import InputError
from tailrace.exchange.whole import whole_file
from tailrace.units.cells import harmless

Cell = str | float | int | datetime | None
Cells = Sequence[Cell]

SHEET_ROWS = 1_048_576  # what a sheet of that form holds, its header with it
SHEET_CELL = 32_767  # signs in one of its cells
CUT = " ... (cut here; the archive holds all of it)"
_AT_ONCE = 20_000
_NO_SIGN = "\ufffd"
_NOT_TEXT = ("=", "#")  # what the library would take for a formula or a fault


class Kind(Enum):
    """What a column holds."""

    TEXT = "text"
    NUMBER = "number"
    WHOLE = "whole"
    MOMENT = "moment"


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table.

    Parameters
    ----------
    name
        Its header.
    kind
        What it holds; a cell of any kind may be None.
    """

    name: str
    kind: Kind = Kind.TEXT


@dataclass(frozen=True, slots=True)
class Table:
    """A table to be written.

    Parameters
    ----------
    title
        Its name, such as that of the site.
    zone
        Time zone in which its moments are written.
    columns
        Its columns.
    """

    title: str
    zone: str
    columns: tuple[Column, ...]


def write_table(path: Path, table: Table, *, rows: Iterable[Cells]) -> int:
    """Write a table in the form that the ending of the file's name says.

    Parameters
    ----------
    path
        The file, ending in ``.csv``, ``.xlsx`` or ``.parquet``; one that is there is replaced
        once the new one is whole.
    table
        Title, zone and columns.
    rows
        Rows; moments are aware, numbers that are not finite are left empty.

    Returns
    -------
    int
        How many rows were written.

    Raises
    ------
    InputError
        The ending is another one, or the file cannot be written.
    """
    write = _FORMS.get(path.suffix.casefold())
    if write is None:
        *most, last = _FORMS
        message = f"{path.name} says no form; let its name end in {', '.join(most)} or {last}."
        raise InputError(message)
    counted = _Counted(rows)
    with whole_file(path) as part:
        write(part, table, counted)
    return counted.count


class _Counted:
    """Rows that are counted as they go by."""

    def __init__(self, rows: Iterable[Cells]) -> None:
        self._rows = rows
        self.count = 0

    def __iter__(self) -> Iterator[Cells]:
        for row in self._rows:
            self.count += 1
            yield row


def _plain(cell: Cell, zone: ZoneInfo) -> str | float | int | None:
    """Return a cell as text and numbers alone: moments local with their offset."""
    if isinstance(cell, datetime):
        return cell.astimezone(zone).isoformat(sep=" ")
    if isinstance(cell, float) and not math.isfinite(cell):
        return None
    return harmless(cell) if isinstance(cell, str) else cell


def _write_csv(path: Path, table: Table, rows: Iterable[Cells]) -> None:
    """Write RFC 4180 with a byte order mark, without which a spreadsheet misreads UTF-8."""
    zone = ZoneInfo(table.zone)
    with path.open("w", encoding="utf-8-sig", newline="", errors="replace") as stream:
        out = csv.writer(stream)
        out.writerow([harmless(column.name) for column in table.columns])
        out.writerows([_plain(cell, zone) for cell in row] for row in rows)


def _write_xlsx(path: Path, table: Table, rows: Iterable[Cells]) -> None:
    from openpyxl import Workbook  # noqa: PLC0415  # slow to import, and seldom needed

    book = Workbook(write_only=True)
    ahead = iter(rows)
    number = 0
    while True:
        page = list(islice(ahead, 1))  # a sheet is begun only for a row that goes into it
        if number and not page:
            break
        number += 1
        _write_sheet(book, f"log {number}" if number > 1 else "log", table, _more(page, ahead))
        if not page:
            break
    with path.open("wb") as stream:
        book.save(stream)


def _more(first: list[Cells], ahead: Iterator[Cells]) -> Iterator[Cells]:
    yield from first
    yield from islice(ahead, SHEET_ROWS - 1 - len(first))


def _write_sheet(book: object, title: str, table: Table, rows: Iterable[Cells]) -> None:
    from openpyxl.cell import WriteOnlyCell  # noqa: PLC0415
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE  # noqa: PLC0415

    zone = ZoneInfo(table.zone)
    sheet = book.create_sheet(title)  # type: ignore[attr-defined]  # ships no types
    sheet.freeze_panes = "A2"

    def cell(value: Cell) -> object:
        plain = _plain(value, zone)
        if not isinstance(plain, str):
            return plain
        text = ILLEGAL_CHARACTERS_RE.sub(_NO_SIGN, plain)
        if len(text) > SHEET_CELL:
            text = text[: SHEET_CELL - len(CUT)] + CUT
        if not text.startswith(_NOT_TEXT):
            return text
        made = WriteOnlyCell(sheet, text)
        made.data_type = "s"  # text stays text, whatever it looks like
        return made

    sheet.append([cell(column.name) for column in table.columns])
    for row in rows:
        sheet.append([cell(value) for value in row])


def _write_parquet(path: Path, table: Table, rows: Iterable[Cells]) -> None:
    import pyarrow as pa  # noqa: PLC0415  # slow to import, and seldom needed
    from pyarrow import parquet  # noqa: PLC0415

    types = {
        Kind.TEXT: pa.string(),
        Kind.NUMBER: pa.float64(),
        Kind.WHOLE: pa.int64(),
        Kind.MOMENT: pa.timestamp("us", tz=table.zone),
    }
    schema = pa.schema([(column.name, types[column.kind]) for column in table.columns])
    ahead = iter(rows)
    with parquet.ParquetWriter(str(path), schema) as writer:
        while page := list(islice(ahead, _AT_ONCE)):
            columns = zip(*page, strict=True)
            arrays = [
                pa.array([_in_column(cell) for cell in cells], type=field.type)
                for cells, field in zip(columns, schema, strict=True)
            ]
            writer.write_table(pa.Table.from_arrays(arrays, schema=schema))


def _in_column(cell: Cell) -> Cell:
    if isinstance(cell, float) and not math.isfinite(cell):
        return None
    return harmless(cell) if isinstance(cell, str) else cell


_FORMS: dict[str, Callable[[Path, Table, Iterable[Cells]], None]] = {
    ".csv": _write_csv,
    ".xlsx": _write_xlsx,
    ".parquet": _write_parquet,
}
