"""Which public function a row is held against.

A module ``maps_<group>.py`` in this folder registers its mappings with `maps`; `find` gives the
one that takes a row. A mapping names every input it reads, and every one it passes over on
purpose, so that a row with an input unknown to it is left unmapped rather than half used.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import Any, TypeVar
from unittest import mock

import tests.published
from tailrace.formula import Formula
from tests.published.rows import Given, Row, Value
from tests.published.units import convert

Inputs = Mapping[str, Given]
Answer = float | tuple[float, float] | str
AnswerT = TypeVar("AnswerT", bound=Callable[[Mapping[str, Given]], Answer])


@dataclass(frozen=True, slots=True)
class Mapped:
    """How rows of one quantity are computed."""

    answer: Callable[[Inputs], Answer]
    quantity: str
    model: str
    gives: str
    needs: frozenset[str]
    optional: frozenset[str]
    accepts: Callable[[Inputs], bool]

    def takes(self, row: Row) -> bool:
        """Whether the row asks this quantity with inputs that are all known."""
        names = set(row.inputs)
        return (
            (row.quantity, row.model) == (self.quantity, self.model)
            and self.needs <= names <= self.needs | self.optional
            and self.accepts(row.inputs)
        )


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came out for a row, in the row's unit, and the formulas that were called for it."""

    got: Value
    formulas: frozenset[str]


_MAPPED: list[Mapped] = []


def maps(
    quantity: str,
    *,
    gives: str,
    needs: str = "",
    optional: str = "",
    model: str = "",
    accepts: Callable[[Inputs], bool] = lambda _: True,
) -> Callable[[AnswerT], AnswerT]:
    """Register a function of a row's inputs for a quantity.

    ``gives`` is the unit of the answer, or ``as the row`` when it already is in the row's;
    ``needs`` and ``optional`` are names of inputs with blanks between; ``optional`` holds
    those passed over too.
    """

    def decorate(answer: AnswerT) -> AnswerT:
        needed, others = frozenset(needs.split()), frozenset(optional.split())
        _MAPPED.append(Mapped(answer, quantity, model, gives, needed, others, accepts))
        return answer

    return decorate


@cache
def _load() -> None:
    for module in pkgutil.iter_modules(tests.published.__path__):
        if module.name.startswith("maps_"):
            import_module(f"tests.published.{module.name}")


def find(row: Row) -> Mapped | None:
    """The mapping that takes a row, or None; two that do are a fault."""
    _load()
    found = [mapped for mapped in _MAPPED if mapped.takes(row)]
    if len(found) > 1:
        message = f"{row}: {len(found)} mappings take it"
        raise LookupError(message)
    return found[0] if found else None


@contextmanager
def recorded() -> Iterator[set[str]]:
    """Collect the names of the formulas called, not those that they call in turn."""
    names: set[str] = set()
    depth = 0
    call = Formula.__call__

    def spy(self: Formula, *args: Any, **kwargs: Any) -> Any:
        nonlocal depth
        if depth == 0:
            names.add(self.name)
        depth += 1
        try:
            return call(self, *args, **kwargs)
        finally:
            depth -= 1

    with mock.patch.object(Formula, "__call__", spy):
        yield names


def run(row: Row, mapped: Mapped) -> Outcome:
    """Compute a row."""
    with recorded() as names:
        got = mapped.answer(row.inputs)
    if mapped.gives != "as the row" and not isinstance(got, str):
        if isinstance(got, tuple):
            low, high = (convert(end, mapped.gives, row.unit) for end in got)
            got = (low, high)
        else:
            got = convert(got, mapped.gives, row.unit)
    return Outcome(got, frozenset(names))
