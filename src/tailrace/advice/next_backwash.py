"""When the next backwash comes: a clock time only when the log allows one.

A time is given only if a backwash was written down since the last power cut or change of a
setting, and only while the spread of what may have happened since is shorter than half an
interval; else the interval, and a request to log the next one seen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta

from tailrace.estimation.today import Picture


@dataclass(frozen=True, slots=True)
class NextBackwash:
    """The next backwash.

    Parameters
    ----------
    earliest, likely, latest
        Times, or None when no time can be given.
    why_not
        Why no time can be given; empty when one is.
    entries
        Ids of the entries behind it.
    """

    earliest: datetime | None
    likely: datetime | None
    latest: datetime | None
    why_not: str
    entries: tuple[str, ...]


def next_backwash(seen: Picture) -> NextBackwash:
    """Work out when the next backwash comes.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    NextBackwash
        With times, or with the reason why there are none.
    """
    interval, last = seen.air.interval, seen.now.last_backwash
    if seen.now.stopped:
        return _none("something is written down as stopped")
    if interval is None:
        return _none("at this setting the water overpowers the air")
    if last is None:
        return _none("no backwash was written down since the last power cut or change of setting")
    assert interval.p05 is not None
    assert interval.p95 is not None
    since = seen.now.age_s(last)
    passed = max(0, math.ceil(since / interval.p50) - 1)
    cycles = passed + 1
    early, late = cycles * interval.p05, cycles * interval.p95
    if late - early > interval.p50 * (0.5 if passed else 1.5):
        return _none("the last backwash written down is too many intervals ago", last.id)
    earliest = max(seen.now.at, last.taken_at + timedelta(seconds=early))
    return NextBackwash(
        earliest=earliest,
        likely=max(earliest, last.taken_at + timedelta(seconds=cycles * interval.p50)),
        latest=max(earliest, last.taken_at + timedelta(seconds=late)),
        why_not="",
        entries=(last.id,),
    )


def _none(why: str, *entries: str) -> NextBackwash:
    return NextBackwash(None, None, None, why, entries)
