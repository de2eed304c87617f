"""Every table and key of a site file checked against the schema; every fault kept.

What was read is an `Answers` per table. Open `tailrace.sitefile.rules` for what must hold
between keys, and `tailrace.sitefile.build` for the site made of it.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from tailrace.errors import InputError
from tailrace.sitefile.answers import Answers, Notes, Said, Sheet
from tailrace.sitefile.measures import read_measures
from tailrace.sitefile.schema import (
    MEASURES,
    NEEDED,
    ONLY_ONE,
    REPEATED,
    Key,
    Kind,
    Need,
    header,
    inner_tables,
    tables,
)
from tailrace.sitefile.tables import Table, TableArray, is_broken
from tailrace.sitefile.values import Setting, read_value
from tailrace.sitefile.wording import bounds_text, kept_bounds, near, nearest, shown
from tailrace.units import split_quantity


def check(root: Table, species: tuple[str, ...], notes: Notes) -> Sheet:
    """Check a file's tables.

    Parameters
    ----------
    root
        The file's tables.
    species
        Keys of the species table.
    notes
        Takes what is told and every fault.

    Returns
    -------
    Sheet
        All answers; sound only when no fault was noted.
    """
    _unknown(root, "", notes)
    measures = read_measures(_single(root, MEASURES, 0, notes), notes)
    feed = {m.word: (m.amount, m.suffix) for m in measures if m.of in ("", "feed")}
    setting = Setting(species=species, measures=feed, family=_family(root))
    single: dict[str, Answers] = {}
    for name in inner_tables(""):
        if name not in REPEATED and name != MEASURES:
            table = _single(root, name, 0, notes)
            single[name] = _answers(table, Answers(name, 0), setting, notes)
            setting = replace(setting, zone=single["site"].values.get("zone", ""))
    repeated = {
        name: tuple(_with_inner(table, name, setting, notes) for table in found)
        for name, found in [(name, _repeated(root, name, notes)) for name in REPEATED]
    }
    return Sheet(single, repeated, measures, setting.family)


def _family(root: Table) -> str:
    entry = root.entries.get("site")
    table = entry.value if entry and isinstance(entry.value, Table) else None
    units = table.entries.get("units") if table else None
    return "us" if units and str(units.value).strip().casefold() == "us" else "metric"


def _required(name: str) -> str:
    keys = tables().get(name, {}).values()
    *others, last = [key.name for key in keys if key.need is Need.REQUIRED] or [""]
    return f"{', '.join(others)} and {last}" if others else last


def _single(parent: Table, name: str, line: int, notes: Notes) -> Table | None:
    entry = parent.entries.get(name.rpartition(".")[2])
    if entry is None:
        if _required(name):
            notes.fault(line, f"{header(name)} is missing; it must give {_required(name)}")
        return None
    if isinstance(entry.value, Table):
        return entry.value
    if isinstance(entry.value, TableArray):
        notes.fault(entry.line, f"[{name}] stands once; write it in single brackets")
        return entry.value.tables[0]
    if not is_broken(entry.value):
        notes.fault(entry.line, f"{name} is a table, not one value; write {header(name)}")
    return None


def _repeated(root: Table, name: str, notes: Notes) -> list[Table]:
    entry = root.entries.get(name)
    if entry is None:
        if name in NEEDED:
            notes.fault(0, f"{header(name)} is missing; it must give {_required(name)}")
        return []
    found = _listed(entry.value)
    if isinstance(entry.value, Table) or not found:
        notes.fault(entry.line, f"{name} may repeat; write {header(name)} in double brackets")
    if name in ONLY_ONE and len(found) > 1:
        text = f"a second {name.removesuffix('s')} cannot be described until the next releases"
        notes.fault(found[1].line, text)
        return found[:1]
    return found


def _listed(value: Any) -> list[Table]:
    if isinstance(value, Table):
        return [value]
    items = value.tables if isinstance(value, TableArray) else value
    return [item for item in items if isinstance(item, Table)] if isinstance(items, list) else []


def _with_inner(table: Table, name: str, setting: Setting, notes: Notes) -> Answers:
    answers = _answers(table, Answers(name, table.line), setting, notes)
    for inner in inner_tables(name):
        full = f"{name}.{inner}"
        below = _single(table, full, table.line, notes)
        answers.inner[inner] = _answers(below, Answers(full, table.line), setting, notes)
        if inner == "bypass":
            setting = replace(setting, turns=_turns(answers.inner[inner]))
    return answers


def _turns(bypass: Answers) -> float | None:
    """Return the turns of the bypass valve; None for a quarter turn, NaN when not known."""
    if bypass.get("valve") == "quarter-turn":
        return None
    turns = bypass.get("turns")
    return turns if isinstance(turns, float) else math.nan


def _answers(table: Table | None, answers: Answers, setting: Setting, notes: Notes) -> Answers:
    """Fill in the answers of a table; with None, those of a table that is not there."""
    if table is not None:
        answers.line = table.line
        _unknown(table, answers.table, notes)
    for key in tables()[answers.table].values():
        if table is not None and key.name in table.entries:
            _given(key, table, answers, setting=setting, notes=notes)
        elif key.need is Need.DEFAULT:
            _assumed(key, answers, setting, notes)
        elif key.need is Need.REQUIRED and table is not None and not _misspelt(key, table):
            text = f"{key.table}.{key.name} is missing; write it like {key.name} = {key.written}"
            notes.fault(answers.line, text)
        if key.name == "zone":  # the start of the site is read in it
            setting = replace(setting, zone=answers.get("zone") or "")
    return answers


def _misspelt(key: Key, table: Table) -> bool:
    """Return whether an unknown key stands for a missing one; its fault is told already."""
    known = tables()[key.table]
    strangers = [word for word in table.entries if word not in known]
    return any(nearest(word, known) == key.name for word in strangers)


def _unknown(table: Table, name: str, notes: Notes) -> None:
    known = (*tables().get(name, ()), *inner_tables(name))
    if name == MEASURES:
        return
    for word, entry in table.entries.items():
        if word in known:
            continue
        if not name and not isinstance(entry.value, Table | TableArray):
            text = f"{word} stands above all tables; write it below its table, such as [site]"
            notes.fault(entry.line, text)
            continue
        place = f"of {header(name)}" if name else "of a site file"
        what = "table" if isinstance(entry.value, Table | TableArray) else "key"
        meant = near(word, (*known, *tables()))
        text = f"{word} is not a {what} {place}; take it away or mend it.{meant}"
        notes.fault(entry.line, text)


def _given(key: Key, table: Table, answers: Answers, *, setting: Setting, notes: Notes) -> None:
    entry = table.entries[key.name]
    answers.lines[key.name] = entry.line
    if is_broken(entry.value):
        return
    try:
        value = read_value(key, entry.value, setting)
    except InputError as error:
        notes.fault(entry.line, f"{key.table}.{key.name} {error}")
        return
    answers.values[key.name] = value
    told = f"{key.words}: {_told(key, value, entry.value, setting)}"
    notes.understood.append(Said(entry.line, told))
    low, high = kept_bounds(key, key.soft)
    ends = value if isinstance(value, tuple) else (value, value)
    if key.kind.counts and not low <= ends[0] <= ends[1] <= high:
        usual = bounds_text(key, (low, high), setting.family)
        notes.implausible.append(Said(entry.line, f"{told}, outside the usual {usual}; check it"))


def _told(key: Key, value: Any, written: Any, setting: Setting) -> str:
    """Return a value in the site's units, and as written where that is in another unit."""
    if key.kind is Kind.OPENING:  # by its handle, never as a share
        turns = setting.turns
        handle = f"{90.0 * value:.3g} degrees" if turns is None else f"{turns * value:.3g} turns"
        return f"{handle} open (written {written})"
    text = shown(key, value, setting.family)
    if not (key.kind.counts and isinstance(written, str)):
        return text
    same = split_quantity(written).unit in text
    return text if same else f"{text} (written {written})"


def _assumed(key: Key, answers: Answers, setting: Setting, notes: Notes) -> None:
    default: Any = key.default == "true" if key.kind is Kind.YES_NO else key.default
    value = read_value(key, default, setting)
    answers.values[key.name] = value
    text = f"{key.words} is not given; taken as {shown(key, value, setting.family)}"
    notes.assumed.append(Said(answers.line, text))
