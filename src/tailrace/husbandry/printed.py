"""What sources print about fish, side by side; `tailrace.husbandry.limits` holds what we decided.

The data are ``printed.csv``: a row is one range of one source for one kind of fish and one stage
of its life. Sources disagree, so a figure is asked for by its source, or all of them are shown.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, cast

from tailrace.errors import NotKnownError
from tailrace.sources import Obtained

Kind = Literal["optimum", "tolerated", "fed", "lives", "limit", "half_die"]


@dataclass(frozen=True, slots=True)
class Printed:
    """One printed range.

    Parameters
    ----------
    species
        Key of the fish; ``any_fish`` where the source speaks of fish in general.
    stage
        ``egg``, ``fry``, ``juvenile`` or ``adult``; empty where the source does not say.
    quantity
        What it is about, such as ``water_temperature`` or ``carbon_dioxide``.
    kind
        ``optimum`` does best within; ``tolerated`` stands for a while; ``fed`` eats within;
        ``lives`` dies beyond; ``limit`` not to be passed; ``half_die`` half of them die there.
    low, high
        Ends in the unit of `suffix`; infinite where the source gives only the other.
    suffix
        Unit suffix of the ends; empty for pH.
    source
        Key of the source.
    obtained
        How the figure was obtained.
    place
        Where in the source.
    note
        Basis, time of exposure and what else belongs to it.
    """

    species: str
    stage: str
    quantity: str
    kind: Kind
    low: float
    high: float
    suffix: str
    source: str
    obtained: Obtained
    place: str
    note: str


@cache
def all_printed() -> tuple[Printed, ...]:
    """Return every printed range.

    Returns
    -------
    tuple of Printed
        In the order of the table.

    Examples
    --------
    >>> all_printed()[0].species
    'nile_tilapia'
    """
    with files("tailrace.husbandry").joinpath("printed.csv").open(encoding="utf-8") as stream:
        return tuple(
            Printed(
                species=row["species"],
                stage=row["stage"],
                quantity=row["quantity"],
                kind=cast(Kind, row["kind"]),
                low=float(row["low"] or -math.inf),
                high=float(row["high"] or math.inf),
                suffix=row["suffix"],
                source=row["source"],
                obtained=cast(Obtained, row["obtained"]),
                place=row["place"],
                note=row["note"],
            )
            for row in csv.DictReader(stream)
        )


def printed(
    species_key: str, quantity: str, *, kind: Kind | None = None, source: str | None = None
) -> tuple[Printed, ...]:
    """Return what sources print on a quantity for a fish.

    Parameters
    ----------
    species_key
        Key of the fish.
    quantity
        What it is about.
    kind
        Only this kind of range.
    source
        Only from this source.

    Returns
    -------
    tuple of Printed
        In the order of the table; empty where no source was found, which says nothing of
        safety.

    Raises
    ------
    NotKnownError
        No source on this fish is in the table.

    Examples
    --------
    >>> found = printed("nile_tilapia", "water_temperature", kind="optimum")
    >>> [(row.low, row.high, row.source) for row in found]
    [(27.0, 30.0, 'somerville_2014'), (25.0, 30.0, 'el_sayed_2020')]
    """
    own = [row for row in all_printed() if row.species == species_key]
    if not own:
        known = ", ".join(dict.fromkeys(row.species for row in all_printed()))
        message = f"nothing printed on {species_key!r} is in the table. Known: {known}."
        raise NotKnownError(message)
    return tuple(
        row
        for row in own
        if row.quantity == quantity
        and (kind is None or row.kind == kind)
        and (source is None or row.source == source)
    )
