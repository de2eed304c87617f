"""Statements put together into nested tables that know the line of every key.

A key or table given twice is a fault with both lines. Open `tailrace.sitefile.schema` next,
which says what keys there are.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from typing import Any

from tailrace.errors import Fault
from tailrace.sitefile.statements import Broken, Form, Inline, Statement


class Origin(Enum):
    """How a table came to be; it decides whether it may be added to."""

    IMPLIED = "implied by a table inside it"
    HEADER = "a header of its own"
    DOTTED = "a dotted key"
    INLINE = "an inline table"


@dataclass(frozen=True, slots=True)
class Entry:
    """One key of a table.

    Parameters
    ----------
    line
        Line on which it stands.
    value
        A plain TOML value, `Table`, list of these, or `Broken.VALUE`.
    """

    line: int
    value: Any


@dataclass(slots=True)
class Table:
    """A table while it is being put together; nothing changes it afterwards.

    Parameters
    ----------
    line
        Line of its header, or of the first key inside it.
    origin
        How it came to be.
    entries
        Its keys in their order.
    """

    line: int
    origin: Origin
    entries: dict[str, Entry] = field(default_factory=dict)

    def plain(self) -> dict[str, Any]:
        """Return the table as `tomllib` would: plain dicts and lists."""
        return {key: _plain(entry.value) for key, entry in self.entries.items()}


@dataclass(slots=True)
class TableArray:
    """Tables written as ``[[name]]``, as against a list of inline tables.

    Parameters
    ----------
    tables
        The tables in their order.
    """

    tables: list[Table]


def _plain(value: Any) -> Any:
    match value:
        case Table():
            return value.plain()
        case TableArray(tables):
            return [table.plain() for table in tables]
        case list():
            return [_plain(item) for item in value]
        case _:
            return value


def put_together(found: list[Statement], faults: list[Fault]) -> Table:
    """Return the root table of a TOML text.

    Parameters
    ----------
    found
        Statements in their order.
    faults
        List to which keys and tables given twice are added.

    Returns
    -------
    Table
        The root; of a key given twice it holds the first.
    """
    root = Table(1, Origin.HEADER)
    here = root
    for statement in found:
        if statement.form is Form.PAIR:
            _add_pair(here, statement, faults)
        else:
            here = _opened(root, statement, faults)
    return root


def _opened(root: Table, statement: Statement, faults: list[Fault]) -> Table:
    """Return the table that a header opens; a loose one when the header is at fault."""
    *way, last = statement.path
    parent: Table | None = root
    for name in way:
        parent = _stepped(parent, name, statement.line) if parent else None
    fresh = Table(statement.line, Origin.HEADER)
    if parent is None:
        faults.append(Fault(statement.line, f"{_dotted(statement)} leads through a plain value"))
        return fresh
    entry = parent.entries.get(last)
    if entry is None:
        held = TableArray([fresh]) if statement.form is Form.ARRAY else fresh
        parent.entries[last] = Entry(statement.line, held)
        return fresh
    if statement.form is Form.ARRAY and isinstance(entry.value, TableArray):
        entry.value.tables.append(fresh)
        return fresh
    implied = isinstance(entry.value, Table) and entry.value.origin is Origin.IMPLIED
    if not implied or statement.form is Form.ARRAY:
        faults.append(Fault(statement.line, _twice(_dotted(statement), entry.line)))
    if isinstance(entry.value, Table) and entry.value.origin in (Origin.IMPLIED, Origin.HEADER):
        entry.value.origin = Origin.HEADER
        return entry.value  # a second header adds to the first, so that no key seems missing
    return fresh


def _stepped(parent: Table, name: str, line: int) -> Table | None:
    """Return the table on the way to a header's last name; None when it is not a table."""
    entry = parent.entries.get(name)
    if entry is None:
        made = Table(line, Origin.IMPLIED)
        parent.entries[name] = Entry(line, made)
        return made
    if isinstance(entry.value, TableArray):
        return entry.value.tables[-1]
    if isinstance(entry.value, Table) and entry.value.origin is not Origin.INLINE:
        return entry.value
    return None


def _add_pair(table: Table, pair: Statement, faults: list[Fault]) -> None:
    *way, last = pair.path
    for name in way:
        entry = table.entries.setdefault(name, Entry(pair.line, Table(pair.line, Origin.DOTTED)))
        inner = entry.value
        if not isinstance(inner, Table) or inner.origin is not Origin.DOTTED:
            faults.append(Fault(pair.line, _twice(name, entry.line)))
            return
        table = inner
    if last in table.entries:
        faults.append(Fault(pair.line, _twice(last, table.entries[last].line)))
        return
    table.entries[last] = Entry(pair.line, _settled(pair.value, pair.line, faults))


def _settled(value: Any, line: int, faults: list[Fault]) -> Any:
    """Return a value in which inline tables are tables."""
    if isinstance(value, list):
        return [_settled(item, line, faults) for item in value]
    if not isinstance(value, Inline):
        return value
    table = Table(line, Origin.DOTTED)
    for pair in value.pairs:
        _add_pair(table, pair, faults)
    table.origin = Origin.INLINE
    return table


def _dotted(statement: Statement) -> str:
    name = ".".join(statement.path)
    return f"[[{name}]]" if statement.form is Form.ARRAY else f"[{name}]"


def _twice(name: str, first: int) -> str:
    return f"{name} is given twice, first on line {first}; keep one of them"


def is_broken(value: Any) -> bool:
    """Return whether a value could not be read; its fault is told already.

    Parameters
    ----------
    value
        Value of an `Entry`.

    Returns
    -------
    bool
        True for `Broken.VALUE` and for a list that holds it.
    """
    if isinstance(value, list):
        return any(is_broken(item) for item in value)
    return value is Broken.VALUE
