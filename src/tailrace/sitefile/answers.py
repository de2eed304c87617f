"""What a site file answered and what is told about it: plain records, no checks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from tailrace.errors import Fault
from tailrace.site.records import Measure


@dataclass(frozen=True, slots=True, order=True)
class Said:
    """Something told about a site file.

    Parameters
    ----------
    line
        Line of the file, counted from 1; of the table's header for what is not in the file,
        0 when the table is not there either.
    text
        What is told.
    """

    line: int
    text: str

    def __str__(self) -> str:
        return f"line {self.line}: {self.text}" if self.line else self.text


@dataclass(slots=True)
class Notes:
    """What is collected while a file is read.

    Parameters
    ----------
    faults, understood, assumed, implausible
        In the order in which they were met.
    """

    faults: list[Fault] = field(default_factory=list)
    understood: list[Said] = field(default_factory=list)
    assumed: list[Said] = field(default_factory=list)
    implausible: list[Said] = field(default_factory=list)

    def fault(self, line: int, text: str) -> None:
        """Keep a fault."""
        self.faults.append(Fault(line, text))


@dataclass(slots=True)
class Answers:
    """What one table answered.

    Parameters
    ----------
    table
        Its name in the schema, such as ``filters.chamber``.
    line
        Line of its header.
    values
        Values in SI by key, defaults among them; a key at fault has none.
    lines
        Line of each key that is in the file.
    inner
        Answers of the tables inside it, by the last part of their names.
    """

    table: str
    line: int
    values: dict[str, Any] = field(default_factory=dict)
    lines: dict[str, int] = field(default_factory=dict)
    inner: dict[str, Answers] = field(default_factory=dict)

    def line_of(self, key: str) -> int:
        """Return the line of a key, or of the header when the key is not in the file."""
        return self.lines.get(key, self.line)

    def get(self, key: str) -> Any:
        """Return a value, or None when it was not given."""
        return self.values.get(key)


@dataclass(frozen=True, slots=True)
class Sheet:
    """All answers of a file.

    Parameters
    ----------
    single
        Answers of tables that stand once, by name; an absent table has its defaults.
    repeated
        Answers of tables that may repeat.
    measures
        The keeper's own measures.
    family
        ``us`` or ``metric``.
    """

    single: Mapping[str, Answers]
    repeated: Mapping[str, tuple[Answers, ...]]
    measures: tuple[Measure, ...]
    family: str
