"""Units as the rows write them, understood by a general library of units.

A row may count a concentration as something (``mg N/L``, ``mg/L CaCO3``): that is a basis, not
a unit. It is dropped here and stays the business of the mapping that reads the row.
"""

from __future__ import annotations

import re
from functools import cache

import pint

_BASES = {"N", "P", "Cl", "COD", "VSS", "CO2", "O2", "NH3", "NH4", "HNO2", "NO2", "NO3"} | {
    *("NO2-N", "NO3-N", "PO4-P", "CaCO3", "HCO3", "TAN", "feed")
}
_COUNTS = {"fish", "plants", "exchanges"}
_POWER = re.compile(r"\b(mm|cm|m|ft|s|degC)(\d)\b")  # m3 is written m**3 by the library
_PER_HUNDRED = re.compile(r"/100 (\w+)")  # mg/100 g is per (100 g)
_SPELLED = {
    "-": "dimensionless",
    "fraction": "dimensionless",
    "ppmv": "ppm",
    "psig": "psi",
    "psia": "psi",
    "SCFH": "ft**3/hour",
    "Pa.s": "Pa*s",
}


@cache
def _registry() -> pint.UnitRegistry[float]:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    registry.define("equivalent = mol = eq")
    return registry


def without_basis(unit: str) -> str:
    """``mg NO2-N/L`` and ``mg/L CaCO3`` as ``mg/L``; counted things as 1."""
    parts = []
    for part in unit.split("/"):
        words = [word for word in part.split() if word not in _BASES]
        parts.append(" ".join("1" if word in _COUNTS else word for word in words))
    return "/".join(parts)


def _spelled(unit: str) -> str:
    bare = without_basis(unit).replace("US gal", "gallon")
    spelled = _SPELLED.get(unit, _SPELLED.get(bare, bare))
    return _POWER.sub(r"\1**\2", _PER_HUNDRED.sub(r"/(100 \1)", spelled))


def convert(value: float, unit: str, to: str) -> float:
    """Convert between units written as the rows write them."""
    if unit == to:
        return value
    start, end = _spelled(unit), _spelled(to)
    if start == end:
        return value
    registry = _registry()
    if "deg" in start:  # only temperatures have an offset, and they cannot be multiplied
        return float(registry.Quantity(value, start).to(end).magnitude)
    factor = registry.parse_expression(start) / registry.parse_expression(end)
    return value * float((factor * registry.Quantity(1.0)).to("dimensionless").magnitude)
