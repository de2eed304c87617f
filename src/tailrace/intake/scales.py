"""Colour charts: a value is a step of a scale, so it stands for everything that looks like it.

The steps in ``scales.csv`` are generic (the 1-2-5 series where no other is plain), not those
of any kit; their spacing is judgement.
"""

from __future__ import annotations

import bisect
import csv
import math
import re
from functools import cache
from importlib.resources import files

from tailrace.observations import Interval
from tailrace.units import find_unit, split_basis

_CHART = re.compile(r"chart|strip|colou?r|drops?\b|titrat|dip ?stick", re.IGNORECASE)


def is_chart(method: str) -> bool:
    """Return whether a method is read in steps: a chart, a strip or counted drops.

    Parameters
    ----------
    method
        Kind of kit as typed.

    Returns
    -------
    bool
        True for a method read in steps.

    Examples
    --------
    >>> is_chart("colour chart"), is_chart("meter")
    (True, False)
    """
    return bool(_CHART.search(method))


@cache
def _scales() -> dict[tuple[str, str], tuple[float, ...]]:
    with files("tailrace.intake").joinpath("scales.csv").open(encoding="utf-8") as stream:
        return {
            (row["subject"], row["unit"]): tuple(float(s) for s in row["steps"].split("|"))
            for row in csv.DictReader(stream)
        }


def steps(subject: str, unit: str) -> tuple[float, ...]:
    """Return the steps of the scale of a subject in a unit.

    Parameters
    ----------
    subject
        Key of the subject.
    unit
        Unit as typed, with or without basis.

    Returns
    -------
    tuple
        Steps in that unit, rising; empty when there is no scale.

    Examples
    --------
    >>> steps("nitrate", "ppm as N")[:4]
    (0.0, 5.0, 10.0, 20.0)
    """
    row = find_unit(split_basis(unit)[0]) if unit else None
    return _scales().get((subject, row.name if row and subject != "ph" else ""), ())


def step_interval(value: float, scale: tuple[float, ...]) -> Interval:
    """Return what a step of a colour chart stands for.

    Parameters
    ----------
    value
        Value as typed, in the unit of the scale.
    scale
        Steps, rising.

    Returns
    -------
    Interval
        From the middle to the step before, to the middle to the step after. Zero means below
        the first step above zero; the top step means at least. A value between two steps means
        between them.

    Examples
    --------
    >>> step_interval(0.0, (0.0, 0.1, 0.2, 0.5))
    Interval(low=0.0, high=0.1)
    >>> step_interval(0.2, (0.0, 0.1, 0.2, 0.5))
    Interval(low=0.15000000000000002, high=0.35)
    """
    if value >= scale[-1]:
        low = 0.5 * (scale[-2] + scale[-1]) if value == scale[-1] else scale[-1]
        return Interval(low, math.inf)
    place = bisect.bisect_left(scale, value)
    if scale[place] != value:
        return Interval(scale[place - 1] if place else min(value, 0.0), scale[place])
    if value == 0.0:
        return Interval(0.0, scale[1])
    before = scale[place - 1] if place else scale[0]
    return Interval(0.5 * (before + value), 0.5 * (value + scale[place + 1]))
