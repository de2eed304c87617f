"""Values that cannot be, and values that are hard to believe; both are said with a guess why."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from tailrace.errors import InputError
from tailrace.intake.chosen_units import ChosenUnit, plausible
from tailrace.observations import Interval
from tailrace.quantities import Subject
from tailrace.units import Typed, from_unit, own_measure, show_range, split_basis


def check_possible(
    subject: Subject, intervals: Sequence[Interval], typed: Typed, chosen: ChosenUnit
) -> None:
    """Refuse a value that cannot be.

    Parameters
    ----------
    subject
        The subject.
    intervals
        Every way to read it, in the unit of the subject's suffix.
    typed
        Its numbers as typed.
    chosen
        Its unit.

    Raises
    ------
    InputError
        No way to read it is possible.
    """
    low, high = subject.possible_low, subject.possible_high
    if any(i.low <= high and i.high >= low and _finite_end(i, low, high) for i in intervals):
        return
    raise InputError(_sentence(subject, typed, low, high, chosen))


def _finite_end(interval: Interval, low: float, high: float) -> bool:
    """Return whether a single number, or the finite end of an open interval, lies inside."""
    slack = 1e-9 * max(abs(low), abs(high)) if math.isfinite(high) else 0.0
    return low - slack <= interval.middle <= high + slack


def doubt_of(
    subject: Subject, intervals: Iterable[Interval], typed: Typed, chosen: ChosenUnit
) -> str:
    """Return why a value is hard to believe.

    Parameters
    ----------
    subject
        The subject.
    intervals
        Every way to read it, in the unit of the subject's suffix.
    typed
        Its numbers as typed.
    chosen
        Its unit.

    Returns
    -------
    str
        One sentence; empty for a plausible value, and for an amount of zero.
    """
    kept = list(intervals)
    if any(plausible(subject, i.low, i.high) for i in kept):
        return ""
    if subject.kind == "event" and all(i.low == i.high == 0.0 for i in kept):
        return ""
    return _sentence(subject, typed, subject.plausible_low, subject.plausible_high, chosen)


def _sentence(subject: Subject, typed: Typed, low: float, high: float, chosen: ChosenUnit) -> str:
    unit = chosen.units[0]
    shown = _unit_to_show(subject, unit, chosen)
    said = show_range(typed.low, typed.high, "", "") + (f" {unit}" if unit else "")
    allowed = show_range(low, high, subject.suffix, shown)
    return f"{subject.label} is {said}, outside {allowed}.{_guess(subject, typed, chosen)}"


def _unit_to_show(subject: Subject, unit: str, chosen: ChosenUnit) -> str:
    if own_measure(unit, chosen.measures) is None:
        return unit
    return "%" if subject.suffix == "_frac" else subject.metric_unit


def _guess(subject: Subject, typed: Typed, chosen: ChosenUnit) -> str:
    """Guess at another unit, or at a decimal sign that was lost."""
    number = typed.low
    if number != typed.high or not math.isfinite(number):
        return " Look again, and write it anew with its unit."
    unit = chosen.units[0]
    plain = split_basis(unit)[0]
    for other in chosen.others:
        if other != plain and _plausible_in(subject, number, other):
            return f" Was it {other}?"
    if own_measure(unit, chosen.measures) is None:
        for tenth in (number / 10.0, number / 100.0):
            if _plausible_in(subject, tenth, unit):
                return f" Was {tenth:g} meant?"
    return " Look again, and write it anew with its unit."


def _plausible_in(subject: Subject, number: float, unit: str) -> bool:
    try:
        value = from_unit(number, unit, subject.suffix)
    except InputError:
        return False
    return plausible(subject, value, value)
