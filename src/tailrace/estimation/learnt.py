"""The one thing that is learnt from the log so far: the air that a backwash takes.

On a day with both a count of backwashes and float readings, the air that passed the float over the
count is the air of one backwash. Prior and days are lognormal; the meter's own scale error is
shared by all days, so it sets how much many days can tell.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.beadfilter.charge import Charge, average_float_m3_s
from tailrace.estimation.priors import Z95, parameters
from tailrace.estimation.standing import Standing
from tailrace.observations import Entry

DAY_S = 86400.0
COUNT_ERROR = 0.6  # backwashes; a count of a day is off by up to one


@dataclass(frozen=True, slots=True)
class Learnt:
    """A factor on the computed air per backwash.

    Parameters
    ----------
    factor
        Median of the factor; 1 when nothing was learnt.
    log_sd
        Standard deviation of its logarithm.
    days
        Days that told something.
    entries
        Ids of the entries behind it.
    """

    factor: float
    log_sd: float
    days: int
    entries: tuple[str, ...]


def prior_log_sd() -> float:
    """Return the standard deviation of the logarithm of the factor before any day.

    Returns
    -------
    float
        From the prior of air per backwash [-].
    """
    return math.log(parameters()["air_per_backwash_factor"].second) / Z95


def air_per_backwash(now: Standing, as_set: Charge) -> Learnt:
    """Learn the air per backwash from the days with both a count and a float reading.

    Parameters
    ----------
    now
        How things stand.
    as_set
        The charge computed at the present setting; only days since it was set are used.

    Returns
    -------
    Learnt
        The factor.
    """
    prior = prior_log_sd()
    seen = list(_days(now, as_set))
    if not seen:
        return Learnt(1.0, prior, 0, ())
    own = sum(1.0 / sd**2 for _, sd, _ in seen)
    mean = sum(ratio / sd**2 for ratio, sd, _ in seen) / own
    shared = parameters()["float_scale"].second
    variance = 1.0 / own + shared**2
    weight = prior**2 / (prior**2 + variance)
    ids = dict.fromkeys(name for _, _, names in seen for name in names)
    return Learnt(
        factor=math.exp(weight * mean),
        log_sd=prior * math.sqrt(1.0 - weight),
        days=len(seen),
        entries=tuple(ids),
    )


def _days(now: Standing, as_set: Charge) -> list[tuple[float, float, tuple[str, ...]]]:
    """Return log ratio of seen to computed air per backwash, its error, and the entries."""
    if not math.isfinite(as_set.interval_s):
        return []
    found = []
    upset = now.upset_at
    for count in now.of("backwash_count"):
        if upset is not None and (count.taken_at - upset).total_seconds() < DAY_S:
            continue
        looks = [e for e in now.of("air_float") if e.interval and _same_day(e, count)]
        told = _told(count, looks, as_set)
        if told is not None:
            found.append((*told, (count.id, *(e.id for e in looks))))
    return found


def _same_day(look: Entry, count: Entry) -> bool:
    """Tell whether a reading falls in the day that a count stands for: the one before it."""
    return 0.0 <= (count.taken_at - look.taken_at).total_seconds() + 3600.0 <= DAY_S + 3600.0


def _told(count: Entry, looks: list[Entry], as_set: Charge) -> tuple[float, float] | None:
    if count.interval is None or count.interval.middle < 1.0 or not looks:
        return None
    number = count.interval.middle
    reading = sum(e.interval.middle for e in looks if e.interval) / len(looks)
    if reading <= 0.0:
        return None
    average = average_float_m3_s(as_set)
    # Both sides of the ratio carry the same correction of the meter, so readings serve.
    ratio = math.log(reading / average * (DAY_S / as_set.interval_s) / number)
    fall = (as_set.float_start_m3_s - as_set.float_end_m3_s) / math.sqrt(12.0)
    error = math.hypot(parameters()["float_reading_error"].second, fall) / reading
    return ratio, math.hypot(error / math.sqrt(len(looks)), COUNT_ERROR / number)
