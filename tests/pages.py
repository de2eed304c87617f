"""Write the generated pages: ``python -m tests.pages``.

docs/nomenclature.md comes from the vocabulary, docs/proof/formulas.md from the register of
formulas, the published rows and the marked tests, docs/proof/rows-left.md from the rows that
no function takes yet.
"""

from __future__ import annotations

import csv
import inspect
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

from tailrace.formula import Formula
from tailrace.quantities import Subject, subjects, suffixes
from tailrace.sources import sources
from tests.deviations import in_words, of_numbers, recorded, rounded_up
from tests.docstrings import formulas, sections
from tests.outside import OutsideTest, outside_tests
from tests.published.registry import find, run
from tests.published.rows import HERE, Row, Value, files, read, topic_order

DOCS = Path(__file__).parents[1] / "docs"
_MADE = "Made by `python -m tests.pages`; do not edit."
ABBREVIATIONS = {
    "TAN": "total ammonia nitrogen: ammonia and ammonium together, counted as nitrogen",
    "DO": "dissolved oxygen",
    "pH": "negative logarithm of the activity of hydrogen ions",
    "pKa, pK1, pKH": "negative logarithm of a constant: acid, first acid, solubility",
    "TSS": "total suspended solids",
    "VSS": "volatile suspended solids",
    "COD": "chemical oxygen demand",
    "CaCO3": "calcium carbonate, the usual basis for alkalinity and hardness",
    "dKH, dGH": "German degrees of carbonate hardness (alkalinity) and of general hardness",
    "NTU": "nephelometric turbidity unit",
    "SCFH": "standard cubic feet in an hour, at 70 degF and 1 atm",
}


@dataclass(slots=True)
class Checks:
    """What holds a formula from outside: directly, or through a formula that calls it."""

    rows: list[Row] = field(default_factory=list)
    tests: list[OutsideTest] = field(default_factory=list)
    through: set[str] = field(default_factory=set)
    row_deviation: float = 0.0

    @property
    def any(self) -> bool:
        """Whether there is any outside check."""
        return bool(self.rows or self.tests or self.through)


@cache
def all_rows() -> tuple[Row, ...]:
    """Every row of every file of published values."""
    return tuple(row for path in files() for row in read(path))


@cache
def unchecked() -> dict[str, str]:
    """Formulas known to have no outside check, with the reason."""
    with (HERE / "unchecked.csv").open(encoding="utf-8") as stream:
        return {line["formula"]: line["reason"] for line in csv.DictReader(stream)}


@cache
def checks_of() -> dict[str, Checks]:
    """The outside checks of every public formula."""
    found: dict[str, Checks] = defaultdict(Checks)
    for row in all_rows():
        mapped = find(row)
        if mapped is not None:
            outcome = run(row, mapped)
            for name in outcome.formulas:
                found[name].rows.append(row)
                off = _deviation(row, outcome.got)
                found[name].row_deviation = max(found[name].row_deviation, off)
    for test in outside_tests():
        found[test.formula].tests.append(test)
    direct = {name for name in formulas() if found[name].rows or found[name].tests}
    for name in sorted(direct):
        for callee in _called_by(formulas()[name]):
            found[callee].through.add(name)
    return found


def _deviation(row: Row, got: Value) -> float:
    """How far a row is off, relative; none inside a published range or for words."""
    if isinstance(row.expected, str) or isinstance(got, str):
        return 0.0
    if isinstance(row.expected, tuple):
        if isinstance(got, tuple):
            return max(map(of_numbers, got, row.expected))
        low, high = row.expected
        return of_numbers(got, min(max(got, low), high))
    return 0.0 if isinstance(got, tuple) else of_numbers(got, row.expected)


def _called_by(formula: Formula) -> set[str]:
    scope = inspect.unwrap(formula.kernel).__globals__
    called = (scope.get(name) for name in formula.kernel.__code__.co_names)
    near = {found.name: found for found in called if isinstance(found, Formula)}
    return set(near).union(*(_called_by(found) for found in near.values()))


def _table(head: Iterable[str], lines: Iterable[Iterable[str]]) -> list[str]:
    head = list(head)
    rows = [head, ["---"] * len(head), *lines]
    return ["| " + " | ".join(text.replace("|", "\\|") for text in row) + " |" for row in rows]


def nomenclature() -> str:
    """Units, abbreviations and subjects."""
    units = sorted(suffixes().values(), key=lambda s: s.suffix)
    return "\n".join(
        [
            "# Nomenclature",
            "",
            _MADE,
            "",
            "## Names and units",
            "",
            "Every number with a unit ends in it, as the table lists; a name without one of "
            "these endings is a bare number. Inside, units are SI but for degC and g/m3, and "
            "time is in seconds. In the docstring of a formula each parameter stands on a line "
            "of its own, its meaning below it ending in `[unit]`, the unit of the table or "
            "`[-]`; `Returns` names the unit of the function's own ending in the same way; "
            "`References` lists keys of `sources.csv`. Types stand in the annotations alone.",
            "",
            *_table(
                ("ending", "unit", "meaning", "why it is needed"),
                ((f"`{s.suffix}`", s.unit, s.meaning, s.reason) for s in units),
            ),
            "",
            "## Abbreviations",
            "",
            *_table(("short", "long"), ABBREVIATIONS.items()),
            "",
            "## What the log speaks of",
            "",
            "Units shown stand as US / metric. Outside the usual range an entry is kept and "
            "flagged; the range is in the unit of the ending.",
            "",
            *_table(
                ("key", "kind", "words", "ending", "shown", "usual range", "reported as"),
                map(_subject, subjects().values()),
            ),
            "",
        ]
    )


def _subject(subject: Subject) -> tuple[str, ...]:
    low, high = subject.plausible_low, subject.plausible_high
    shown = " / ".join(unit for unit in (subject.us_unit, subject.metric_unit) if unit)
    return (
        f"`{subject.key}`",
        subject.kind,
        subject.label,
        f"`{subject.suffix}`" if subject.suffix else "",
        shown,
        "" if low == -float("inf") else f"{low:g} to {high:g}",
        ", ".join(subject.bases),
    )


def proof() -> str:
    """Every formula with what holds it."""
    checked = checks_of()
    direct = [n for n in formulas() if checked[n].rows or checked[n].tests]
    only_through = [n for n in formulas() if checked[n].any and n not in direct]
    bare = [n for n in formulas() if not checked[n].any]
    return "\n".join(
        [
            "# What every formula rests on",
            "",
            _MADE,
            "",
            f"{len(formulas())} formulas: {len(direct)} held directly against something outside "
            f"the project, {len(only_through)} only through a formula that calls them, "
            f"{len(bare)} not at all.",
            "",
            "## Sources",
            "",
            "*opened*: the text was read, or a library that carries it was run. *empty*: the "
            "docstring names none.",
            "",
            *_table(("obtained", "formulas that rest on it"), _obtained_counts()),
            "",
            "A formula with several sources counts once for each kind.",
            "",
            "## Formulas and their outside checks",
            "",
            "*Largest deviation*: relative, rounded up; of the published rows as computed for "
            "this page, and of the tests as `python -m tests.deviations` measured them. Published "
            "values are rounded themselves, and an outside check may be of another equation, so "
            "a deviation is not yet an error. A test that compares in another way (an order, a "
            "sign, a bound) has none.",
            "",
            *_table(
                (
                    *("formula", "what it gives", "sources"),
                    *("published rows", "tests", "largest deviation"),
                ),
                (_formula_line(name, checked[name]) for name in [*direct, *only_through]),
            ),
            "",
            "## Formulas with no outside check",
            "",
            *_table(
                ("formula", "reason"),
                ((f"`{n}`", unchecked().get(n, "**none given**")) for n in bare),
            ),
            "",
            "## Where the published rows come from",
            "",
            *_table(
                ("file", "rows mapped", "computed", "read", "from memory", "other"), _row_counts()
            ),
            "",
        ]
    )


def _short(name: str) -> str:
    return f"`{name.removeprefix('tailrace.')}`"


def _formula_line(name: str, checks: Checks) -> tuple[str, ...]:
    doc = sections(formulas()[name].__doc__ or "")
    rows = Counter(row.file for row in checks.rows)
    held = [f"{test.source} ({test.test.rpartition('::')[2]})" for test in checks.tests]
    if not (checks.rows or checks.tests):
        held = ["only through " + ", ".join(_short(n) for n in sorted(checks.through))]
    return (
        _short(name),
        doc.summary.rstrip("."),
        ", ".join(doc.references),
        ", ".join(f"{count} in {file}" for file, count in sorted(rows.items())),
        "; ".join(held),
        _deviations(checks),
    )


def _deviations(checks: Checks) -> str:
    of_tests = [recorded()[test.test] for test in checks.tests if test.test in recorded()]
    words = []
    if checks.rows:
        words.append(f"rows {in_words(rounded_up(checks.row_deviation))}")
    if of_tests:
        words.append(f"tests {in_words(max(of_tests))}")
    return ", ".join(words)


def _obtained_counts() -> list[tuple[str, str]]:
    kinds: Counter[str] = Counter()
    for formula in formulas().values():
        keys = sections(formula.__doc__ or "").references
        known: set[str] = {sources()[key].obtained for key in keys if key in sources()}
        kinds.update(known or {"empty"})
    words = ("opened", "from memory", "common practice", "judgement", "empty")
    return [(word, str(kinds[word])) for word in words]


def _row_counts() -> list[tuple[str, ...]]:
    lines = []
    for path in files():
        rows = [row for row in all_rows() if row.file == path.name and find(row)]
        kinds = Counter(row.obtained for row in rows)
        named = [kinds[word] for word in ("computed", "read", "memory")]
        numbers = (len(rows), *named, len(rows) - sum(named))
        lines.append((path.name, *(str(number) for number in numbers)))
    return lines


def rows_left() -> str:
    """The rows that no function takes yet."""
    left = [row for row in all_rows() if find(row) is None]
    by_topic: dict[str, dict[str, list[Row]]] = defaultdict(lambda: defaultdict(list))
    for row in left:
        by_topic[row.topic][f"{row.quantity} [{row.model}]" if row.model else row.quantity].append(
            row
        )
    lines = [
        "# Published rows not yet held against the code",
        "",
        _MADE,
        "",
        f"{len(left)} of {len(all_rows())} rows.",
        "",
    ]
    for topic, quantities in sorted(by_topic.items(), key=lambda item: topic_order(item[0])):
        count = sum(len(rows) for rows in quantities.values())
        lines += [f"## {topic}: {count}", ""]
        lines += _table(
            ("quantity", "rows", "ids"),
            (
                (quantity, str(len(rows)), " ".join(row.id for row in rows))
                for quantity, rows in sorted(quantities.items())
            ),
        )
        lines.append("")
    return "\n".join(lines)


PAGES: dict[str, Callable[[], str]] = {
    "nomenclature.md": nomenclature,
    "proof/formulas.md": proof,
    "proof/rows-left.md": rows_left,
}


def main() -> None:
    """Write every page."""
    for name, page in PAGES.items():
        path = DOCS / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
