"""Spreadsheets (XLSX, XLS, ODS) to rows of cells; what the spreadsheet typed stays exact.

A cell that a spreadsheet holds as a number or a date has no decimal sign and no order of day and
month; it is written here with a point and the year first, and marked so in `Row.typed`.
"""

from __future__ import annotations

import re
import zipfile
import zlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from io import BytesIO
from typing import Any, BinaryIO

from python_calamine import CalamineError, CalamineSheet, CalamineWorkbook, SheetTypeEnum

from tailrace.errors import Fault, FileFaultsError
from tailrace.intake.text_table import Row
from tailrace.units.cells import as_written

MOST_BYTES = 200_000_000
MOST_UNPACKED = 1_500_000_000
MOST_CELLS = 40_000_000  # the reader holds the whole rectangle up to the last cell: 24 bytes each
MOST_REPEATED = 10_000
_CHUNK = 1 << 20
_CELL = re.compile(rb"""\br\s*=\s*["']([A-Z]{1,3})(\d{1,7})["']""")
_REPEATED = re.compile(
    rb"""<table:table-cell(?=[^>]*value-type)[^>]*number-columns-repeated=["'](\d{1,9})["']"""
)
_UNREADABLE = (
    CalamineError,
    OSError,
    ValueError,
    zipfile.BadZipFile,
    NotImplementedError,
    zlib.error,
    RuntimeError,
    EOFError,
)


@dataclass(frozen=True, slots=True)
class WorkSheet:
    """One sheet of a workbook.

    Parameters
    ----------
    kind
        Words for the kind of file and the sheet's name.
    sheet
        The sheet as loaded.
    """

    kind: str
    sheet: CalamineSheet

    def rows(self) -> Iterator[Row]:
        """Yield its rows, numbered as the spreadsheet does, blank ones too."""
        first = (self.sheet.start or (0, 0))[0] + 1
        for number, cells in enumerate(self.sheet.iter_rows(), first):
            yield _row(number, cells)


def open_workbook(
    open_file: Callable[[], BinaryIO], name: str, wanted: str = ""
) -> tuple[WorkSheet, ...]:
    """Open the sheets of a workbook.

    Parameters
    ----------
    open_file
        Opens the file.
    name
        Its name, for the words of an error.
    wanted
        Name of the sheet to read; empty for all.

    Returns
    -------
    tuple
        Its sheets of cells, in order; charts are left out.

    Raises
    ------
    FileFaultsError
        It is damaged, locked with a password, too large, or has no such sheet.
    """
    with open_file() as stream:
        data = stream.read(MOST_BYTES + 1)
    try:
        if len(data) > MOST_BYTES or _too_large(data):
            raise _refusal(name, "the workbook is too large to open; save the sheet as CSV.")
        book = CalamineWorkbook.from_filelike(BytesIO(data))
        names = [m.name for m in book.sheets_metadata if m.typ is SheetTypeEnum.WorkSheet]
        if wanted and wanted not in names:
            told = ", ".join(names) or "none"
            raise _refusal(name, f"there is no sheet {wanted!r}; the workbook has: {told}.")
        return tuple(
            WorkSheet(f"a spreadsheet, sheet {each!r}", book.get_sheet_by_name(each))
            for each in names
            if not wanted or each == wanted
        )
    except FileFaultsError:
        raise
    except _UNREADABLE as error:
        raise _refusal(
            name, f"the workbook cannot be read ({error}); open it and save it anew, or as CSV."
        ) from error


def _too_large(data: bytes) -> bool:
    """Whether a zipped workbook would take more memory than is wise, judged without opening it."""
    if not zipfile.is_zipfile(BytesIO(data)):
        return False
    with zipfile.ZipFile(BytesIO(data)) as packed:
        parts = packed.infolist()
        if sum(part.file_size for part in parts) > MOST_UNPACKED:
            return True
        return any(_is_vast(packed, part.filename) for part in parts)


def _is_vast(packed: zipfile.ZipFile, name: str) -> bool:
    """Whether a part is a sheet of a vast rectangle, or of a form that cannot be judged."""
    if name.endswith(".bin") and "worksheets/" in name:
        return True
    if name == "content.xml":
        return any(int(n) > MOST_REPEATED for n in _REPEATED.findall(packed.read(name)))
    if not name.endswith(".xml") or "worksheets/" not in name:
        return False
    row = column = 0
    tail = b""  # a name of a cell may lie across two pieces
    with packed.open(name) as stream:
        while piece := stream.read(_CHUNK):
            for letters, digits in _CELL.findall(tail + piece):
                row, column = max(row, int(digits)), max(column, _column(letters))
            tail = piece[-32:]
    return row * column > MOST_CELLS


def _column(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number


def _refusal(name: str, text: str) -> FileFaultsError:
    return FileFaultsError(name, [Fault(0, text)])


def _row(number: int, cells: list[Any]) -> Row:
    written = [written_cell(cell) for cell in cells]
    while written and not written[-1]:
        written.pop()
    typed = frozenset(
        place for place, cell in enumerate(cells[: len(written)]) if not isinstance(cell, str)
    )
    return Row(number, tuple(written), "\t".join(written), typed)


def written_cell(cell: Any) -> str:
    """Return the text of a cell.

    Parameters
    ----------
    cell
        What the spreadsheet holds: text, number, date, time, duration or truth value.

    Returns
    -------
    str
        Text trimmed; a number with a point and no more digits than it has; ISO dates.

    Examples
    --------
    >>> written_cell(0.1 + 0.2), written_cell(3.0), written_cell(date(2026, 3, 14))
    ('0.3', '3', '2026-03-14')
    """
    for kind, write in _WRITTEN:
        if isinstance(cell, kind):
            return write(cell)
    return str(cell)


def _number(cell: float) -> str:
    return f"{cell:.15g}" if abs(cell) < 1e15 else repr(cell)


def _clock(cell: timedelta) -> str:
    """Write a duration of less than a day as a time of day: spreadsheets hold both alike."""
    if not timedelta() <= cell < timedelta(days=1):
        return str(cell)
    minutes, seconds = divmod(int(cell.total_seconds()), 60)
    return f"{minutes // 60:02}:{minutes % 60:02}:{seconds:02}"


_WRITTEN: tuple[tuple[type, Callable[[Any], str]], ...] = (
    (str, lambda cell: " ".join(as_written(cell).split())),
    (bool, lambda cell: "yes" if cell else "no"),
    (float, _number),
    (datetime, lambda cell: cell.replace(microsecond=0, tzinfo=None).isoformat(" ")),
    (date, date.isoformat),
    (time, lambda cell: cell.replace(microsecond=0, tzinfo=None).isoformat()),
    (timedelta, _clock),
)
