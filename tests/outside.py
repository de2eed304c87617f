"""Which tests hold a formula against something outside the project, read from their markers."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

HERE = Path(__file__).parent


@dataclass(frozen=True, slots=True, order=True)
class OutsideTest:
    """A test marked ``@pytest.mark.outside("tailrace.x.y.z", source="...")``."""

    formula: str
    source: str
    test: str


def outside_tests() -> list[OutsideTest]:
    """Every marked test; a marker is made of texts, or names of texts at the top of its file."""
    return sorted(found for path in sorted(HERE.rglob("test_*.py")) for found in _in_file(path))


def _in_file(path: Path) -> Iterator[OutsideTest]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    constants = _constants(tree)
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            test = f"{path.relative_to(HERE)}::{node.name}"
            for decorator in node.decorator_list:
                if isinstance(decorator, ast.Call) and _is_marker(decorator):
                    yield from _of_marker(decorator, test, constants)


def _is_marker(decorator: ast.Call) -> bool:
    return ast.unparse(decorator.func).endswith("mark.outside")


def _constants(tree: ast.Module) -> dict[str, str]:
    return {
        target.id: node.value.value
        for node in tree.body
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Constant)
        and isinstance(node.value.value, str)
        for target in node.targets
        if isinstance(target, ast.Name)
    }


def _of_marker(marker: ast.Call, test: str, constants: dict[str, str]) -> Iterator[OutsideTest]:
    def text(node: ast.expr) -> str:
        return str(eval(ast.unparse(node), {"__builtins__": {}}, constants))  # our own tests

    source = next((text(k.value) for k in marker.keywords if k.arg == "source"), "")
    if not source:
        message = f"{test}: the marker 'outside' needs source=..."
        raise ValueError(message)
    for name in marker.args:
        yield OutsideTest(text(name), source, test)
