"""What to do about each finding: the amount, and by when.

One small function a kind of finding; the words are in `tailrace.reports`. An amount never goes
beyond common practice: a change of a quarter to a third of the water, never more in one go.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from tailrace.advice.air import AirAdvice
from tailrace.advice.drain import DrainAdvice
from tailrace.diagnosis import Finding, Weight
from tailrace.estimation.today import Picture
from tailrace.husbandry.limits import limits
from tailrace.quantities import Amount

LEAST_CHANGE, MOST_CHANGE = 0.25, 1.0 / 3.0
MOST_TOP_UP = 0.1
LOOK_AGAIN_S = 900.0


@dataclass(frozen=True, slots=True)
class Advised:
    """Everything that acts draw their amounts from.

    Parameters
    ----------
    seen
        Everything known about now.
    air, drain
        The advice on air and drain.
    """

    seen: Picture
    air: AirAdvice
    drain: DrainAdvice


@dataclass(frozen=True, slots=True)
class Attention:
    """A finding with what to do about it.

    Parameters
    ----------
    finding
        What was found.
    act
        Name of the act; several findings may share one.
    amounts
        Numbers of the act.
    by
        When it should be done.
    """

    finding: Finding
    act: str
    by: datetime
    amounts: Mapping[str, Amount] = field(default_factory=dict)


def attention(found: tuple[Finding, ...], advised: Advised) -> tuple[Attention, ...]:
    """Decide what to do about each finding.

    Parameters
    ----------
    found
        Findings in the order of attention.
    advised
        What the amounts are drawn from.

    Returns
    -------
    tuple of Attention
        In the same order.
    """
    return tuple(_attend(finding, advised) for finding in found)


def _attend(finding: Finding, advised: Advised) -> Attention:
    act, decide = _ACTS[finding.key]
    if finding.words.get("level") == "good":
        act, decide = "watch", _watch
    if act == "drain" and (advised.drain.window.refused or advised.seen.air.stalls):
        act, decide = "drain_later", _nothing
    within = 0.0 if finding.weight is Weight.HARM else finding.within_s
    return Attention(
        finding=finding,
        act=act,
        by=advised.seen.now.at + timedelta(seconds=within),
        amounts=decide(finding, advised),
    )


Decide = Callable[[Finding, Advised], dict[str, Amount]]


def _nothing(_finding: Finding, _advised: Advised) -> dict[str, Amount]:
    return {}


def _watch(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    return {
        "again": Amount("duration", 86400.0),
        "ration": Amount("feed_rate", advised.seen.now.site.ration_kg / 86400.0),
    }


def _test_ahead(finding: Finding, advised: Advised) -> dict[str, Amount]:
    """Return a time to test well before the limit may be passed, and the feed until then."""
    first = finding.amounts["first"].p50
    return {
        "within": Amount("duration", min(max(3600.0, 0.5 * first), 86400.0)),
        "ration": Amount("feed_rate", advised.seen.now.site.ration_kg / 86400.0),
    }


def _next_one(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    interval = advised.seen.air.interval
    return {"wait": interval or Amount("duration", 21600.0)}


def _look_again(_finding: Finding, _advised: Advised) -> dict[str, Amount]:
    return {"look_again": Amount("minutes", LOOK_AGAIN_S)}


def _setting(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    return {
        "bypass_to": Amount("bypass_set", advised.air.bypass_open_frac),
        "float_to": Amount("air_float", advised.air.air_float_m3_s),
        "per_day_then": advised.air.outlook.per_day,
        "margin_then": advised.air.outlook.margin,
    }


def _flush(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    return {
        "flush": Amount("seconds", 20.0),
        "float_to": Amount("air_float", advised.seen.now.air_float.value),
        **{k: v for k, v in _setting(_finding, advised).items() if k == "bypass_to"},
    }


def _change(finding: Finding, advised: Advised) -> dict[str, Amount]:
    """Return the share of the water to change: what dilution asks, within common practice."""
    seen = advised.seen
    reading, subject = finding.amounts["reading"], finding.key.rsplit("_", 1)[0]
    worst = reading.p95 if reading.p95 is not None else reading.p50
    made_up = _make_up(subject, seen)
    aim = _aim(subject, finding.key.rsplit("_", 1)[1], seen, finding.amounts["limit"].p50)
    wanted = (worst - aim) / (worst - made_up) if worst > made_up else MOST_CHANGE
    share = min(max(wanted, LEAST_CHANGE), MOST_CHANGE)
    return {
        "share": Amount("share", share),
        "volume": Amount("water_volume", share * seen.now.site.volume_m3),
        "after": Amount(subject, max(0.0, worst - share * (worst - made_up))),
    }


def _make_up(subject: str, seen: Picture) -> float:
    source = seen.now.site.source_water
    return (source.nitrate_n_g_m3 or 0.0) if subject == "nitrate" else 0.0


def _aim(subject: str, side: str, seen: Picture, otherwise: float) -> float:
    comfortable = [
        limit.value
        for limit in seen.of(subject).limits
        if limit.level == "good" and limit.side == side
    ]
    return min(comfortable, default=otherwise)


def _raise_alkalinity(finding: Finding, advised: Advised) -> dict[str, Amount]:
    """Return the change that brings alkalinity with the make-up water, when it has more."""
    seen = advised.seen
    source = seen.now.site.source_water.alkalinity_eq_m3
    reading = finding.amounts["reading"]
    low = reading.p05 if reading.p05 is not None else reading.p50
    if finding.key != "alkalinity_low" or source is None or source <= low:
        return {"share": Amount("share", LEAST_CHANGE), **_volume(LEAST_CHANGE, seen)}
    aim = finding.amounts["limit"].p50
    share = min(max((aim - low) / (source - low), LEAST_CHANGE), MOST_CHANGE)
    return {
        "share": Amount("share", share),
        **_volume(share, seen),
        "after": Amount("alkalinity", low + share * (source - low)),
    }


def _volume(share: float, seen: Picture) -> dict[str, Amount]:
    return {"volume": Amount("water_volume", share * seen.now.site.volume_m3)}


def _temperature(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    return {
        "step": Amount("temperature_step", 1.0),
        "ration_to": Amount("feed_rate", 0.5 * advised.seen.now.site.ration_kg / 86400.0),
    }


def _drain(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    drain = advised.drain
    return {
        "volume": drain.draw,
        "best": Amount("minutes", drain.window.best_s),
        "until": Amount("minutes", drain.window.closes_s),
    }


def _dead(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    seen = advised.seen
    began = float(sum(lot.count for lot in seen.now.site.stock))
    left = seen.now.fish_count.value / began if began else 1.0
    ration = min(1.0, left) * seen.now.site.ration_kg
    return {"ration_to": Amount("feed_rate", ration / 86400.0)}


def _feed_down(finding: Finding, _advised: Advised) -> dict[str, Amount]:
    return {"ration_to": finding.amounts["most"]}


def _top_up(finding: Finding, advised: Advised) -> dict[str, Amount]:
    """Return the most to add in a day: a sudden flood of make-up water is a water change."""
    most = MOST_TOP_UP * advised.seen.now.site.volume_m3
    return {"most": Amount("water_volume", min(most, finding.amounts["lost"].p50))}


def _oxygen_floor(seen: Picture) -> dict[str, Amount]:
    floors = [
        limit.value
        for lot in seen.now.site.stock
        for limit in limits(lot.species)
        if limit.quantity == "oxygen" and limit.level == "good"
    ]
    return {"aim": Amount("oxygen", max(floors))} if floors else {}


def _aerate(_finding: Finding, advised: Advised) -> dict[str, Amount]:
    return {"look_again": Amount("minutes", LOOK_AGAIN_S), **_oxygen_floor(advised.seen)}


_CHANGE = ("change_water", _change)
_ACTS: dict[str, tuple[str, Decide]] = {
    "power_stopped": ("aerate_by_battery", _look_again),
    "water_pump_stopped": ("restart_water", _look_again),
    "air_pump_stopped": ("restart_air", _setting),
    "needle_left_open": ("set_float", _flush),
    "overpowered": ("open_bypass", _setting),
    "near_stall": ("open_bypass", _setting),
    "float_low": ("flush_needle", _flush),
    "float_high": ("check_flow", _setting),
    "count_low": ("test_joints", _setting),
    "count_high": ("set_float_down", _setting),
    "backwash_not_seen": ("log_next", _next_one),
    "return_flow_differs": ("time_again", _nothing),
    "bypass_flow_differs": ("time_again", _nothing),
    "un_ionised_ammonia_high": _CHANGE,
    "total_ammonia_high": _CHANGE,
    "nitrite_high": _CHANGE,
    "nitrate_high": _CHANGE,
    "alkalinity_low": ("raise_alkalinity", _raise_alkalinity),
    "ph_low": ("hold_ph", _raise_alkalinity),
    "ph_high": ("hold_base", _nothing),
    "water_temperature_low": ("warm", _temperature),
    "water_temperature_high": ("cool", _temperature),
    "oxygen_low": ("aerate", _aerate),
    "kit_at_top_step": ("dilute_test", _nothing),
    "basis_unknown": ("say_basis", _nothing),
    "reading_doubtful": ("repeat_test", _nothing),
    "never_measured": ("test_once", _nothing),
    "alkalinity_not_measured": ("test_alkalinity", _nothing),
    "alkalinity_old": ("test_alkalinity", _nothing),
    "drain_due": ("drain", _drain),
    "drain_overdue": ("drain", _drain),
    "never_drained": ("drain", _drain),
    "fish_dead": ("look_at_fish", _dead),
    "overfed": ("feed_less", _feed_down),
    "written_twice": ("say_one_or_two", _nothing),
    "top_up_unwritten": ("top_up", _top_up),
    "feed_unwritten": ("write_feed", _nothing),
    "limit_ahead": ("test_ahead", _test_ahead),
}
