"""Conversion at the borders: text to intervals, inside units to what a person reads."""

from tailrace.units.bases import basis_of, basis_within, split_basis
from tailrace.units.numbers import (
    AmbiguousNumberError,
    DecimalSign,
    decimal_evidence,
    parse_number,
    plain_text,
)
from tailrace.units.parse import Quantity, Typed, example, own_measure, parse, split_quantity
from tailrace.units.registry import (
    allowed_units,
    find_unit,
    from_unit,
    subject_unit,
    to_unit,
)
from tailrace.units.show import number3, show, show_range

__all__ = [
    "AmbiguousNumberError",
    "DecimalSign",
    "Quantity",
    "Typed",
    "allowed_units",
    "basis_of",
    "basis_within",
    "decimal_evidence",
    "example",
    "find_unit",
    "from_unit",
    "number3",
    "own_measure",
    "parse",
    "parse_number",
    "plain_text",
    "show",
    "show_range",
    "split_basis",
    "split_quantity",
    "subject_unit",
    "to_unit",
]
