"""Quantities as people type them: an interval with its unit, the text kept as typed.

``480 gal``, ``0,35``, ``1.5-2``, ``<0.02``, ``trace``, ``1 1/2 scoops`` and ``about 5`` are
all read. Open `tailrace.units.numbers` for single numbers.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

from tailrace.errors import InputError, UnitError
from tailrace.units.bases import split_basis
from tailrace.units.numbers import NUMBER, DecimalSign, parse_number, plain_text
from tailrace.units.registry import find_unit, from_unit, inside, unit_refusal

Measures = Mapping[str, tuple[float, str]]

ABOUT_FRAC = 0.1  # "about 5" is taken as 4.5 to 5.5: judgement, no source
_SIGNED = frozenset({"_degc", "_delta_k", "_pa_gauge", "_pa"})
_ABOUT = re.compile(r"^(?:about|approx\.?|approximately|around|roughly|ca\.?|~|≈) *", re.I)
_BELOW = re.compile(r"^(?:<=?|≤|less than|below|under|up to|at most|not more than) *", re.I)
_ABOVE = re.compile(r"^(?:>=?|≥|more than|above|over|at least) *", re.I)
_TRACE = re.compile(r"^traces?\b *", re.I)
_LEADING = re.compile(r"^pH *[:=]? *(?=[<>~\d])", re.I)
_ONE = re.compile(rf"^(?P<number>{NUMBER}) *(?P<unit>.*)$", re.I | re.S)
_MIXED_WITH_DASH = re.compile(r"^\d+-\d+ ?/ ?\d+")  # 1-1/2 can only be one and a half
_TWO = re.compile(
    rf"^(?P<low>{NUMBER}) *(?P<lowunit>[^\d]*?) *(?:-|to|\.\.+) *"
    rf"(?P<high>{NUMBER}) *(?P<unit>.*)$",
    re.I | re.S,
)


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity as typed.

    Parameters
    ----------
    low, high
        Ends in the unit of the suffix asked for; equal for a single number.
    unit
        The unit as typed, or the default that was taken.
    text
        The whole text as typed.
    """

    low: float
    high: float
    unit: str
    text: str

    @property
    def middle(self) -> float:
        """Middle of both ends."""
        return 0.5 * (self.low + self.high)


@dataclass(frozen=True, slots=True)
class Typed:
    """Numbers and unit of a text before conversion.

    Parameters
    ----------
    low, high
        Ends in the unit as typed; infinite where open; NaN at both ends for a trace.
    unit
        Unit as typed; empty when none was given.
    number
        The number as typed; empty for a range or a trace.
    """

    low: float
    high: float
    unit: str
    number: str = ""


def split_quantity(text: str, *, decimal: DecimalSign | None = None) -> Typed:
    """Split a text into numbers and unit without converting anything.

    Parameters
    ----------
    text
        Text as typed.
    decimal
        Decimal sign, where it is known.

    Returns
    -------
    Typed
        Ends and unit, both as typed.

    Raises
    ------
    InputError
        There is no number, or the range runs backwards; `AmbiguousNumberError` among them.

    Examples
    --------
    >>> split_quantity("< 0,02 mg/L")
    Typed(low=-inf, high=0.02, unit='mg/L', number='')
    """
    plain = _LEADING.sub("", plain_text(text))
    if not plain:
        raise InputError("the value is empty; write a number with its unit.")
    if trace := _TRACE.match(plain):
        return Typed(math.nan, math.nan, plain[trace.end() :])
    about = _ABOUT.match(plain)
    plain = plain[about.end() :] if about else plain
    for pattern, below in ((_BELOW, True), (_ABOVE, False)):
        if bound := pattern.match(plain):
            one = _one(plain[bound.end() :], text, decimal)
            ends = (-math.inf, one.high) if below else (one.low, math.inf)
            return Typed(*ends, one.unit)
    typed = _range(plain, text, decimal) or _one(plain, text, decimal)
    if not about:
        return typed
    low, high = sorted((typed.low * (1 - ABOUT_FRAC), typed.high * (1 + ABOUT_FRAC)))
    return Typed(low, high, typed.unit)


def _one(plain: str, text: str, decimal: DecimalSign | None) -> Typed:
    match = _ONE.match(plain)
    if not match:
        message = f"{text.strip()!r} holds no number; write it such as 0.35, 1.5-2 or <0.02."
        raise InputError(message)
    number = match["number"].rstrip(",.'")
    value = parse_number(number, decimal=decimal)
    return Typed(value, value, match["unit"].strip(), number)


def _range(plain: str, text: str, decimal: DecimalSign | None) -> Typed | None:
    match = _TWO.match(plain)
    if not match or re.fullmatch(NUMBER, plain, re.I):
        return None
    low = parse_number(match["low"].rstrip(",.'"), decimal=decimal)
    high = parse_number(match["high"].rstrip(",.'"), decimal=decimal)
    unit, first = match["unit"].strip(), match["lowunit"].strip()
    if first and first != unit:
        message = f"the range {text.strip()!r} mixes two units; write one, such as '1.5-2 gal'."
        raise UnitError(message)
    if low > high and _MIXED_WITH_DASH.match(plain):
        return None
    if low > high:
        message = (
            f"the range {text.strip()!r} runs from high to low; "
            f"write the smaller number first, or only one number."
        )
        raise InputError(message)
    return Typed(low, high, unit)


def parse(
    text: str,
    suffix: str,
    *,
    default_unit: str = "",
    measures: Measures | None = None,
    decimal: DecimalSign | None = None,
    trace_high: float = math.inf,
) -> Quantity:
    """Read a quantity.

    Parameters
    ----------
    text
        Text as typed.
    suffix
        Unit suffix of the result; empty for a plain number such as pH.
    default_unit
        Unit taken when none is typed.
    measures
        The keeper's own measures: word to amount and suffix, such as
        ``{"scoop": (0.085, "_kg")}``; several of one word are typed as its plural.
    decimal
        Decimal sign, where it is known; it settles ``1,250``.
    trace_high
        Upper end of ``trace``, in the unit of `suffix`.

    Returns
    -------
    Quantity
        Interval in the unit of `suffix`. ``<`` starts at zero, or is open for a quantity that
        may be negative; ``>`` is open above; ``about`` is 10 % to either side.

    Raises
    ------
    UnitError
        The unit is missing, not known, or measures something else.
    AmbiguousNumberError
        One comma stands before three digits and `decimal` is not given.
    InputError
        There is no number.

    Examples
    --------
    >>> parse("1 1/2 scoops", "_kg", measures={"scoop": (0.085, "_kg")}).low
    0.1275
    >>> parse("<0.02 ppm", "_g_m3")
    Quantity(low=0.0, high=0.02, unit='ppm', text='<0.02 ppm')
    """
    typed = split_quantity(text, decimal=decimal)
    unit = _unit_alone(typed.unit) or default_unit
    if math.isnan(typed.low):
        return Quantity(0.0, trace_high, unit, text)
    low, high = (_inside(end, unit, suffix, measures or {}) for end in (typed.low, typed.high))
    if math.isinf(low) and suffix not in _SIGNED:
        low = 0.0
    if low > high:
        raise InputError(f"{text.strip()!r} is below zero; write a number of zero or more.")
    return Quantity(low, high, unit, text)


def _unit_alone(unit: str) -> str:
    """Drop what was measured, as in ``2 lb of feed``, but keep ``inches of water``."""
    return unit if find_unit(split_basis(unit)[0]) else unit.partition(" of ")[0]


def _inside(value: float, unit: str, suffix: str, measures: Measures) -> float:
    own = own_measure(unit, measures)
    if own is not None:
        amount, measured = own
        if measured != suffix:
            raise unit_refusal(unit, suffix)
        return amount * value
    if not unit and suffix == "_frac" and not 0.0 <= value <= 1.0:
        message = f"the share is {value:g} without a unit, outside 0 to 1; write such as '36 %'."
        raise UnitError(message)
    if not unit and suffix not in {"", "_frac"}:
        raise UnitError(
            f"{value:g} has no unit; write it beside the number, such as {example(suffix)!r}."
        )
    return from_unit(value, unit or ("share" if suffix == "_frac" else ""), suffix)


def own_measure(unit: str, measures: Measures) -> tuple[float, str] | None:
    """Return the keeper's own measure that a unit names.

    Parameters
    ----------
    unit
        Unit as typed.
    measures
        Word to amount and suffix.

    Returns
    -------
    tuple or None
        Amount and its suffix; None when the word is no measure of the keeper.

    Examples
    --------
    >>> own_measure("Scoops", {"scoop": (0.085, "_kg")})
    (0.085, '_kg')
    """
    word = unit.casefold().strip(" .")
    for name, amount in measures.items():
        own = name.casefold()
        if word in {own, own + "s", own + "es"}:
            return amount
    return None


def example(suffix: str) -> str:
    """Return a quantity of a suffix as a person may write it.

    Parameters
    ----------
    suffix
        Unit suffix.

    Returns
    -------
    str
        Number and unit.

    Examples
    --------
    >>> example("_m3")
    '480 gal'
    """
    return inside(suffix).example
