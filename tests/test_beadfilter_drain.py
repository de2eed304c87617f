"""Sludge and drain: the plan, its hard cap, the window and its refusals.

Tables marked as the prototype's are those of another model; practice facts have no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import gamma, norm

from tailrace.beadfilter.charge import charge, fill_frac_at
from tailrace.beadfilter.circuit import water_state
from tailrace.beadfilter.drain import (
    BASE_EXPANSION_FRAC,
    air_expansion_frac,
    beads_lost_m3,
    drain_window,
    settled_frac,
    trigger_chance_frac,
)
from tailrace.beadfilter.machine import Mode, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.beadfilter.sludge import (
    MAXIMUM_DRAIN_M3,
    DrainLimit,
    SludgeRates,
    drain_plan,
    drain_strength_frac,
    drained_frac,
    sludge_after,
    solids_to_cone_kg_s,
)
from tailrace.errors import InputError
from tests.machines import DAY, LITRE, LITRE_MIN, MACHINE, SCFH, US_GALLON

DAY_S = 86400.0
WATER = water_state(MACHINE, 0.70, DAY)
GAP = needle_gap_for_float_m(MACHINE, 0.70, 0.175 * SCFH, DAY, water=WATER)
HEALTHY = charge(MACHINE, Setting(0.70, GAP), DAY, water=WATER)


def _feed(grams_a_day: float) -> float:
    return grams_a_day / 1000.0 / DAY_S


# Sludge -----------------------------------------------------------------------------------

TABLE = [
    # feed g/d, interval d, what limits it, sludge L; the prototype at 27 degC
    (57.0, 2.8, "age", 1.3),
    (113.0, 2.8, "age", 2.5),
    (200.0, 2.8, "age", 4.4),
    (300.0, 1.5, "volume", 4.5),
    (400.0, 0.96, "volume", 4.5),
    (454.0, 0.81, "volume", 4.5),
]


@pytest.mark.parametrize(("feed", "days", "limit", "litres"), TABLE)
def test_sludge_gathers_as_in_the_prototype(
    feed: float, days: float, limit: str, litres: float
) -> None:
    found = sludge_after(_feed(feed), days * DAY_S, temperature_degc=27.0)
    assert found.volume_m3 / LITRE == pytest.approx(litres, rel=0.05), limit


@pytest.mark.parametrize(("feed", "days", "limit", "litres"), TABLE)
def test_the_plan_is_near_the_prototype_but_for_the_cap(
    feed: float, days: float, limit: str, litres: float
) -> None:
    # The prototype lets 4.5 L gather, whose draw is 2.1 gal; the cap of 2 gal comes sooner.
    plan = drain_plan(_feed(feed), 0.35, temperature_degc=27.0)
    capped = min(1.0, MAXIMUM_DRAIN_M3 / 1.75 / LITRE / litres)
    assert plan.interval_s / DAY_S <= days * 1.01
    assert plan.interval_s / DAY_S == pytest.approx(days * capped, rel=0.06)
    assert plan.sludge_volume_m3 / LITRE == pytest.approx(litres * capped, rel=0.05)
    if feed != 200.0:
        assert plan.limit == limit


@settings(max_examples=60, deadline=None)
@given(
    feed=st.floats(0.0, 20.0),
    protein=st.floats(0.0, 0.6),
    warm=st.floats(8.0, 34.0),
    dilute=st.floats(4.0, 20.0),
    cone=st.floats(0.002, 0.1),
)
def test_no_drain_above_two_gallons(
    feed: float, protein: float, warm: float, dilute: float, cone: float
) -> None:
    plan = drain_plan(
        feed / DAY_S,
        protein,
        temperature_degc=warm,
        cone_volume_m3=cone,
        rates=SludgeRates(fresh_kg_m3=dilute),
    )
    assert 0.0 <= plan.draw_m3 <= 2.0 * US_GALLON
    assert plan.draw_m3 == pytest.approx(1.75 * plan.sludge_volume_m3, rel=1e-6)


def test_small_feed_is_drained_each_two_to_three_days_and_large_feed_daily() -> None:
    # Common practice, no source: below a quarter pound each 2-3 days, above it daily, 1-2 gal.
    small = drain_plan(_feed(100.0), 0.35, temperature_degc=27.0)
    large = drain_plan(_feed(450.0), 0.35, temperature_degc=27.0)
    assert 2.0 <= small.interval_s / DAY_S <= 3.0
    assert 0.5 <= large.interval_s / DAY_S <= 1.2
    assert 1.0 <= large.draw_m3 / US_GALLON <= 2.0


def test_cool_sludge_may_be_older_and_starved_fish_leave_none() -> None:
    cool = drain_plan(_feed(50.0), 0.35, temperature_degc=20.0)
    warm = drain_plan(_feed(50.0), 0.35, temperature_degc=27.0)
    assert cool.interval_s > warm.interval_s
    none = drain_plan(0.0, 0.35, temperature_degc=27.0)
    assert (none.draw_m3, none.limit) == (0.0, DrainLimit.AGE)


def test_old_warm_sludge_of_a_lean_feed_is_drained_for_its_nitrogen() -> None:
    lean = drain_plan(_feed(20.0), 0.05, temperature_degc=32.0)
    assert lean.limit is DrainLimit.NITROGEN


@given(st.floats(1.0, 2000.0), st.floats(0.1, 20.0), st.floats(10.0, 32.0))
@settings(max_examples=30, deadline=None)
def test_solids_balance_closes(grams: float, days: float, warm: float) -> None:
    # What came less what decayed; the decayed part has a closed form of its own.
    found = sludge_after(_feed(grams), days * DAY_S, temperature_degc=warm)
    rates = SludgeRates()
    came = solids_to_cone_kg_s(_feed(grams)) * days * DAY_S
    decay = rates.decay_at_per_s(warm)
    left = (1.0 - math.exp(-decay * days * DAY_S)) / (decay * days * DAY_S)
    degradable = rates.degradable_frac * came * left
    assert found.degradable_kg == pytest.approx(degradable, rel=1e-5)
    assert found.dry_kg == pytest.approx(
        (1.0 - rates.degradable_frac) * came + degradable, rel=1e-5
    )


@pytest.mark.parametrize("shape", [2.0, 6.0])
@pytest.mark.parametrize("share", [0.3, 1.0, 1.38, 1.75])
def test_what_is_out_is_the_integral_of_the_stream(share: float, shape: float) -> None:
    strength = drain_strength_frac(share, 1.0, shape=shape)
    assert strength == pytest.approx(gamma.sf(shape * share, shape), abs=1e-12)
    out, _ = quad(lambda v: drain_strength_frac(v, 1.0, shape=shape), 0.0, share)
    assert drained_frac(share, 1.0, shape=shape) == pytest.approx(out, abs=1e-9)


def test_black_then_clear_as_in_the_prototype() -> None:
    assert drained_frac(1.38, 1.0) == pytest.approx(0.95, abs=0.005)
    assert drained_frac(1.75, 1.0) == pytest.approx(0.987, abs=0.0005)
    assert drained_frac(1.75, 1.0, shape=2.0) == pytest.approx(0.92, abs=0.005)


def test_impossible_feed_and_protein_are_said() -> None:
    with pytest.raises(InputError, match=r"feed is -1 kg/day"):
        drain_plan(-1.0 / DAY_S, 0.35, temperature_degc=27.0)
    with pytest.raises(InputError, match=r"protein is 35 of the feed.*percent"):
        drain_plan(_feed(300.0), 35.0, temperature_degc=27.0)


# Drain window -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fill", "slow", "fast"),
    [
        (0.5, 0.0, 0.0),
        (0.8, 0.0, 0.0004),
        (0.85, 0.0002, 0.05),
        (0.90, 0.04, 0.56),
        (0.92, 0.14, 0.80),
        (0.95, 0.49, 0.97),
        (0.98, 0.85, 1.0),
    ],
)
def test_chance_of_a_backwash_is_the_prototype_s(fill: float, slow: float, fast: float) -> None:
    for expected, fill_s in ((slow, 15300.0), (fast, 420.0)):
        got = trigger_chance_frac(fill, 0.05, 25.0, fill_s)
        assert got == pytest.approx(expected, abs=0.006)
        assert got == pytest.approx(norm.cdf((fill * 1.05 + 25.0 / fill_s - 1.0) / 0.03))


@pytest.mark.parametrize(
    ("since", "settled", "beads_ml"),
    [(30.0, 0.33, 210.0), (60.0, 0.55, 47.0), (120.0, 0.80, 2.0), (180.0, 0.91, 0.1)],
)
def test_settling_and_beads_at_risk_are_the_prototype_s(
    since: float, settled: float, beads_ml: float
) -> None:
    assert settled_frac(since) == pytest.approx(settled, abs=0.005)
    lost = beads_lost_m3(0.0, 20.0 * LITRE_MIN, 25.0, since)
    assert lost * 1e6 == pytest.approx(beads_ml, rel=0.05, abs=0.5)


@pytest.mark.parametrize(("drain", "share"), [(10.0, 0.014), (20.0, 0.026), (35.0, 0.041)])
def test_opening_the_drain_expands_the_air_as_in_the_prototype(drain: float, share: float) -> None:
    got = air_expansion_frac(HEALTHY, MACHINE, 0.9, drain_flow_m3_s=drain * LITRE_MIN)
    assert got == pytest.approx(share, abs=0.001)
    base = charge(MACHINE, Setting(0.70, GAP), DAY, mode=Mode.BASE, water=WATER)
    flow = drain * LITRE_MIN
    assert air_expansion_frac(base, MACHINE, 0.9, drain_flow_m3_s=flow) == BASE_EXPANSION_FRAC


def test_the_window_is_one_to_three_minutes_after_a_backwash() -> None:
    # Common practice, no source.
    window = drain_window(HEALTHY, MACHINE)
    assert not window.refused
    assert (window.best_s, window.closes_s) == (60.0, 180.0)
    assert window.opens_s < window.best_s
    assert window.warn_s < window.refuse_s < HEALTHY.fill_s
    assert fill_frac_at(HEALTHY, window.warn_s) == pytest.approx(0.7)
    assert window.beads_lost_opens_m3 > window.beads_lost_best_m3 > window.beads_lost_closes_m3
    assert "guesswork" in window.caution
    assert "hydrogen sulphide" in window.caution


@pytest.mark.parametrize("gap", [math.inf, 2e-4])
def test_never_with_the_needle_fully_open(gap: float) -> None:
    window = drain_window(charge(MACHINE, Setting(0.70, gap), DAY, water=WATER), MACHINE)
    assert window.refused
    assert "Put the needle back to its mark" in window.why


def test_fully_open_is_refused_however_slow_the_charge() -> None:
    slow = charge(MACHINE, Setting(0.50, math.inf), DAY)
    assert slow.fill_s > 1000.0
    assert drain_window(slow, MACHINE).refused


def test_never_when_the_return_would_stop() -> None:
    window = drain_window(HEALTHY, MACHINE, drain_flow_m3_s=70.0 * LITRE_MIN)
    assert window.refused
    assert "the return would stop" in window.why


@pytest.mark.parametrize(
    "case",
    [
        Setting(0.30, GAP),
        Setting(0.70, 0.0),
    ],
)
def test_never_without_backwashes(case: Setting) -> None:
    window = drain_window(charge(MACHINE, case, DAY), MACHINE)
    assert window.refused
    assert "get backwashes going first" in window.why


def test_never_more_than_two_gallons_at_once() -> None:
    with pytest.raises(InputError, match=r"draw is 10 L.*2 US gal.*Drain sooner"):
        drain_window(HEALTHY, MACHINE, draw_m3=0.010)
    with pytest.raises(InputError, match="Time a bucket"):
        drain_window(HEALTHY, MACHINE, drain_flow_m3_s=0.0)


def test_beads_lost_never_exceed_the_bead_bed() -> None:
    tiny = replace(MACHINE, bed=replace(MACHINE.bed, volume_m3=1e-9))
    window = drain_window(HEALTHY, tiny)
    assert window.beads_lost_opens_m3 <= 1e-9
