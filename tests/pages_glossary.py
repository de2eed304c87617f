"""Write docs/glossary.md from the glossary table: ``python -m tests.pages_glossary``."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

from tailrace.sources import sources
from tests.words import glossary

PAGE = Path(__file__).parents[1] / "docs" / "glossary.md"
_PLAIN_GROUNDS = ("common practice", "own word")


def _kind(ground: str) -> str:
    return ground if ground in _PLAIN_GROUNDS else "published"


def page() -> str:
    """The page as it should stand."""
    rows = sorted(glossary(), key=lambda row: row.term.casefold())
    counts = Counter(_kind(row.ground) for row in rows)
    used = sorted({row.ground for row in rows} - set(_PLAIN_GROUNDS))
    lines = [
        "# Glossary",
        "",
        "Made by `python -m tests.pages_glossary` from `quantities/glossary.csv`; do not edit.",
        "",
        f"{len(rows)} words: {counts['published']} with a published use that was read, "
        f"{counts['common practice']} from common practice (no source), "
        f"{counts['own word']} of our own. One word stands for one thing.",
        "",
        "| Word | Also | Meaning | Ground |",
        "|---|---|---|---|",
        *(f"| {r.term} | {', '.join(r.also)} | {r.meaning} | {r.ground} |" for r in rows),
        "",
        "## Sources",
        "",
        *(f"- `{key}`: {sources()[key].text}" for key in used),
        "",
    ]
    return "\n".join(lines)


def main() -> None:
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
