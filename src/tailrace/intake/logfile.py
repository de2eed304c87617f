"""A log file to entries: every row is taken, taken and flagged, or kept aside with its reasons.

Pure: no store, no clock. The form is described in docs/log-file.md. `tailrace.intake.sheet`
reads the table, `tailrace.intake.moments` the dates, `tailrace.intake.values` the values.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import datetime

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.dates import settle_order
from tailrace.intake.doubles import Seen, said_as
from tailrace.intake.log_row import Context, Fields, read_row
from tailrace.intake.moments import Calendar
from tailrace.intake.result import Aside, Doubt, ImportResult, Understood
from tailrace.intake.sheet import DELIMITERS, Row, Sheet, read_sheet
from tailrace.observations import Entry
from tailrace.quantities import subjects
from tailrace.site import Site
from tailrace.units import DecimalSign, decimal_evidence, find_unit, split_basis

_NUMBERS = re.compile(r"\d[\d.,]*")


def read_log(
    data: bytes,
    name: str,
    site: Site,
    *,
    existing: Sequence[Entry] = (),
    received_at: datetime,
) -> ImportResult:
    """Read a log file.

    Parameters
    ----------
    data
        Bytes of the file.
    name
        Its name.
    site
        The site: its time zone, units, measures, places.
    existing
        Entries that the record holds for this site, to find the same again.
    received_at
        When the file was received, aware; nothing may be taken later.

    Returns
    -------
    ImportResult
        Rows taken, rows kept aside, doubts, and how the file was understood.

    Raises
    ------
    FileFaultsError
        There is no usable header.
    InputError
        `received_at` has no time zone.
    """
    if received_at.tzinfo is None:
        raise InputError(f"the moment {received_at} has no time zone; give it with its zone.")
    sheet = read_sheet(data, name)
    rows = [_fields(row, sheet) for row in sheet.rows]
    calendar, order = _calendar(rows, site, received_at)
    decimal, decimal_said = _decimal(rows, sheet.delimiter)
    context = Context(site, calendar, sheet.delimiter, decimal, _unit_hint(sheet))
    taken, asides, doubts, defaults = _take(rows, context, Seen(existing))
    return ImportResult(
        name=name,
        sha256=hashlib.sha256(data).hexdigest(),
        received_at=received_at,
        entries=taken,
        asides=asides,
        doubts=doubts,
        understood=Understood(
            encoding=sheet.encoding,
            delimiter=DELIMITERS[sheet.delimiter],
            header_row=sheet.header.row,
            columns=tuple(zip(sheet.header.names, sheet.header.columns, strict=True)),
            decimal=decimal_said,
            date_order=order,
            unit_defaults=defaults,
            remarks=sheet.remarks,
        ),
    )


# the file as a whole


def _fields(row: Row, sheet: Sheet) -> Fields:
    names, columns = sheet.header.names, sheet.header.columns
    cells, rest = {}, []
    for name, column, cell in zip(names, columns, row.cells, strict=False):
        if column:
            cells[column] = cell
        elif cell:
            rest.append(f"{name}: {cell}" if name else cell)
    surplus = tuple(cell for cell in row.cells[len(names) :] if cell)
    return Fields(row, cells, "; ".join(rest), surplus)


def _calendar(rows: Iterable[Fields], site: Site, received_at: datetime) -> tuple[Calendar, str]:
    calendar = Calendar(site.zone, received_at)
    kept = list(rows)
    order, said = settle_order(calendar.readings(row["when"], row["date"]) for row in kept)
    contradicted = order is None and "some" in said
    pointed = any("." in (row["when"] or row["date"]) for row in kept)
    if order is None and pointed and not contradicted and said.startswith("not"):
        said = "dates with points are read day first; others are not settled"
    return replace(calendar, order=order, contradicted=contradicted), said


def _decimal(rows: Iterable[Fields], delimiter: str) -> tuple[DecimalSign | None, str]:
    """Settle the decimal sign by the values that allow one reading only."""
    found = {
        decimal_evidence(number.rstrip(",."))
        for row in rows
        for number in _NUMBERS.findall(row["value"])
    } - {None}
    if len(found) == 1:
        sign = found.pop()
        return sign, str(sign)
    if found:
        return None, "not settled: some values have a decimal comma and some a point"
    note = "no value needed it"
    return None, note if delimiter != ";" else f"{note}, or none settled it"


def _unit_hint(sheet: Sheet) -> str:
    """Return the unit that stands in brackets behind the value column's name."""
    hint = sheet.header.hints.get("value", "")
    return hint if find_unit(split_basis(hint)[0]) is not None else ""


def _take(
    rows: Iterable[Fields], context: Context, seen: Seen
) -> tuple[tuple[Entry, ...], tuple[Aside, ...], tuple[Doubt, ...], tuple[tuple[str, str], ...]]:
    taken: dict[int, Entry] = {}
    doubts: dict[int, tuple[str, ...]] = {}
    asides: list[Aside] = []
    defaults: dict[str, str] = {}
    for row in rows:
        outcome, number = read_row(row, context), row.row.number
        entry = outcome.entry
        reasons = outcome.reasons or _double_reason(entry and seen.exact(entry))
        if entry is None or reasons:
            asides.append(Aside(number, row.row.text, reasons))
            continue
        if outcome.unit_taken:
            defaults.setdefault(entry.subject, outcome.unit_taken)
        taken[number], doubts[number] = entry, outcome.doubts
        near = seen.near(entry)
        if near is not None:
            _flag_both(taken, doubts, number, near)
        seen.add(entry)
    told = tuple(
        Doubt(n, f"{subjects()[taken[n].subject].label} {taken[n].text}".strip(), said)
        for n, said in sorted(doubts.items())
        if said
    )
    return tuple(taken.values()), tuple(asides), told, tuple(defaults.items())


def _double_reason(double: Entry | None) -> tuple[str, ...]:
    if double is None:
        return ()
    return (
        f"the same time, subject, value and person stand in {said_as(double)} already; "
        f"change what differs if it was a second one.",
    )


def _flag_both(
    taken: dict[int, Entry], doubts: dict[int, tuple[str, ...]], number: int, near: Entry
) -> None:
    """Flag a row, and the row of this file that it may repeat; a stored entry stays as it is."""
    pairs = [(number, near)]
    if not near.id:
        pairs.append((near.row, taken[number]))
    for row, other in pairs:
        flag = f"{f.SAME} {said_as(other)}: one or two?"
        taken[row] = replace(taken[row], flags=(*taken[row].flags, flag))
        doubts[row] = (*doubts[row], flag)
