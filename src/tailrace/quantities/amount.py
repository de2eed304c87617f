"""An amount with its unit and, where it is uncertain, its range: what answers are made of."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Amount:
    """A number that an answer rests on or gives.

    Parameters
    ----------
    kind
        Key of a subject or of ``display.csv``: it names the inside unit and the units shown.
    p50
        The number, or the middle of its range, in the inside unit.
    p05, p95
        Ends of the range that holds it nine times in ten; None when it is certain.
    """

    kind: str
    p50: float
    p05: float | None = None
    p95: float | None = None

    @property
    def uncertain(self) -> bool:
        """Whether it has a range."""
        return self.p05 is not None


@dataclass(frozen=True, slots=True)
class Display:
    """How a kind of amount is kept and shown.

    Parameters
    ----------
    kind
        Key.
    suffix
        Unit suffix inside.
    us_unit, metric_unit
        Unit shown to a person of either family.
    """

    kind: str
    suffix: str
    us_unit: str
    metric_unit: str


@cache
def displays() -> dict[str, Display]:
    """Return how each kind of amount that is not a subject of the log is shown.

    Returns
    -------
    dict
        Kind to `Display`.

    Examples
    --------
    >>> displays()["duration"].metric_unit
    'h'
    """
    with files("tailrace.quantities").joinpath("display.csv").open(encoding="utf-8") as stream:
        return {row["kind"]: Display(**row) for row in csv.DictReader(stream)}


def from_draws(kind: str, draws: Iterable[float]) -> Amount:
    """Sum up draws of an uncertain number as an amount.

    Parameters
    ----------
    kind
        Kind of amount.
    draws
        Draws, in the inside unit.

    Returns
    -------
    Amount
        With the 5, 50 and 95 % points of the draws.

    Examples
    --------
    >>> from_draws("duration", [1.0, 2.0, 3.0]).p50
    2.0
    """
    ordered = sorted(draws)
    low, middle, high = (_quantile(ordered, share) for share in (0.05, 0.5, 0.95))
    return Amount(kind, middle, low, high)


def _quantile(ordered: Sequence[float], share: float) -> float:
    place = share * (len(ordered) - 1)
    below = int(place)
    above = min(below + 1, len(ordered) - 1)
    low, high = ordered[below], ordered[above]
    return low if low == high else low + (place - below) * (high - low)
