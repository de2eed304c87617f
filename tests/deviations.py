"""Measure how far the formulas are off their outside checks: ``python -m tests.deviations``.

The tests marked ``outside`` are run, and every comparison that they make with `pytest.approx` or
`numpy.testing.assert_allclose` is looked at; the largest relative difference of each test is
written to ``published/deviations.csv``, rounded up to a step of `STEPS` so that another machine
writes the same. `tests.pages` shows them. A check that compares in another way has none.
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
import pytest

HERE = Path(__file__).parent
ApproxScalar: Any = type(pytest.approx(1.0))  # approximate lists and arrays compare by it too
FILE = HERE / "published" / "deviations.csv"
_NOTHING = 1e-12  # as pytest.approx has it: zero and a rounding error are the same
STEPS = (
    1e-12,
    1e-9,
    1e-6,
    1e-4,
    3e-4,
    1e-3,
    3e-3,
    0.01,
    0.02,
    0.03,
    0.05,
    0.1,
    0.2,
    0.3,
    0.5,
    1.0,
)


def rounded_up(deviation: float) -> float:
    """The next step that is not below a deviation; infinite beyond the last."""
    return next((step for step in STEPS if deviation <= step), math.inf)


def in_words(deviation: float) -> str:
    """A step as a share: percent, or below a billionth and the like."""
    if math.isinf(deviation):
        return "more than 100 %"
    return f"{100.0 * deviation:g} %" if deviation >= 1e-4 else f"{deviation:g}"


def of_numbers(got: object, wanted: object) -> float:
    """Relative difference of two numbers; absolute where the wanted one is zero."""
    try:
        ours, theirs = float(got), float(wanted)  # type: ignore[arg-type]  # checked by trying
    except (TypeError, ValueError):
        return 0.0
    if not (math.isfinite(ours) and math.isfinite(theirs)) or abs(ours - theirs) < _NOTHING:
        return 0.0
    return abs(ours - theirs) / (abs(theirs) if theirs else 1.0)


@contextmanager
def measured() -> Iterator[list[float]]:
    """Collect the relative difference of every comparison within."""
    found: list[float] = []
    equal, close = ApproxScalar.__eq__, np.testing.assert_allclose

    def watched(self: Any, actual: object) -> bool:
        found.append(of_numbers(actual, self.expected))
        return bool(equal(self, actual))

    def watched_close(actual: Any, desired: Any, *args: Any, **kwargs: Any) -> None:
        ours, theirs = np.broadcast_arrays(np.asarray(actual), np.asarray(desired))
        found.extend(map(of_numbers, ours.ravel(), theirs.ravel()))
        close(actual, desired, *args, **kwargs)

    with (
        mock.patch.object(ApproxScalar, "__eq__", watched),
        mock.patch.object(np.testing, "assert_allclose", watched_close),
    ):
        yield found


class Measuring:
    """A plugin that keeps the largest difference of each marked test."""

    def __init__(self) -> None:
        self.largest: dict[str, float] = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        with measured() as found:
            yield
        if found:
            name = item.nodeid.partition("[")[0].removeprefix("tests/")
            self.largest[name] = max(self.largest.get(name, 0.0), *found)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.get_closest_marker("outside")]


@cache
def recorded() -> dict[str, float]:
    """The step of each test, by file and name."""
    with FILE.open(encoding="utf-8") as stream:
        return {row["test"]: float(row["deviation"]) for row in csv.DictReader(stream)}


def main() -> int:
    """Run the marked tests and write what was measured."""
    plugin = Measuring()
    options = ["-q", "-p", "no:cacheprovider", "-p", "no:xdist"]
    code = int(pytest.main([str(HERE), *options], plugins=[plugin]))
    if code == 0:
        with FILE.open("w", encoding="utf-8", newline="") as stream:
            writer = csv.writer(stream, lineterminator="\n")
            writer.writerow(["test", "deviation"])
            for name, found in sorted(plugin.largest.items()):
                writer.writerow([name, f"{rounded_up(found):g}"])
    return code


if __name__ == "__main__":
    raise SystemExit(main())
