"""Write the tables of docs/site-file.md from the schema: ``python -m tests.pages_site_file``."""

from __future__ import annotations

import math
import re
from pathlib import Path

from tailrace.sitefile.schema import Key, Need, header, tables

PAGE = Path(__file__).parents[1] / "docs" / "site-file.md"
_BETWEEN = re.compile(r"(<!-- keys: begin[^>]*-->\n).*?(<!-- keys: end -->)", re.DOTALL)
_HEAD = (
    "| Key | Write it like | When missing | Possible | Usual | What it is | Basis |",
    "|---|---|---|---|---|---|---|",
)


def _missing(key: Key) -> str:
    match key.need:
        case Need.REQUIRED:
            return "**must be given**"
        case Need.OPTIONAL:
            return "not known"
        case Need.DERIVED:
            return f"from others: {key.default}"
        case Need.CONDITIONAL:
            return f"it depends: {key.default}"
        case _:
            return f"`{key.default}`"


def _bounds(key: Key, bounds: tuple[float, float]) -> str:
    if key.choices:
        return " or ".join(f"`{word}`" for word in key.choices)
    if not key.kind.counts or math.isinf(bounds[0]):
        return ""
    return f"{bounds[0]:.10g} to {bounds[1]:.10g} {key.unit_metric}".strip()


def _row(key: Key) -> str:
    cells = (
        f"`{key.name}`",
        f"`{key.written}`",
        _missing(key),
        _bounds(key, key.hard),
        "" if key.choices else _bounds(key, key.soft),
        key.meaning,
        key.basis,
    )
    return f"| {' | '.join(cells)} |"


def key_tables() -> str:
    """The tables as they should stand."""
    lines: list[str] = []
    for name, keys in tables().items():
        lines += [f"### `{header(name)}`", "", *_HEAD, *map(_row, keys.values()), ""]
    return "\n".join(lines)


def page() -> str:
    """The page as it should stand."""
    found = PAGE.read_text(encoding="utf-8")
    return _BETWEEN.sub(lambda match: match[1] + "\n" + key_tables() + match[2], found)


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
