"""Published rules and figures of bead filters, to set beside computed ones; a data table.

They are of other machines than this one: filters washed by propeller, paddle or bubbles.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import NotKnownError


@dataclass(frozen=True, slots=True)
class Rule:
    """One published rule or figure.

    Parameters
    ----------
    quantity
        What it is of.
    condition
        For which use, size or water.
    low, high
        The range, in `unit`; equal for a single figure.
    unit
        Unit as printed; ``share`` is 0 to 1.
    source
        Key of the source.
    obtained
        How it was obtained.
    note
        What else matters.
    """

    quantity: str
    condition: str
    low: float
    high: float
    unit: str
    source: str
    obtained: str
    note: str


@cache
def rules() -> tuple[Rule, ...]:
    """Return every published rule.

    Returns
    -------
    tuple of Rule
        In the order of the table.
    """
    table = files("tailrace.beadfilter").joinpath("rules.csv")
    with table.open(encoding="utf-8") as stream:
        return tuple(
            Rule(
                row["quantity"],
                row["condition"],
                float(row["low"]),
                float(row["high"]),
                row["unit"],
                row["source"],
                row["obtained"],
                row["note"],
            )
            for row in csv.DictReader(stream)
        )


def rule(quantity: str, condition: str) -> Rule:
    """Return one published rule.

    Parameters
    ----------
    quantity, condition
        As in the table.

    Returns
    -------
    Rule
        The rule.

    Raises
    ------
    NotKnownError
        The table has no such row.

    Examples
    --------
    >>> rule("feed load", "grow-out").high
    16.0
    """
    for row in rules():
        if (row.quantity, row.condition) == (quantity, condition):
            return row
    known = "; ".join(f"{row.quantity} ({row.condition})" for row in rules())
    message = f"no rule for {quantity} ({condition}). There are {known}."
    raise NotKnownError(message)
