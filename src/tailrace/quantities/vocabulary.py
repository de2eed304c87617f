"""The closed list of unit suffixes, and the subjects that a log can speak of.

Everything here is data in ``suffixes.csv``, ``subjects.csv`` and ``words.csv``; the
nomenclature page and the docstring test are made from the same files.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

SubjectKind = Literal["reading", "event", "note"]


@dataclass(frozen=True, slots=True)
class Suffix:
    """A unit suffix of the closed list.

    Parameters
    ----------
    suffix
        The ending of a name, with its leading underscore.
    unit
        The unit as written in docstrings.
    meaning
        What is counted.
    reason
        Why the suffix is needed, where that is not plain.
    """

    suffix: str
    unit: str
    meaning: str
    reason: str


@dataclass(frozen=True, slots=True)
class Subject:
    """Something that an entry of the log can speak of.

    Parameters
    ----------
    key
        Name used in code and files, such as ``total_ammonia``.
    kind
        ``reading`` (a state at a moment), ``event`` (something done or seen) or ``note``.
    label
        Words for people.
    suffix
        Unit suffix in which its value is kept; empty when it has no value.
    us_unit, metric_unit
        Unit shown to a person of either family.
    plausible_low, plausible_high
        Range outside which an entry is kept and flagged, in the unit of `suffix`.
    possible_low, possible_high
        Range outside which an entry is a mistake and kept aside, in the unit of `suffix`.
    bases
        Bases in which it is reported (``N``, ``NH3`` ...), the one inside first; may be empty.
    """

    key: str
    kind: SubjectKind
    label: str
    suffix: str
    us_unit: str
    metric_unit: str
    plausible_low: float
    plausible_high: float
    possible_low: float
    possible_high: float
    bases: tuple[str, ...]

    @property
    def has_value(self) -> bool:
        """Whether an entry of this subject carries a number, with a unit or plain like pH."""
        return bool(self.suffix) or math.isfinite(self.plausible_high)


def _rows(name: str) -> Iterator[dict[str, str]]:
    with files("tailrace.quantities").joinpath(name).open(encoding="utf-8") as stream:
        yield from csv.DictReader(stream)


def _bound(text: str, missing: float) -> float:
    return float(text) if text else missing


@cache
def suffixes() -> dict[str, Suffix]:
    """Return the closed list of unit suffixes, longest first.

    Returns
    -------
    dict
        Suffix text to `Suffix`; a longer suffix stands before one that it ends with.

    Examples
    --------
    >>> suffixes()["_g_m3"].unit
    'g/m3'
    """
    found = [Suffix(**row) for row in _rows("suffixes.csv")]
    return {s.suffix: s for s in sorted(found, key=lambda s: -len(s.suffix))}


def split_suffix(name: str) -> tuple[str, Suffix | None]:
    """Split a name into its words and its unit suffix.

    Parameters
    ----------
    name
        Name of a parameter or function.

    Returns
    -------
    tuple
        The words with blanks, and the `Suffix` or None for a dimensionless name.

    Examples
    --------
    >>> split_suffix("water_temperature_degc")[0]
    'water temperature'
    >>> split_suffix("ph")
    ('ph', None)
    """
    for suffix, found in suffixes().items():
        if name.endswith(suffix) and len(name) > len(suffix):
            return name[: -len(suffix)].replace("_", " "), found
    return name.replace("_", " "), None


@cache
def subjects() -> dict[str, Subject]:
    """Return every subject of the log by its key.

    Returns
    -------
    dict
        Key to `Subject`, in the order of the table.

    Examples
    --------
    >>> subjects()["total_ammonia"].suffix
    '_n_g_m3'
    """
    return {
        row["key"]: Subject(
            key=row["key"],
            kind=row["kind"],  # type: ignore[arg-type]  # the table is checked by a test
            label=row["label"],
            suffix=row["suffix"],
            us_unit=row["us_unit"],
            metric_unit=row["metric_unit"],
            plausible_low=_bound(row["plausible_low"], -math.inf),
            plausible_high=_bound(row["plausible_high"], math.inf),
            possible_low=_bound(row["possible_low"], -math.inf),
            possible_high=_bound(row["possible_high"], math.inf),
            bases=tuple(row["bases"].split("|")) if row["bases"] else (),
        )
        for row in _rows("subjects.csv")
    }


@cache
def words() -> dict[str, str]:
    """Return the words people write for each subject.

    Returns
    -------
    dict
        Lower-case word or phrase to subject key; each key and label is in it too.

    Examples
    --------
    >>> words()["ammonia"]
    'total_ammonia'
    """
    found = {row["word"]: row["key"] for row in _rows("words.csv")}
    for key, subject in subjects().items():
        found.setdefault(key.replace("_", " "), key)
        found.setdefault(subject.label.lower(), key)
    return found
