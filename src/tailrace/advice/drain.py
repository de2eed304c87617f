"""The drain: how often, how much, and at which minutes after a backwash."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tailrace.beadfilter.drain import DrainWindow, drain_window
from tailrace.beadfilter.sludge import MAXIMUM_DRAIN_M3
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount


@dataclass(frozen=True, slots=True)
class DrainAdvice:
    """The drain recommended.

    Parameters
    ----------
    every, draw
        Time between drains, and volume of each; never above `MAXIMUM_DRAIN_M3`.
    window
        Minutes after a backwash at which to open it, with the risk to beads.
    limit
        What sets the rhythm: ``age``, ``volume`` or ``returned nitrogen``.
    volume_now
        Sludge in the cone now, if a drain was ever written down.
    due_at
        When the next is due, if a drain was ever written down.
    entries
        Ids of the entries behind it.
    """

    every: Amount
    draw: Amount
    window: DrainWindow
    limit: str
    volume_now: Amount | None
    due_at: datetime | None
    entries: tuple[str, ...]


def drain_advice(seen: Picture) -> DrainAdvice:
    """Recommend when and how much to drain.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    DrainAdvice
        Rhythm, amount and window.
    """
    sludge = seen.sludge
    assert sludge.plan.draw_m3 <= MAXIMUM_DRAIN_M3 * (1.0 + 1e-9)
    return DrainAdvice(
        every=sludge.interval,
        draw=sludge.draw,
        window=drain_window(
            seen.air.nominal, seen.now.site.filter.machine, draw_m3=sludge.plan.draw_m3
        ),
        limit=sludge.plan.limit.value,
        volume_now=sludge.volume_now,
        due_at=sludge.due_at,
        entries=sludge.entries,
    )
