"""Numbers for people: at most three significant digits, in the unit of their choice."""

from __future__ import annotations

import math

from tailrace.units.registry import to_unit

_EVERYDAY = (1e-4, 1e9)


def number3(x: float) -> float:
    """Round to three significant digits.

    Parameters
    ----------
    x
        Any number.

    Returns
    -------
    float
        The number rounded; what is not finite stays as it is.

    Examples
    --------
    >>> number3(1234.5), number3(0.0012349)
    (1230.0, 0.00123)
    """
    return float(f"{x:.3g}") if math.isfinite(x) else x


def _digits(x: float) -> str:
    rounded = number3(x)
    if rounded == 0.0:
        return "0"
    if not _EVERYDAY[0] <= abs(rounded) < _EVERYDAY[1]:
        return f"{rounded:.3g}"
    places = max(0, 2 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def _with_unit(text: str, unit: str) -> str:
    return f"{text} {unit}".strip()


def show(value_si: float, suffix: str, unit: str) -> str:
    """Write a value for a person.

    Parameters
    ----------
    value_si
        Value in the unit of `suffix`.
    suffix
        Unit suffix of the value.
    unit
        Unit to show it in.

    Returns
    -------
    str
        At most three significant digits and the unit.

    Raises
    ------
    UnitError
        The unit is not known, or measures something else.

    Examples
    --------
    >>> show(1.817, "_m3", "gal"), show(7.2, "", "")
    ('480 gal', '7.2')
    """
    return _with_unit(_digits(to_unit(value_si, suffix, unit)), unit)


def show_range(low_si: float, high_si: float, suffix: str, unit: str) -> str:
    """Write an interval for a person.

    Parameters
    ----------
    low_si, high_si
        Ends in the unit of `suffix`; infinite where open.
    suffix
        Unit suffix of the ends.
    unit
        Unit to show it in.

    Returns
    -------
    str
        ``1.5 to 2 gal``; ``up to``, ``at least`` or ``not known`` where an end is open; one
        number where both ends look the same.

    Raises
    ------
    UnitError
        The unit is not known, or measures something else.

    Examples
    --------
    >>> show_range(0.004, 0.006, "_m3", "L")
    '4 to 6 L'
    >>> show_range(8.0, float("inf"), "_g_m3", "mg/L")
    'at least 8 mg/L'
    """
    ends = (to_unit(low_si, suffix, unit), to_unit(high_si, suffix, unit))
    if math.isinf(ends[0]) and math.isinf(ends[1]):
        return "not known"
    low, high = (_digits(end) for end in ends)
    if math.isinf(ends[1]):
        return _with_unit(f"at least {low}", unit)
    if math.isinf(ends[0]):
        return _with_unit(f"up to {high}", unit)
    return _with_unit(low if low == high else f"{low} to {high}", unit)
