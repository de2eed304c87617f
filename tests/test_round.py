"""The round of both demonstration sites in both unit families: whole, plain and repeatable."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tailrace.operations.record import newest_moment, open_record, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.reports.sentences import templates
from tailrace.reports.terminal import round_lines
from tailrace.site import UnitFamily
from tests.logs import DEMOS
from tests.words import misused_words, unknown_words

KEYS = [
    "site",
    "at",
    "units",
    "checks",
    "attention",
    "backwash",
    "drain",
    "water",
    "forecast",
    "seed",
    "assumed",
    "not_measured",
    "version",
]
NAMES = ("Mo", "KT", "Dana", "Ro", "Ilse", "Lantern", "Millrace", "Yard", "bead filter")


def made(home: Path, name: str, family: UnitFamily | None = None) -> dict[str, Any]:
    store = open_record(str(home))
    at = newest_moment(store, site_reading(store, name).site)
    assert at is not None
    return todays_round(store, name, at=at.isoformat(), units=family, ahead=Ahead.SHOWN)


@pytest.fixture(
    scope="module",
    params=[(n, f) for n in DEMOS for f in UnitFamily],
    ids=lambda p: f"{p[0]}-{p[1].value}",
)
def a_round(request: pytest.FixtureRequest, demo_home: Path) -> dict[str, Any]:
    return made(demo_home, *request.param)


def numbers(value: Any) -> Iterator[dict[str, Any]]:
    """Every number object of an answer."""
    if isinstance(value, dict):
        if "unit" in value and "times" not in value:
            yield value
        for inner in value.values():
            yield from numbers(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from numbers(inner)


def significant(text: str) -> int:
    return len(text.replace(".", "").lstrip("0").rstrip("0")) or 1


def test_the_object_has_the_documented_keys(a_round: dict[str, Any]) -> None:
    assert list(a_round) == KEYS


def test_every_number_has_a_unit_and_its_whole_range(a_round: dict[str, Any]) -> None:
    found = list(numbers(a_round))
    assert len(found) > 50
    for number in found:
        assert set(number) in ({"value", "unit"}, {"p05", "p50", "p95", "unit"})
        for key in number.keys() - {"unit"}:
            assert significant(f"{abs(number[key]):.10g}") <= 3, number


def test_no_bare_number_stands_outside_a_number_object(a_round: dict[str, Any]) -> None:
    def bare(value: Any, path: str) -> Iterator[str]:
        if isinstance(value, dict) and "unit" not in value:
            for key, inner in value.items():
                yield from bare(inner, f"{path}.{key}")
        elif isinstance(value, list):
            for inner in value:
                yield from bare(inner, path)
        elif isinstance(value, int | float) and not isinstance(value, bool):
            yield path

    assert set(bare(a_round, "")) == {".seed"}


def test_each_line_of_attention_is_whole(a_round: dict[str, Any]) -> None:
    assert a_round["attention"]
    for line in a_round["attention"]:
        for part in ("title", "seen", "means", "do", "by_in_words", "caution"):
            assert line[part], line
            assert "{" not in line[part]
        assert re.search(r"\d", line["do"]), f"no amount in {line['do']!r}"


def test_no_number_on_the_screen_has_more_than_three_digits(a_round: dict[str, Any]) -> None:
    for line in a_round["attention"]:
        for part in ("seen", "means", "do", "caution"):
            text = re.sub(r"'[^']*'", "", line[part])  # what a person typed stays as typed
            for number in re.findall(r"(?<![\w.])\d+(?:\.\d+)?(?![\w.]*\d)", text):
                assert significant(number) <= 3, line[part]


def test_every_trade_word_is_in_the_glossary(a_round: dict[str, Any]) -> None:
    texts = [
        line[part]
        for line in a_round["attention"]
        for part in ("title", "seen", "means", "do", "caution")
    ]
    texts += [check[part] for check in a_round["checks"] for part in ("what", "how")]
    texts += [a_round["backwash"]["say"], a_round["drain"]["say"], a_round["drain"]["caution"]]
    texts += [line["say"] for line in (*a_round["assumed"], *a_round["not_measured"])]
    texts += [a_round["forecast"]["say"], *a_round["forecast"]["assumed"]]
    for text in texts:
        plain = re.sub(r"'[^']*'", "", text)
        assert not unknown_words(plain, also=NAMES), text
        assert not misused_words(plain), text


def test_no_template_has_a_word_that_a_keeper_cannot_look_up() -> None:
    for kind in templates().values():
        for name, parts in kind.items():
            for part, text in parts.items():
                plain = re.sub(r"'[^']*'", "", re.sub(r"\{[^}]*\}", "1 gal", text))
                assert not unknown_words(plain), (name, part)
                assert not misused_words(plain), (name, part)


def test_lines_name_readings_that_exist(a_round: dict[str, Any], demo_home: Path) -> None:
    entries = open_record(str(demo_home)).entries(a_round["site"]["name"])
    known = {entry.id for entry in entries}
    named = {
        reading
        for part in ("attention", "checks", "water", "assumed")
        for line in a_round[part]
        for reading in line["readings"]
    }
    assert named
    assert named <= known


def test_the_forecast_has_bands_in_order_for_the_whole_week(a_round: dict[str, Any]) -> None:
    ahead = a_round["forecast"]
    assert "not yet scored" in ahead["say"]
    names = {"total_ammonia", "un_ionised_ammonia", "nitrite", "ph", "oxygen", "clarity"}
    assert names <= {band["quantity"] for band in ahead["quantities"]}
    for band in ahead["quantities"]:
        rows = zip(band["p05"], band["p50"], band["p95"], strict=True)
        assert all(low <= middle <= high for low, middle, high in rows)
        assert len(band["times"]) == len(band["p50"])
        assert [after["after"]["value"] for after in band["in_words"]] == [3.0, 7.0]


def test_attention_is_in_order(a_round: dict[str, Any]) -> None:
    order = ["act first", "limit", "upkeep"]
    weights = [order.index(line["weight"]) for line in a_round["attention"]]
    assert weights == sorted(weights)


def test_the_terminal_shows_the_same_object(a_round: dict[str, Any]) -> None:
    text = " ".join("\n".join(round_lines(a_round, all_lines=True)).split())
    for line in a_round["attention"]:
        for part in ("title", "seen", "means", "do", "caution"):
            words = " ".join(line[part].split())
            assert words[:40] in text
    assert a_round["version"] in text


def test_lines_fit_a_terminal(a_round: dict[str, Any]) -> None:
    assert max(len(line) for line in round_lines(a_round, all_lines=True)) <= 88


def test_nothing_to_do_is_said_in_one_line(demo_home: Path) -> None:
    quiet = made(demo_home, "lantern-school") | {"attention": []}
    lines = list(round_lines(quiet))
    said = lines[lines.index("WHAT NEEDS ATTENTION") + 1 : lines.index("CHECKS, IN WALKING ORDER")]
    assert said == ["  Nothing needs doing now beyond the checks below.", ""]


def test_same_record_same_moment_same_bytes(demo_home: Path) -> None:
    first, second = (json.dumps(made(demo_home, "lantern-school")) for _ in range(2))
    assert first == second


def test_both_families_say_the_same_thing(demo_home: Path) -> None:
    us = made(demo_home, "lantern-school", UnitFamily.US)
    metric = made(demo_home, "lantern-school", UnitFamily.METRIC)
    assert [line["key"] for line in us["attention"]] == [
        line["key"] for line in metric["attention"]
    ]
    gallons, litres = (r["drain"]["draw"]["p50"] for r in (us, metric))
    assert litres == pytest.approx(3.785 * gallons, rel=0.01)


def test_an_empty_log_gives_a_round(tmp_path: Path) -> None:
    from tailrace.operations.sites import load_site_file  # noqa: PLC0415
    from tests.logs import RECEIVED  # noqa: PLC0415

    store = open_record(str(tmp_path), create=True)
    load_site_file(store, DEMOS["lantern-school"] / "site.toml", now=RECEIVED)
    made_of_nothing = todays_round(store, "lantern-school", now=RECEIVED)
    assert {line["quantity"] for line in made_of_nothing["not_measured"]} >= {"ph", "oxygen"}
    assert made_of_nothing["backwash"]["next"] is None
