"""One pass over a table before it is read: what its rows settle together.

The decimal sign is settled by the values that allow one reading only, for each column and for
the file; so is the order of day and month. Whether the rows run in the order of time is counted,
to suspect a slip between am and pm later.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date

from tailrace.intake.columns import SUBJECT, Mapping
from tailrace.intake.dates import DateOrder
from tailrace.intake.moments import Calendar
from tailrace.intake.text_table import Row
from tailrace.units import DecimalSign, decimal_evidence

_NUMBERS = re.compile(r"\d[\d.,]*")
_PLAIN = re.compile(r"-?\d+(?:\.\d+)?", re.ASCII)
_MOST_DATES = 20_000
_MOST_PLACES = 3


@dataclass(slots=True)
class Survey:
    """What the rows of a table say together.

    Parameters
    ----------
    rows
        Rows that hold something.
    blank
        Blank rows.
    signs
        Decimal signs that the values of each column prove, by its place.
    orders
        Orders of dates that are proven, and how often.
    places
        Most decimals of the numbers that a spreadsheet holds, by column and word, up to three.
    open_dates
        Whether a date can be read two ways.
    pointed
        Whether a date is written with points.
    """

    rows: int = 0
    blank: int = 0
    signs: dict[int, set[DecimalSign]] = field(default_factory=dict)
    orders: Counter[DateOrder] = field(default_factory=Counter)
    places: dict[tuple[int, str], int] = field(default_factory=dict)
    open_dates: bool = False
    pointed: bool = False

    @property
    def decimals(self) -> set[DecimalSign]:
        """Every decimal sign that a value proves."""
        return set().union(*self.signs.values()) if self.signs else set()

    def decimal_of(self, place: int) -> DecimalSign | None:
        """Return the sign that a column settles by itself, or None.

        Parameters
        ----------
        place
            Its place, from 0.

        Returns
        -------
        str or None
            The sign.
        """
        found = self.signs.get(place, set())
        return next(iter(found)) if len(found) == 1 else None

    def decimal(self, delimiter: str) -> tuple[DecimalSign | None, str]:
        """Return the decimal sign of the file, and how it came about in words.

        Parameters
        ----------
        delimiter
            The sign between cells.

        Returns
        -------
        tuple
            The sign or None, and words.
        """
        found = self.decimals
        if len(found) == 1:
            sign = next(iter(found))
            return sign, str(sign)
        if found:
            mixed = any(len(signs) > 1 for signs in self.signs.values())
            by_column = "" if mixed else "; each column is read by its own"
            said = "some values have a decimal comma and some a point"
            return None, f"not settled: {said}{by_column}"
        note = "no value needed it"
        return None, note if delimiter != ";" else f"{note}, or none settled it"

    def order(self, told: DateOrder | None = None) -> tuple[DateOrder | None, str]:
        """Return the order of dates, and how it came about in words.

        Parameters
        ----------
        told
            The order that a person gave; rows that prove the other one void it.

        Returns
        -------
        tuple
            The order or None, and words.
        """
        proven: set[DateOrder] = {order for order in self.orders if order != "year first"}
        if told is not None:
            proven.add(told)
        if len(proven) == 1:
            order = proven.pop()
            return order, order
        if proven:
            return None, "not settled: some rows are month first and some are day first"
        if self.open_dates and self.pointed:
            return None, "dates with points are read day first; others are not settled"
        if self.open_dates:
            return None, "not settled: no row allows one reading only"
        return None, "no row needed it"

    def padded(self, row: Row, place: int, word: str) -> str:
        """Return a cell of a spreadsheet with as many decimals as its like show.

        Parameters
        ----------
        row
            The row.
        place
            Place of the cell.
        word
            Word for its quantity.

        Returns
        -------
        str
            The cell; ``7`` becomes ``7.0`` where others of that quantity have one decimal.
        """
        cell = row.cells[place]
        wanted = self.places.get((place, word.casefold()), 0)
        if place not in row.typed or not wanted or not _PLAIN.fullmatch(cell):
            return cell
        return f"{float(cell):.{wanted}f}"


def survey(rows: Iterable[Row], mapping: Mapping, calendar: Calendar) -> Survey:
    """Read a table through once.

    Parameters
    ----------
    rows
        Its rows below the header.
    mapping
        What its columns are used for.
    calendar
        Zone, and when the file was received.

    Returns
    -------
    Survey
        What its rows settle together.
    """
    found = Survey()
    dated = [p for p, use in enumerate(mapping.uses) if use.column in {"when", "date"}]
    valued = [p for p, use in enumerate(mapping.uses) if use.column in {"value", SUBJECT}]
    what = next((p for p, use in enumerate(mapping.uses) if use.column == "what"), None)
    known: dict[str, dict[DateOrder, date]] = {}
    for row in rows:
        if row.blank:
            found.blank += 1
            continue
        found.rows += 1
        _look_at_date(found, next((c for c in _cells(row, dated) if c), ""), calendar, known)
        for place in valued:
            if place in row.typed:
                _look_at_places(found, place, row, what)
            elif place < len(row.cells):
                _look_at_value(found, place, row.cells[place])
    return found


def _look_at_places(found: Survey, place: int, row: Row, what: int | None) -> None:
    """Note how many decimals a number of a spreadsheet has: the sheet drops zeros at the end."""
    cell = row.cells[place]
    if not _PLAIN.fullmatch(cell):
        return
    word = row.cells[what].casefold() if what is not None and what < len(row.cells) else ""
    count = min(len(cell.partition(".")[2]), _MOST_PLACES)
    if count > found.places.get((place, word), 0) and len(found.places) < _MOST_DATES:
        found.places[place, word] = count


def _cells(row: Row, places: Iterable[int]) -> list[str]:
    return [row.cells[p] for p in places if p < len(row.cells) and p not in row.typed]


def _look_at_value(found: Survey, place: int, cell: str) -> None:
    if "," not in cell and "." not in cell:
        return
    for number in _NUMBERS.findall(cell):
        sign = decimal_evidence(number.rstrip(",."))
        if sign is not None:
            found.signs.setdefault(place, set()).add(sign)


def _look_at_date(
    found: Survey, text: str, calendar: Calendar, known: dict[str, dict[DateOrder, date]]
) -> None:
    if not text:
        return
    day = text.partition(" ")[0]
    plain = day if day[:1].isdigit() and day[-1:].isdigit() and len(day) > 4 else text
    if plain not in known:
        if len(known) >= _MOST_DATES:
            known.clear()
        known[plain] = calendar.readings(plain, "")
    readings = known[plain]
    if "." in text:
        found.pointed = True
    if len(readings) == 1:
        found.orders[next(iter(readings))] += 1
    elif len(set(readings.values())) > 1:
        found.open_dates = True
