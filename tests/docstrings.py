"""Reading a docstring's sections, and finding what the package makes public."""

from __future__ import annotations

import inspect
import pkgutil
import re
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from types import ModuleType

import tailrace
from tailrace.formula import Formula, register

_SECTIONS = {"Parameters", "Returns", "Yields", "Raises", "Warns", "Notes", "Examples"} | {
    *("References", "See", "Attributes", "Methods")
}
_UNIT = re.compile(r"\[([^\]]*)\]")
_NAMES = re.compile(r"\*{0,2}\w+(?:, \*{0,2}\w+)*")


@dataclass(frozen=True, slots=True)
class Sections:
    """The parts of a docstring."""

    summary: str
    parameters: dict[str, str]
    returns: str
    references: tuple[str, ...]


def _split(text: str) -> dict[str, list[str]]:
    lines = text.splitlines()
    found: dict[str, list[str]] = {"": []}
    name = ""
    for number, line in enumerate(lines):
        below = lines[number + 1] if number + 1 < len(lines) else ""
        if line and set(below) == {"-"} and line.split()[0] in _SECTIONS:
            name = line
            found[name] = []
        elif not (line and set(line) == {"-"}):
            found[name].append(line)
    return found


def _parameters(lines: list[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    names: list[str] = []
    for line in lines:
        if not line.startswith(" ") and _NAMES.fullmatch(line.strip()):
            names = [name.strip().lstrip("*") for name in line.split(",")]
            found.update(dict.fromkeys(names, ""))
        elif line.strip():
            for name in names:
                found[name] += f"{line.strip()} "
    return found


def sections(text: str) -> Sections:
    """Read a docstring in numpydoc form."""
    parts = _split(inspect.cleandoc(text))
    references = re.split(r"[,\n]", "\n".join(parts.get("References", [])))
    return Sections(
        summary=" ".join(line for line in parts[""] if line).split(". ")[0],
        parameters=_parameters(parts.get("Parameters", [])),
        returns=" ".join(parts.get("Returns", parts.get("Yields", []))).strip(),
        references=tuple(key.strip() for key in references if key.strip()),
    )


def unit_of(text: str) -> str | None:
    """The unit in square brackets, the last where there are several."""
    found = _UNIT.findall(text)
    return found[-1] if found else None


@cache
def modules() -> tuple[ModuleType, ...]:
    """Every module of the package."""
    names = [m.name for m in pkgutil.walk_packages(tailrace.__path__, "tailrace.")]
    return tuple(import_module(name) for name in names if not name.endswith("__main__"))


@cache
def formulas() -> dict[str, Formula]:
    """Every public formula of the package."""
    modules()
    return {
        name: f for name, f in register().items() if not name.rpartition(".")[2].startswith("_")
    }


@cache
def functions_and_classes() -> dict[str, object]:
    """Every other public function and class, by full name; those of the terminal left out.

    The docstrings of commands are what a person reads as help, so they have another form.
    """
    return {
        f"{module.__name__}.{name}": found
        for module in modules()
        if not module.__name__.startswith("tailrace.cli")
        for name, found in vars(module).items()
        if not name.startswith("_")
        and (inspect.isfunction(found) or inspect.isclass(found))
        and found.__module__ == module.__name__
    }
