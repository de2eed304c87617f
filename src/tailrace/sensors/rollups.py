"""Samples gathered into minutes, hours and days of UTC.

A bucket holds count, lowest, highest, sum and the last value with its time, so that two halves
of one bucket can be joined without the samples.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

SECOND_US = 1_000_000

Whole = NDArray[np.int64]
Array = NDArray[np.float64]


class Width(IntEnum):
    """Width of a bucket, in seconds."""

    MINUTE = 60
    HOUR = 3600
    DAY = 86400

    @property
    def micros(self) -> int:
        """The width in microseconds."""
        return int(self) * SECOND_US


@dataclass(frozen=True, slots=True, eq=False)
class Buckets:
    """Samples of several series gathered into buckets; arrays of one length.

    Parameters
    ----------
    series
        Number of the series.
    at_us
        Begin of the bucket, microseconds since 1970 in UTC.
    count
        How many samples it holds.
    low, high, total
        Lowest, highest and sum of the values.
    last, last_at_us
        Value of the newest sample, and its time.
    """

    series: Whole
    at_us: Whole
    count: Whole
    low: Array
    high: Array
    total: Array
    last: Array
    last_at_us: Whole

    @property
    def mean(self) -> Array:
        """Mean of each bucket."""
        return np.asarray(self.total / self.count, dtype=np.float64)


def roll_up(series: Whole, at_us: Whole, values: Array, width: Width) -> Buckets:
    """Gather samples into buckets.

    Parameters
    ----------
    series
        Number of the series of each sample.
    at_us
        Time of each sample, microseconds since 1970 in UTC; in any order.
    values
        Value of each sample.
    width
        Width of the buckets.

    Returns
    -------
    Buckets
        One row for each series and bucket that has a sample, in that order.

    Examples
    --------
    >>> at = np.array([0, 59_999_999, 60_000_000])
    >>> made = roll_up(np.array([1, 1, 1]), at, np.array([2.0, 4.0, 5.0]), Width.MINUTE)
    >>> made.count.tolist(), made.mean.tolist(), made.last.tolist()
    ([2, 1], [3.0, 5.0], [4.0, 5.0])
    """
    begin = at_us - at_us % width.micros
    order = np.lexsort((at_us, series))
    series, at_us, values, begin = series[order], at_us[order], values[order], begin[order]
    if not series.size:
        none, whole = np.empty(0), np.empty(0, dtype=np.int64)
        return Buckets(whole, whole, whole, none, none, none, none, whole)
    fresh = np.flatnonzero((np.diff(series) != 0) | (np.diff(begin) != 0)) + 1
    first = np.concatenate([[0], fresh])
    count = np.diff(np.concatenate([first, [series.size]]))
    final = first + count - 1
    return Buckets(
        series=series[first],
        at_us=begin[first],
        count=count.astype(np.int64),
        low=np.minimum.reduceat(values, first),
        high=np.maximum.reduceat(values, first),
        total=np.add.reduceat(values, first),
        last=values[final],
        last_at_us=at_us[final],
    )


def width_for(span_s: float, most: int = 2000) -> Width | None:
    """Return the narrowest width that draws a span with no more than so many buckets.

    Parameters
    ----------
    span_s
        Length of the span [s].
    most
        How many buckets a chart takes.

    Returns
    -------
    Width or None
        The width; None for a span short enough to draw the samples themselves, taken to come
        once a minute at most.

    Examples
    --------
    >>> width_for(3600.0) is None, width_for(30 * 86400.0).name, width_for(365 * 86400.0).name
    (True, 'HOUR', 'DAY')
    """
    if span_s <= Width.DAY:
        return None
    for width in Width:
        if span_s / width <= most:
            return width
    return Width.DAY
