"""The page of the site file is current, and a file can be written from it alone."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tailrace.site.records import BedKind
from tailrace.sitefile import read_site
from tailrace.sitefile.build import EVAPORATION_M_DAY, TANK_DEPTH_M, WATER_DEPTH_M
from tailrace.sitefile.schema import Key, Need, tables
from tailrace.sitefile.values import Setting, read_value
from tailrace.sitefile.wording import kept_bounds
from tailrace.sources import sources
from tests.pages_site_file import PAGE, page

KEYS = [key for keys in tables().values() for key in keys.values()]
SETTING = Setting(species=("nile_tilapia",), zone="America/Denver")
TEXT = PAGE.read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```toml\n(.*?)```", TEXT, re.DOTALL)


def test_page_is_current() -> None:
    assert page() == TEXT


def test_both_examples_are_sound_and_plausible() -> None:
    least, whole = (read_site(text, "example") for text in EXAMPLES)
    assert least.implausible == ()
    assert whole.implausible == ()
    school = Path(__file__).parents[1] / "demo" / "school" / "site.toml"
    assert EXAMPLES[1] == school.read_text(encoding="utf-8")


def test_smallest_example_has_the_required_keys_only() -> None:
    given = set(re.findall(r"^(\w+) =", EXAMPLES[0], re.MULTILINE))
    tables_given = set(re.findall(r"^\[+([\w.]+)\]+", EXAMPLES[0], re.MULTILINE))
    required = {k.name for k in KEYS if k.need is Need.REQUIRED and k.table in tables_given}
    assert given == required | {"area"}


@pytest.mark.parametrize("key", KEYS, ids=lambda key: f"{key.table}.{key.name}")
def test_every_example_default_and_bound_holds_together(key: Key) -> None:
    example = {"true": True}.get(key.example, key.example)
    read_value(key, example, SETTING)
    if key.need is Need.DEFAULT:
        read_value(key, {"false": False}.get(key.default, key.default), SETTING)
    hard, soft = kept_bounds(key, key.hard), kept_bounds(key, key.soft)
    if key.kind.counts:
        assert hard[0] <= soft[0] < soft[1] <= hard[1]
    if key.need is not Need.REQUIRED or key.kind.counts:
        assert key.basis in {"", *sources()}
    assert key.meaning.endswith(".")


def test_numbers_of_derived_defaults_stand_on_the_page() -> None:
    assert f"{WATER_DEPTH_M[BedKind.RAFT]:.2f} m for a raft" in TEXT
    assert f"{WATER_DEPTH_M[BedKind.GRAVEL]:.2f} m for gravel" in TEXT
    assert f"a depth of {TANK_DEPTH_M:g} m" in TEXT
    low, high = (1000.0 * end for end in EVAPORATION_M_DAY)
    assert f"{low:g} to {high:g} mm a day" in TEXT
