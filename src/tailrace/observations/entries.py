"""One entry of the log: a reading, an event or a note, kept as it was typed.

A reading is an interval, not a number: a colour step, ``<0.02`` and a doubtful basis all
widen it. See `tailrace.records` for how entries are stored and superseded.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed interval; a single number has both ends equal; an open end is infinite.

    Parameters
    ----------
    low, high
        Ends, in the unit of the subject's suffix.
    """

    low: float
    high: float

    def __post_init__(self) -> None:
        if math.isnan(self.low) or math.isnan(self.high) or self.low > self.high:
            message = f"an interval runs from low to high, got {self.low} to {self.high}"
            raise ValueError(message)

    @property
    def middle(self) -> float:
        """Middle of the interval; the finite end when the other is open."""
        if math.isinf(self.high):
            return self.low
        if math.isinf(self.low):
            return self.high
        return 0.5 * (self.low + self.high)

    def hull(self, other: Interval) -> Interval:
        """Return the smallest interval that holds both."""
        return Interval(min(self.low, other.low), max(self.high, other.high))


@dataclass(frozen=True, slots=True)
class Meaning:
    """One way to read a value.

    Parameters
    ----------
    basis
        Basis assumed (``N``, ``NO2``, ``CaCO3`` ...); empty when the subject has none.
    interval
        The value in the unit of the subject's suffix (as N, as eq/m3 ...).
    """

    basis: str
    interval: Interval


@dataclass(frozen=True, slots=True)
class Entry:
    """One live entry of the log.

    Parameters
    ----------
    id
        Stable name of the entry in this record, such as ``e17``.
    subject
        Key of `tailrace.quantities.subjects`.
    text
        The value exactly as typed.
    unit
        The unit exactly as typed; empty when none was given.
    meanings
        Every way to read the value; two when the basis is not known; none without a value.
    taken_at
        When it was seen or done, aware UTC.
    taken_also
        The second instant, for a local time in the hour that occurs twice; else None.
    received_at
        When the record received it, aware UTC.
    method
        Kind of kit, meter or probe, as typed.
    place
        Name of a place in the site's description, or as typed.
    who
        Who wrote it.
    note
        Free words.
    flags
        Reasons to doubt it (see docs/log-file.md), such as ``outside plausible range``.
    batch, row
        Import it came with, and the row of that file; 0 when it came otherwise.
    supersedes
        Entry that it corrects, or empty.
    uid
        Name of the entry everywhere: 32 hexadecimal digits, made once; empty until stored.
    sent_by
        Who sent it to the record, where that is another person than `who`.
    instrument
        Name of the kit, meter or probe in the record; empty when not said.
    photos
        Digests (SHA-256) of photos that belong to it.
    details
        Pairs of a word and its text for what an event has besides its value, such as
        ``("look", "black, then clear")``, ``("beads", "none")``, ``("hours", "2")``.
    """

    id: str
    subject: str
    text: str
    unit: str
    meanings: tuple[Meaning, ...]
    taken_at: datetime
    taken_also: datetime | None = None
    received_at: datetime | None = None
    method: str = ""
    place: str = ""
    who: str = ""
    note: str = ""
    flags: tuple[str, ...] = ()
    batch: str = ""
    row: int = 0
    supersedes: str = ""
    uid: str = ""
    sent_by: str = ""
    instrument: str = ""
    photos: tuple[str, ...] = ()
    details: tuple[tuple[str, str], ...] = ()

    @property
    def as_typed(self) -> str:
        """Value and unit as typed, the unit once."""
        if not self.unit or self.text.endswith(self.unit):
            return self.text
        return f"{self.text} {self.unit}".strip()

    @property
    def basis_known(self) -> bool:
        """Whether the value can be read one way only."""
        return len(self.meanings) <= 1

    @property
    def interval(self) -> Interval | None:
        """Everything the value may mean, as one interval; None without a value."""
        if not self.meanings:
            return None
        hull = self.meanings[0].interval
        for meaning in self.meanings[1:]:
            hull = hull.hull(meaning.interval)
        return hull
