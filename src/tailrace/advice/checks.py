"""The checks of the round, in walking order, each with the time it is due."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache
from importlib.resources import files

from tailrace.estimation.today import Picture


@dataclass(frozen=True, slots=True)
class Check:
    """One check of the round.

    Parameters
    ----------
    key
        Name of the check.
    place
        ``tank``, ``filter`` or ``sump``: the walking order.
    what, how
        What to do, in words.
    due_at
        When it is due, not before now.
    due_now
        Whether it is due already.
    last_at
        When it was last written down.
    entries
        Id of the entry that says so.
    """

    key: str
    place: str
    what: str
    how: str
    due_at: datetime
    due_now: bool
    last_at: datetime | None
    entries: tuple[str, ...]


@cache
def _table() -> tuple[dict[str, str], ...]:
    with files("tailrace.advice").joinpath("checks.csv").open(encoding="utf-8") as stream:
        return tuple(csv.DictReader(stream))


def checks(seen: Picture) -> tuple[Check, ...]:
    """List the checks of the round.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    tuple of Check
        In walking order.
    """
    return tuple(_check(seen, row) for row in _table())


def _check(seen: Picture, row: dict[str, str]) -> Check:
    now = seen.now
    last = now.last(*row["subjects"].split("|"))
    if row["key"] == "drain":
        due = seen.sludge.due_at
    else:
        every = timedelta(hours=float(row["every_hours"]))
        due = None if last is None else last.taken_at + every
    due_now = due is None or due <= now.at
    return Check(
        key=row["key"],
        place=row["place"],
        what=row["what"],
        how=row["how"],
        due_at=now.at if due is None or due_now else due,
        due_now=due_now,
        last_at=None if last is None else last.taken_at,
        entries=() if last is None else (last.id,),
    )
