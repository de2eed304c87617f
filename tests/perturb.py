"""Shift every numeric constant of the process packages by 2 % and list those no test notices.

Run as ``python -m tests.perturb [PACKAGE ...]``. Each constant is shifted in a forked child, in
the compiled function or the module that holds it; the child holds the published rows against the
code and, when none of them notices, runs the package's own tests and doctests.
``unnoticed.csv`` explains the constants that may stay unnoticed; any other ends with exit code 1.
"""

from __future__ import annotations

import csv
import importlib
import inspect
import io
import os
import pkgutil
import sys
import types
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from functools import cache, partial
from pathlib import Path

import pytest

import tailrace
from tailrace.formula import Formula
from tests.published.compare import agrees
from tests.published.registry import find, run
from tests.published.rows import files, read

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
HERE = Path(__file__).resolve().parent
EXPLAINED = HERE / "published" / "unnoticed.csv"


@dataclass(frozen=True, slots=True)
class Constant:
    """One constant: where it stands, its value, and how to shift it in this process."""

    place: str
    value: float
    package: str
    shift: Callable[[], None]

    @property
    def name(self) -> str:
        return f"{self.place} = {self.value:g}"


def modules(package: str) -> Iterator[types.ModuleType]:
    try:
        root = importlib.import_module(f"tailrace.{package}")
    except ModuleNotFoundError:
        return
    for found in pkgutil.iter_modules(root.__path__):
        yield importlib.import_module(f"tailrace.{package}.{found.name}")


def _worth(value: object) -> bool:
    return isinstance(value, float) and value not in (0.0, float("inf"), float("-inf"))


def _functions(module: types.ModuleType) -> Iterator[tuple[str, types.FunctionType]]:
    for name, value in vars(module).items():
        kernel = value.kernel if isinstance(value, Formula) else value
        if inspect.isfunction(kernel) and kernel.__module__ == module.__name__:
            yield name, kernel
        elif inspect.isclass(value) and value.__module__ == module.__name__:
            for inner, member in vars(value).items():
                method = member.fget if isinstance(member, property) else member
                if inspect.isfunction(method) and method.__module__ == module.__name__:
                    yield f"{name}.{inner}", method


def _shift_code(function: types.FunctionType, place: int) -> None:
    code = function.__code__
    shifted = list(code.co_consts)
    shifted[place] *= SHIFT
    function.__code__ = code.replace(co_consts=tuple(shifted))


def _shift_default(function: types.FunctionType, place: int) -> None:
    assert function.__defaults__ is not None
    shifted = list(function.__defaults__)
    shifted[place] *= SHIFT
    function.__defaults__ = tuple(shifted)
    for made in _formulas():
        if made.kernel is function:
            names = made.parameters[-len(shifted) :]
            made.defaults.update(zip(names, shifted, strict=True))


@cache
def _formulas() -> tuple[Formula, ...]:
    return tuple(
        value
        for module in list(sys.modules.values())
        if module.__name__.startswith("tailrace.")
        for value in vars(module).values()
        if isinstance(value, Formula)
    )


def _shift_global(name: str, value: float) -> None:
    """Shift a module's number wherever it was imported to."""
    for module in list(sys.modules.values()):
        if module.__name__.startswith("tailrace.") and vars(module).get(name) is value:
            setattr(module, name, value * SHIFT)


def constants(package: str) -> Iterator[Constant]:
    for module in modules(package):
        short = module.__name__.removeprefix("tailrace.")
        source = inspect.getsource(module)
        for name, value in vars(module).items():
            if _worth(value) and f"{name} =" in source:
                shift = partial(_shift_global, name, value)
                yield Constant(f"{short}.{name}", value, package, shift)
        for name, function in _functions(module):
            yield from _inside(f"{short}.{name}", function, package)


def _inside(place: str, function: types.FunctionType, package: str) -> Iterator[Constant]:
    for index, value in enumerate(function.__code__.co_consts):
        if _worth(value):
            yield Constant(place, value, package, partial(_shift_code, function, index))
    for index, value in enumerate(function.__defaults__ or ()):
        if _worth(value):
            shift = partial(_shift_default, function, index)
            yield Constant(f"{place} default", value, package, shift)


@cache
def _rows() -> tuple[tuple[frozenset[str], object, object], ...]:
    """Rows with the modules whose formulas they use."""
    found = []
    for path in files():
        for row in read(path):
            mapped = find(row)
            if mapped is not None:
                used = frozenset(name.rpartition(".")[0] for name in run(row, mapped).formulas)
                found.append((used, row, mapped))
    return tuple(found)


def _row_notices() -> bool:
    for _, row, mapped in _rows():
        try:
            if not agrees(row, run(row, mapped).got):  # type: ignore[arg-type]
                return True
        except Exception:  # noqa: BLE001  # any failure of a shifted formula is a notice
            return True
    return False


def _tests_notice(package: str) -> bool:
    paths = [str(path) for path in sorted(HERE.glob(f"test_{package}*.py"))]
    source = Path(tailrace.__file__).parent / package
    return pytest.main([*paths, str(source), "-x", "-q", "-p", "no:cacheprovider"]) != 0


def noticed(constant: Constant) -> bool:
    """Shift one constant in a child and tell whether anything notices."""
    child = os.fork()
    if child == 0:
        code = 1
        with redirect_stdout(io.StringIO()), redirect_stderr(io.StringIO()):
            try:
                constant.shift()
                code = 0 if _row_notices() or _tests_notice(constant.package) else 1
            except BaseException:  # noqa: BLE001  # the child must end here
                code = 0
        os._exit(code)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0


def explained() -> dict[str, str]:
    with EXPLAINED.open(encoding="utf-8") as stream:
        return {row["constant"]: row["reason"] for row in csv.DictReader(stream)}


def main(packages: list[str]) -> int:
    _rows()
    _formulas()
    reasons, bad, count = explained(), [], 0
    for package in packages or PACKAGES:
        if noticed(Constant("nothing", 0.0, package, lambda: None)):
            print(f"{package}: its tests fail as it stands; mend them first")
            return 1
        for constant in constants(package):
            count += 1
            if not noticed(constant):
                reason = reasons.get(constant.name, "")
                print(f"not noticed: {constant.name}  {reason or 'NOT EXPLAINED'}", flush=True)
                if not reason:
                    bad.append(constant.name)
        print(f"{package}: done, {count} constants so far", flush=True)
    print(f"{count} constants shifted by {SHIFT - 1:.0%}; {len(bad)} unnoticed and not explained")
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
