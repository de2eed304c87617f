"""The rows of a table one after the other: doubles, slips and jumps need those around them."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import timedelta

from tailrace.intake import flags as f
from tailrace.intake.columns import Mapping
from tailrace.intake.doubles import WINDOW, Seen, said_as
from tailrace.intake.half_day import Order
from tailrace.intake.log_row import Context, Outcome, read_row
from tailrace.intake.result import Aside, Taken
from tailrace.intake.row_fields import fields_of
from tailrace.intake.sheet import Sheet
from tailrace.intake.survey import Survey
from tailrace.intake.text_table import Row
from tailrace.intake.trend import Trend
from tailrace.observations import Entry


@dataclass(frozen=True, slots=True)
class Table:
    """A table, what its columns are used for, and what its rows settle together.

    Parameters
    ----------
    sheet
        The table.
    mapping
        What its columns are used for.
    found
        What its rows settle together.
    """

    sheet: Sheet
    mapping: Mapping
    found: Survey


@dataclass(slots=True)
class _Held:
    """What came of a row while rows to come may still flag it."""

    item: Taken | Aside
    origin: Entry | None = None

    def flag(self, flag: str, sentence: str) -> None:
        if isinstance(self.item, Taken):
            entry = replace(self.item.entry, flags=(*self.item.entry.flags, flag))
            self.item = Taken(entry, (*self.item.doubts, sentence))


class Reader:
    """Rows to entries, with what earlier rows say about later ones and the other way round.

    Attributes
    ----------
    unit_defaults
        Subject and the unit taken where none was given, so far.
    bare
        Rows that hold a date and nothing else, so far.
    """

    def __init__(self, table: Table, context: Context, existing: Iterable[Entry] = ()) -> None:
        kept = tuple(existing)
        self._table, self._context = table, context
        self.unit_defaults: dict[str, str] = {}
        self.bare = 0
        self._seen, self._trend, self._order = Seen(kept), Trend(kept), Order()
        self._held: deque[_Held] = deque()
        self._of_entry: dict[int, _Held] = {}
        self._last_row: list[_Held] = []

    def items(self) -> Iterator[Taken | Aside]:
        """Yield what came of each row, in the order of the file."""
        for row in self._table.sheet.rows():
            if not row.blank:
                self._take(row)
            while len(self._held) > WINDOW // 2:
                yield self._let_go()
        while self._held:
            yield self._let_go()

    def _let_go(self) -> Taken | Aside:
        held = self._held.popleft()
        if held.origin is not None:
            self._of_entry.pop(id(held.origin), None)
        return held.item

    def _take(self, row: Row) -> None:
        table, reasons, held = self._table, list[str](), list[_Held]()
        parts = fields_of(row, table.mapping, table.found)
        if not parts:
            self.bare += 1
        for part in parts:
            outcome = read_row(part, self._context)
            entry = outcome.entry
            refused = outcome.reasons or _double(self._seen.exact(entry) if entry else "")
            if entry is None or refused:
                head = f"{part['what']}: " if table.mapping.wide and len(parts) > 1 else ""
                reasons += [head + reason for reason in refused]
                continue
            held.append(self._hold(entry, outcome))
        if reasons:
            self._held.append(_Held(Aside(row.number, row.text, tuple(dict.fromkeys(reasons)))))
        if held:
            self._look_at_order(held)

    def _hold(self, entry: Entry, outcome: Outcome) -> _Held:
        if outcome.unit_taken:
            self.unit_defaults.setdefault(entry.subject, outcome.unit_taken)
        held = _Held(Taken(entry, outcome.doubts), entry)
        self._held.append(held)
        self._of_entry[id(entry)] = held
        near = self._seen.near(entry)
        if near is not None:
            self._flag_both(held, entry, near)
        for flag, sentence in self._trend.doubts(entry):
            held.flag(flag, sentence)
        self._seen.add(entry)
        return held

    def _flag_both(self, held: _Held, entry: Entry, near: Entry) -> None:
        """Flag a row, and the row of this file that it may repeat; a stored entry stays."""
        flag = f"{f.SAME} {said_as(near)}: one or two?"
        held.flag(flag, flag)
        other = self._of_entry.get(id(near))
        if other is not None and not near.id:
            flag = f"{f.SAME} {said_as(entry)}: one or two?"
            other.flag(flag, flag)

    def _look_at_order(self, held: list[_Held]) -> None:
        first = held[0].item
        if not isinstance(first, Taken) or f.NO_TIME_OF_DAY in first.entry.flags:
            return
        shift = self._order.add(first.entry.taken_at)
        if shift is not None:
            for each in self._last_row:
                each.flag(f.HALF_OF_DAY, _half_day(shift))
        self._last_row = held


def _half_day(shift: timedelta) -> str:
    way = "later" if shift > timedelta() else "earlier"
    return (
        f"its time breaks the order of the rows around it, and twelve hours {way} would not; "
        f"look whether am and pm were mixed up."
    )


def _double(name: str) -> tuple[str, ...]:
    if not name:
        return ()
    return (
        f"the same time, subject, value and person stand in {name} already; "
        f"change what differs if it was a second one.",
    )
