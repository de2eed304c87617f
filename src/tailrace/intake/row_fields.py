"""A row of a table to the cells of each thing that it says.

A row of a long table says one thing; one of a wide table as many as it has cells filled in
columns of a quantity.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from tailrace.errors import InputError
from tailrace.intake.columns import SUBJECT, Mapping, Use
from tailrace.intake.log_row import Fields
from tailrace.intake.survey import Survey
from tailrace.intake.text_table import Row
from tailrace.quantities import subjects, words
from tailrace.units import DecimalSign, find_unit, split_basis, split_quantity

_NOTHING = frozenset({"", "-", "--", "–", "—", ".", "n/a", "na", "nan", "none", "null"})
_NOT_DONE = frozenset({"no", "n", "0", "false"})
_DONE = frozenset({"yes", "y", "x", "1", "true", "✓", "✔", "done", "ok"})
_COMMON = ("when", "date", "time", "method", "place", "who", "basis")


def fields_of(row: Row, mapping: Mapping, found: Survey) -> list[Fields]:
    """Return the cells of each thing that a row says.

    Parameters
    ----------
    row
        The row.
    mapping
        What the columns are used for.
    found
        What the rows settle together.

    Returns
    -------
    list
        One for a row of a long table; one for each cell that is filled in a wide one, and none
        for a row that holds a date and nothing else.
    """
    cells: dict[str, str] = {}
    rest = []
    for use, cell in zip(mapping.uses, row.cells, strict=False):
        if use.column == SUBJECT and mapping.wide:
            continue
        if use.column and use.column != SUBJECT:
            cells[use.column] = cell
        elif cell:
            rest.append(f"{use.header}: {cell}" if use.header else cell)
    surplus = tuple(cell for cell in row.cells[len(mapping.uses) :] if cell)
    whole = Fields(row, cells, "; ".join(rest), surplus)
    if not mapping.wide:
        return [_with_column(whole, mapping, found)]
    return _unpivoted(whole, mapping, found)


def _with_column(whole: Fields, mapping: Mapping, found: Survey) -> Fields:
    """Return a row of a long table with the unit and the sign of its column of values."""
    for place, use in enumerate(mapping.uses):
        if use.column == "value":
            unit = _if_known(use.unit)
            cells = whole.cells
            if place in whole.row.typed:
                cells = cells | {"value": found.padded(whole.row, place, whole["what"])}
            decimal = _decimal(whole.row, place, mapping, found)
            return replace(whole, cells=cells, unit=unit, decimal=decimal)
    return whole


@cache
def _if_known(unit: str) -> str:
    """Return the unit in the header of the values, if it is one."""
    return unit if find_unit(split_basis(unit)[0]) is not None else ""


def _decimal(row: Row, place: int, mapping: Mapping, found: Survey) -> DecimalSign | None:
    """Return the decimal sign of a cell: the spreadsheet's, a person's, or its column's own."""
    return "point" if place in row.typed else mapping.decimal or found.decimal_of(place)


def _unpivoted(whole: Fields, mapping: Mapping, found: Survey) -> list[Fields]:
    if whole.surplus:
        return [whole]
    row = whole.row
    made: list[Fields] = []
    for place, use in enumerate(mapping.uses):
        cell = found.padded(row, place, "") if place < len(row.cells) else ""
        if use.column != SUBJECT or _says_nothing(use, cell):
            continue
        made.append(_of_cell(whole, use, cell, first=not made))
        decimal = _decimal(row, place, mapping, found)
        made[-1] = replace(made[-1], decimal=decimal)
    if not made and (whole["note"] or whole.rest):
        note = "; ".join(part for part in (whole["note"], whole.rest) if part)
        made.append(Fields(row, {**_shared(whole), "what": "note", "note": note}))
    return made


def _says_nothing(use: Use, cell: str) -> bool:
    plain = cell.casefold()
    return plain in _NOTHING or (_no_value(use) and plain in _NOT_DONE)


def _no_value(use: Use) -> bool:
    return not subjects()[words()[use.word]].has_value


def _shared(whole: Fields) -> dict[str, str]:
    return {column: whole[column] for column in _COMMON if whole[column]}


def _of_cell(whole: Fields, use: Use, cell: str, *, first: bool) -> Fields:
    cells = _shared(whole) | {"what": use.word, "value": cell}
    if use.place:
        cells["place"] = use.place
    if first:
        cells["note"] = whole["note"]
    if _no_value(use):
        done = cell.casefold() in _DONE
        cells |= {
            "value": "",
            "note": "; ".join(filter(None, (cells.get("note", ""), "" if done else cell))),
        }
    elif use.unit and not _has_unit(cell):
        cells["unit"] = use.unit
    return Fields(whole.row, cells, whole.rest if first else "")


def _has_unit(cell: str) -> bool:
    try:
        return bool(split_quantity(cell, decimal="point").unit)
    except InputError:
        return False
