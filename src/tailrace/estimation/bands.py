"""A forecast as records, and as a plain object that the record keeps and gives back whole.

Open `tailrace.estimation.forecast` for how one is made; this module needs no engine.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass
from datetime import datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tailrace.husbandry.limits import Limit, limit
from tailrace.quantities import Amount

DAY_S = 86400.0
FORECAST = (
    "total_ammonia",
    "un_ionised_ammonia",
    "nitrite",
    "ph",
    "oxygen",
    "clarity",
    "alkalinity",
    "nitrate",
)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """One quantity ahead.

    Parameters
    ----------
    subject
        Key of the subject.
    p05, p50, p95
        Band over the times of the forecast, in the inside unit.
    after
        Amounts three and seven days ahead, by the seconds ahead.
    """

    subject: str
    p05: Array
    p50: Array
    p95: Array
    after: dict[float, Amount]


@dataclass(frozen=True, slots=True)
class Crossing:
    """A limit that may be passed ahead.

    Parameters
    ----------
    limit
        The limit.
    first_s
        Seconds until one member in twenty has passed it.
    share
        Share of the members that are within it now and pass it within the forecast.
    """

    limit: Limit
    first_s: float
    share: float


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """The water ahead.

    Parameters
    ----------
    at
        Now.
    times
        Times of the bands, from before now to the end.
    bands
        One for each of `FORECAST`.
    crossings
        Limits that may be passed ahead, soonest first.
    members, seed
        Size and seed of the ensemble.
    assumed
        What was filled in, in words.
    entries
        Ids of the readings that members were redrawn at.
    failed
        Why there is no forecast; empty when there is one.
    """

    at: datetime
    times: tuple[datetime, ...]
    bands: tuple[Band, ...]
    crossings: tuple[Crossing, ...]
    members: int
    seed: int
    assumed: tuple[str, ...]
    entries: tuple[str, ...]
    failed: str = ""

    def band(self, subject: str) -> Band:
        """Return the band of a quantity."""
        return next(band for band in self.bands if band.subject == subject)


def to_body(made: Forecast) -> dict[str, Any]:
    """Write a forecast as a plain object, in inside units.

    Parameters
    ----------
    made
        The forecast.

    Returns
    -------
    dict
        Numbers, texts, lists and objects only; `from_body` gives the forecast back.
    """
    return {
        "at": made.at.isoformat(),
        "times": [moment.isoformat() for moment in made.times],
        "bands": [
            {
                "subject": band.subject,
                "p05": band.p05.tolist(),
                "p50": band.p50.tolist(),
                "p95": band.p95.tolist(),
                "after": [[ahead, list(astuple(amount))] for ahead, amount in band.after.items()],
            }
            for band in made.bands
        ],
        "crossings": [
            [c.limit.species, c.limit.quantity, c.limit.side, c.limit.level, c.first_s, c.share]
            for c in made.crossings
        ],
        "members": made.members,
        "seed": made.seed,
        "assumed": list(made.assumed),
        "entries": list(made.entries),
        "failed": made.failed,
    }


def from_body(body: dict[str, Any]) -> Forecast:
    """Read a forecast back from the object of `to_body`.

    Parameters
    ----------
    body
        The object.

    Returns
    -------
    Forecast
        The forecast as it was.
    """
    return Forecast(
        at=datetime.fromisoformat(body["at"]),
        times=tuple(datetime.fromisoformat(moment) for moment in body["times"]),
        bands=tuple(_band(row) for row in body["bands"]),
        crossings=tuple(_crossings(body["crossings"])),
        members=body["members"],
        seed=body["seed"],
        assumed=tuple(body["assumed"]),
        entries=tuple(body["entries"]),
        failed=body["failed"],
    )


def _band(row: dict[str, Any]) -> Band:
    p05, p50, p95 = (np.array(row[name], dtype=np.float64) for name in ("p05", "p50", "p95"))
    for array in (p05, p50, p95):
        array.setflags(write=False)
    after = {float(ahead): Amount(*amount) for ahead, amount in row["after"]}
    return Band(row["subject"], p05, p50, p95, after)


def _crossings(rows: list[list[Any]]) -> list[Crossing]:
    found = []
    for species, quantity, side, level, first_s, share in rows:
        known = limit(species, quantity, side, level)
        if known is not None:
            found.append(Crossing(known, first_s, share))
    return found
