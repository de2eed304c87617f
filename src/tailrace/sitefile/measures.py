"""The keeper's own measures: ``scoop = "85 g feed"`` to `tailrace.site.records.Measure`."""

from __future__ import annotations

import re
from typing import Any, Final

from tailrace.errors import InputError
from tailrace.site.records import Measure
from tailrace.sitefile.answers import Notes, Said
from tailrace.sitefile.tables import Table, is_broken
from tailrace.units import find_unit, from_unit, split_quantity

_WORD: Final = re.compile(r"[^\W\d_]+(?:[ -][^\W\d_]+)*")
_KINDS: Final = {"mass": "_kg", "volume": "_m3"}
_EXAMPLE: Final = 'scoop = "85 g feed" or bucket = "9 L"'


def read_measures(table: Table | None, notes: Notes) -> tuple[Measure, ...]:
    """Read the table of the keeper's own measures.

    Parameters
    ----------
    table
        The table; None when there is none.
    notes
        Takes what is understood, and the faults.

    Returns
    -------
    tuple
        The sound measures.
    """
    found: list[Measure] = []
    for word, entry in table.entries.items() if table else ():
        if is_broken(entry.value):
            continue
        try:
            measure = _measure(word, entry.value)
        except InputError as error:
            notes.fault(entry.line, f"measures.{word} {error}")
            continue
        found.append(measure)
        of = f" of {measure.of}" if measure.of else ""
        holds = entry.value.removesuffix(measure.of).removesuffix("of ").strip()
        notes.understood.append(Said(entry.line, f"one {word}{of} is {holds}"))
    return tuple(found)


def _measure(word: str, value: Any) -> Measure:
    if not _WORD.fullmatch(word):
        raise InputError("is not a word; name a measure with letters, like scoop")
    if find_unit(word):
        raise InputError("is a unit already; choose another word, like scoop")
    if not isinstance(value, str):
        raise InputError(f"is {value}; write it like {_EXAMPLE}")
    try:
        typed = split_quantity(value)
    except InputError as error:
        raise InputError(f'is "{value}": {error}') from None
    if typed.low != typed.high or not typed.low > 0:
        raise InputError(f'is "{value}"; one amount above zero is needed, like {_EXAMPLE}')
    suffix, unit, of = _parted(typed.unit, value)
    return Measure(word, from_unit(typed.low, unit, suffix), suffix, of)


def _parted(text: str, value: str) -> tuple[str, str, str]:
    """Return suffix, unit, and what is measured, of text such as ``fl oz of feed``."""
    words = text.split()
    for count in range(len(words), 0, -1):
        unit = " ".join(words[:count])
        row = find_unit(unit)
        suffix = next((_KINDS[kind] for kind in row.kinds if kind in _KINDS), "") if row else ""
        if suffix:
            of = " ".join(words[count:]).removeprefix("of ")
            return suffix, unit, of
    raise InputError(f'is "{value}", neither a mass nor a volume; write it like {_EXAMPLE}')
