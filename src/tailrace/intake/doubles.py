"""The same thing written down twice: exact doubles, and what may be one act seen by two people."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict, deque
from collections.abc import Iterable
from datetime import datetime, timedelta

from tailrace.intake import flags as f
from tailrace.observations import Entry
from tailrace.quantities import subjects

NEAR = timedelta(minutes=30)
WINDOW = 5_000
_NOT_DOUBTED = frozenset(
    {"air_float", "backwash_count", "air_temperature", "clarity", "return_flow", "bypass_flow"}
)


def asked_one_or_two(subject_key: str) -> bool:
    """Return whether two near entries of a subject are asked about: feed, doses, water tests.

    Parameters
    ----------
    subject_key
        Key of the subject.

    Returns
    -------
    bool
        True for those whose double counts as twice as much, or as two tests.

    Examples
    --------
    >>> asked_one_or_two("feed"), asked_one_or_two("backwash")
    (True, False)
    """
    if subject_key == "feed" or subject_key.endswith("_dose"):
        return True
    return subjects()[subject_key].kind == "reading" and subject_key not in _NOT_DOUBTED


def said_as(entry: Entry) -> str:
    """Return how an entry is named to a person: its id, or its row while it has none.

    Parameters
    ----------
    entry
        The entry.

    Returns
    -------
    str
        Such as ``e17`` or ``row 12``.
    """
    return entry.id or f"row {entry.row}"


class Seen:
    """Entries seen so far, to find the same again.

    Of a long file the last rows are held whole, and of the others a number each: about a hundred
    bytes a row.
    """

    def __init__(self, existing: Iterable[Entry] = ()) -> None:
        self._exact: dict[int, str | int] = {}
        self._times: dict[tuple[str, str], list[datetime]] = defaultdict(list)
        self._entries: dict[tuple[str, str], list[Entry]] = defaultdict(list)
        self._window: deque[Entry] = deque()
        for entry in sorted(existing, key=lambda e: e.taken_at):
            self.add(entry)

    def add(self, entry: Entry) -> None:
        """Remember an entry.

        Parameters
        ----------
        entry
            The entry.
        """
        self._exact.setdefault(hash(_exactly(entry)), entry.id or entry.row)
        if not asked_one_or_two(entry.subject):
            return
        key = _place(entry)
        place = bisect_right(self._times[key], entry.taken_at)
        self._times[key].insert(place, entry.taken_at)
        self._entries[key].insert(place, entry)
        if not entry.id:
            self._window.append(entry)
            if len(self._window) > WINDOW:
                self._forget(self._window.popleft())

    def _forget(self, entry: Entry) -> None:
        key = _place(entry)
        place = bisect_left(self._times[key], entry.taken_at)
        while self._entries[key][place] is not entry:
            place += 1
        del self._times[key][place], self._entries[key][place]

    def exact(self, entry: Entry) -> str:
        """Return the name of the entry that is exactly the same.

        Parameters
        ----------
        entry
            The entry to look for.

        Returns
        -------
        str
            Such as ``e17`` or ``row 12``; empty when there is none. Same time, subject, place,
            value as typed and person. Two rows of one file without time of day are no double:
            two feedings of a day look so.
        """
        found = self._exact.get(hash(_exactly(entry)))
        if found is None:
            return ""
        if isinstance(found, str):
            return found
        return "" if f.NO_TIME_OF_DAY in entry.flags else f"row {found}"

    def near(self, entry: Entry) -> Entry | None:
        """Return the nearest entry that may be the same act written by another person.

        Parameters
        ----------
        entry
            The entry to look for.

        Returns
        -------
        Entry or None
            Same subject and place within half an hour, by another person.
        """
        if not asked_one_or_two(entry.subject):
            return None
        key = _place(entry)
        low = bisect_left(self._times[key], entry.taken_at - NEAR)
        high = bisect_right(self._times[key], entry.taken_at + NEAR)
        found = [e for e in self._entries[key][low:high] if _another(e, entry)]
        return min(found, key=lambda e: abs(e.taken_at - entry.taken_at), default=None)


def _place(entry: Entry) -> tuple[str, str]:
    return entry.subject, entry.place.casefold()


def _exactly(entry: Entry) -> tuple[object, ...]:
    words = (entry.text, entry.unit, entry.place, entry.who, entry.note if not entry.text else "")
    plain = tuple("".join(word.casefold().split()) for word in words)
    return (entry.taken_at, entry.subject, *plain)


def _another(one: Entry, other: Entry) -> bool:
    if f.NO_TIME_OF_DAY in one.flags and f.NO_TIME_OF_DAY in other.flags:
        return _exactly(one) == _exactly(other)
    return one.who.casefold() != other.who.casefold()
