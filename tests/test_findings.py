"""What is found, and what is done about it, from logs made up for each case."""

from __future__ import annotations

import math

import pytest

from tailrace.advice.acts import Advised, Attention, attention
from tailrace.advice.air import SCFH_M3_S, air_advice
from tailrace.advice.drain import drain_advice
from tailrace.advice.next_backwash import next_backwash
from tailrace.diagnosis import Weight, findings
from tailrace.estimation.today import Picture, picture
from tests.logs import Log, prototype, stands

SITE = prototype()


def seen(log: Log) -> Picture:
    return picture(stands(SITE, log.entries))


def lines(log: Log) -> dict[str, Attention]:
    now = seen(log)
    advised = Advised(now, air_advice(now), drain_advice(now))
    return {line.finding.key: line for line in attention(findings(now), advised)}


def well_kept() -> Log:
    """A log of a loop in which nothing needs doing."""
    log = Log().fed_daily()
    log.add("drain", 10.0, 0.007).add("backwash", 10.1).add("backwash", 2.0)
    log.add("top_up", 20.0, 0.02).add("water_temperature", 6.0, 27.0)
    log.add("ph", 6.0, 7.0).add("total_ammonia", 6.0, 0.4).add("nitrite", 6.0, 0.1)
    log.add("nitrate", 6.0, 20.0).add("oxygen", 6.0, 6.5).add("alkalinity", 6.0, 1.2)
    return log


def test_nothing_to_do_is_nothing_found() -> None:
    assert lines(well_kept()) == {}


@pytest.mark.parametrize("what", ["power", "water_pump", "air_pump"])
def test_what_stands_still_comes_first_with_the_hours_that_oxygen_lasts(what: str) -> None:
    found = findings(seen(well_kept().add(f"{what}_off", 0.5)))
    assert found[0].key == f"{what}_stopped"
    assert found[0].weight is Weight.HARM
    left = found[0].amounts["oxygen_left"]
    assert left.p05 is not None
    assert left.p95 is not None
    assert 0.0 < left.p05 < left.p50 < left.p95


def test_less_oxygen_measured_leaves_fewer_hours() -> None:
    def hours(oxygen: float) -> float:
        log = well_kept().add("oxygen", 1.0, oxygen).add("power_off", 0.5)
        return findings(seen(log))[0].amounts["oxygen_left"].p50

    assert hours(4.0) < hours(7.0)


def test_a_bypass_shut_too_far_is_overpowered_and_opening_it_cures() -> None:
    found = lines(well_kept().add("bypass_set", 5.0, 0.2))
    line = found["overpowered"]
    assert line.act == "open_bypass"
    assert line.amounts["bypass_to"].p50 >= 0.5
    assert line.amounts["per_day_then"].p50 > 4.0
    assert "float_low" not in found  # the same thing is not said twice


def test_a_low_float_is_found_with_both_causes() -> None:
    log = well_kept()
    for day in range(5):
        log.add("air_float", 24.0 * day + 3.0, 0.08 * SCFH_M3_S)
    line = lines(log)["float_low"]
    assert line.finding.amounts["film"].p50 > 1e-6
    assert line.finding.amounts["back_pressure"].p50 > 500.0
    assert line.act == "flush_needle"


def test_one_float_reading_within_its_error_is_not_news() -> None:
    assert "float_low" not in lines(well_kept().add("air_float", 3.0, 0.15 * SCFH_M3_S))


@pytest.mark.parametrize(("count", "key"), [(1.0, "count_low"), (15.0, "count_high")])
def test_a_count_the_air_cannot_give(count: float, key: str) -> None:
    assert key in lines(well_kept().add("backwash_count", 3.0, count))


def test_a_count_over_a_changed_setting_says_nothing() -> None:
    log = well_kept().add("air_set", 10.0, 0.175 * SCFH_M3_S).add("backwash_count", 3.0, 1.0)
    assert "count_low" not in lines(log)


def test_a_needle_left_open_is_set_back_to_its_mark() -> None:
    log = well_kept().add("air_set", 50.0, 0.175 * SCFH_M3_S).add("needle_fully_open", 8.0)
    line = lines(log)["needle_left_open"]
    assert line.amounts["float_to"].p50 == pytest.approx(0.175 * SCFH_M3_S)


def test_no_drain_with_the_needle_fully_open() -> None:
    log = well_kept().add("needle_fully_open", 8.0)
    log.entries = [e for e in log.entries if e.subject != "drain"]
    assert drain_advice(seen(log)).window.refused
    assert lines(log)["never_drained"].act == "drain_later"


def test_a_drain_is_never_above_two_us_gallons() -> None:
    log = well_kept()
    log.entries = [e for e in log.entries if e.subject != "feed"]
    now = seen(log.fed_daily(kg=0.6))
    assert now.sludge.draw.p95 is not None
    assert now.sludge.draw.p95 <= 2 * 3.785411784e-3 * (1 + 1e-9)
    assert now.sludge.plan.interval_s < 86400.0


def test_three_ppm_of_ammonia_is_judged_by_its_toxic_part_at_high_ph() -> None:
    low = lines(well_kept().add("total_ammonia", 1.0, 2.9).add("ph", 1.0, 7.0))
    high = lines(well_kept().add("total_ammonia", 1.0, 2.9).add("ph", 1.0, 8.4))
    assert "un_ionised_ammonia_high" not in low
    assert high["un_ionised_ammonia_high"].act == "change_water"
    assert "total_ammonia_high" not in high


def test_a_water_change_is_a_quarter_to_a_third() -> None:
    log = well_kept().add("nitrite", 1.0, 3.0)
    line = lines(log)["nitrite_high"]
    assert 0.25 <= line.amounts["share"].p50 <= 1.0 / 3.0
    volume = line.amounts["share"].p50 * SITE.volume_m3
    assert line.amounts["volume"].p50 == pytest.approx(volume)
    assert line.amounts["after"].p50 == pytest.approx(3.0 * (1.0 - line.amounts["share"].p50))


def test_a_basis_not_known_is_asked_about_and_the_worse_is_used() -> None:
    log = well_kept().add("nitrite", 1.0, bases=(("N", 1.2), ("NO2", 1.2 / 3.284)))
    found = lines(log)
    assert found["basis_unknown"].finding.words["bases"] == "N, NO2"
    assert found["nitrite_high"].finding.words["surely"] == "perhaps"


def test_the_top_step_is_at_least_and_asks_for_dilution() -> None:
    log = well_kept().add("total_ammonia", 1.0, 7.0, math.inf)
    assert lines(log)["kit_at_top_step"].act == "dilute_test"


def test_without_alkalinity_the_round_asks_for_it() -> None:
    log = well_kept()
    log.entries = [e for e in log.entries if e.subject != "alkalinity"]
    assert "computed" in lines(log)["alkalinity_not_measured"].finding.amounts


def test_a_quantity_never_measured_has_a_computed_range() -> None:
    log = well_kept()
    log.entries = [e for e in log.entries if e.subject != "oxygen"]
    oxygen = seen(log).of("oxygen")
    assert oxygen.interval is None
    assert oxygen.range_if_not_measured is not None
    assert oxygen.range_if_not_measured.p95 is not None
    assert oxygen.range_if_not_measured.p95 < 8.2


def test_order_is_harm_then_limits_then_upkeep() -> None:
    log = well_kept().add("power_off", 0.5).add("nitrite", 1.0, 2.0)
    log.entries = [e for e in log.entries if e.subject != "drain"]
    weights = [f.weight for f in findings(seen(log))]
    assert weights == sorted(weights)
    assert set(weights) == {Weight.HARM, Weight.LIMIT, Weight.UPKEEP}


def test_two_people_one_dose_is_asked_about() -> None:
    log = well_kept().add("bicarbonate_dose", 9.0, 0.05, who="A")
    log.add("bicarbonate_dose", 8.8, 0.05, who="B")
    assert lines(log)["written_twice"].act == "say_one_or_two"


def test_dead_fish_are_never_passed_over() -> None:
    assert lines(well_kept().add("fish_dead", 5.0, 1.0))["fish_dead"].act == "look_at_fish"


def test_every_finding_has_words_and_an_act() -> None:
    from tailrace.advice.acts import _ACTS  # noqa: PLC0415  # the table is the subject
    from tailrace.reports.sentences import templates  # noqa: PLC0415

    assert set(_ACTS) == set(templates()["finding"])
    extra = {"watch", "drain_later"}
    assert {act for act, _ in _ACTS.values()} | extra == set(templates()["act"])


def test_a_time_for_the_next_backwash_only_with_one_logged_since_the_last_upset() -> None:
    log = well_kept()
    coming = next_backwash(seen(log))
    assert coming.likely is not None
    assert coming.entries
    after = next_backwash(seen(log.add("power_off", 1.5).add("power_on", 1.0)))
    assert after.likely is None
    assert "since the last power cut" in after.why_not
