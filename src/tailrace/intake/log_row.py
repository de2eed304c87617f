"""One row of a log file to an entry, or to the reasons why it is kept aside.

Every reason is given at once. Open `tailrace.intake.logfile` for the file as a whole.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import ParamSpec, TypeVar
from zoneinfo import ZoneInfo

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.kits import kit_of
from tailrace.intake.moments import Calendar, When
from tailrace.intake.text_table import BROKEN, Row
from tailrace.intake.values import Cell, Reading, read_value
from tailrace.observations import Entry, Instrument
from tailrace.quantities import words
from tailrace.site import Site
from tailrace.units import (
    AmbiguousNumberError,
    DecimalSign,
    basis_of,
    find_unit,
    parse_number,
    split_basis,
)

P = ParamSpec("P")
T = TypeVar("T")

_MOST_READ = 20_000
_POINT_OR_THOUSANDS = re.compile(r"^[1-9]\d{0,2}\.\d{3}(?![\d.,])")


@dataclass(frozen=True, slots=True)
class Fields:
    """The cells of a row by column.

    Parameters
    ----------
    row
        The row.
    cells
        Column to cell.
    rest
        What stands in columns that are not known; kept in the note.
    surplus
        Cells to the right of the last column.
    unit
        Unit that the column of its value holds for all rows; empty when none.
    decimal
        Decimal sign of its value, where the column or the spreadsheet settles it.
    """

    row: Row
    cells: dict[str, str]
    rest: str = ""
    surplus: tuple[str, ...] = ()
    unit: str = ""
    decimal: DecimalSign | None = None

    def __getitem__(self, column: str) -> str:
        return self.cells.get(column, "")


@dataclass(frozen=True, slots=True)
class Context:
    """What a row needs to know of its file and site.

    Parameters
    ----------
    site
        The site.
    calendar
        Order of dates, zone, and when the file was received.
    delimiter
        Sign between cells.
    decimal
        Decimal sign that the file settled; None when it did not.
    kits
        Kits, meters and probes that a person described.
    read
        Values read before, as the same cell means the same; kept small.
    """

    site: Site
    calendar: Calendar
    delimiter: str = ""
    decimal: DecimalSign | None = None
    kits: tuple[Instrument, ...] = ()
    read: dict[tuple[str, Cell, DecimalSign | None], Reading] = field(default_factory=dict)

    def value(self, key: str, cell: Cell, decimal: DecimalSign | None) -> Reading:
        """Read a value, or give back what the same cell meant before.

        Parameters
        ----------
        key
            Key of the subject.
        cell
            What was given.
        decimal
            Decimal sign, where it is known.

        Returns
        -------
        Reading
            Its meanings and doubts.

        Raises
        ------
        InputError
            It cannot be read.
        """
        asked = (key, cell, decimal)
        found = self.read.get(asked)
        if found is None:
            if len(self.read) >= _MOST_READ:
                self.read.clear()
            found = self.read[asked] = read_value(key, cell, self.site, decimal=decimal)
        return found


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a row.

    Parameters
    ----------
    entry
        The entry; None when the row is kept aside.
    reasons
        Why it is kept aside; empty when it was taken.
    doubts
        Sentences about what is doubtful.
    unit_taken
        Unit taken where none was given.
    """

    entry: Entry | None
    reasons: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    unit_taken: str = ""


def read_row(row: Fields, context: Context) -> Outcome:
    """Read one row.

    Parameters
    ----------
    row
        Its cells.
    context
        Its file and site.

    Returns
    -------
    Outcome
        The entry with its doubts, or every reason to keep the row aside.
    """
    if BROKEN in row.row.text:
        reason = "the row holds signs that cannot be decoded; save the file as UTF-8 anew."
        return Outcome(None, (reason,))
    if row.surplus:
        return Outcome(None, (_surplus(row, context),))
    reasons: list[str] = []
    when = _tried(reasons, context.calendar.moment, row["when"], row["date"], row["time"])
    what = _tried(reasons, _what, row["what"])
    reading = None if what is None else _tried(reasons, _reading, row, context, *what)
    if reasons or when is None or reading is None:
        return Outcome(None, tuple(reasons))
    return _outcome(row, context, when, reading)


def _tried(reasons: list[str], act: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T | None:
    """Return the result of an act; or None, and its refusal joins the reasons."""
    try:
        return act(*args, **kwargs)
    except InputError as error:
        reasons.append(str(error))
        return None


def _surplus(row: Fields, context: Context) -> str:
    ask = " Does a number hold a decimal comma?" if context.delimiter == "," else ""
    return (
        f"the row has more cells than the header has columns: {', '.join(row.surplus)}.{ask} "
        f"Put quotes around the cell that holds the sign between cells."
    )


def _what(text: str) -> tuple[str, str, str]:
    """Return subject, the word for it, and a unit or basis in brackets behind it."""
    bracket = re.fullmatch(r"(.*?)\s*[\(\[](.*)[\)\]]", text)
    if bracket and text.casefold() not in words():
        return subject_of(bracket[1]), bracket[1], bracket[2]
    return subject_of(text), text, ""


def subject_of(word: str) -> str:
    """Return the subject that a word means.

    Parameters
    ----------
    word
        Word as typed, in any case.

    Returns
    -------
    str
        Key of the subject.

    Raises
    ------
    InputError
        The word is not known; the nearest known ones are named.

    Examples
    --------
    >>> subject_of("Water_Temp")
    'water_temperature'
    """
    plain = " ".join(word.replace("_", " ").casefold().strip(" :.?!").split())
    if plain in words():
        return words()[plain]
    if not plain:
        raise InputError("the row does not say what it is; write such as 'ammonia' or 'fed'.")
    near = difflib.get_close_matches(plain, words(), n=3, cutoff=0.6)
    ask = f" Was {' or '.join(map(repr, near))} meant?" if near else ""
    raise InputError(
        f"{word.strip()!r} is no subject of the log; docs/log-file.md lists the words.{ask}"
    )


def _reading(row: Fields, context: Context, key: str, word: str, hint: str) -> Reading:
    hinted = hint if find_unit(split_basis(hint)[0]) else ""
    value = row["value"]
    decimal = row.decimal or context.decimal
    typed = _POINT_OR_THOUSANDS.match(value)
    if typed and context.delimiter == ";" and decimal is None:
        both = (parse_number(typed[0]), parse_number(typed[0], decimal="comma"))
        raise AmbiguousNumberError(typed[0], both)
    cell = Cell(
        word=word,
        text=value,
        unit=row["unit"] or hinted,
        basis=row["basis"] or (hint if basis_of(hint) else ""),
        method=row["method"],
        column_unit=row.unit,
        kit=kit_of(row["method"], key, context.kits),
    )
    return context.value(key, cell, decimal)


def _outcome(row: Fields, context: Context, when: When, reading: Reading) -> Outcome:
    marks, said = [*when.flags, *reading.flags], [*when.doubts, *reading.doubts]
    started = context.site.started_at
    if started is not None and when.first < started:
        marks.append(f.BEFORE_START)
        said.append(f"it was taken before {started:%Y-%m-%d}, when this site's file begins.")
    if not _known_place(row["place"], context.site):
        marks.append(f.PLACE_NOT_KNOWN)
        said.append(f"the place {row['place']!r} is not in this site's file; it is kept as typed.")
    kit = kit_of(row["method"], reading.subject, context.kits)
    if kit is not None and kit.expires_on is not None:
        local = when.first.astimezone(ZoneInfo(context.site.zone)).date()
        if kit.expired(local):
            marks.append(f.KIT_EXPIRED)
            said.append(
                f"{kit.name} was good until {kit.expires_on:%Y-%m-%d}; test again with a new one."
            )
    note = "; ".join(part for part in (row["note"], row.rest) if part)
    entry = Entry(
        id="",
        subject=reading.subject,
        text=row["value"],
        unit=reading.unit,
        meanings=reading.meanings,
        taken_at=when.first,
        taken_also=when.second,
        received_at=context.calendar.received_at,
        method=row["method"],
        place=row["place"],
        who=row["who"],
        note=note,
        flags=tuple(marks),
        row=row.row.number,
        instrument=kit.name if kit else "",
    )
    return Outcome(entry, (), tuple(said), reading.unit_taken)


def _known_place(place: str, site: Site) -> bool:
    named = [tank.name for tank in site.tanks]
    named += [bed.name for bed in site.beds] + [each.name for each in site.filters]
    return place.casefold() in {"", "sump", *(name.casefold() for name in named)}
