"""How things stand: the log folded to a moment."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.logs import NOW, Log, prototype, stands

SITE = prototype()


def test_nothing_taken_later_is_used() -> None:
    log = Log().add("bypass_set", 5.0, 0.4).add("bypass_set", -1.0, 0.9)
    assert stands(SITE, log.entries).bypass.value == 0.4
    assert stands(SITE, log.entries, NOW + timedelta(hours=2)).bypass.value == 0.9


def test_the_log_wins_over_the_file() -> None:
    assert stands(SITE).bypass.from_file
    now = stands(SITE, Log().add("bypass_set", 5.0, 0.4).entries)
    assert (now.bypass.value, now.bypass.entries) == (0.4, ("e1",))


def test_a_day_without_a_feed_entry_is_the_usual_ration_with_a_wide_spread() -> None:
    fed = stands(SITE).feeding
    assert fed.days_not_written == 7
    assert fed.low_kg == pytest.approx(0.5 * SITE.ration_kg)
    assert fed.middle_kg == pytest.approx(SITE.ration_kg)
    assert fed.high_kg == pytest.approx(1.5 * SITE.ration_kg)


def test_days_with_entries_are_what_was_written() -> None:
    fed = stands(SITE, Log().fed_daily(kg=0.2).entries).feeding
    assert (fed.days_written, fed.days_not_written) == (7, 0)
    assert fed.low_kg == fed.middle_kg == fed.high_kg == pytest.approx(0.2)


def test_a_feeding_written_by_two_people_is_one_at_least_and_two_at_most() -> None:
    log = Log().fed_daily(kg=0.2)
    log.add("feed", 30.2, 0.2, who="A").add("feed", 30.1, 0.2, who="B")
    fed = stands(SITE, log.entries).feeding
    assert fed.low_kg == pytest.approx((7 * 0.2 + 0.2) / 7)
    assert fed.high_kg == pytest.approx((7 * 0.2 + 0.4) / 7)
    assert len(stands(SITE, log.entries).same_thing_twice()) == 1


def test_one_person_feeding_twice_is_two_feedings() -> None:
    log = Log().add("feed", 30.2, 0.2, who="A").add("feed", 30.1, 0.2, who="A")
    assert stands(SITE, log.entries).same_thing_twice() == ()


@pytest.mark.parametrize(
    "upset", ["air_set", "bypass_set", "power_on", "water_pump_on", "needle_fully_open"]
)
def test_a_backwash_before_an_upset_tells_nothing_of_the_next(upset: str) -> None:
    value = 0.7 if upset == "bypass_set" else 1.4e-6 if upset == "air_set" else None
    log = Log().add("backwash", 5.0)
    assert stands(SITE, log.entries).last_backwash is not None
    log.add(upset, 4.0, value)
    assert stands(SITE, log.entries).last_backwash is None
    log.add("backwash", 3.0)
    assert stands(SITE, log.entries).last_backwash is not None


def test_what_stopped_and_runs_again_does_not_stand() -> None:
    log = Log().add("power_off", 5.0).add("air_pump_off", 4.0)
    assert [s.what for s in stands(SITE, log.entries).stopped] == ["power", "air_pump"]
    log.add("power_on", 3.0)
    assert [s.what for s in stands(SITE, log.entries).stopped] == ["air_pump"]


def test_fish_are_counted_through_the_log() -> None:
    began = sum(lot.count for lot in SITE.stock)
    log = Log().add("fish_added", 50.0, 10.0).add("fish_dead", 3.0, 2.0)
    assert stands(SITE, log.entries).fish_count.value == began + 8
