"""Which unit a value is in, where none was given; and the keeper's own measures.

The site's usual unit is taken and said. Where that makes the value implausible and another
common unit does not, the other is taken and said. A temperature that fits both is kept as both.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.quantities import Subject, words
from tailrace.site import Site
from tailrace.units import (
    Typed,
    find_unit,
    from_unit,
    own_measure,
    split_basis,
    subject_unit,
)

_SHARED = ("water_change", "top_up")
_HANDLE_DEG = 90.0
SOLIDS_SCALES = ("ppm (0.5)", "ppm (0.7)")


@dataclass(frozen=True, slots=True)
class ChosenUnit:
    """The unit of a value, or the two that it may have.

    Parameters
    ----------
    units
        Units; two when it is not known which.
    measures
        The keeper's own measures that suit.
    flags
        Reasons to doubt the choice.
    doubts
        The same in sentences.
    others
        Other units in which the subject is often given.
    """

    units: tuple[str, ...]
    measures: Mapping[str, tuple[float, str]]
    flags: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    others: tuple[str, ...] = ()


@cache
def _likely() -> dict[str, tuple[tuple[str, ...], bool]]:
    with files("tailrace.intake").joinpath("likely_units.csv").open(encoding="utf-8") as stream:
        return {
            row["subject"]: (tuple(row["units"].split("|")), bool(row["ask_when_both_fit"]))
            for row in csv.DictReader(stream)
        }


def likely_units(subject_key: str) -> tuple[str, ...]:
    """Return the units in which a subject is often given.

    Parameters
    ----------
    subject_key
        Key of the subject.

    Returns
    -------
    tuple
        Units, the likeliest first; empty for most subjects.

    Examples
    --------
    >>> likely_units("drain")
    ('L', 'gal', 'mL')
    """
    return _likely().get(subject_key, ((), False))[0]


def measures_for(subject: Subject, site: Site) -> dict[str, tuple[float, str]]:
    """Return the measures that may be used for a subject.

    Parameters
    ----------
    subject
        The subject.
    site
        The site: its own measures, volume and bypass.

    Returns
    -------
    dict
        Word to amount and suffix: the keeper's own, a per cent of the loop for water changed or
        added, and the turns or degrees of the bypass handle.
    """
    found = {
        measure.word: (measure.amount, measure.suffix)
        for measure in site.measures
        if not measure.of or words().get(measure.of.casefold()) == subject.key
    }
    if subject.key in _SHARED:
        share = (site.volume_m3 / 100.0, "_m3")
        found.update(dict.fromkeys(("%", "percent", "per cent", "pct"), share))
    if subject.key == "bypass_set":
        found.update(_handle(site))
    return found


def _handle(site: Site) -> dict[str, tuple[float, str]]:
    turns = site.filter.bypass_turns
    if turns is not None:
        return {"turn": (1.0 / turns, "_frac"), "turns open": (1.0 / turns, "_frac")}
    share = (1.0 / _HANDLE_DEG, "_frac")
    return dict.fromkeys(("deg", "°", "degree", "deg open", "degrees open"), share)


def choose_units(subject: Subject, typed: Typed, unit: str, site: Site) -> ChosenUnit:
    """Return the unit of a value, or the two that it may have.

    Parameters
    ----------
    subject
        The subject.
    typed
        Its numbers as typed.
    unit
        Unit given; empty when none.
    site
        The site.

    Returns
    -------
    ChosenUnit
        Unit, measures and what is doubtful about them.

    Raises
    ------
    InputError
        The handle of the bypass is of the other kind.
    """
    measures = measures_for(subject, site)
    others, ask = _likely().get(subject.key, ((), False))
    if unit:
        marks = (f.SHARE_OF_LOOP,) if unit in measures and subject.key in _SHARED and (
            unit.startswith(("%", "p"))
        ) else ()  # fmt: skip
        _refuse_other_handle(subject, unit, site)
        _refuse_other_measure(subject, unit, site, measures)
        _refuse_volume_of_mass(subject, unit, measures)
        if subject.key == "conductivity" and _is_ppm(unit):
            return _dissolved_solids(unit, measures, others)
        return ChosenUnit((unit,), measures, marks, (), others)
    _refuse_bare_handle(subject, typed)
    usual = subject_unit(subject, site.units.value)
    if not subject.suffix or subject.suffix == "_frac":
        return ChosenUnit((_unit_without_word(subject),), measures, others=others)
    plain = split_basis(usual)[0]  # whose basis it is, the kit says, not the site
    fitting = [u for u in dict.fromkeys((plain, *others)) if _fits(subject, typed, u)]
    return _choice(subject, plain, fitting, ask, measures)


def _choice(
    subject: Subject,
    usual: str,
    fitting: list[str],
    ask: bool,
    measures: Mapping[str, tuple[float, str]],
) -> ChosenUnit:
    name = subject.label
    others = _likely().get(subject.key, ((), False))[0]
    if not fitting or (usual in fitting and not ask):
        doubt = f"{name} has no unit; {usual}, the usual one of this site, was taken."
        return ChosenUnit((usual,), measures, (f.UNIT_ASSUMED,), (doubt,), others)
    if len(fitting) > 1:
        doubt = f"{name} has no unit and may be {' or '.join(fitting)}; write which."
        return ChosenUnit(tuple(fitting), measures, (f.UNIT_NOT_KNOWN,), (doubt,), others)
    doubt = f"{name} has no unit; it was read in {fitting[0]}, which alone is plausible."
    return ChosenUnit((fitting[0],), measures, (f.UNIT_INFERRED,), (doubt,), others)


def _unit_without_word(subject: Subject) -> str:
    return "share" if subject.suffix == "_frac" else ""


def _refuse_other_measure(
    subject: Subject, unit: str, site: Site, measures: Mapping[str, tuple[float, str]]
) -> None:
    kept = {m.word: (m.amount, m.suffix) for m in site.measures}
    if own_measure(unit, kept) is None or own_measure(unit, measures) is not None:
        return
    of = next(m.of for m in site.measures if own_measure(unit, {m.word: (1.0, "")}))
    raise InputError(
        f"{unit!r} is a measure of {of} in this site's file, and cannot be one of "
        f"{subject.label}; write a weight or a volume."
    )


def _is_ppm(unit: str) -> bool:
    row = find_unit(unit)
    return row is not None and row.name == "mg/L"


def _dissolved_solids(
    unit: str, measures: Mapping[str, tuple[float, str]], others: tuple[str, ...]
) -> ChosenUnit:
    """Keep both scales on which meters show conductivity as dissolved solids."""
    doubt = (
        f"conductivity in {unit} hangs on the scale of the meter, 0.5 or 0.7; both are kept. "
        f"Write {' or '.join(SOLIDS_SCALES)}, or the reading in uS/cm."
    )
    return ChosenUnit(SOLIDS_SCALES, measures, (f.UNIT_NOT_KNOWN,), (doubt,), others)


def _refuse_volume_of_mass(
    subject: Subject, unit: str, measures: Mapping[str, tuple[float, str]]
) -> None:
    if subject.suffix != "_kg" or own_measure(unit, measures) is not None:
        return
    row = find_unit(unit)
    if row is not None and row.kinds == {"volume"}:
        raise InputError(
            f"{subject.label} is given in {unit}, a volume; weigh one and declare it under "
            f"[measures] in the site's file, or write the weight."
        )


def _refuse_bare_handle(subject: Subject, typed: Typed) -> None:
    if subject.suffix == "_frac" and math.isfinite(typed.high) and typed.high > 1.0:
        raise InputError(
            f"{subject.label} {typed.high:g} has no unit; write degrees of a quarter turn "
            f"(60 deg), turns (3 turns), a share (2/3) or a per cent (40 %)."
        )


def _refuse_other_handle(subject: Subject, unit: str, site: Site) -> None:
    if subject.key != "bypass_set":
        return
    turns, word = site.filter.bypass_turns, unit.casefold()
    if turns is None and word.startswith("turn"):
        raise InputError(
            "the bypass is given in turns, but this site's file says no turns for its handle; "
            "write degrees of 90, a per cent of its travel, or add the turns to the site's file."
        )
    if turns is not None and word.startswith(("deg", "°")):
        raise InputError(
            f"the bypass is given in degrees, but its handle takes {turns:g} turns in this "
            f"site's file; write turns, or a per cent of its travel."
        )


def plausible(subject: Subject, low: float, high: float) -> bool:
    """Return whether an interval touches the plausible range of a subject.

    Parameters
    ----------
    subject
        The subject.
    low, high
        Ends, in the unit of the subject's suffix.

    Returns
    -------
    bool
        True when at least one value of it is plausible.
    """
    slack = 1e-9 * max(abs(low), 1e-12) if math.isfinite(low) else 0.0
    return low - slack <= subject.plausible_high and high + slack >= subject.plausible_low


def _fits(subject: Subject, typed: Typed, unit: str) -> bool:
    if math.isnan(typed.low):  # a trace has no number to judge by
        return False
    ends = sorted(from_unit(end, unit, subject.suffix) for end in (typed.low, typed.high))
    return plausible(subject, ends[0], ends[1])
