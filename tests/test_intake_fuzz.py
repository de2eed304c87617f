"""Spoilt files, a few of the many that ``python -m tests.fuzz_imports`` reads."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz_imports import check, run

CELLS = st.sampled_from(
    ["when", "what", "value", "date", "ph", "Temp (F)", "fed", "7,2", "1,250", "<", "-", "x", "",
     "2026-03-01", "3/4/26", "8am", "%", "ppm", '"', "trace", "\0", "°", "99999999999", "note"]
)  # fmt: skip
ROWS = st.lists(st.lists(CELLS, max_size=6), max_size=8)


@pytest.mark.parametrize("seed", range(4))
def test_no_spoilt_file_crashes_or_loses_a_row_silently(seed: int) -> None:
    total = run(50, seed)
    assert total["files"] == 50
    assert total["entries"] > 100
    assert total["kept_aside"] > 100


@settings(max_examples=100, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(ROWS, st.sampled_from(",;\t|"), st.booleans())
def test_any_table_keeps_the_law(rows: list[list[str]], sign: str, wide: bool) -> None:
    head = ["date", "ph", "Temp (F)", "backwash", "note"] if wide else ["when", "what", "value"]
    text = "\n".join(sign.join(cells) for cells in [head, *rows])
    check("table.csv", text.encode())
