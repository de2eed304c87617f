"""What a calculator answers: figures with their ranges, what they rest on, and the caution.

`tailrace.operations.water_calculators` and `tailrace.operations.flow_calculators` make the
answers; here is what they share, and the conversion of units.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import product as every
from typing import Any

from tailrace import __version__
from tailrace.errors import InputError, OutsideRangeError, UnitError
from tailrace.quantities import subjects, suffixes
from tailrace.site import UnitFamily
from tailrace.sources import sources
from tailrace.units import (
    Quantity,
    find_unit,
    from_unit,
    parse,
    show_range,
    split_quantity,
    to_unit,
)
from tailrace.units.bases import split_basis
from tailrace.water.reported import reported_factor

CHEMICALS = (
    "Gloves and goggles; add the chemical to water and never the other way, dissolved in a bucket "
    "first and in steps; never mix chemicals. Keep to the label and to local rules."
)
ELECTRICITY = (
    "Unplug and let the pressure out before opening anything; earth-fault protection on every "
    "plug near water; wiring is for a licensed electrician."
)
ANIMALS = "Watch the fish; sick fish are for a licensed vet."

# Units shown for the figures of an answer: US and metric.
UNITS = {
    "_g_m3": ("ppm", "mg/L"),
    "_n_g_m3": ("ppm as N", "mg/L as N"),
    "_eq_m3": ("ppm as CaCO3", "mg/L as CaCO3"),
    "_caco3_g_m3": ("ppm as CaCO3", "mg/L as CaCO3"),
    "_degc": ("degF", "degC"),
    "_g": ("oz", "g"),
    "_m": ("ft", "m"),
    "_m_s": ("ft/s", "m/s"),
    "_pa": ("in H2O", "kPa"),
    "_pa_gauge": ("in H2O", "kPa"),
    "_pa_abs": ("in Hg", "kPa"),
    "_w": ("W", "W"),
    "_frac": ("%", "%"),
    "_m3": ("gal", "L"),
    "_m3_s": ("gal/min", "L/min"),
    "": ("", ""),
}
AIR_FLOW = ("SCFH", "L/min std")
# Inputs of calculators that are no subject of the log, and what they can be.
POSSIBLE = {"gas temperature": (-40.0, 120.0)}


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of an answer.

    Parameters
    ----------
    name
        What it is, in words.
    low, high
        Ends of its range in the unit of `suffix`; equal when it is one number.
    suffix
        Unit suffix.
    units
        Units shown, US and metric; empty takes the usual ones of the suffix.
    """

    name: str
    low: float
    high: float
    suffix: str
    units: tuple[str, str] = ("", "")

    def text(self, family: UnitFamily) -> str:
        """Write the figure for a person.

        Parameters
        ----------
        family
            Units shown.

        Returns
        -------
        str
            Number or range, with its unit.
        """
        return show_range(self.low, self.high, self.suffix, self._unit(family))

    def _unit(self, family: UnitFamily) -> str:
        both = self.units if any(self.units) else UNITS[self.suffix]
        return both[0] if family is UnitFamily.US else both[1]

    def as_object(self, family: UnitFamily) -> dict[str, Any]:
        """Return the figure as plain data.

        Parameters
        ----------
        family
            Units shown.

        Returns
        -------
        dict
            Name, ends in the unit shown, that unit, and the words; null for an open end.
        """
        unit = self._unit(family)
        ends = (to_unit(end, self.suffix, unit) for end in (self.low, self.high))
        low, high = (end if math.isfinite(end) else None for end in ends)
        return {
            "name": self.name,
            "low": low,
            "high": high,
            "unit": unit,
            "text": self.text(family),
        }


@dataclass(frozen=True, slots=True)
class Sentence:
    """A sentence with figures in it, which follow the units of the answer.

    Parameters
    ----------
    words
        The sentence, with ``{}`` where each figure goes.
    figures
        The figures.
    """

    words: str
    figures: tuple[Figure, ...]

    def text(self, family: UnitFamily) -> str:
        """Write the sentence for a person.

        Parameters
        ----------
        family
            Units shown.

        Returns
        -------
        str
            The sentence.
        """
        return self.words.format(*(figure.text(family) for figure in self.figures))


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculator answers.

    Parameters
    ----------
    question
        The question, in words.
    given
        What was given, as typed, each with its name.
    figures
        The answer.
    said
        Sentences that belong to it, with or without figures.
    uncertainty
        How sure it is.
    sources
        Keys of the sources.
    cautions
        What to mind.
    """

    question: str
    given: tuple[tuple[str, str], ...]
    figures: tuple[Figure, ...]
    said: tuple[str | Sentence, ...]
    uncertainty: str | Sentence
    sources: tuple[str, ...]
    cautions: tuple[str, ...]

    def as_object(self, family: UnitFamily) -> dict[str, Any]:
        """Return the answer as plain data, ready for JSON.

        Parameters
        ----------
        family
            Units shown.

        Returns
        -------
        dict
            Everything of the answer; sources in words with how they were obtained.
        """
        return {
            "question": self.question,
            "units": family.value,
            "given": dict(self.given),
            "answer": [figure.as_object(family) for figure in self.figures],
            "said": [_in_words(line, family) for line in self.said],
            "uncertainty": _in_words(self.uncertainty, family),
            "sources": [
                {"key": key, "text": sources()[key].text, "obtained": sources()[key].obtained}
                for key in self.sources
            ],
            "cautions": list(self.cautions),
            "version": __version__,
        }


def _in_words(line: str | Sentence, family: UnitFamily) -> str:
    return line if isinstance(line, str) else line.text(family)


def typed(text: str, suffix: str, name: str) -> Quantity:
    """Read a quantity that a calculator needs with both ends.

    Parameters
    ----------
    text
        Text as typed.
    suffix
        Unit suffix wanted.
    name
        What it is, for the words of an error.

    Returns
    -------
    Quantity
        The interval.

    Raises
    ------
    InputError
        It cannot be read, or one end is open, such as in ``<5``.
    OutsideRangeError
        It cannot be: pH 70, or water of 78 degC.
    """
    try:
        found = parse(text, suffix)
    except UnitError as error:
        raise UnitError(f"{name}: {error}") from error
    except InputError as error:
        raise InputError(f"{name}: {error}") from error
    if not (math.isfinite(found.low) and math.isfinite(found.high)):
        message = f"{name}: {text.strip()!r} has an open end; give a number, or both ends as 2-5."
        raise InputError(message)
    _check_possible(found, suffix, name)
    return found


def _check_possible(found: Quantity, suffix: str, name: str) -> None:
    """Refuse what cannot be, and say what was probably meant."""
    known = next((s for s in subjects().values() if s.label.partition(" (")[0] == name), None)
    low, high = POSSIBLE.get(name, (-math.inf, math.inf))
    if known is not None and known.suffix == suffix:
        low, high = known.possible_low, known.possible_high
    if low <= found.low and found.high <= high:
        return
    unit = suffixes()[suffix].unit if suffix else ""
    allowed = f"{low:g} to {high:g} {unit}".strip()
    message = f"{name} is {found.text.strip()}, outside {allowed}.{_meant(found, suffix, name)}"
    raise OutsideRangeError(message)


def _meant(found: Quantity, suffix: str, name: str) -> str:
    if suffix == "_degc" and found.high > 200.0:
        return " Was it given in kelvin?"
    if suffix == "_degc" and found.high > 0.0:
        return " Was it given in Fahrenheit? Write it such as '78 degF'."
    if name == "pH" and 14.0 < found.high <= 140.0:
        return f" Was {found.high / 10.0:g} meant?"
    return ""


def spread(function: Callable[..., float], *quantities: Quantity) -> tuple[float, float]:
    """Return the range of a function over the corners of its inputs.

    Parameters
    ----------
    function
        Function of numbers that rises or falls steadily with each of them.
    *quantities
        Its inputs.

    Returns
    -------
    tuple of float
        Lowest and highest value.

    Examples
    --------
    >>> spread(lambda a, b: a - b, parse("2-3", ""), parse("1", ""))
    (1.0, 2.0)
    """
    corners = every(*({quantity.low, quantity.high} for quantity in quantities))
    values = [function(*corner) for corner in corners]
    return min(values), max(values)


def fixed(value: float) -> Quantity:
    """Return a number as a quantity without spread.

    Parameters
    ----------
    value
        The number, in the unit that the function wants.

    Returns
    -------
    Quantity
        Both ends equal.

    Examples
    --------
    >>> fixed(2.0).middle
    2.0
    """
    return Quantity(value, value, "", "")


_FIRST = ("_degc", "_eq_m3", "_caco3_g_m3")  # a temperature before a difference of two
_COUNTED_AS = ("total_ammonia", "nitrite", "nitrate", "alkalinity", "hardness", "chloride")


def convert(text: str, unit: str) -> Answer:
    """Convert a quantity to another unit, or from one basis to another.

    Parameters
    ----------
    text
        Quantity as typed, such as ``5 ppm as NO3``.
    unit
        Unit wanted, such as ``mg/L as N``.

    Returns
    -------
    Answer
        The quantity in that unit.

    Raises
    ------
    UnitError
        A unit is not known, or the two measure different things.
    InputError
        There is no number.

    Examples
    --------
    >>> convert("3 dKH", "ppm as CaCO3").figures[0].text(UnitFamily.US)
    '53.5 ppm as CaCO3'
    """
    parts = split_quantity(text)
    for name in (parts.unit, unit):
        if find_unit(split_basis(name)[0]) is None:
            message = f"unit {name!r} is not known. Write it such as 'gal', 'mg/L as N' or 'degF'."
            raise UnitError(message)
    low, high, suffix = _through(text, parts.unit, unit)
    return Answer(
        question=f"What is {text.strip()} in {unit}?",
        given=(("quantity", text), ("unit", unit)),
        figures=(Figure(text.strip(), low, high, suffix, (unit, unit)),),
        said=(),
        uncertainty="By definition; between bases, by standard atomic weights.",
        sources=("arithmetic", "iupac_2021"),
        cautions=(),
    )


def _through(text: str, unit: str, wanted: str) -> tuple[float, float, str]:
    """Find an inside unit that both units know; bases of a plain concentration by hand."""
    for suffix in (*_FIRST, *suffixes(), ""):
        try:
            found = parse(text, suffix)
            to_unit(found.low, suffix, wanted)
        except (InputError, KeyError, LookupError):
            continue
        if _agree(unit, wanted, suffix):
            return found.low, found.high, suffix
    factor = _basis_ratio(unit, wanted)
    if factor is None:
        message = (
            f"{unit!r} and {wanted!r} do not measure the same thing, or are counted as different "
            "things. Between bases name both, such as 'mg/L as NO3' and 'mg/L as N'."
        )
        raise UnitError(message)
    bare = f"{split_quantity(text).low} {split_basis(unit)[0]}"
    value = factor * parse(bare, "_g_m3").low
    return value, value, "_g_m3"


def _agree(unit: str, wanted: str, suffix: str) -> bool:
    """Tell whether nothing is lost between the two: a basis on one side alone would be.

    Degrees of hardness and milliequivalents carry their basis in the unit itself.
    """
    (left, old), (right, new) = split_basis(unit), split_basis(wanted)
    if bool(old) == bool(new):
        return True
    return suffix in _FIRST and find_unit(left) != find_unit(right)


def _basis_ratio(unit: str, wanted: str) -> float | None:
    (_, old), (_, new) = split_basis(unit), split_basis(wanted)
    for subject in _COUNTED_AS:
        try:
            return reported_factor(subject, old) / reported_factor(subject, new)
        except LookupError:
            continue
    return None


def in_unit(value: float, unit: str, suffix: str) -> float:
    """Return a value given in a unit, in the unit of a suffix.

    Parameters
    ----------
    value
        The value.
    unit
        Its unit.
    suffix
        Unit suffix wanted.

    Returns
    -------
    float
        The value inside.

    Examples
    --------
    >>> in_unit(100.0, "kPa", "_pa_abs")
    100000.0
    """
    return from_unit(value, unit, suffix)
