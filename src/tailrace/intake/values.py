"""A typed value to its meanings: unit, basis and the interval it stands for.

Pure: words and numbers in, `Reading` out; the rows of a file are in
`tailrace.intake.logfile`, units in `tailrace.intake.chosen_units`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.chosen_units import ChosenUnit, choose_units
from tailrace.intake.plausibility import check_possible, doubt_of
from tailrace.intake.scales import is_chart, step_interval, steps
from tailrace.observations import Instrument, Interval, Meaning
from tailrace.quantities import Subject, subjects
from tailrace.site import Site
from tailrace.units import (
    DecimalSign,
    Typed,
    basis_of,
    basis_within,
    from_unit,
    own_measure,
    split_basis,
    split_quantity,
)

_NITROGEN = ("total_ammonia", "un_ionised_ammonia", "nitrite", "nitrate")
_UN_IONISED = re.compile(r"\bun-?ioni[sz]ed\b|\bfree ammonia\b|\bNH3 only\b", re.IGNORECASE)
_SIGNED = ("_degc",)
_WORDS = {"open": 1.0, "fully open": 1.0, "shut": 0.0, "closed": 0.0, "half open": 0.5}


@dataclass(frozen=True, slots=True)
class Cell:
    """What a person gave for one value.

    Parameters
    ----------
    word
        Word for the subject as typed, such as ``NO3-N``.
    text
        The value as typed.
    unit
        Unit given beside it; empty when none.
    basis
        Basis given beside it; empty when none.
    method
        Kind of kit, meter or probe.
    column_unit
        Unit that holds for a whole column, for subjects that it suits.
    kit
        The kit that the method names, if a person described it.
    """

    word: str
    text: str
    unit: str = ""
    basis: str = ""
    method: str = ""
    column_unit: str = ""
    kit: Instrument | None = None

    @property
    def in_steps(self) -> bool:
        """Whether it is read in steps: by the kit, else by the method."""
        if self.kit is None:
            return is_chart(self.method)
        return bool(self.kit.steps) or is_chart(self.kit.kind)


@dataclass(frozen=True, slots=True)
class Reading:
    """A value as understood.

    Parameters
    ----------
    subject
        Key of the subject; the method may make total ammonia un-ionised ammonia.
    unit
        Unit as typed; empty when none was given.
    meanings
        Every way to read it.
    flags
        Reasons to doubt it.
    doubts
        The same in sentences.
    unit_taken
        Unit taken where none was given; else empty.
    """

    subject: str
    unit: str
    meanings: tuple[Meaning, ...]
    flags: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    unit_taken: str = ""


def read_value(
    subject_key: str, cell: Cell, site: Site, *, decimal: DecimalSign | None = None
) -> Reading:
    """Read a typed value.

    Parameters
    ----------
    subject_key
        Key of the subject.
    cell
        What was given.
    site
        The site: its units, measures, volume and bypass.
    decimal
        Decimal sign, where it is known.

    Returns
    -------
    Reading
        Meanings in the unit of the subject's suffix, and every doubt.

    Raises
    ------
    InputError
        It has no number, an unknown unit or basis, or is not possible; a
        `tailrace.units.AmbiguousNumberError` where it can be read two ways.
    """
    key = subject_key
    if key == "total_ammonia" and _UN_IONISED.search(cell.method):
        key = "un_ionised_ammonia"
    subject = subjects()[key]
    if not subject.has_value:
        return _without_number(subject, cell)
    if not cell.text.strip():
        return _without_amount(subject)
    typed = _typed(subject, cell.text, decimal)
    unit = _given_unit(subject, typed.unit, cell)
    bases, basis_flags = _bases(subject, unit, cell)
    chosen = choose_units(subject, typed, unit if split_basis(unit)[0] else "", site)
    cores, wides, no_scale = _meanings(subject, typed, cell, chosen, bases)
    check_possible(subject, [meaning.interval for meaning in cores], typed, chosen)
    marks = [*chosen.flags, *basis_flags, *no_scale]
    doubts = [*chosen.doubts, *(_basis_doubt(subject, cell) for _ in basis_flags)]
    doubt = doubt_of(subject, [meaning.interval for meaning in cores], typed, chosen)
    if doubt:
        marks.append(f.OUTSIDE_PLAUSIBLE)
        doubts.append(doubt)
    taken = "" if split_basis(unit)[0] or not chosen.flags else chosen.units[0]
    return Reading(key, unit, wides, tuple(marks), tuple(doubts), taken)


def _without_number(subject: Subject, cell: Cell) -> Reading:
    if not cell.text.strip() or subject.kind == "note":
        return Reading(subject.key, cell.unit, ())
    doubt = f"{subject.label} takes no value; {cell.text!r} is kept as typed and not used."
    return Reading(subject.key, cell.unit, (), (f.VALUE_NOT_USED,), (doubt,))


def _without_amount(subject: Subject) -> Reading:
    if subject.kind == "reading":
        message = f"{subject.label} has no value; write the number that was read."
        raise InputError(message)
    doubt = f"{subject.label} has no amount; it is kept, and the amount counts as not known."
    return Reading(subject.key, "", (), (f.AMOUNT_NOT_GIVEN,), (doubt,))


def _typed(subject: Subject, text: str, decimal: DecimalSign | None) -> Typed:
    word = text.strip().casefold()
    if subject.key == "bypass_set" and word in _WORDS:
        return Typed(_WORDS[word], _WORDS[word], "open")
    return split_quantity(text, decimal=decimal)


def _given_unit(subject: Subject, typed: str, cell: Cell) -> str:
    """Return the unit beside the number, else that of its cell, else that of the word."""
    beside = cell.unit.strip()
    two = bool(typed and beside) and typed.casefold() != beside.casefold()
    if two and not _same_unit(typed, beside, subject.suffix):
        raise InputError(
            f"{subject.label} says {typed!r} beside the number and {beside!r} as its unit; "
            f"write one unit."
        )
    word = cell.word.strip().casefold()
    from_word = {"dkh": "dKH", "dgh": "dGH"}.get(word, "")
    suits = _suits(cell.column_unit, subject)
    from_kit = cell.kit.unit if cell.kit else ""
    return typed or beside or from_word or (cell.column_unit if suits else from_kit)


def _suits(unit: str, subject: Subject) -> bool:
    try:
        from_unit(1.0, split_basis(unit)[0], subject.suffix)
    except InputError:
        return False
    return bool(unit and subject.suffix)


def _same_unit(one: str, other: str, suffix: str) -> bool:
    plain = [split_basis(unit)[0] for unit in (one, other)]
    try:
        first, second = (from_unit(1.0, unit, suffix) for unit in plain)
    except InputError:
        return False
    return math.isclose(first, second)


def _bases(subject: Subject, unit: str, cell: Cell) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the bases it may be counted in, and the flag if there are two."""
    if not subject.bases:
        return ("",), ()
    named = _named_bases(subject, unit, cell)
    if len(set(named)) > 1:
        message = (
            f"{subject.label} is given as {named[0]} and as {named[1]}; write one basis only."
        )
        raise InputError(message)
    if named and named[0] not in subject.bases:
        raise _basis_refusal(subject, named[0])
    if named:
        return (named[0],), ()
    if subject.key in _NITROGEN:
        return (subject.bases[0], subject.bases[-1]), (f.BASIS_NOT_KNOWN,)
    return (subject.bases[0],), ()


def _named_bases(subject: Subject, unit: str, cell: Cell) -> list[str]:
    """Return the bases that its cell, its unit, its word, its kit or its method say."""
    said = [basis_of(cell.basis), split_basis(unit)[1]]
    if cell.basis.strip() and not said[0]:
        raise _basis_refusal(subject, cell.basis)
    word = basis_of(cell.word)
    said.append(word if word == "N" else "")
    named = [basis for basis in said if basis]
    of_kit = split_basis(cell.kit.unit)[1] if cell.kit else ""
    if not named and of_kit:
        return [of_kit]
    within = "" if named else basis_within(cell.method)
    return [within] if within in subject.bases else named


def _basis_refusal(subject: Subject, basis: str) -> InputError:
    return InputError(
        f"{subject.label} is given as {basis!r}; it can be counted as one of "
        f"{', '.join(subject.bases)}."
    )


def _basis_doubt(subject: Subject, cell: Cell) -> str:
    name = subject.label.removesuffix(" (as N)")
    return (
        f"{name} {cell.text.strip()} may be counted as {subject.bases[0]} or as "
        f"{subject.bases[-1]}; see the leaflet of the kit and write it as the basis."
    )


def _meanings(
    subject: Subject, typed: Typed, cell: Cell, chosen: ChosenUnit, bases: tuple[str, ...]
) -> tuple[tuple[Meaning, ...], tuple[Meaning, ...], tuple[str, ...]]:
    """Return the meanings as typed, the same as wide as the method makes them, and a flag."""
    cores, wides, marks = [], [], []
    for unit in chosen.units:
        scale = _steps(subject, unit, cell) if cell.in_steps else ()
        if cell.in_steps and not scale and subject.kind == "reading":
            marks.append(f.NO_SCALE)
        core = _ends(subject, typed, unit)
        wide = _widened(subject, typed, core, scale)
        for basis in bases:
            name = unit if len(chosen.units) > 1 else basis
            cores.append(Meaning(name, _inside(subject, core, unit, basis, chosen)))
            wides.append(Meaning(name, _inside(subject, wide, unit, basis, chosen)))
    return tuple(cores), tuple(wides), tuple(dict.fromkeys(marks))


def _steps(subject: Subject, unit: str, cell: Cell) -> tuple[float, ...]:
    """Return the steps in a unit: the kit's own where it has them, else the generic ones."""
    kit = cell.kit
    if kit is None or not kit.steps:
        return steps(subject.key, unit)
    own, typed = (split_basis(name)[0] for name in (kit.unit, unit))
    if own.casefold() == typed.casefold():
        return kit.steps
    try:
        factor = from_unit(1.0, own, subject.suffix) / from_unit(1.0, typed, subject.suffix)
    except (InputError, ZeroDivisionError):
        return ()
    return tuple(step * factor for step in kit.steps)


def _ends(subject: Subject, typed: Typed, unit: str) -> Interval:
    """Return the ends as typed; a trace reaches to the first step of the subject's scale."""
    if math.isnan(typed.low):
        scale = steps(subject.key, unit)
        return Interval(0.0, scale[1] if scale else math.inf)
    low = typed.low
    if math.isinf(low) and subject.suffix not in _SIGNED:
        low = min(0.0, typed.high)
    return Interval(low, typed.high)


def _widened(subject: Subject, typed: Typed, core: Interval, scale: tuple[float, ...]) -> Interval:
    """Return what a reading stands for: a step of a chart, or half the last digit either way."""
    counted = subject.kind != "reading" or subject.key == "backwash_count"
    if not typed.number or counted:
        return core
    if scale and core.low >= 0.0:
        return step_interval(core.low, scale)
    half = 0.5 * _last_digit(typed.number)
    low = core.low - half
    if subject.suffix not in _SIGNED:
        low = max(low, min(0.0, core.low))
    return Interval(low, core.high + half)


def _last_digit(number: str) -> float:
    """Return the size of the last digit typed; nothing for fractions and words."""
    plain = number.strip().lstrip("+-")
    if not re.fullmatch(r"[\d.,' ]+", plain):
        return 0.0
    sign = max(plain.rfind("."), plain.rfind(","))
    places = len(plain) - sign - 1 if sign >= 0 else 0
    grouped = places == 3 and re.fullmatch(r"[1-9]\d{0,2}(?:[.,]\d{3})+", plain) is not None
    return 1.0 if grouped and "," in plain else 10.0**-places


def _inside(
    subject: Subject, ends: Interval, unit: str, basis: str, chosen: ChosenUnit
) -> Interval:
    values = [_convert(end, unit, basis, subject.suffix, chosen) for end in (ends.low, ends.high)]
    return Interval(min(values), max(values))


def _convert(value: float, unit: str, basis: str, suffix: str, chosen: ChosenUnit) -> float:
    own = own_measure(unit, chosen.measures)
    if own is not None:
        if own[1] != suffix:
            return from_unit(value, unit, suffix)  # raises, naming the units that suit
        return value * own[0]
    plain, said = split_basis(unit)
    full = f"{plain} as {basis}" if basis and (said or _is_mass(plain)) else unit
    return from_unit(value, full, suffix)


def _is_mass(plain: str) -> bool:
    return plain.casefold() not in {"dkh", "dgh", "meq/l", "eq/m3", "kh", "gh", "mval/l"}
