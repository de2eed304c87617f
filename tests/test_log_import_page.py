"""The tables of docs/log-file.md, made from the data: ``python -m tests.test_log_import_page``."""

from __future__ import annotations

import csv
import io
import re
from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

import pytest

from tailrace.intake.columns import column_words
from tailrace.intake.flags import flags
from tailrace.intake.logfile import read_log
from tailrace.quantities import subjects, words
from tailrace.units import allowed_units, show_range, subject_unit
from tailrace.units.registry import inside
from tests.test_log_import import TURNS, US

PAGE = Path(__file__).parents[1] / "docs" / "log-file.md"


def _table(head: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    head = tuple(head)
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(line)} |" for line in lines)


def _code(names: Iterable[str]) -> str:
    return ", ".join(f"`{name}`" for name in names)


def _columns() -> str:
    named: dict[str, list[str]] = defaultdict(list)
    for word, column in column_words().items():
        named[column].append(word)
    return _table(("Column", "May be called"), ((c, _code(w)) for c, w in named.items()))


def _subjects() -> str:
    said: dict[str, list[str]] = defaultdict(list)
    for word, key in words().items():
        said[key].append(word)
    rows = []
    for key, subject in subjects().items():
        us, metric = (subject_unit(subject, family) for family in ("us", "metric"))
        low, high = subject.plausible_low, subject.plausible_high
        usual = show_range(low, high, subject.suffix, metric)
        takes = subject.suffix or usual != "not known"
        rows.append((subject.label, us, metric, usual if takes else "no value", _code(said[key])))
    return _table(("Subject", "US unit", "Metric unit", "Flagged outside", "Words"), rows)


def _scales() -> str:
    text = files("tailrace.intake").joinpath("scales.csv").read_text(encoding="utf-8")
    rows = csv.DictReader(io.StringIO(text))
    lines = (
        (subjects()[r["subject"]].label, r["unit"], r["steps"].replace("|", ", "), r["source"])
        for r in rows
    )
    return _table(("Subject", "Unit", "Steps", "Source"), lines)


def _units() -> str:
    suffixes = dict.fromkeys(s.suffix for s in subjects().values() if s.suffix)
    rows = ((inside(s).example, _code(allowed_units(s))) for s in suffixes)
    return _table(("Such as", "Units"), rows)


def _flags() -> str:
    return _table(("Flag", "Meaning"), ((f"`{flag}`", text) for flag, text in flags().items()))


PARTS = {
    "columns": _columns,
    "subjects": _subjects,
    "scales": _scales,
    "units": _units,
    "flags": _flags,
}


def page(text: str) -> str:
    """The page with its tables as they should stand."""
    for name, part in PARTS.items():
        between = re.compile(
            rf"(<!-- {name}: begin[^>]*-->\n).*?(<!-- {name}: end -->)", re.DOTALL
        )
        made = rf"\g<1>\n{part().replace(chr(92), chr(92) * 2)}\n\n\g<2>"
        text, count = between.subn(made, text)
        assert count == 1, name
    return text


def test_the_page_is_current() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text == page(text), "run: python -m tests.test_log_import_page"


@pytest.mark.parametrize("site", [US, TURNS])
def test_the_examples_of_the_page_are_taken_in_whole(site: object) -> None:
    assert site in (US, TURNS)
    metric_handle = site is TURNS
    for example in re.findall(r"```\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL):
        found = read_log(
            example.encode(),
            "example.csv",
            TURNS if metric_handle else US,
            received_at=datetime(2026, 11, 1, tzinfo=UTC),
        )
        refused = [aside.text for aside in found.asides]
        # the example speaks of a quarter-turn handle; one with turns refuses degrees
        assert (
            refused == ([row for row in example.splitlines() if "60 deg" in row][:metric_handle])
        )


def main() -> None:
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")


if __name__ == "__main__":
    main()
