"""TOML text to statements, each with its line; a broken statement does not hide the next.

The tree of the whole text is used when it is sound. Otherwise the text is taken statement by
statement, so that each fault of syntax is found. Values are always those of `tomllib`. Open
`tailrace.sitefile.tables` next, which puts the statements together.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

import tree_sitter_toml
from tree_sitter import Language, Node, Parser

from tailrace.errors import Fault

_LANGUAGE: Final = Language(tree_sitter_toml.language())
_LONGEST_STATEMENT: Final = 30  # lines; a longer array or text would not be one page
_DEEPEST: Final = 20  # nodes from the root down; guards the recursion
_OPENERS: Final = re.compile(r"[\[{]|\"\"\"|'''")
_KEY: Final = re.compile(r"""\s*([\w.\-"' ]*?[\w"'])\s*=\s*(.*)$""")
_HEADER: Final = re.compile(r"\s*(\[+)\s*([\w.\-]+)|\s*(?P<name>[\w.\-]+)\s*(?P<end>\]+)\s*$")
_NO_EQUALS: Final = re.compile(r"\s*(\w+)\s*(?::|\s(?=[\"'\d]))\s*(.*)$")


class Broken(Enum):
    """Stands for a value that could not be read, so that its key still counts as given."""

    VALUE = "broken"


class Form(Enum):
    """Form of a statement."""

    PAIR = "pair"
    TABLE = "table"
    ARRAY = "table_array_element"


@dataclass(frozen=True, slots=True)
class Inline:
    """An inline table: its pairs, not yet put together.

    Parameters
    ----------
    pairs
        The pairs, in their order.
    """

    pairs: tuple[Statement, ...]


@dataclass(frozen=True, slots=True)
class Statement:
    """One pair or one table header.

    Parameters
    ----------
    line
        Line on which it begins, counted from 1.
    form
        Pair, ``[table]`` or ``[[table]]``.
    path
        The key, taken apart at its dots.
    value
        Value of a pair: what `tomllib` gives, `Inline`, a list of these, or `Broken.VALUE`.
    """

    line: int
    form: Form
    path: tuple[str, ...]
    value: Any = None


def statements(text: str) -> tuple[list[Statement], list[Fault]]:
    r"""Return every statement of a TOML text, and every fault of its syntax.

    Parameters
    ----------
    text
        TOML with ``\n`` as line end.

    Returns
    -------
    tuple
        Statements in their order, and faults with their lines.

    Examples
    --------
    >>> found, faults = statements('a = 480 gal\n[b\nc = "1 L"')
    >>> [(s.line, s.path) for s in found]
    [(1, ('a',)), (2, ('b',)), (3, ('c',))]
    >>> [fault.line for fault in faults]
    [1, 2]
    """
    faults: list[Fault] = []
    root = _root(text)
    if not root.has_error:
        return _of_tree(root, 1, faults), faults
    lines = text.split("\n")
    found: list[Statement] = []
    at = 0
    while at < len(lines):
        end, sound = _sound_block(lines, at)
        if sound is None:
            faults.append(Fault(at + 1, _why(lines[at])))
            found.extend(_salvaged(lines[at], at + 1))
        else:
            found.extend(_of_tree(sound, at + 1, faults))
        at = end
    return found, faults


def _root(text: str) -> Node:
    return Parser(_LANGUAGE).parse(text.encode()).root_node


def _sound_block(lines: list[str], at: int) -> tuple[int, Node | None]:
    """Return the end of the statement that begins at a line, and its tree if it is sound."""
    last = at + 1
    if _OPENERS.search(lines[at].partition("=")[2]):
        last = min(len(lines), at + _LONGEST_STATEMENT)
    for end in range(at + 1, last + 1):
        root = _root("\n".join([*lines[at:end], ""]))
        if not root.has_error:
            return end, root
    return at + 1, None


def _of_tree(root: Node, first_line: int, faults: list[Fault]) -> list[Statement]:
    found: list[Statement] = []
    for node in root.children:
        if node.type == Form.PAIR.value:
            found.append(_pair(node, first_line, faults))
        elif node.type in (Form.TABLE.value, Form.ARRAY.value):
            header = Statement(_line(node, first_line), Form(node.type), _path(node))
            pairs = [child for child in node.children if child.type == Form.PAIR.value]
            found += [header, *(_pair(pair, first_line, faults) for pair in pairs)]
    return found


def _line(node: Node, first_line: int) -> int:
    return int(node.start_point[0]) + first_line


def _path(node: Node) -> tuple[str, ...]:
    key = next(child for child in node.children if child.type.endswith("key"))
    try:
        tables: Any = tomllib.loads(f"{_text(key)} = 0")
    except tomllib.TOMLDecodeError:  # the tree is more lenient than the standard
        return (_text(key),)
    path: list[str] = []
    while isinstance(tables, dict):
        [(name, tables)] = tables.items()
        path.append(name)
    return tuple(path)


def _pair(node: Node, first_line: int, faults: list[Fault]) -> Statement:
    line = _line(node, first_line)
    *_, value = _without_comments(node)
    return Statement(line, Form.PAIR, _path(node), _value(value, first_line, faults))


def _depth(node: Node) -> int:
    depth, above = 0, node.parent
    while above is not None and depth <= _DEEPEST:
        depth, above = depth + 1, above.parent
    return depth


def _without_comments(node: Node) -> list[Node]:
    return [child for child in node.named_children if child.type != "comment"]


def _value(node: Node, first_line: int, faults: list[Fault]) -> Any:
    if _depth(node) > _DEEPEST:
        text = "this list is nested too deep; no key of a site file needs that"
        faults.append(Fault(_line(node, first_line), text))
        return Broken.VALUE
    parts = _without_comments(node)
    if node.type == "inline_table":
        return Inline(tuple(_pair(part, first_line, faults) for part in parts))
    if node.type == "array":
        return [_value(part, first_line, faults) for part in parts]
    try:
        return tomllib.loads(f"v = {_text(node)}")["v"]
    except (tomllib.TOMLDecodeError, ValueError) as error:
        reason = str(error).partition(" (at ")[0]
        faults.append(
            Fault(_line(node, first_line), f"{_text(node)} is not a TOML value: {reason}")
        )
        return Broken.VALUE


def _text(node: Node) -> str:
    return (node.text or b"").decode()


def _salvaged(line: str, number: int) -> list[Statement]:
    """Return what a broken line was meant to be, so that nothing else is blamed for it."""
    if header := _HEADER.match(line):
        form = Form.ARRAY if len(header[1] or header["end"]) > 1 else Form.TABLE
        name = header[2] or header["name"]
        return [Statement(number, form, tuple(name.strip(".").split(".")))]
    if pair := _KEY.match(line) or _NO_EQUALS.match(line):
        path = tuple(part.strip(" \"'") for part in pair[1].split("."))
        return [Statement(number, Form.PAIR, path, Broken.VALUE)]
    return []


def _why(line: str) -> str:
    if _HEADER.match(line):
        return f"{line.strip()} is not a table name; write it like [sump] or [[tanks]]"
    pair = _KEY.match(line)
    if pair is None and (halves := _NO_EQUALS.match(line)):
        return f"{halves[1]} needs an = sign: {halves[1]} = {halves[2]}"
    if pair is None:
        return (
            f"{line.strip()!r} is neither a key with its value, nor a [table], nor a comment; "
            "write key = value, or begin the line with #"
        )
    return _why_value(pair[1], pair[2].strip())


def _why_value(key: str, value: str) -> str:
    if not value:
        return f"{key} has no value; write one after the = sign, or take the line away"
    if value[0] in "“”„‘’«»":
        return f'{key} stands in curly quotes; use straight ones: {key} = "..."'
    if value[0] == '"' and "\\" in value:
        return f"{key} has a backslash; use single quotes around the text, or write it twice"
    if value[0] in "\"'":
        return f"the text after {key} = is not closed by its quote, or something follows it"
    if value[0] in "[{":
        return f"the list or inline table after {key} = is not closed, or is not well-formed"
    plain = value.partition("#")[0].strip().strip('"')
    return f'{key} needs quotes around its value: {key} = "{plain}"'
