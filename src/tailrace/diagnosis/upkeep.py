"""Findings on upkeep: drain due, water topped up or forgotten, the log itself."""

from __future__ import annotations

from collections.abc import Iterator

from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.standing import UNWRITTEN_FEED_SPREAD
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount, Subject, subjects

HOUR_S = 3600.0
DAY_S = 86400.0
TOP_UP_SHARE = 0.03  # of the loop's water lost to the air before it is worth a line
RECENT_S = 3 * DAY_S
CROWDED_KG_M3 = 16.0  # feed a day per bead volume, upper common load


def find(seen: Picture) -> Iterator[Finding]:
    """Yield what upkeep is due and what is doubtful in the log.

    Parameters
    ----------
    seen
        Everything known about now.

    Yields
    ------
    Finding
        In no order.
    """
    yield from _drain_due(seen)
    yield from _fish_dead(seen)
    yield from _overfed(seen)
    yield from _doubles(seen)
    yield from _water_lost(seen)
    yield from _feed_unwritten(seen)


def _drain_due(seen: Picture) -> Iterator[Finding]:
    sludge, now = seen.sludge, seen.now
    if sludge.due_at is None or sludge.due_at > now.at:
        if sludge.last_drain is None:
            yield Finding(
                "never_drained",
                Weight.UPKEEP,
                6 * HOUR_S,
                amounts={"every": sludge.interval, "draw": sludge.draw},
                entries=sludge.entries,
            )
        return
    assert sludge.last_drain is not None
    since = (now.at - sludge.last_drain).total_seconds()
    overdue = since > 2 * sludge.plan.interval_s
    amounts = {
        "since": Amount("days", since),
        "every": sludge.interval,
        "draw": sludge.draw,
    }
    if sludge.volume_now is not None:
        amounts["sludge"] = sludge.volume_now
    yield Finding(
        "drain_overdue" if overdue else "drain_due",
        Weight.UPKEEP,
        0.0 if overdue else 4 * HOUR_S,
        amounts=amounts,
        entries=sludge.entries[-1:],
    )


def _fish_dead(seen: Picture) -> Iterator[Finding]:
    dead = [e for e in seen.now.of("fish_dead") if seen.now.age_s(e) <= RECENT_S and e.interval]
    count = sum(entry.interval.middle for entry in dead if entry.interval)
    if count:
        yield Finding(
            "fish_dead",
            Weight.LIMIT,
            2 * HOUR_S,
            amounts={
                "dead": Amount("count", count),
                "left": Amount("count", seen.now.fish_count.value),
            },
            entries=tuple(entry.id for entry in dead),
        )


def _overfed(seen: Picture) -> Iterator[Finding]:
    beads_m3 = seen.now.site.filter.machine.bed.volume_m3
    fed = seen.now.feeding
    most = CROWDED_KG_M3 * beads_m3
    if fed.middle_kg > most:
        yield Finding(
            "overfed",
            Weight.LIMIT,
            DAY_S,
            amounts={
                "fed": Amount(
                    "feed_rate", fed.middle_kg / DAY_S, fed.low_kg / DAY_S, fed.high_kg / DAY_S
                ),
                "most": Amount("feed_rate", most / DAY_S),
            },
            entries=fed.entries,
        )


def _doubles(seen: Picture) -> Iterator[Finding]:
    for earlier, later in seen.now.same_thing_twice():
        if seen.now.age_s(later) > RECENT_S:
            return
        subject: Subject = subjects()[later.subject]
        yield Finding(
            "written_twice",
            Weight.UPKEEP,
            DAY_S,
            words={
                "subject": subject.key,
                "first": earlier.as_typed,
                "first_by": earlier.who,
                "second": later.as_typed,
                "second_by": later.who,
            },
            entries=(earlier.id, later.id),
        )


def _water_lost(seen: Picture) -> Iterator[Finding]:
    """No top-up was written down for so long that a visible share must be gone."""
    site, last = seen.now.site, seen.now.last("top_up", "water_change")
    if last is None:
        return
    age = seen.now.age_s(last)
    low, high = (rate * age for rate in (site.evaporation_low_m3_s, site.evaporation_high_m3_s))
    middle = 0.5 * (low + high)
    if middle > TOP_UP_SHARE * site.volume_m3:
        yield Finding(
            "top_up_unwritten",
            Weight.UPKEEP,
            DAY_S,
            amounts={
                "since": Amount("days", age),
                "lost": Amount("water_volume", middle, low, high),
            },
            entries=(last.id,),
        )


def _feed_unwritten(seen: Picture) -> Iterator[Finding]:
    fed = seen.now.feeding
    if fed.days_not_written < 2:
        return
    ration = seen.now.site.ration_kg
    yield Finding(
        "feed_unwritten",
        Weight.UPKEEP,
        2 * DAY_S,
        amounts={
            "days": Amount("count", float(fed.days_not_written)),
            "of": Amount("count", float(fed.days_not_written + fed.days_written)),
            "ration": Amount(
                "feed_rate",
                ration / DAY_S,
                ration * (1 - UNWRITTEN_FEED_SPREAD) / DAY_S,
                ration * (1 + UNWRITTEN_FEED_SPREAD) / DAY_S,
            ),
        },
        entries=fed.entries,
    )
