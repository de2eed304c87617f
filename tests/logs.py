"""Entries and sites for tests, in a scenario of our own invention."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

from tailrace.estimation.standing import Standing, standing
from tailrace.observations import Entry, Interval, Meaning
from tailrace.site import Site
from tailrace.sitefile.read import read_site

ROOT = Path(__file__).resolve().parent.parent
PROTOTYPE = ROOT / "tests" / "fixtures" / "prototype" / "site.toml"
DEMOS = {
    "lantern-school": ROOT / "demo" / "school",
    "millrace-yard": ROOT / "demo" / "yard",
}
RECEIVED = datetime(2026, 11, 20, 12, 0, tzinfo=UTC)
NOW = datetime(2026, 11, 9, 14, 0, tzinfo=UTC)
SCFH_M3_S = 0.0283168466 / 3600.0


@cache
def prototype() -> Site:
    return read_site(PROTOTYPE.read_bytes(), "site.toml").site


class Log:
    """A log being written: each call adds an entry some hours before `NOW`."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []

    def add(
        self,
        subject: str,
        hours_ago: float,
        low: float | None = None,
        high: float | None = None,
        *,
        who: str = "",
        flags: tuple[str, ...] = (),
        bases: tuple[tuple[str, float], ...] = (),
    ) -> Log:
        meanings: tuple[Meaning, ...] = ()
        if low is not None:
            meanings = (Meaning("", Interval(low, low if high is None else high)),)
        if bases:
            meanings = tuple(Meaning(basis, Interval(v, v)) for basis, v in bases)
        entry = Entry(
            id=f"e{len(self.entries) + 1}",
            subject=subject,
            text="" if low is None else f"{low:g}",
            unit="",
            meanings=meanings,
            taken_at=NOW - timedelta(hours=hours_ago),
            who=who,
            flags=flags,
        )
        self.entries.append(entry)
        return self

    def fed_daily(self, days: int = 8, kg: float = 0.3) -> Log:
        for day in range(days):
            self.add("feed", 24.0 * day + 6.0, kg)
        return self


def stands(site: Site, entries: Iterable[Entry] = (), at: datetime = NOW) -> Standing:
    return standing(site, entries, at)
