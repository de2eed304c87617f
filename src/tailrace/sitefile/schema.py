"""What a site file may hold: every table and key, as data in ``keys.csv``.

Open `tailrace.sitefile.values` for the check of one value, `tailrace.sitefile.check` for that
of a whole file, and `tailrace.sitefile.page` for the page made from the same data.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import Final

REPEATED: Final = ("tanks", "beds", "filters", "stock")
"""Tables that are written as ``[[name]]``."""

ONLY_ONE: Final = ("tanks", "filters")
"""Repeated tables of which a site has one for now."""

NEEDED: Final = ("site", "tanks", "sump", "filters")
"""Tables without which there is no site."""

MEASURES: Final = "measures"
"""The table whose keys are words of the keeper's own."""


class Kind(Enum):
    """Kind of value that a key takes."""

    QUANTITY = "quantity"
    RANGE = "range"
    SHARE = "share"
    NUMBER = "number"
    WHOLE = "whole"
    OPENING = "opening"
    TEXT = "text"
    SHORT_NAME = "short-name"
    CHOICE = "choice"
    YES_NO = "yes-no"
    ZONE = "zone"
    MOMENT = "moment"
    SPECIES = "species"

    @property
    def counts(self) -> bool:
        """Whether a value of this kind is a number with bounds."""
        return self in _COUNTING


_COUNTING: Final = frozenset(
    (Kind.QUANTITY, Kind.RANGE, Kind.SHARE, Kind.NUMBER, Kind.WHOLE, Kind.OPENING)
)


class Need(Enum):
    """What happens when a key is missing."""

    REQUIRED = "required"
    DEFAULT = "default"
    DERIVED = "derived"
    CONDITIONAL = "conditional"
    OPTIONAL = "optional"


@dataclass(frozen=True, slots=True)
class Key:
    """One key of the site file.

    Parameters
    ----------
    table, name
        Table and key as written.
    kind
        Kind of value.
    suffix
        Unit suffix of a quantity, range or share.
    need
        What happens when it is missing.
    default
        Value used then, as text with its unit; for a derived key, how it is found.
    example
        A value as a keeper may write it.
    unit_us, unit_metric
        Units in which it is told back.
    hard, soft
        Lowest and highest value: beyond `hard` impossible, beyond `soft` implausible; in
        `unit_metric`.
    choices
        Words allowed, for a choice.
    words
        Its name for people.
    meaning
        One sentence for the page.
    basis
        What bounds and default rest on.
    """

    table: str
    name: str
    kind: Kind
    suffix: str
    need: Need
    default: str
    example: str
    unit_us: str
    unit_metric: str
    hard: tuple[float, float]
    soft: tuple[float, float]
    choices: tuple[str, ...]
    words: str
    meaning: str
    basis: str

    @property
    def written(self) -> str:
        """The example as it stands in TOML."""
        return _written(self.kind, self.example)


_BARE: Final = (Kind.NUMBER, Kind.WHOLE, Kind.YES_NO, Kind.MOMENT)


def _written(kind: Kind, text: str) -> str:
    return text if kind in _BARE else f'"{text}"'


def _bounds(low: str, high: str) -> tuple[float, float]:
    return (float(low) if low else -math.inf, float(high) if high else math.inf)


def _key(row: dict[str, str]) -> Key:
    return Key(
        table=row["table"],
        name=row["key"],
        kind=Kind(row["kind"]),
        suffix=row["suffix"],
        need=Need(row["need"]),
        default=row["default"],
        example=row["example"],
        unit_us=row["unit_us"],
        unit_metric=row["unit_metric"],
        hard=_bounds(row["hard_low"], row["hard_high"]),
        soft=_bounds(row["soft_low"], row["soft_high"]),
        choices=tuple(row["choices"].split("|")) if row["choices"] else (),
        words=row["words"],
        meaning=row["meaning"],
        basis=row["basis"],
    )


@cache
def tables() -> dict[str, dict[str, Key]]:
    """Return every table of the site file with its keys, in the order of the page.

    Returns
    -------
    dict
        Table, such as ``filters.chamber``, to its keys by name.

    Examples
    --------
    >>> tables()["tanks"]["volume"].written
    '"480 gal"'
    """
    found: dict[str, dict[str, Key]] = {}
    with files("tailrace.sitefile").joinpath("keys.csv").open(encoding="utf-8") as stream:
        for row in csv.DictReader(stream):
            key = _key(row)
            found.setdefault(key.table, {})[key.name] = key
    return found


def inner_tables(table: str) -> tuple[str, ...]:
    """Return the names of the tables inside a table.

    Parameters
    ----------
    table
        Table; empty for the file itself.

    Returns
    -------
    tuple
        Last parts of their names.

    Examples
    --------
    >>> inner_tables("filters")[:2]
    ('water_pump', 'suction')
    """
    if not table:
        return (*(name for name in tables() if "." not in name), MEASURES)
    head = f"{table}."
    return tuple(name.removeprefix(head) for name in tables() if name.startswith(head))


def header(table: str) -> str:
    """Return the header of a table as it is written.

    Parameters
    ----------
    table
        Table.

    Returns
    -------
    str
        The header in its brackets.

    Examples
    --------
    >>> header("tanks"), header("sump")
    ('[[tanks]]', '[sump]')
    """
    return f"[[{table}]]" if table in REPEATED else f"[{table}]"
