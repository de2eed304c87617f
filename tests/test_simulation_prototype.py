"""The fixture loop behaves as the trade says and the prototype found: signs and orderings only.

The numbers stand side by side in docs/theory/loop-against-prototype.md; that is a comparison
with another model, not a published check.
"""

from __future__ import annotations

import numpy as np
import pytest

from tests.loop_cases import (
    at_interval,
    best_interval_h,
    days_until,
    event,
    ladder,
    opened_on_day_8,
    start_up,
)
from tests.loops import DAY_S


def test_more_feed_means_more_ammonia_nitrite_and_solids_and_less_oxygen_and_ph() -> None:
    runs = [ladder(feed) for feed in (150.0, 300.0, 450.0, 600.0)]
    for name in ("total_ammonia", "nitrite", "solids", "nitrate_day"):
        assert np.all(np.diff([getattr(run, name) for run in runs]) > 0.0), name
    for name in ("ph", "oxygen"):
        assert np.all(np.diff([getattr(run, name) for run in runs]) < 0.0), name


def test_backwashing_too_often_and_too_rarely_both_cost_ammonia() -> None:
    often, best, rarely = (at_interval(450.0, h).total_ammonia for h in (0.5, 6.0, 24.0))
    assert often > best
    assert rarely > best
    assert 2.0 < best_interval_h(450.0) <= best_interval_h(150.0)


def test_frequent_backwashes_make_the_water_cloudy() -> None:
    solids = [at_interval(300.0, h).solids for h in (0.5, 2.0, 8.0)]
    assert solids[0] > solids[1] > solids[2]


def test_cold_water_ripens_later_and_nitrite_peaks_after_ammonia() -> None:
    warm, cold = start_up(28.0), start_up(18.0)
    assert warm.ammonia_day < warm.nitrite_day < warm.done_day
    assert warm.ammonia_day < cold.ammonia_day
    assert warm.nitrite_day < cold.nitrite_day
    assert warm.done_day < cold.done_day


def test_the_water_overpowers_the_air_at_a_small_bypass_and_opening_it_cures() -> None:
    shut = opened_on_day_8(0.30)
    assert not (shut.backwash_s < 8.0 * DAY_S).any()
    assert opened_on_day_8(0.65).backwash_s[0] < DAY_S
    after = shut.backwash_s[shut.backwash_s > 8.0 * DAY_S]
    assert after[0] < 10.0 * DAY_S
    held = shut["deposit_on_beads"]
    day_8, day_10 = (int(np.searchsorted(shut.times_s, d * DAY_S)) for d in (8, 10))
    assert held[day_8] > 100.0
    assert held[day_10] < 50.0


def test_without_backwashes_the_water_clears_before_it_clouds() -> None:
    quiet, none = event("nothing"), event("no backwashes")
    day_2, day_11 = (int(np.searchsorted(none.times_s, d * DAY_S)) for d in (22, 31))
    assert none["turbidity"][day_2] < quiet["turbidity"][day_2]
    assert none["turbidity"][day_11] > quiet["turbidity"][day_11]


def test_a_stopped_water_pump_and_uneaten_feed_raise_ammonia() -> None:
    quiet = event("nothing")
    assert days_until(quiet, "nitrite", 1.0) is None
    for name in ("water pump off", "150 g uneaten each day"):
        assert event(name)["total_ammonia"][-1] > quiet["total_ammonia"][-1], name
    assert event("150 g uneaten each day")["nitrite"][-1] > quiet["nitrite"][-1]


@pytest.mark.parametrize("bypass", [0.30, 0.65])
def test_the_balances_close_there_too(bypass: float) -> None:
    assert max(opened_on_day_8(bypass).balance_error.values()) < 1e-11
