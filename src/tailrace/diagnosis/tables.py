"""Rows of a TOML table that know their file and line, and collect what is wrong with them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Any

from tailrace.errors import Fault, FileFaultsError
from tailrace.sitefile.statements import statements
from tailrace.sitefile.tables import Origin, Table, TableArray, is_broken, put_together


@contextmanager
def faults_of(what: str) -> Iterator[list[str]]:
    """Collect faults, and raise them once at the end.

    Parameters
    ----------
    what
        What is being read, for the head of the error.

    Yields
    ------
    list of str
        The list that faults are added to.

    Raises
    ------
    FileFaultsError
        When the list is not empty at the end.
    """
    found: list[str] = []
    yield found
    if found:
        raise FileFaultsError(what, (Fault(0, text) for text in found))


@dataclass(frozen=True, slots=True)
class Row:
    """One table of a file.

    Parameters
    ----------
    kind
        Name of the array that it stands in, such as ``fault``.
    file
        Name of the file.
    table
        Its keys with their lines.
    found
        List that faults are added to.
    read
        Keys asked for so far.
    """

    kind: str
    file: str
    table: Table
    found: list[str]
    read: set[str] = field(default_factory=set)

    def wrong(self, key: str, text: str) -> None:
        """Add a fault at the line of a key, or of the table where the key is missing."""
        entry = self.table.entries.get(key)
        line = entry.line if entry else self.table.line
        name = f"{self.kind} {self._name()}: " if self._name() else ""
        self.found.append(f"{self.file}, line {line}: {name}{key}: {text}")

    def _name(self) -> str:
        entry = self.table.entries.get("id") or self.table.entries.get("key")
        return str(entry.value) if entry else ""

    def _value(self, key: str, form: type | tuple[type, ...], words: str, otherwise: Any) -> Any:
        self.read.add(key)
        entry = self.table.entries.get(key)
        if entry is None:
            if otherwise is None:
                self.wrong(key, f"is missing; give {words}")
            return otherwise
        if is_broken(entry.value):
            return otherwise  # told already
        if not isinstance(entry.value, form) or isinstance(entry.value, bool) != (form is bool):
            self.wrong(key, f"{entry.value!r} is not {words}")
            return otherwise
        return entry.value

    def text(self, key: str, otherwise: str | None = None) -> str:
        """Return a text; a fault where it is missing or empty without need."""
        value = self._value(key, str, "a text in quotes", otherwise)
        if value == "" and otherwise is None:
            self.wrong(key, "is empty; give a text")
        return value or ""

    def one_of(self, key: str, allowed: Iterable[str], otherwise: str | None = None) -> str:
        """Return a text of a closed list."""
        names = tuple(allowed)
        value = self.text(key, otherwise)
        if value not in names:
            shown = ", ".join(name or "(empty)" for name in names)
            self.wrong(key, f"{value!r} is not known; there are {shown}")
            return names[0]
        return value

    def number(self, key: str, *, low: float, high: float) -> float:
        """Return a number within a range."""
        value = self._value(key, (int, float), f"a number from {low:g} to {high:g}", None)
        if value is not None and not low <= value <= high:
            self.wrong(key, f"{value:g} is outside {low:g} to {high:g}")
        return float(low if value is None else value)

    def flag(self, key: str) -> bool:
        """Return true or false; false where it is missing."""
        return bool(self._value(key, bool, "true or false", False))

    def texts(self, key: str, *, needed: bool = False) -> tuple[str, ...]:
        """Return a list of texts."""
        value = self._value(key, list, "a list of texts", None if needed else [])
        good = [item for item in value or () if isinstance(item, str) and item]
        if len(good) != len(value or ()):
            self.wrong(key, "holds something other than texts; put each in quotes")
        if needed and not good:
            self.wrong(key, "is empty; give at least one")
        return tuple(good)

    def inner(self, key: str, *, needed: bool = False) -> Row:
        """Return a table inside this one; an empty one where it is missing."""
        value = self._value(key, Table, "a table", None if needed else Table(0, _HEADER))
        table = value or Table(self.table.line, _HEADER)
        return Row(f"{self.kind} {self._name()}", self.file, table, self.found)

    def pairs(self) -> dict[str, str]:
        """Return every key with its text."""
        return {key: self.text(key) for key in self.table.entries}

    def nothing_else(self) -> None:
        """Add a fault for each key that nobody asked for."""
        for key in self.table.entries:
            if key not in self.read:
                known = ", ".join(sorted(self.read))
                self.wrong(key, f"is not known here; there are {known}")


_HEADER = Origin.HEADER


@dataclass(frozen=True, slots=True)
class Rows:
    """One file.

    Parameters
    ----------
    top
        Its top table.
    each
        Its ``[[fault]]`` or ``[[finding]]`` tables.
    """

    top: Row
    each: tuple[Row, ...]


def rows(text: str, file: str, found: list[str]) -> Rows:
    """Take a file apart.

    Parameters
    ----------
    text
        The text.
    file
        Its name.
    found
        List that faults are added to.

    Returns
    -------
    Rows
        Its tables.
    """
    syntax: list[Fault] = []
    parts, broken = statements(text.replace("\r\n", "\n").removeprefix("\ufeff"))
    root = put_together(parts, syntax)
    found += [f"{file}, line {fault.line}: {fault.text}" for fault in (*broken, *syntax)]
    each = []
    for key, entry in root.entries.items():
        if isinstance(entry.value, TableArray):
            each += [Row(key, file, table, found) for table in entry.value.tables]
    return Rows(Row("", file, root, found), tuple(each))
