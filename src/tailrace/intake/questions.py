"""What has to be asked about a typed thing before it is stored, with the words for each answer."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.chosen_units import SOLIDS_SCALES, likely_units, measures_for
from tailrace.intake.line_words import Words
from tailrace.observations import Entry
from tailrace.site import Site
from tailrace.units import (
    AmbiguousNumberError,
    from_unit,
    number3,
    split_basis,
    split_quantity,
    subject_unit,
)


@dataclass(frozen=True, slots=True)
class Question:
    """Something to be asked.

    Parameters
    ----------
    text
        The question.
    choices
        Pairs of an answer and the whole text to type instead; may be empty: then it is to be
        typed anew.
    """

    text: str
    choices: tuple[tuple[str, str], ...] = ()


def question_of(
    text: str, found: Words, site: Site, entry: Entry | None = None
) -> Question | None:
    """Return what has to be asked about a thing, if anything.

    Parameters
    ----------
    text
        The thing as typed.
    found
        Its words.
    site
        The site.
    entry
        What it gives, once it was read; None before.

    Returns
    -------
    Question or None
        The first question; None when it is clear.
    """
    if entry is None:
        return _of_number(text, found) or _of_ounces(text, found) or _of_missing(text, found, site)
    if found.settled:
        return None
    return _of_meanings(text, found, entry)


def _of_number(text: str, found: Words) -> Question | None:
    """Ask about `1,250`."""
    if not found.value:
        return None
    try:
        split_quantity(found.value)
    except AmbiguousNumberError as error:
        small, large = (f"{reading:g}" for reading in error.readings)
        return Question(
            f"is {error.text} {small} or {large}?",
            tuple((each, text.replace(error.text, each, 1)) for each in (small, large)),
        )
    except InputError:
        return None
    return None


def _of_ounces(text: str, found: Words) -> Question | None:
    """Ask whether ounces are by weight or by volume, unless they say so."""
    if split_basis(found.unit)[0].casefold().rstrip("s.") not in {"oz", "ounce"}:
        return None
    answers = {"_kg": ("oz by weight",), "_m3": ("fl oz",)}.get(found.subject.suffix, ())
    if not answers:
        return None
    other = {"_kg": ("fl oz",), "_m3": ("oz by weight",)}[found.subject.suffix]
    return Question(
        "are these ounces by weight, or fluid ounces by volume?",
        tuple((each, _with_unit(text, found.unit, each)) for each in (*answers, *other)),
    )


def _with_unit(text: str, unit: str, other: str) -> str:
    return re.sub(rf"(?<=[\d ½¼¾]){re.escape(unit)}(?![a-z])", f" {other}", text, count=1).replace(
        "  ", " "
    )


def _of_missing(text: str, found: Words, site: Site) -> Question | None:
    """Ask for the unit where none is given and more than one is usual."""
    subject = found.subject
    if not found.value or found.unit or found.settled or subject.suffix in {"", "_frac"}:
        return None
    usual = split_basis(subject_unit(subject, site.units.value))[0]
    units = dict.fromkeys((usual, *likely_units(subject.key)))
    fitting = [unit for unit in units if _fits(found, unit)]
    if subject.kind == "reading" and (len(units) == 1 or len(fitting) == 1):
        return None
    fit = measures_for(subject, site)
    own = [m.word for m in site.measures if m.word in fit and m.suffix == subject.suffix]
    asked = fitting or list(units)
    what = f"{found.unknown!r} is no unit known here; " if found.unknown else ""
    instead = found.value
    choices = tuple((unit, text.replace(instead, f"{instead} {unit}", 1)) for unit in asked)
    hint = (
        f" Or one of your own measures: {', '.join(own)}."
        if own and subject.kind == "event"
        else ""
    )
    return Question(f"{what}{subject.label} {found.value} of which unit?{hint}", choices)


def _fits(found: Words, unit: str) -> bool:
    subject = found.subject
    try:
        typed = split_quantity(found.value)
        ends = sorted(from_unit(end, unit, subject.suffix) for end in (typed.low, typed.high))
    except InputError:
        return True
    if any(map(math.isnan, ends)):
        return True
    return ends[0] <= subject.plausible_high and ends[1] >= subject.plausible_low


def _of_meanings(text: str, found: Words, entry: Entry) -> Question | None:
    """Ask for the unit or the basis where both readings were kept."""
    names = [meaning.basis for meaning in entry.meanings]
    if f.UNIT_NOT_KNOWN in entry.flags:
        unit = found.unit
        if tuple(names) == SOLIDS_SCALES:
            return Question(
                "on which scale does the meter show dissolved solids?",
                tuple((name, _with_unit(text, unit, name)) for name in names),
            )
        given = tuple(
            (name, text.replace(found.value, f"{found.value} {name}", 1)) for name in names
        )
        return Question(f"is {entry.as_typed} in {' or '.join(names)}?", given)
    if f.BASIS_NOT_KNOWN in entry.flags:
        kept = "not known"
        after = tuple(
            (f"as {name} ({_shown(entry, place)})", _behind(text, found.value, f"as {name}"))
            for place, name in enumerate(names)
        )
        return Question(
            f"is {found.word} {found.value} counted as {' or as '.join(names)}? "
            f"The leaflet of the kit says it.",
            (*after, ("I do not know; keep both", _behind(text, found.value, f"({kept})"))),
        )
    return None


def _shown(entry: Entry, place: int) -> str:
    return f"{number3(entry.meanings[place].interval.middle)} mg/L as N"


def _behind(text: str, value: str, words: str) -> str:
    return text.replace(value, f"{value} {words}", 1) if value in text else f"{text} {words}"
