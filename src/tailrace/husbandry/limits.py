"""What each fish stands: limits with a source each, and the rule for when a limit holds.

The data are ``species.csv`` and ``limits.csv``; `tailrace.husbandry.printed` holds what the
sources print. A cell that no source was opened or remembered
for is not in the table, and `limit` answers None: nobody should read safety into a gap.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, cast

from tailrace.errors import NotKnownError
from tailrace.quantities import subjects
from tailrace.sources import Obtained

Side = Literal["low", "high"]
Level = Literal["good", "act", "danger"]
Stage = Literal["", "egg", "fry", "juvenile", "adult"]
LEVELS: tuple[Level, ...] = ("good", "act", "danger")


@dataclass(frozen=True, slots=True)
class Species:
    """A fish that the tables know.

    Parameters
    ----------
    key
        Name used in site files, such as ``nile_tilapia``.
    name
        Words for people.
    scientific_name
        Genus and species.
    water
        ``warm``, ``cool`` or ``cold``.
    source
        Key of the source of `note`.
    note
        What it likes, in a line.
    """

    key: str
    name: str
    scientific_name: str
    water: Literal["warm", "cool", "cold"]
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of one fish.

    Parameters
    ----------
    species
        Key of the species.
    stage
        Stage of life that the limit is for; empty where it stands for all of them.
    quantity
        Key of the quantity, as in the log.
    side
        ``low`` when harm lies below `value`, ``high`` when it lies above.
    level
        ``good`` is the edge of the comfortable range, ``act`` asks for something today,
        ``danger`` means harm within hours.
    value
        The limit, in the unit of `suffix`.
    suffix
        Unit suffix of `value`; empty for pH.
    ph_low, ph_high
        Range of pH in which the limit may be used; None where pH does not matter.
    source
        Key of the source.
    obtained
        How the value was obtained; ``judgement`` also where it is derived from a printed figure.
    place
        Where in the source.
    note
        Basis, and how the value follows from what is printed.
    """

    species: str
    stage: Stage
    quantity: str
    side: Side
    level: Level
    value: float
    suffix: str
    ph_low: float | None
    ph_high: float | None
    source: str
    obtained: Obtained
    place: str
    note: str

    def holds_at(self, ph: float | None) -> bool:
        """Tell whether this limit may be used at a pH.

        Parameters
        ----------
        ph
            pH of the water; None when it is not known.

        Returns
        -------
        bool
            True without a pH range; else whether the pH is known and within it.

        Examples
        --------
        >>> three_ppm = limit("nile_tilapia", "total_ammonia", "high", "act")
        >>> three_ppm.holds_at(7.0), three_ppm.holds_at(8.0), three_ppm.holds_at(None)
        (True, False, False)
        """
        if self.ph_low is None or self.ph_high is None:
            return True
        return ph is not None and self.ph_low <= ph <= self.ph_high

    def is_passed(self, value: float) -> bool:
        """Tell whether a value lies beyond this limit.

        Parameters
        ----------
        value
            In the unit of `suffix`.

        Returns
        -------
        bool
            True below a low limit or above a high one; the limit itself is not passed.
        """
        return value < self.value if self.side == "low" else value > self.value


def _rows(name: str) -> Iterator[dict[str, str]]:
    with files("tailrace.husbandry").joinpath(name).open(encoding="utf-8") as stream:
        yield from csv.DictReader(stream)


@cache
def species() -> dict[str, Species]:
    """Return every species by its key.

    Returns
    -------
    dict
        Key to `Species`, in the order of the table.

    Examples
    --------
    >>> list(species())[:2]
    ['nile_tilapia', 'yellow_perch']
    """
    return {row["key"]: Species(**row) for row in _rows("species.csv")}  # type: ignore[arg-type]  # the table is checked by a test


@cache
def _all_limits() -> tuple[Limit, ...]:
    return tuple(
        Limit(
            species=row["species"],
            stage=cast(Stage, row["stage"]),
            quantity=row["quantity"],
            side=cast(Side, row["side"]),
            level=cast(Level, row["level"]),
            value=float(row["value"]),
            suffix=row["suffix"],
            ph_low=float(row["ph_low"]) if row["ph_low"] else None,
            ph_high=float(row["ph_high"]) if row["ph_high"] else None,
            source=row["source"],
            obtained=cast(Obtained, row["obtained"]),
            place=row["place"],
            note=row["note"],
        )
        for row in _rows("limits.csv")
    )


def limits(species_key: str, stage: Stage = "") -> tuple[Limit, ...]:
    """Return the limits of a species.

    Parameters
    ----------
    species_key
        Key of the species.
    stage
        Stage of life. A limit for the stage stands in the place of the general one, and a
        general one that no longer lies within it is left out; empty gives the general ones.

    Returns
    -------
    tuple of Limit
        In the order of the table.

    Raises
    ------
    NotKnownError
        The species is not in the table.

    Examples
    --------
    >>> sorted({row.quantity for row in limits("yellow_perch")})[:2]
    ['alkalinity', 'nitrate']
    >>> [row.value for row in limits("rainbow_trout", "egg") if row.level == "danger"][:2]
    [3.0, 15.0]
    """
    if species_key not in species():
        message = (
            f"species {species_key!r} is not in the table. Known: {', '.join(species())}. "
            "Choose the nearest in temperature, or add a species with its sources."
        )
        raise NotKnownError(message)
    own = [row for row in _all_limits() if row.species == species_key]
    special = [row for row in own if stage and row.stage == stage]
    general = [row for row in own if not row.stage and not any(_replaces(s, row) for s in special)]
    return (*special, *general)


def _replaces(special: Limit, general: Limit) -> bool:
    """Tell whether a limit of a stage leaves no place for a general one.

    It does for the same cell, for a milder one that lies beyond it, and for a more severe one
    that lies before it.
    """
    if (special.quantity, special.side) != (general.quantity, general.side):
        return False
    outwards = (
        special.value - general.value if special.side == "low" else (general.value - special.value)
    )
    milder = LEVELS.index(general.level) - LEVELS.index(special.level)
    return milder == 0 or outwards * milder <= 0.0


def limit(
    species_key: str, quantity: str, side: Side, level: Level, stage: Stage = ""
) -> Limit | None:
    """Return one limit of a species.

    Parameters
    ----------
    species_key
        Key of the species.
    quantity
        Key of the quantity, as in the log.
    side
        ``low`` or ``high``.
    level
        ``good``, ``act`` or ``danger``.
    stage
        Stage of life, as in `limits`.

    Returns
    -------
    Limit or None
        None where the table has no such cell; that says nothing about safety.

    Raises
    ------
    NotKnownError
        The species or the quantity is not known.

    Examples
    --------
    >>> limit("nile_tilapia", "oxygen", "low", "danger").value
    2.3
    >>> limit("nile_tilapia", "oxygen", "high", "danger") is None
    True
    """
    rows = limits(species_key, stage)
    if quantity not in subjects():
        message = (
            f"quantity {quantity!r} is not known. Limits are given for "
            f"{', '.join(sorted({row.quantity for row in rows}))}."
        )
        raise NotKnownError(message)
    wanted = (quantity, side, level)
    return next((row for row in rows if (row.quantity, row.side, row.level) == wanted), None)
