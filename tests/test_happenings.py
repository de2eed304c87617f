"""The log as a schedule, and the balances of both demonstration sites over their whole log."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from tailrace.estimation.happenings import DAY_S, happenings
from tailrace.estimation.today import picture
from tailrace.operations.record import newest_moment, open_record, site_reading, standing_at
from tailrace.simulation.assemble import assemble
from tailrace.simulation.events import Feeding, SettingChanged, Switched, TopUp
from tailrace.simulation.run import simulate
from tests.logs import DEMOS, NOW, Log, prototype, stands
from tests.pages_round import PAGE, behind

SITE = prototype()


def events(log: Log, days: float = 7.0, ahead: float = 0.0) -> list[object]:
    seen = picture(stands(SITE, log.entries))
    since = NOW - timedelta(days=days)
    return list(happenings(seen.now, seen.day, seen.sludge, since=since, ahead_s=ahead).schedule)


def test_days_without_feed_are_fed_the_usual_ration() -> None:
    meals = [e for e in events(Log()) if isinstance(e, Feeding)]
    assert len(meals) in {13, 14}
    assert meals[0].feed_kg == pytest.approx(0.5 * SITE.ration_kg)


def test_a_flushed_needle_is_no_change_of_setting() -> None:
    mark = SITE.filter.start.air_float_m3_s
    log = Log().add("needle_fully_open", 20.0).add("air_set", 19.9, mark)
    assert not [e for e in events(log) if isinstance(e, SettingChanged)]
    left = Log().add("needle_fully_open", 20.0)
    assert len([e for e in events(left) if isinstance(e, SettingChanged)]) == 1


def test_power_off_and_on_are_switches() -> None:
    log = Log().add("power_off", 20.0).add("power_on", 19.0)
    assert [e.on for e in events(log) if isinstance(e, Switched)] == [False, True]


def test_a_forgotten_top_up_is_taken_to_have_been_done() -> None:
    near = Log()
    for day in range(8):
        near.add("top_up", 24.0 * day + 3.0, 0.01)
    assert len([e for e in events(Log()) if isinstance(e, TopUp)]) >= 7
    assert {e.added_m3 for e in events(near) if isinstance(e, TopUp)} == {0.01}


@pytest.mark.parametrize("name", DEMOS)
def test_every_balance_closes_over_the_whole_log(demo_home: Path, name: str) -> None:
    store = open_record(str(demo_home))
    site = site_reading(store, name).site
    at = newest_moment(store, site)
    assert at is not None
    seen = picture(standing_at(store, site, at))
    since = at - timedelta(days=45)
    done = happenings(seen.now, seen.day, seen.sludge, since=since, ahead_s=0.0)
    loop = replace(assemble(site), setting=done.setting)
    made = simulate(loop, schedule=done.schedule, until_s=45 * DAY_S)
    assert max(made.balance_error.values()) < 1e-9, made.balance_error
    assert {"top-up: water", "drain: water", "evaporated: water"} <= set(made.ledgers)


def test_the_page_of_both_rounds_names_the_functions_behind_each_line() -> None:
    text = PAGE.read_text(encoding="utf-8")
    for name in DEMOS:
        assert text.count(f"## {'Lantern' if name.startswith('lantern') else 'Millrace'}") == 2
    assert text.count("functions: ") >= 20
    for names in (behind("float_low"), behind("ph_high"), behind("limit_ahead")):
        for function in names.split(", "):
            module, _, attribute = function.partition(".")
            assert module in {"estimation", "beadfilter", "husbandry", "advice", "diagnosis"}
            assert attribute
