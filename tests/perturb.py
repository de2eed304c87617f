"""Shift every numeric constant of the process packages by 2 % and list those no test notices.

Run as ``python -m tests.perturb [PACKAGE ...]``. The tests of the packages, their doctests and
the published rows are collected once and run once, and it is noted which functions each of them
calls. Then each constant is shifted in a forked child, which runs the tests that call the
function it stands in, the quickest first, and stops at the first that fails; where none does, it
runs all the others too before the constant is called unnoticed. ``unnoticed.csv`` explains the
constants that may stay so; any other ends with exit code 1.

Shifted are the floats in the code of functions and methods, in their defaults, and in the names,
tuples, dictionaries and records of a module. Not shifted are the ranges that formulas hold in,
whole numbers, and the data files, which have tests of their own.
"""

from __future__ import annotations

import csv
import dataclasses
import importlib
import inspect
import os
import pkgutil
import signal
import sys
import time
import types
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from functools import cache, partial
from pathlib import Path
from typing import Any

import hypothesis
import pytest
from _pytest.doctest import DoctestItem
from _pytest.runner import runtestprotocol

import tailrace
from tailrace.formula import Formula

PACKAGES = (
    "water",
    "hydraulics",
    "pneumatics",
    "biology",
    "beadfilter",
    "husbandry",
    "crops",
)
SHIFT = 1.02
TOO_LONG_S = 120  # a shift that makes a solver run on for ever is noticed too
HERE = Path(__file__).resolve().parent
SOURCE = Path(tailrace.__file__).resolve().parent
EXPLAINED = HERE / "published" / "unnoticed.csv"
Step = str | int
Code = tuple[str, int, str]


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant: where it stands, its value, which code reads it, and how to shift it."""

    place: str
    value: float
    package: str
    read_by: frozenset[Code]
    shift: Callable[[], None]

    @property
    def name(self) -> str:
        return f"{self.place} = {self.value:g}"


# --- which constants there are --------------------------------------------------------------


def modules(package: str) -> Iterator[types.ModuleType]:
    root = importlib.import_module(f"tailrace.{package}")
    for found in pkgutil.iter_modules(root.__path__):
        yield importlib.import_module(f"tailrace.{package}.{found.name}")


def constants(package: str) -> Iterator[Constant]:
    for module in modules(package):
        short = module.__name__.removeprefix("tailrace.")
        for name, value in vars(module).items():
            if _made_here(module, name):
                yield from _of_name(f"{short}.{name}", name, value, package)
        for name, function in _functions(module):
            yield from _of_function(f"{short}.{name}", function, package)


@cache
def _source_of(module: types.ModuleType) -> str:
    return "\n" + inspect.getsource(module)


def _made_here(module: types.ModuleType, name: str) -> bool:
    source = _source_of(module)
    return f"\n{name} = " in source or f"\n{name}: " in source


def _leaves(
    value: object, path: tuple[Step, ...] = ()
) -> Iterator[tuple[tuple[Step, ...], float]]:
    """Every float in a value and the way to it."""
    if isinstance(value, float):
        if value not in (0.0, float("inf"), float("-inf")):
            yield path, value
        return
    for step, inner in _parts(value):
        yield from _leaves(inner, (*path, step))


def _parts(value: object) -> Iterable[tuple[Step, object]]:
    if isinstance(value, tuple):
        return enumerate(value)
    if isinstance(value, dict):
        return value.items()
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return [(f.name, getattr(value, f.name)) for f in dataclasses.fields(value)]
    return ()


def _with_shift(value: Any, path: tuple[Step, ...]) -> Any:
    """The value with one float shifted; dictionaries and records are changed in place."""
    if not path:
        return value * SHIFT
    step, rest = path[0], path[1:]
    if isinstance(value, tuple):
        place = int(step)
        return (*value[:place], _with_shift(value[place], rest), *value[place + 1 :])
    if isinstance(value, dict):
        value[step] = _with_shift(value[step], rest)
    else:
        object.__setattr__(value, str(step), _with_shift(getattr(value, str(step)), rest))
    return value


def _of_name(place: str, name: str, value: object, package: str) -> Iterator[Constant]:
    readers = frozenset(_key(f.__code__) for f in _readers(name, value))
    for path, number in _leaves(value) if readers else ():  # else it makes ranges or constants
        where = place + "".join(f"[{step}]" for step in path)
        shift = partial(_shift_name, name, value, path)
        yield Constant(where, number, package, readers, shift)


def _of_function(place: str, function: types.FunctionType, package: str) -> Iterator[Constant]:
    reader = frozenset({_key(function.__code__)})
    for path, number in _in_code(function.__code__):
        shift = partial(_shift_code, function, path)
        yield Constant(place, number, package, reader, shift)
    for index, value in enumerate(function.__defaults__ or ()):
        for path, number in _leaves(value):
            shift = partial(_shift_default, function, (index, *path))
            yield Constant(f"{place} default", number, package, reader, shift)


def _in_code(code: types.CodeType) -> Iterator[tuple[tuple[Step, ...], float]]:
    """Floats in the code of a function and of the functions that it makes."""
    for index, value in enumerate(code.co_consts):
        if isinstance(value, types.CodeType):
            for path, number in _in_code(value):
                yield (index, *path), number
        else:
            for path, number in _leaves(value):
                yield (index, *path), number


def _functions(module: types.ModuleType) -> Iterator[tuple[str, types.FunctionType]]:
    for name, value in vars(module).items():
        bare = inspect.unwrap(value) if callable(value) and not isinstance(value, type) else value
        kernel = value.kernel if isinstance(value, Formula) else bare
        if inspect.isfunction(kernel) and kernel.__module__ == module.__name__:
            yield name, kernel
        elif inspect.isclass(value) and value.__module__ == module.__name__:
            for inner, member in vars(value).items():
                method = member.fget if isinstance(member, property) else member
                if inspect.isfunction(method) and method.__module__ == module.__name__:
                    yield f"{name}.{inner}", method


@cache
def _all_functions() -> tuple[types.FunctionType, ...]:
    return tuple(
        function
        for module in list(sys.modules.values())
        if module.__name__.startswith("tailrace.")
        for _, function in _functions(module)
    )


def _readers(name: str, value: object) -> Iterator[types.FunctionType]:
    for function in _all_functions():
        if function.__globals__.get(name) is value and name in _names(function.__code__):
            yield function


def _names(code: types.CodeType) -> set[str]:
    inner = (c for c in code.co_consts if isinstance(c, types.CodeType))
    return set(code.co_names).union(*map(_names, inner))


# --- shifting one, in a child -----------------------------------------------------------------


def _shift_code(function: types.FunctionType, path: tuple[Step, ...]) -> None:
    function.__code__ = _shifted_code(function.__code__, path)


def _shifted_code(code: types.CodeType, path: tuple[Step, ...]) -> types.CodeType:
    place, rest = int(path[0]), path[1:]
    held = list(code.co_consts)
    if isinstance(held[place], types.CodeType):
        held[place] = _shifted_code(held[place], rest)
    else:
        held[place] = _with_shift(held[place], rest)
    return code.replace(co_consts=tuple(held))


def _shift_default(function: types.FunctionType, path: tuple[Step, ...]) -> None:
    assert function.__defaults__ is not None
    shifted = _with_shift(function.__defaults__, path)
    function.__defaults__ = shifted
    for made in _formulas():
        if made.kernel is function:
            made.defaults.update(zip(made.parameters[-len(shifted) :], shifted, strict=True))


def _shift_name(name: str, value: object, path: tuple[Step, ...]) -> None:
    """Shift a module's value wherever it was imported to."""
    shifted = _with_shift(value, path)
    for module in list(sys.modules.values()):
        if module.__name__.startswith("tailrace.") and vars(module).get(name) is value:
            setattr(module, name, shifted)


@cache
def _formulas() -> tuple[Formula, ...]:
    return tuple(
        value
        for module in list(sys.modules.values())
        if module.__name__.startswith("tailrace.")
        for value in vars(module).values()
        if isinstance(value, Formula)
    )


def _forget() -> None:
    """Drop what was computed or compiled before the shift."""
    for made in _formulas():
        made._dispatcher = made._unchecked = made._ufunc = None
    for module in list(sys.modules.values()):
        if module.__name__.startswith(("tailrace.", "tests.")) and module.__name__ != __name__:
            for value in list(vars(module).values()):
                if hasattr(value, "cache_clear"):
                    value.cache_clear()


# --- which tests call what, and whether one notices --------------------------------------------


def _key(code: types.CodeType) -> Code:
    return code.co_filename, code.co_firstlineno, code.co_name


@dataclass(slots=True)
class Watch:
    """A plugin of pytest that runs the shifts in the place of the tests."""

    packages: tuple[str, ...]
    callers: dict[Code, list[int]] = field(default_factory=lambda: defaultdict(list))
    order: list[int] = field(default_factory=list)
    items: list[pytest.Item] = field(default_factory=list)
    outcome: int = 1

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = [item for item in session.items if _wanted(item)]
        if self._learn() and self._is_quiet():
            self.outcome = _report(self)
        return True

    def _learn(self) -> bool:
        """Run every test as things stand; note what it calls and how long it takes."""
        taken = {}
        for index, item in enumerate(self.items):
            began = time.perf_counter()
            passed, called = _watched(item)
            taken[index] = time.perf_counter() - began
            if not passed:
                print(f"{item.nodeid} fails as things stand; mend it first")
                return False
            for code in called:
                self.callers[code].append(index)
        self.order = sorted(taken, key=taken.__getitem__)
        for indices in self.callers.values():
            indices.sort(key=taken.__getitem__)
        print(f"{len(self.items)} tests in {sum(taken.values()):.0f} s, all passed", flush=True)
        return True

    def _is_quiet(self) -> bool:
        """Whether nothing is noticed where nothing was shifted."""
        for package in self.packages:
            if self.noticed(Constant("nothing", 0.0, package, frozenset(), lambda: None)):
                print(f"{package}: a test fails in a child though nothing was shifted")
                return False
        return True

    def noticed(self, constant: Constant) -> bool:
        """Shift one constant in a child and tell whether any test fails for it."""
        child = os.fork()
        if child == 0:
            os._exit(self._in_child(constant))
        return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) != 1

    def _in_child(self, constant: Constant) -> int:
        """Return 1 when nothing notices; a child that is killed has noticed too."""
        signal.alarm(TOO_LONG_S)
        with open(os.devnull, "w", encoding="utf-8") as nowhere:  # noqa: PTH123  # a device
            os.dup2(nowhere.fileno(), 1)
            os.dup2(nowhere.fileno(), 2)
        try:
            constant.shift()
            _forget()
            near = dict.fromkeys(i for code in constant.read_by for i in self.callers[code])
            if any(not _passes(self.items[i]) for i in near):
                return 0
            signal.alarm(3 * TOO_LONG_S)
            others = (i for i in self.order if i not in near and self._is_of(i, constant.package))
            return 0 if any(not _passes(self.items[i]) for i in others) else 1
        except BaseException:  # noqa: BLE001  # the child must end here
            return 0

    def _is_of(self, index: int, package: str) -> bool:
        path = self.items[index].path
        return path.parent == SOURCE / package or path.name.startswith(f"test_{package}")


def _wanted(item: pytest.Item) -> bool:
    """Leave out what does not look at values: tests of the harness over all rows at once."""
    rows = "test_published.py"
    return item.path.name != rows or "test_a_published_value_is_met" in item.nodeid


def _passes(item: pytest.Item) -> bool:
    names = item.dtest.globs if isinstance(item, DoctestItem) and item.dtest else {}
    kept = dict(names)  # a doctest empties its names when it is done
    reports = runtestprotocol(item, log=False, nextitem=None)
    names.update(kept)
    return all(report.outcome != "failed" for report in reports)


def _watched(item: pytest.Item) -> tuple[bool, set[Code]]:
    called: set[Code] = set()
    root = str(SOURCE)
    faces = {_key(Formula.__call__.__code__), _key(Formula.dispatcher.__code__)}

    def watch(frame: types.FrameType, event: str, _: object) -> None:
        code = frame.f_code
        if event != "call" or not code.co_filename.startswith(root):
            return
        called.add(_key(code))
        if _key(code) in faces:
            called.update(_reached(frame.f_locals["self"]))

    sys.setprofile(watch)
    try:
        return _passes(item), called
    finally:
        sys.setprofile(None)


@cache
def _reached(made: Formula) -> frozenset[Code]:
    """The code of a formula and of those that it calls, compiled or not."""
    kernel = inspect.unwrap(made.kernel)
    near = (kernel.__globals__.get(name) for name in kernel.__code__.co_names)
    inner = [_reached(found) for found in near if isinstance(found, Formula)]
    return frozenset({_key(kernel.__code__)}).union(*inner)


# --- the report ---------------------------------------------------------------------------------


def explained() -> dict[str, str]:
    with EXPLAINED.open(encoding="utf-8") as stream:
        return {row["constant"]: row["reason"] for row in csv.DictReader(stream)}


def _report(watch: Watch) -> int:
    reasons, counts, quiet, bad = explained(), Counter[str](), Counter[str](), Counter[str]()
    for package in watch.packages:
        for constant in constants(package):
            counts[package] += 1
            if watch.noticed(constant):
                continue
            quiet[package] += 1
            reason = reasons.get(constant.name, "")
            bad[package] += not reason
            print(f"not noticed: {constant.name}  {reason or 'NOT EXPLAINED'}", flush=True)
        print(
            f"{package}: {counts[package]} constants, {quiet[package]} not noticed, "
            f"{bad[package]} of them not explained",
            flush=True,
        )
    total = sum(counts.values())
    print(f"{total} constants shifted by {SHIFT - 1:.0%}; {bad.total()} unnoticed, not explained")
    return 1 if bad.total() else 0


def main(packages: list[str]) -> int:
    everything = hypothesis.Phase.explicit, hypothesis.Phase.generate
    hypothesis.settings.register_profile(
        "perturb",
        max_examples=25,
        derandomize=True,
        database=None,
        deadline=None,
        phases=everything,
        suppress_health_check=list(hypothesis.HealthCheck),
    )
    hypothesis.settings.load_profile("perturb")
    watch = Watch(tuple(packages) or PACKAGES)
    named = [path for p in watch.packages for path in sorted(HERE.glob(f"test_{p}*.py"))]
    paths = [HERE / "published" / "test_published.py", *named, HERE / "test_calculators.py"]
    sources = [SOURCE / package for package in watch.packages]
    known = "ignore::pytest.PytestAssertRewriteWarning"  # hypothesis is imported already
    options = ["-q", "-s", "-W", known, "-p", "no:cacheprovider", "-p", "no:xdist"]
    pytest.main([*map(str, [*paths, *sources]), *options], plugins=[watch])
    return watch.outcome


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
