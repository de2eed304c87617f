"""Units: which ones are understood, and conversion between them and the inside units.

The closed list is ``units.csv``; ``inside.csv`` says what each suffix holds. pint does the
arithmetic and is loaded at the first conversion only: it takes a third of a second. Open
`tailrace.units.parse` for text and `tailrace.units.show` for the way back.
"""

from __future__ import annotations

import csv
import difflib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import TYPE_CHECKING

from tailrace.errors import UnitError
from tailrace.quantities import Subject, subjects
from tailrace.units.bases import split_basis

if TYPE_CHECKING:
    from pint import UnitRegistry

_CONVENTIONAL_BASIS = {"_eq_m3": "CaCO3"}  # alkalinity in mg/L is as CaCO3 unless it says not
_SUBJECTS_OF = {
    "_n_g_m3": ("total_ammonia", "nitrite", "nitrate"),
    "_eq_m3": ("alkalinity",),
    "_caco3_g_m3": ("hardness",),
    "_g_m3": ("chloride",),
}


@dataclass(frozen=True, slots=True)
class UnitRow:
    """One unit of the closed list.

    Parameters
    ----------
    name
        Its first name.
    pint
        The unit for pint.
    kinds
        What it measures.
    basis
        Basis that the unit itself implies, as dKH does; else empty.
    """

    name: str
    pint: str
    kinds: frozenset[str]
    basis: str


@dataclass(frozen=True, slots=True)
class InsideRow:
    """What a suffix holds.

    Parameters
    ----------
    suffix
        Unit suffix.
    pint
        The inside unit for pint.
    kinds
        Kinds of unit that it can be given in.
    example
        A value as a person may write it.
    """

    suffix: str
    pint: str
    kinds: frozenset[str]
    example: str


def _rows(name: str) -> Iterator[dict[str, str]]:
    with files("tailrace.units").joinpath(name).open(encoding="utf-8") as stream:
        yield from csv.DictReader(stream)


@cache
def _exact() -> dict[str, UnitRow]:
    found: dict[str, UnitRow] = {}
    for row in _rows("units.csv"):
        names = row["names"].split("|")
        unit = UnitRow(names[0], row["pint"], frozenset(row["kinds"].split("|")), row["basis"])
        found.update(dict.fromkeys(names, unit))
    return found


@cache
def _case_blind() -> dict[str, UnitRow]:
    found: dict[str, UnitRow] = {}
    for name, row in _exact().items():
        found.setdefault(name.casefold(), row)
        if len(name) > 2 and name.isalpha():
            found.setdefault(name.casefold() + "s", row)
    return found


@cache
def _inside() -> dict[str, InsideRow]:
    return {
        row["suffix"]: InsideRow(
            row["suffix"], row["pint"], frozenset(row["kinds"].split("|")), row["example"]
        )
        for row in _rows("inside.csv")
    }


@cache
def _registry() -> UnitRegistry[float]:
    import pint  # noqa: PLC0415  # a third of a second; only a conversion pays it

    return pint.UnitRegistry()


def plain_unit(text: str) -> str:
    """Return a unit with blanks, micro signs and degree signs written one way.

    Parameters
    ----------
    text
        Unit as typed.

    Returns
    -------
    str
        The unit as it is looked up.

    Examples
    --------
    >>> plain_unit("  µS / cm. ")
    'uS/cm'
    """
    text = text.replace("µ", "u").replace("μ", "u").replace("º", "°").replace("˚", "°")
    words = " ".join(text.split())
    for gap in (" / ", "/ ", " /"):
        words = words.replace(gap, "/")
    return words if words in _exact() else words.rstrip(".")


def find_unit(text: str) -> UnitRow | None:
    """Return the row of a unit without basis, or None.

    Parameters
    ----------
    text
        Unit as typed.

    Returns
    -------
    UnitRow or None
        The row; None for a unit that is not in the list.

    Examples
    --------
    >>> find_unit("Gallons").name
    'gal'
    """
    plain = plain_unit(text)
    return _exact().get(plain) or _case_blind().get(plain.casefold())


def allowed_units(suffix: str) -> tuple[str, ...]:
    """Return the first names of all units that suit a suffix.

    Parameters
    ----------
    suffix
        Unit suffix, such as ``_m3``; empty for a plain number.

    Returns
    -------
    tuple
        Names of units.

    Raises
    ------
    UnitError
        The suffix cannot be converted.

    Examples
    --------
    >>> allowed_units("_degc")
    ('degC', 'degF', 'kelvin')
    """
    kinds = inside(suffix).kinds
    kinds = kinds | {"temperature"} if "temperature difference" in kinds else kinds
    return tuple(dict.fromkeys(row.name for row in _exact().values() if row.kinds & kinds))


def inside(suffix: str) -> InsideRow:
    """Return what a suffix holds.

    Parameters
    ----------
    suffix
        Unit suffix, such as ``_m3``; empty for a plain number.

    Returns
    -------
    InsideRow
        Inside unit, kinds and an example.

    Raises
    ------
    UnitError
        The suffix cannot be converted.

    Examples
    --------
    >>> inside("_m3").example
    '480 gal'
    """
    if suffix not in _inside():
        raise UnitError(f"the suffix {suffix!r} has no units; it is one of {sorted(_inside())}.")
    return _inside()[suffix]


def unit_refusal(unit: str, suffix: str) -> UnitError:
    """Return the error for a unit that does not suit, in words.

    Parameters
    ----------
    unit
        Unit as typed; empty when none was given.
    suffix
        Unit suffix wanted.

    Returns
    -------
    UnitError
        What, what is allowed and what to do.
    """
    row, allowed = inside(suffix), allowed_units(suffix)
    wanted = " or ".join(sorted(row.kinds))
    if not unit:
        return UnitError(f"no unit is given; write it beside the number, such as {row.example!r}.")
    known = find_unit(split_basis(unit)[0])
    if known is not None:
        what = f"the unit {unit!r} measures {' or '.join(sorted(known.kinds))}, not {wanted}"
        ask = " Was fl oz meant?" if known.name == "oz" and "volume" in row.kinds else ""
    else:
        what = f"the unit {unit!r} is not known"
        near = difflib.get_close_matches(unit, allowed, n=1)
        ask = f" Was {near[0]} meant?" if near else ""
    return UnitError(f"{what}; use one of {', '.join(allowed)}, such as {row.example!r}.{ask}")


def _basis_factor(suffix: str, basis: str) -> float | None:
    # here, not above: it brings a compiler with it that most conversions do not need
    from tailrace.errors import NotKnownError  # noqa: PLC0415
    from tailrace.water.reported import reported_factor  # noqa: PLC0415
    from tailrace.water.reported_hardness import (  # noqa: PLC0415
        alkalinity_from_dkh_eq_m3,
        hardness_from_dgh_caco3_g_m3,
    )

    if (suffix, basis) == ("_eq_m3", "dKH"):
        return float(alkalinity_from_dkh_eq_m3(1.0))
    if (suffix, basis) == ("_caco3_g_m3", "dGH"):
        return float(hardness_from_dgh_caco3_g_m3(1.0))
    for key in _SUBJECTS_OF.get(suffix, ()):
        try:
            return reported_factor(key, basis)
        except NotKnownError:
            continue
    return None


def _temperature(row: UnitRow, target: InsideRow) -> tuple[float, float]:
    registry = _registry()
    delta = row.pint if row.pint == "kelvin" else f"delta_{row.pint}"
    slope = float(registry.Quantity(1.0, delta).to("delta_degC").magnitude)
    if "temperature difference" in target.kinds:
        return slope, 0.0
    return slope, float(registry.Quantity(0.0, row.pint).to(target.pint).magnitude)


def _clean(factor: float) -> float:
    """Drop the last bits that a chain of prefixes leaves: 1 ppm is 1 g/m3, not 0.99..."""
    short = float(f"{factor:.12g}")
    return short if math.isclose(short, factor, rel_tol=1e-15) else factor


@cache
def _line(unit: str, suffix: str) -> tuple[float, float]:
    """Return slope and offset: inside = offset + slope * value; every unit here is so."""
    target = inside(suffix)
    plain, basis = split_basis(unit)
    row = find_unit(plain) if plain or suffix else find_unit("-")
    if row is None:
        raise unit_refusal(unit, suffix)
    if "temperature" in row.kinds and any("temperature" in kind for kind in target.kinds):
        return _temperature(row, target)
    if not row.kinds & target.kinds:
        raise unit_refusal(unit, suffix)
    if row.kinds == {"equivalents"}:
        return 1.0, 0.0
    basis = basis or row.basis or _CONVENTIONAL_BASIS.get(suffix, "")
    if not basis:
        return _clean(float(_registry()(row.pint).to(target.pint).magnitude)), 0.0
    mass = _clean(float(_registry()(row.pint).to("gram/meter**3").magnitude))
    share = _basis_factor(suffix, basis)
    if share is None:
        message = f"the basis {basis!r} does not suit here; give it such as {target.example!r}."
        raise UnitError(message)
    return mass * share, 0.0


def from_unit(value: float, unit: str, suffix: str) -> float:
    """Convert a value to the inside unit of a suffix.

    Parameters
    ----------
    value
        Value in `unit`.
    unit
        Unit as typed, with its basis where it has one, such as ``ppm as N``.
    suffix
        Unit suffix of the result.

    Returns
    -------
    float
        Value in the unit of `suffix`.

    Raises
    ------
    UnitError
        The unit is not known, or measures something else.

    Notes
    -----
    SCFH and L/min std are standard volumes a time and convert as ft3/h and L/min do. One dKH
    or dGH is 10 mg/L as CaO. A column of water is at its conventional 1000 kg/m3.

    Examples
    --------
    >>> round(from_unit(480, "gal", "_m3"), 4)
    1.817
    >>> round(from_unit(68, "°F", "_degc"), 6)
    20.0
    """
    slope, offset = _line(unit, suffix)
    return offset + slope * value


def to_unit(value_si: float, suffix: str, unit: str) -> float:
    """Convert a value from the inside unit of a suffix.

    Parameters
    ----------
    value_si
        Value in the unit of `suffix`.
    suffix
        Unit suffix of the value.
    unit
        Unit wanted, with its basis where it has one.

    Returns
    -------
    float
        Value in `unit`.

    Raises
    ------
    UnitError
        The unit is not known, or measures something else.

    Examples
    --------
    >>> round(to_unit(0.3, "_kg", "lb"), 4)
    0.6614
    """
    slope, offset = _line(unit, suffix)
    return (value_si - offset) / slope


def subject_unit(subject: Subject | str, family: str) -> str:
    """Return the unit in which a subject is shown to people of a unit family.

    Parameters
    ----------
    subject
        Subject or its key.
    family
        ``us`` or ``metric``, the value of `tailrace.site.UnitFamily`.

    Returns
    -------
    str
        Unit; empty for a subject without one.

    Raises
    ------
    UnitError
        The family is neither of the two.

    Examples
    --------
    >>> subject_unit("feed", "us"), subject_unit("feed", "metric")
    ('lb', 'g')
    """
    found = subjects()[subject] if isinstance(subject, str) else subject
    if family not in {"us", "metric"}:
        raise UnitError(f"the unit family is {family!r}; it is us or metric.")
    return found.us_unit if family == "us" else found.metric_unit
