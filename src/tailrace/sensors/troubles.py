"""Gaps in a series, and a sensor that says the same value for too long."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LONGER_THAN_USUAL = 3.0  # judgement: one late reading is no gap
STUCK_LEAST_S = 3600.0  # judgement: below an hour nobody acts on it
STUCK_RUNS = 4.0  # judgement: times the longest usual run
USUAL_SHARE = 0.95

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Gap:
    """A time without readings.

    Parameters
    ----------
    begin_s, end_s
        The last reading before it and the first after it, seconds since 1970 in UTC.
    missing
        How many readings are missing at the usual spacing.
    """

    begin_s: float
    end_s: float
    missing: int


@dataclass(frozen=True, slots=True)
class Stuck:
    """A time in which one value was repeated for longer than this sensor ever does.

    Parameters
    ----------
    begin_s, end_s
        First and last reading of it, seconds since 1970 in UTC.
    value
        The value.
    usual_s
        How long this sensor usually repeats a value [s].
    """

    begin_s: float
    end_s: float
    value: float
    usual_s: float


def usual_spacing_s(time_s: Array) -> float:
    """Return the usual time between two readings.

    Parameters
    ----------
    time_s
        Times of the readings, rising [s].

    Returns
    -------
    float
        Median spacing [s]; infinite for fewer than two readings.

    Examples
    --------
    >>> usual_spacing_s(np.array([0.0, 60.0, 120.0, 600.0]))
    60.0
    """
    return float(np.median(np.diff(time_s))) if time_s.size > 1 else np.inf


def find_gaps(
    time_s: Array, *, spacing_s: float | None = None, until_s: float | None = None
) -> tuple[Gap, ...]:
    """Find times without readings.

    Parameters
    ----------
    time_s
        Times of the readings, rising [s].
    spacing_s
        Spacing that the sensor promised; its usual one when None [s].
    until_s
        End of the time looked at, so that a sensor gone silent shows; None for the last
        reading [s].

    Returns
    -------
    tuple of Gap
        Gaps longer than three spacings, the oldest first.

    Examples
    --------
    >>> find_gaps(np.array([0.0, 60.0, 120.0, 600.0]))
    (Gap(begin_s=120.0, end_s=600.0, missing=7),)
    """
    if time_s.size == 0:
        return ()
    spacing = usual_spacing_s(time_s) if spacing_s is None else spacing_s
    if not np.isfinite(spacing) or spacing <= 0.0:
        return ()
    times = time_s if until_s is None else np.append(time_s, max(until_s, time_s[-1]))
    found = np.flatnonzero(np.diff(times) > LONGER_THAN_USUAL * spacing)
    silent = times.size - 2 if until_s is not None else -1
    gaps = []
    for place in found:
        begin, end = float(times[place]), float(times[place + 1])
        missing = int((end - begin) / spacing + 1e-9) - (0 if place == silent else 1)
        gaps.append(Gap(begin, end, missing))
    return tuple(gaps)


def find_stuck(
    time_s: Array, values: Array, *, least_s: float = STUCK_LEAST_S
) -> tuple[Stuck, ...]:
    """Find where a sensor repeated one value for longer than it usually does.

    Parameters
    ----------
    time_s
        Times of the readings, rising [s].
    values
        Their values.
    least_s
        Shortest time that counts [s].

    Returns
    -------
    tuple of Stuck
        The oldest first. A sensor with coarse steps repeats values for long; what is usual for
        it is learnt from its own runs, so a series that is stuck throughout shows as one run.

    Examples
    --------
    >>> time_s = np.arange(0.0, 86400.0, 60.0)
    >>> values = np.where(time_s > 50000.0, 7.0, np.sin(time_s / 600.0))
    >>> [(s.value, s.begin_s) for s in find_stuck(time_s, values)]
    [(7.0, 50040.0)]
    """
    if time_s.size < 2:
        return ()
    first = np.concatenate([[0], np.flatnonzero(np.diff(values) != 0.0) + 1])
    final = np.append(first[1:] - 1, time_s.size - 1)
    span = time_s[final] - time_s[first]
    held = np.append(time_s[first[1:]], time_s[-1]) - time_s[first]
    usual = _usual_run_s(held[span < least_s])
    bound = max(least_s, STUCK_RUNS * usual)
    if first.size > 4:  # long runs too are usual for a sensor that has many of them
        bound = max(bound, STUCK_RUNS * float(np.median(held)))
    return tuple(
        Stuck(float(time_s[a]), float(time_s[b]), float(values[a]), usual)
        for a, b in zip(first[span >= bound], final[span >= bound], strict=True)
    )


def _usual_run_s(held_s: Array) -> float:
    """Run within which the sensor spends most of its time, by time."""
    if held_s.size == 0 or held_s.sum() <= 0.0:
        return 0.0
    ordered = np.sort(held_s)
    share = np.cumsum(ordered) / ordered.sum()
    return float(ordered[np.searchsorted(share, USUAL_SHARE)])
