"""The generated pages stand as they would be written now."""

from __future__ import annotations

import pytest

from tailrace.quantities import suffixes
from tests.docstrings import formulas
from tests.outside import outside_tests
from tests.pages import DOCS, PAGES, checks_of


@pytest.mark.parametrize("name", PAGES)
def test_a_generated_page_is_current(name: str) -> None:
    committed = (DOCS / name).read_text(encoding="utf-8")
    assert committed == PAGES[name](), "run `make docs`"


def test_a_marker_names_something_that_exists() -> None:
    unknown = {
        test.formula
        for test in outside_tests()
        if test.formula not in formulas() and not _importable(test.formula)
    }
    assert unknown == set()


def _importable(name: str) -> bool:
    module, _, attribute = name.rpartition(".")
    return hasattr(__import__(module, fromlist=[attribute]), attribute)


def test_rows_count_for_the_formula_they_call_and_for_those_it_calls() -> None:
    checked = checks_of()
    saturation = checked["tailrace.water.oxygen.oxygen_saturation_g_m3"]
    assert any(row.id == "DO-001" for row in saturation.rows)
    vapour = checked["tailrace.water.activity.relative_permittivity"]
    assert "tailrace.water.ammonia.un_ionised_ammonia_frac" in vapour.through


def test_the_nomenclature_lists_every_ending() -> None:
    page = PAGES["nomenclature.md"]()
    assert all(f"`{suffix}`" in page for suffix in suffixes())
