"""What was observed of biofilters, as ranges to set beside computed figures; a data table."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import NotKnownError


@dataclass(frozen=True, slots=True)
class Observation:
    """One observed range.

    Parameters
    ----------
    quantity
        What was observed.
    condition
        Under which condition.
    low, high
        The range, in `unit`.
    unit
        Unit as printed; ``share`` is 0 to 1.
    source
        Key of the source.
    obtained
        How the range was obtained.
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
def observations() -> tuple[Observation, ...]:
    """Return every observed range.

    Returns
    -------
    tuple of Observation
        In the order of the table.
    """
    table = files("tailrace.biology").joinpath("observed.csv")
    with table.open(encoding="utf-8") as stream:
        return tuple(
            Observation(
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


def observation(quantity: str, condition: str) -> Observation:
    """Return one observed range.

    Parameters
    ----------
    quantity, condition
        As in the table.

    Returns
    -------
    Observation
        The range.

    Raises
    ------
    NotKnownError
        The table has no such row.

    Examples
    --------
    >>> observation("time for new media to reach full capacity", "20..27 degC").high
    8.0
    """
    for row in observations():
        if (row.quantity, row.condition) == (quantity, condition):
            return row
    known = "; ".join(f"{row.quantity} ({row.condition})" for row in observations())
    message = f"nothing observed of {quantity} ({condition}). There are {known}."
    raise NotKnownError(message)
