"""Findings on the water: limits passed, doubtful meanings, tests that are missing."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.quality import Quality, Standard
from tailrace.estimation.today import Picture
from tailrace.observations import Entry
from tailrace.quantities import Amount

HOUR_S = 3600.0
DAY_S = 86400.0
DOUBT_DAYS_S = 7 * DAY_S
MISREAD_FLAGS = ("outside plausible range", "unit not known")
_WITHIN_S = {"danger": 0.0, "act": 6 * HOUR_S, "good": DAY_S}
_HARMFUL = frozenset({"oxygen", "un_ionised_ammonia", "nitrite", "water_temperature", "ph"})
_NEEDED = ("alkalinity", "ph", "total_ammonia", "nitrite", "oxygen", "water_temperature")


def find(seen: Picture) -> Iterator[Finding]:
    """Yield what is out of order with the water.

    Parameters
    ----------
    seen
        Everything known about now.

    Yields
    ------
    Finding
        In no order.
    """
    for quality in seen.quality:
        if quality.beyond is not None and quality.fresh:
            yield _limit_passed(seen, quality, quality.beyond)
        if not quality.basis_known and quality.fresh:
            yield from _basis_unknown(seen, quality)
    yield from _saturated(seen)
    yield from _misreads(seen)
    yield from _not_measured(seen)
    yield from _ph_without_alkalinity(seen)


def _limit_passed(seen: Picture, quality: Quality, beyond: Standard) -> Finding:
    assert quality.interval is not None
    limit = beyond.limit
    weight = Weight.UPKEEP if limit.level == "good" else Weight.LIMIT
    if limit.level == "danger" and quality.subject in _HARMFUL:
        weight = Weight.HARM
    amounts = {
        "reading": _amount(quality),
        "limit": Amount(quality.subject, limit.value),
    }
    if quality.subject == "un_ionised_ammonia":
        for other in ("total_ammonia", "ph", "water_temperature"):
            if seen.of(other).interval is not None:
                amounts[other] = _amount(seen.of(other))
    return Finding(
        f"{quality.subject}_{limit.side}",
        weight,
        _WITHIN_S[limit.level] + (0.0 if beyond.surely else HOUR_S),
        amounts=amounts,
        words={
            "level": limit.level,
            "subject": quality.subject,
            "surely": "surely" if beyond.surely else "perhaps",
            "species": limit.species,
            "source": limit.source,
        },
        entries=quality.entries,
    )


def _amount(quality: Quality) -> Amount:
    interval = quality.interval
    assert interval is not None
    if interval.low == interval.high:
        return Amount(quality.subject, interval.low)
    return Amount(quality.subject, interval.middle, interval.low, interval.high)


def _basis_unknown(seen: Picture, quality: Quality) -> Iterator[Finding]:
    entry = next(e for e in seen.now.entries if e.id == quality.entries[0])
    if entry.basis_known or quality.computed:
        return
    yield Finding(
        "basis_unknown",
        Weight.UPKEEP,
        2 * DAY_S,
        amounts={
            f"as_{meaning.basis}": Amount(quality.subject, meaning.interval.middle)
            for meaning in entry.meanings
        },
        words={
            "subject": quality.subject,
            "typed": entry.as_typed,
            "bases": ", ".join(meaning.basis for meaning in entry.meanings),
        },
        entries=(entry.id,),
    )


def _saturated(seen: Picture) -> Iterator[Finding]:
    """Yield a kit that stood at its top step: the water may hold any amount above it."""
    for quality in seen.quality:
        interval = quality.interval
        if interval is None or quality.computed or not quality.fresh:
            continue
        if math.isinf(interval.high):
            yield Finding(
                "kit_at_top_step",
                Weight.LIMIT,
                6 * HOUR_S,
                amounts={"at_least": Amount(quality.subject, interval.low)},
                words={"subject": quality.subject},
                entries=quality.entries,
            )


def _misreads(seen: Picture) -> Iterator[Finding]:
    """Yield a reading of the last week that looks like a slip and was not repeated."""
    for entry in reversed(seen.now.entries):
        if seen.now.age_s(entry) > DOUBT_DAYS_S:
            return
        reason = next((f for f in entry.flags if f.startswith(MISREAD_FLAGS)), None)
        if reason and not _repeated(seen, entry):
            yield Finding(
                "reading_doubtful",
                Weight.UPKEEP,
                DAY_S,
                words={
                    "subject": entry.subject,
                    "typed": entry.as_typed,
                    "reason": reason,
                },
                entries=(entry.id,),
            )


def _repeated(seen: Picture, doubted: Entry) -> bool:
    return any(
        entry.taken_at > doubted.taken_at and not entry.flags
        for entry in seen.now.of(doubted.subject)
    )


def _not_measured(seen: Picture) -> Iterator[Finding]:
    missing = [
        quality
        for quality in seen.quality
        if quality.subject in _NEEDED and quality.interval is None
    ]
    for quality in missing:
        if quality.subject == "alkalinity" or quality.range_if_not_measured is None:
            continue
        yield Finding(
            "never_measured",
            Weight.UPKEEP,
            DAY_S,
            amounts={"computed": quality.range_if_not_measured},
            words={"subject": quality.subject},
        )


def _ph_without_alkalinity(seen: Picture) -> Iterator[Finding]:
    alkalinity = seen.of("alkalinity")
    if alkalinity.interval is not None and alkalinity.fresh:
        return
    amounts = {}
    if alkalinity.range_if_not_measured is not None:
        amounts["computed"] = alkalinity.range_if_not_measured
    if alkalinity.interval is not None:
        amounts["reading"] = _amount(alkalinity)
        amounts["since"] = Amount("days", alkalinity.age_s)
    yield Finding(
        "alkalinity_not_measured" if alkalinity.interval is None else "alkalinity_old",
        Weight.UPKEEP,
        DAY_S,
        amounts=amounts,
        entries=alkalinity.entries,
    )
