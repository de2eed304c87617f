"""What is printed about crops: contents, targets, light, water use, planting; with a source each.

The data are ``crops.csv``, ``facts.csv``, ``feed_rules.csv`` and ``shortages.csv``. Sources
disagree; the feed-per-area rules do so by more than a factor of two, so a rule is always asked
for by its name. A missing cell is unknown.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal, cast

from tailrace.errors import NotKnownError
from tailrace.sources import Obtained

_DAY_S = 86400.0


@dataclass(frozen=True, slots=True)
class Crop:
    """A crop that the tables know.

    Parameters
    ----------
    key
        Name used in files, such as ``sweet_pepper``.
    name
        Words for people.
    scientific_name
        Genus and species.
    group
        ``leafy_greens`` or ``fruiting_vegetables``; facts of the group stand for it too.
    """

    key: str
    name: str
    scientific_name: str
    group: str


@dataclass(frozen=True, slots=True)
class CropFact:
    """One printed range.

    Parameters
    ----------
    crop
        Key of the crop or of its group; ``any_crop`` where the source speaks of all.
    stage
        Stage of the crop or way of growing; empty where the source does not say.
    quantity
        What it is about, such as ``nitrogen_content`` or ``light_target``.
    low, high
        Ends in the unit of `suffix`; infinite where open.
    suffix
        Unit suffix of the ends; empty for pure numbers.
    source
        Key of the source.
    obtained
        How the figure was obtained.
    place
        Where in the source.
    note
        What else belongs to it.
    """

    crop: str
    stage: str
    quantity: str
    low: float
    high: float
    suffix: str
    source: str
    obtained: Obtained
    place: str
    note: str


@dataclass(frozen=True, slots=True)
class FeedRule:
    """Feed that an area of plants stands, by one author's rule.

    Parameters
    ----------
    rule
        Name of the rule.
    crop
        Crop, group of crops or way of growing that it is for.
    low_kg_m2_s, high_kg_m2_s
        Feed per plant area, as fed.
    feed_protein_frac
        Crude protein of the feed meant; None where the source does not say.
    share_of_raft_frac
        Share of the rule for rafts that this one is; None where it is not made so.
    source
        Key of the source.
    note
        What else belongs to it.
    """

    rule: str
    crop: str
    low_kg_m2_s: float
    high_kg_m2_s: float
    feed_protein_frac: float | None
    share_of_raft_frac: float | None
    source: str
    note: str


@dataclass(frozen=True, slots=True)
class Shortage:
    """How a crop shows that an element is short.

    Parameters
    ----------
    element
        Symbol of the element.
    leaves_first
        Which leaves show it first: the plant moves some elements out of old leaves.
    sign
        What is seen.
    first_step
        What to look at or do first.
    source
        Key of the source of `sign`; the first steps are common practice.
    """

    element: str
    leaves_first: Literal["older", "young"]
    sign: str
    first_step: str
    source: str


def _rows(name: str) -> Iterator[dict[str, str]]:
    with files("tailrace.crops").joinpath(name).open(encoding="utf-8") as stream:
        yield from csv.DictReader(stream)


@cache
def crops() -> dict[str, Crop]:
    """Return every crop by its key.

    Returns
    -------
    dict
        Key to `Crop`, in the order of the table.

    Examples
    --------
    >>> crops()["basil"].group
    'leafy_greens'
    """
    return {row["key"]: Crop(**row) for row in _rows("crops.csv")}


@cache
def all_crop_facts() -> tuple[CropFact, ...]:
    """Return every printed range.

    Returns
    -------
    tuple of CropFact
        In the order of the table.

    Examples
    --------
    >>> all_crop_facts()[0].quantity
    'nitrogen_content'
    """
    return tuple(
        CropFact(
            crop=row["crop"],
            stage=row["stage"],
            quantity=row["quantity"],
            low=float(row["low"] or -math.inf),
            high=float(row["high"] or math.inf),
            suffix=row["suffix"],
            source=row["source"],
            obtained=cast(Obtained, row["obtained"]),
            place=row["place"],
            note=row["note"],
        )
        for row in _rows("facts.csv")
    )


def crop_facts(crop_key: str, quantity: str, *, stage: str | None = None) -> tuple[CropFact, ...]:
    """Return what sources print on a quantity for a crop, then for its group, then for all.

    Parameters
    ----------
    crop_key
        Key of the crop, or of a group.
    quantity
        What it is about.
    stage
        Only this stage.

    Returns
    -------
    tuple of CropFact
        The nearest first; empty where nothing is known.

    Raises
    ------
    NotKnownError
        The crop is not in the table.

    Examples
    --------
    >>> [(row.crop, row.low) for row in crop_facts("lettuce", "light_target")]
    [('lettuce', 17.0), ('leafy_greens', 12.0)]
    """
    groups = {crop.group for crop in crops().values()}
    if crop_key not in crops() and crop_key not in groups:
        message = (
            f"crop {crop_key!r} is not in the table. Known: {', '.join(crops())}; "
            f"groups: {', '.join(sorted(groups))}."
        )
        raise NotKnownError(message)
    own = crops().get(crop_key)
    circle = (crop_key, own.group if own else "", "any_crop")
    return tuple(
        row
        for name in circle
        for row in all_crop_facts()
        if row.crop == name and row.quantity == quantity and (stage is None or row.stage == stage)
    )


@cache
def feed_rules() -> tuple[FeedRule, ...]:
    """Return every feed-per-area rule.

    Returns
    -------
    tuple of FeedRule
        In the order of the table.

    Examples
    --------
    >>> sorted({rule.rule for rule in feed_rules()})
    ['Endut et al. 2010', 'FAO 589', 'Rakocy 2007']
    """
    return tuple(
        FeedRule(
            rule=row["rule"],
            crop=row["crop"],
            low_kg_m2_s=float(row["low_g_m2_d"]) / 1000.0 / _DAY_S,
            high_kg_m2_s=float(row["high_g_m2_d"]) / 1000.0 / _DAY_S,
            feed_protein_frac=float(row["feed_protein"]) if row["feed_protein"] else None,
            share_of_raft_frac=float(row["share_of_raft"]) if row["share_of_raft"] else None,
            source=row["source"],
            note=row["note"],
        )
        for row in _rows("feed_rules.csv")
    )


def feed_rule(rule: str, crop: str) -> FeedRule:
    """Return a feed-per-area rule by its name and what it is for.

    Parameters
    ----------
    rule
        Name of the rule.
    crop
        Crop, group or way of growing.

    Returns
    -------
    FeedRule
        The rule.

    Raises
    ------
    NotKnownError
        There is no such rule.

    Examples
    --------
    >>> found = feed_rule("FAO 589", "leafy_greens")
    >>> round(found.low_kg_m2_s * 86400e3), round(found.high_kg_m2_s * 86400e3)
    (40, 50)
    """
    for row in feed_rules():
        if (row.rule, row.crop) == (rule, crop):
            return row
    known = "; ".join(f"{row.rule} for {row.crop}" for row in feed_rules())
    message = f"there is no feed rule {rule!r} for {crop!r}. Known: {known}."
    raise NotKnownError(message)


@cache
def shortages() -> dict[str, Shortage]:
    """Return the signs of shortage by element.

    Returns
    -------
    dict
        Symbol to `Shortage`.

    Examples
    --------
    >>> shortages()["Fe"].leaves_first
    'young'
    """
    return {
        row["element"]: Shortage(
            element=row["element"],
            leaves_first=cast(Literal["older", "young"], row["leaves_first"]),
            sign=row["sign"],
            first_step=row["first_step"],
            source=row["source"],
        )
        for row in _rows("shortages.csv")
    }
