"""A value beside those before it: a jump, a number that stands still, a unit that looks wrong.

The limits are in ``trends.csv`` and are judgement. A flag never changes a value.
"""

from __future__ import annotations

import csv
from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from functools import cache
from importlib.resources import files
from statistics import median

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.chosen_units import likely_units
from tailrace.intake.scales import is_chart
from tailrace.observations import Entry, Interval
from tailrace.quantities import subjects
from tailrace.units import from_unit, show_range, split_basis, subject_unit, to_unit

_BACK = 3
_EVENTS_BACK = 5
_STUCK_FOR = timedelta(days=2)
_CLOSE = 0.4  # another unit must bring a value this much nearer than the limit of a jump


@dataclass(frozen=True, slots=True)
class _Limit:
    jump: float
    times: float
    within: timedelta
    stuck: int


@cache
def _limits() -> dict[str, _Limit]:
    with files("tailrace.intake").joinpath("trends.csv").open(encoding="utf-8") as stream:
        return {
            row["subject"]: _Limit(
                float(row["jump"]),
                float(row["times"] or 1.0),
                timedelta(hours=float(row["within_h"])),
                int(row["stuck"] or 0),
            )
            for row in csv.DictReader(stream)
        }


@dataclass(slots=True)
class _Past:
    """The last values of one subject at one place."""

    entries: deque[Entry]
    same: str = ""
    count: int = 0
    since: Entry | None = None


class Trend:
    """The last values of each subject and place, to see what breaks with them."""

    def __init__(self, existing: Iterable[Entry] = ()) -> None:
        self._past: dict[tuple[str, str], _Past] = {}
        for entry in sorted(existing, key=lambda e: e.taken_at):
            if entry.subject in _limits():
                self._keep(entry)

    def doubts(self, entry: Entry) -> tuple[tuple[str, str], ...]:
        """Compare an entry with those before it, then keep it.

        Parameters
        ----------
        entry
            The entry; one that is older than the last kept is not compared.

        Returns
        -------
        tuple
            Pairs of a flag and its sentence.
        """
        limit = _limits().get(entry.subject)
        if limit is None or entry.interval is None:
            return ()
        past = self._past.get(_key(entry))
        found = []
        if past is not None and past.entries[-1].taken_at <= entry.taken_at:
            found += _jump(entry, past.entries, limit)
        self._keep(entry)
        found += self._stuck(entry, limit)
        return tuple(found)

    def _keep(self, entry: Entry) -> None:
        past = self._past.setdefault(_key(entry), _Past(deque(maxlen=_EVENTS_BACK)))
        if entry.interval is None or (past.entries and entry.taken_at < past.entries[-1].taken_at):
            return
        past.entries.append(entry)
        typed = " ".join(entry.as_typed.split())
        if typed == past.same:
            past.count += 1
        else:
            past.same, past.count, past.since = typed, 1, entry

    def _stuck(self, entry: Entry, limit: _Limit) -> list[tuple[str, str]]:
        past = self._past[_key(entry)]
        if not limit.stuck or past.count < limit.stuck or is_chart(entry.method):
            return []
        since = past.since
        if since is None or past.entries[-1] is not entry:
            return []
        if entry.taken_at - since.taken_at < _STUCK_FOR:
            return []
        label = subjects()[entry.subject].label
        return [(
            f.STUCK,
            f"{label} has read {entry.as_typed} for {past.count} readings in a row; is the meter "
            f"alive? Try it in a glass of other water.",
        )]  # fmt: skip


def _key(entry: Entry) -> tuple[str, str]:
    return entry.subject, entry.place.casefold()


def _jump(entry: Entry, past: Iterable[Entry], limit: _Limit) -> list[tuple[str, str]]:
    event = subjects()[entry.subject].kind == "event"
    near = [e for e in past if entry.taken_at - e.taken_at <= limit.within]
    near = near if event else near[-_BACK:]
    interval = entry.interval
    if len(near) < (_BACK if event else 1) or interval is None:
        return []
    before = _usual(near)
    if not _breaks(interval, before, limit):
        return []
    subject = subjects()[entry.subject]
    said = _said(entry, before)
    other = _other_unit(entry, before, limit)
    if other:
        return [(f.WRONG_UNIT, f"{said} Was it {other}?")]
    if event:
        return [(f.JUMP, f"{said} Look again at the number and its unit.")]
    return [(f.JUMP, f"{said} Measure {subject.label.removesuffix(' (as N)')} once more.")]


def _usual(near: list[Entry]) -> Interval:
    """Return the interval of the past: the middle of its lows to the middle of its highs."""
    kept = [e.interval for e in near if e.interval is not None]
    low, high = (median(ends) for ends in zip(*((i.low, i.high) for i in kept), strict=True))
    return Interval(min(low, high), max(low, high))


def _breaks(interval: Interval, before: Interval, limit: _Limit) -> bool:
    low, high = sorted((interval, before), key=lambda i: i.middle)
    apart = high.low - low.high > limit.jump
    return apart and (limit.times <= 1.0 or high.low > limit.times * low.high)


def _said(entry: Entry, before: Interval) -> str:
    subject = subjects()[entry.subject]
    shown = show_range(before.low, before.high, subject.suffix, subject.metric_unit)
    return f"{subject.label} {entry.as_typed} stands far from the values before it ({shown})."


def _other_unit(entry: Entry, before: Interval, limit: _Limit) -> str:
    """Return another unit or basis that would put the value beside those before it."""
    subject = subjects()[entry.subject]
    interval = entry.interval
    if interval is None or not subject.suffix:
        return ""
    plain, basis = split_basis(entry.unit)
    plain = plain or split_basis(subject_unit(subject, "metric"))[0]
    names = [name for name in likely_units(subject.key) if name.casefold() != plain.casefold()]
    names += [f"{plain} as {other}" for other in subject.bases if other != (basis or "N")]
    for name in names:
        moved = _moved(interval, entry.unit or f"{plain} as {basis}".removesuffix(" as "), name,
                       subject.suffix)  # fmt: skip
        if moved is not None and _beside(moved, before, limit):
            return name
    return ""


def _moved(interval: Interval, unit: str, other: str, suffix: str) -> Interval | None:
    try:
        typed = [to_unit(end, suffix, unit) for end in (interval.low, interval.high)]
        ends = sorted(from_unit(end, other, suffix) for end in typed)
    except InputError:
        return None
    return Interval(ends[0], ends[1])


def _beside(moved: Interval, before: Interval, limit: _Limit) -> bool:
    low, high = sorted((moved, before), key=lambda i: i.middle)
    return high.low - low.high <= _CLOSE * limit.jump and (
        limit.times <= 1.0 or high.low <= (1.0 + _CLOSE) * max(low.high, 0.0) + 1e-12
    )
