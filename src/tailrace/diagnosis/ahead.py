"""Findings on what the forecast sees coming: limits that may be passed."""

from __future__ import annotations

from collections.abc import Iterator

from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.bands import Crossing, Forecast
from tailrace.quantities import Amount

# A limit is worth a line when this share of the members passes it.
_WORTH = {"act": 0.2, "danger": 0.05}


def find(ahead: Forecast | None) -> Iterator[Finding]:
    """Yield limits that may be passed ahead, the soonest of each quantity.

    Parameters
    ----------
    ahead
        The forecast; None where none was made.

    Yields
    ------
    Finding
        Soonest first.
    """
    if ahead is None:
        return
    told: set[str] = set()
    for crossing in ahead.crossings:
        quantity = crossing.limit.quantity
        if quantity not in told and crossing.share >= _WORTH[crossing.limit.level]:
            told.add(quantity)
            yield _finding(ahead, crossing)


def _finding(ahead: Forecast, crossing: Crossing) -> Finding:
    limit = crossing.limit
    return Finding(
        "limit_ahead",
        Weight.LIMIT,
        max(3600.0, crossing.first_s),
        amounts={
            "share": Amount("share", crossing.share),
            "limit": Amount(limit.quantity, limit.value),
            "first": Amount("duration", max(3600.0, crossing.first_s)),
            "week": ahead.band(limit.quantity).after[7 * 86400.0],
            "members": Amount("count", float(ahead.members)),
        },
        words={
            "subject": limit.quantity,
            "side": "above" if limit.side == "high" else "below",
            "species": limit.species,
            "harm": {"act": "something must be done that day"}.get(
                limit.level, "fish may be harmed within hours"
            ),
        },
        entries=ahead.entries,
    )
