"""Reading a file of published values: one row, one fact, its source and its tolerance."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from tests.published.units import convert

HERE = Path(__file__).parent
COLUMNS = (
    *("id", "topic", "quantity", "inputs", "expected"),
    *("unit", "tolerance", "source", "obtained", "note"),
)
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_VALUE = re.compile(rf"({_NUMBER}(?:\.\.{_NUMBER}|(?:\|{_NUMBER})+)?)(?:\s+(\S.*))?")
_QUANTITY = re.compile(r"(.*?)(?:\s*\[([^\]]*)\])?")

Value = float | tuple[float, float] | str


@dataclass(frozen=True, slots=True)
class Given:
    """One input of a row: a number, a range, a list of numbers, or words."""

    name: str
    text: str
    numbers: tuple[float, ...]
    unit: str

    def to(self, unit: str) -> float:
        """The number in a unit; an input without a unit is taken to be in it already."""
        if len(self.numbers) != 1:
            message = f"{self.name}={self.text}: one number was expected"
            raise ValueError(message)
        return convert(self.numbers[0], self.unit or unit, unit)

    def all_to(self, unit: str) -> tuple[float, ...]:
        """Every number of a list or range in a unit."""
        return tuple(convert(number, self.unit or unit, unit) for number in self.numbers)


@dataclass(frozen=True, slots=True)
class Row:
    """One published value."""

    file: str
    id: str
    topic: str
    quantity: str
    model: str
    inputs: dict[str, Given]
    expected: Value
    unit: str
    tolerance: str
    source: str
    obtained: str
    note: str

    def __str__(self) -> str:
        given = "; ".join(f"{g.name}={g.text}" for g in self.inputs.values())
        return f"{self.id}: {self.quantity} ({given}); source: {self.source} ({self.obtained})"


def given(text: str) -> Given:
    """Read one ``key=value unit``."""
    name, _, value = (part.strip() for part in text.partition("="))
    match = _VALUE.fullmatch(value)
    if match is None:
        return Given(name, value, (), "")
    numbers = tuple(float(n) for n in re.split(r"\.\.|\|", match[1]))
    return Given(name, value, numbers, match[2] or "")


def expected(text: str) -> Value:
    """Read what a row expects: a number, ``lo..hi`` or words."""
    match = _VALUE.fullmatch(text.strip())
    if match is None or match[2]:
        return text.strip()
    numbers = [float(n) for n in match[1].split("..")]
    return (numbers[0], numbers[1]) if len(numbers) == 2 else numbers[0]


def read(path: Path) -> list[Row]:
    """Read every row of a file."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        lines = csv.DictReader(stream)
        if tuple(lines.fieldnames or ()) != COLUMNS:
            message = f"{path}: columns must be {', '.join(COLUMNS)}, found {lines.fieldnames}"
            raise ValueError(message)
        return [_row(path.name, line) for line in lines]


def _row(file: str, line: dict[str, str]) -> Row:
    quantity = _QUANTITY.fullmatch(line["quantity"].strip())
    assert quantity is not None
    parts = [given(text) for text in line["inputs"].split(";") if text.strip()]
    return Row(
        file=file,
        quantity=quantity[1],
        model=quantity[2] or "",
        inputs={part.name: part for part in parts},
        expected=expected(line["expected"]),
        **{
            key: line[key]
            for key in ("id", "topic", "unit", "tolerance", "source", "obtained", "note")
        },
    )


def files() -> list[Path]:
    """Every file of published values in this folder."""
    head = ",".join(COLUMNS)
    return [
        path
        for path in sorted(HERE.glob("*.csv"))
        if path.read_text(encoding="utf-8-sig").startswith(head)
    ]


@cache
def _topics() -> dict[tuple[str, str], str]:
    return {(row.file, row.id): row.topic for path in files() for row in read(path)}


def topic_of(file: str, row_id: str) -> str:
    """The topic of a row by its file and id."""
    return _topics().get((file, row_id), "")


def topic_order(topic: str) -> tuple[int, str]:
    """Numbered topics by their number, the others before them by name."""
    number = topic.split(" ", maxsplit=1)[0]
    return (int(number) if number.isdigit() else 0, topic)
