"""`python -m tests.pages_round` writes docs/proof/round.md: both rounds, line by line."""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from tailrace.operations.imports import preview_file, store_file
from tailrace.operations.record import newest_moment, open_record, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.operations.sites import load_site_file
from tailrace.records.store import Store
from tailrace.site import UnitFamily
from tests.logs import DEMOS, RECEIVED, ROOT

PAGE = ROOT / "docs" / "proof" / "round.md"
# Where the facts of a line come from; the first that fits the start of its key.
_BEHIND = {
    "power_": "diagnosis.machine.oxygen_hours_left",
    "water_pump_": "diagnosis.machine.oxygen_hours_left",
    "air_pump_": "diagnosis.machine.oxygen_hours_left",
    "needle_left_open": "estimation.standing.Standing.needle_left_open",
    "overpowered": "estimation.air.air_outlook, advice.air.air_advice",
    "near_stall": "estimation.air.air_outlook, advice.air.air_advice",
    "float_": "estimation.today.picture, beadfilter.setting.needle_gap_for_float_m",
    "count_": "estimation.air.air_outlook",
    "backwash_not_seen": "estimation.air.air_outlook",
    "return_flow": "beadfilter.circuit.water_state",
    "bypass_flow": "beadfilter.circuit.water_state",
    "limit_ahead": "estimation.forecast.forecast",
    "un_ionised": "water.ammonia.un_ionised_ammonia_frac, husbandry.limits.limits",
    "never_measured": "estimation.unmeasured.computed_ranges",
    "alkalinity_": "estimation.unmeasured.computed_ranges, husbandry.limits.limits",
    "drain_": "beadfilter.sludge.drain_plan, beadfilter.drain.drain_window",
    "never_drained": "beadfilter.sludge.drain_plan, beadfilter.drain.drain_window",
    "top_up_": "diagnosis.upkeep.find",
    "written_twice": "estimation.standing.Standing.same_thing_twice",
    "basis_unknown": "records.logfile.read_log",
    "reading_doubtful": "records.logfile.read_log",
    "feed_unwritten": "estimation.standing.Standing.feeding",
    "fish_dead": "estimation.standing.Standing.fish_count",
}
_LIMITS = "estimation.quality.water_quality, husbandry.limits.limits"


def behind(key: str) -> str:
    """Functions behind a line of attention."""
    return next((names for start, names in _BEHIND.items() if key.startswith(start)), _LIMITS)


def demo_store(home: Path) -> Store:
    """A record with both demonstration sites and their logs."""
    store = open_record(str(home), create=True)
    for name, folder in DEMOS.items():
        load_site_file(store, folder / "site.toml", now=RECEIVED)
        store_file(store, preview_file(store, name, folder / "log.csv", now=RECEIVED))
    return store


def _round(store: Store, name: str, family: UnitFamily) -> dict[str, Any]:
    at = newest_moment(store, site_reading(store, name).site)
    assert at is not None
    return todays_round(store, name, at=at.isoformat(), units=family, ahead=Ahead.SHOWN)


def page(store: Store) -> str:
    """The page."""
    lines = [
        "# Both rounds, line by line",
        "",
        "Made by `python -m tests.pages_round`; do not edit. Both sites and logs are invented.",
        "Readings are named as `tailrace log show` names them; functions stand in `tailrace`.",
        "",
    ]
    for name in DEMOS:
        for family in UnitFamily:
            lines += _section(_round(store, name, family))
    return "\n".join(lines).rstrip() + "\n"


def _section(made: dict[str, Any]) -> Iterator[str]:
    yield f"## {made['site']['title']}, {made['units']}, as of {made['at']}"
    yield ""
    for place, line in enumerate(made["attention"], 1):
        by = line["by_in_words"] if line["by_in_words"] == "now" else f"by {line['by_in_words']}"
        yield f"{place}. **{line['title']}** ({line['weight']}, {by})"
        for word in ("seen", "means", "do", "caution"):
            yield f"   - {word}: {line[word]}"
        yield f"   - readings: {', '.join(line['readings']) or 'none'}"
        yield f"   - functions: {behind(line['key'])}"
    yield ""
    for part, names in (
        ("backwash", "advice.next_backwash.next_backwash, estimation.air.air_outlook"),
        ("drain", "beadfilter.sludge.drain_plan, beadfilter.drain.drain_window"),
        ("forecast", "estimation.forecast.forecast, simulation.ensemble.Ensemble"),
    ):
        yield f"- {part}: {made[part]['say']} Readings: {_few(made[part]['readings'])}."
        yield f"  Functions: {names}."
    yield ""
    yield "| water | reading | state | readings |"
    yield "| --- | --- | --- | --- |"
    for row in made["water"]:
        readings = ", ".join(row["readings"])
        yield f"| {row['label']} | {row['in_words']} | {row['state']} | {readings} |"
    yield ""
    yield "| ahead | in 3 and 7 days |"
    yield "| --- | --- |"
    for band in made["forecast"]["quantities"]:
        words = "; ".join(after["say"] for after in band["in_words"])
        yield f"| {band['label']} | {words} |"
    yield ""


def _few(ids: list[str]) -> str:
    more = f" and {len(ids) - 4} more" if len(ids) > 4 else ""
    return f"{', '.join(ids[:4])}{more}" if ids else "none"


def main() -> None:
    """Write the page."""
    with tempfile.TemporaryDirectory() as folder:
        PAGE.write_text(page(demo_store(Path(folder))), encoding="utf-8")
    sys.stdout.write(f"{PAGE.relative_to(ROOT)}\n")


if __name__ == "__main__":
    main()
