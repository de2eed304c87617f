"""Findings on pumps, air and backwash: what stands still, what the float and the count say."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from tailrace.beadfilter.circuit import water_state
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.quality import newest
from tailrace.estimation.today import FloatCheck, Picture
from tailrace.husbandry.feed import fish_oxygen_use_kg_s
from tailrace.husbandry.limits import limits
from tailrace.quantities import Amount
from tailrace.water.oxygen import oxygen_saturation_g_m3

HOUR_S = 3600.0
DAY_S = 86400.0
FLOW_DIFFERS_FRAC = 0.15
COUNT_FRESH_S = 2 * DAY_S
SEEN_FRESH_S = 2 * DAY_S


def find(seen: Picture) -> Iterator[Finding]:
    """Yield what is out of order with the machine.

    Parameters
    ----------
    seen
        Everything known about now.

    Yields
    ------
    Finding
        In no order.
    """
    yield from _stopped(seen)
    yield from _needle_open(seen)
    yield from _overpowered(seen)
    yield from _flows_differ(seen)
    explained = seen.now.stopped or seen.now.needle_left_open or seen.air.stalls
    if not explained:  # float, count and silence would only say the same again
        yield from _float_off(seen)
        yield from _count_off(seen)
        yield from _not_seen(seen)


def _stopped(seen: Picture) -> Iterator[Finding]:
    for stopped in seen.now.stopped:
        left = oxygen_hours_left(seen)
        yield Finding(
            f"{stopped.what}_stopped",
            Weight.HARM,
            left.p05 or 0.0,
            amounts={
                "oxygen_left": left,
                "since": Amount("duration", seen.now.age_s(stopped.entry)),
            },
            entries=(stopped.entry.id, *seen.of("oxygen").entries),
        )


def oxygen_hours_left(seen: Picture) -> Amount:
    """Return the time from now until oxygen is short with no aeration and no flow.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    Amount
        A duration: fish alone at their mean use for its late end, at twice that for its early
        end, from a measured reading of the last half day or from 70 to 95 % of saturation.
    """
    site, oxygen = seen.now.site, seen.of("oxygen")
    full = oxygen_saturation_g_m3(seen.day.water_temperature_degc, 0.0, seen.day.barometric_pa_abs)
    low, high = 0.7 * full, 0.95 * full
    if oxygen.fresh and oxygen.interval is not None:
        low, high = oxygen.interval.low, min(full, oxygen.interval.high)
    floor = max(
        (
            limit.value
            for lot in site.stock
            for limit in limits(lot.species)
            if limit.quantity == "oxygen" and limit.level == "danger"
        ),
        default=2.0,
    )
    water_m3 = sum(tank.volume_m3 for tank in site.tanks)
    use_g_s = 1e3 * fish_oxygen_use_kg_s(max(seen.now.feeding.middle_kg, 1e-6) / DAY_S)

    def until(start: float, pace: float) -> float:
        return max(0.0, (start - floor) * water_m3 / (use_g_s * pace))

    middle = until(0.5 * (low + high), 1.4)
    return Amount("duration", middle, until(low, 2.0), until(high, 1.0))


def _needle_open(seen: Picture) -> Iterator[Finding]:
    entry = seen.now.needle_left_open
    if entry is not None:
        yield Finding(
            "needle_left_open",
            Weight.LIMIT,
            6 * HOUR_S,
            amounts={
                "since": Amount("duration", seen.now.age_s(entry)),
                "mark": Amount("air_float", seen.now.air_float.value),
            },
            entries=(entry.id, *seen.now.air_float.entries),
        )


def _overpowered(seen: Picture) -> Iterator[Finding]:
    air, opening = seen.air, seen.now.bypass
    if air.stall_share < 0.2 and not air.stalls:
        return
    newest_look = newest(seen.now, "air_float")
    look = (newest_look.id,) if newest_look else ()
    yield Finding(
        "overpowered" if air.stalls else "near_stall",
        Weight.LIMIT,
        6 * HOUR_S if air.stalls else DAY_S,
        amounts={
            "margin": air.margin,
            "stall_share": Amount("share", air.stall_share),
            "bypass": Amount("bypass_set", opening.value),
            "face": Amount("pressure", air.nominal.face_end_pa_gauge),
        },
        entries=opening.entries + seen.air_float.entries + look,
    )


def _float_off(seen: Picture) -> Iterator[Finding]:
    check = seen.float_check
    if check is None or not (check.low or check.high):
        return
    yield Finding(
        "float_low" if check.low else "float_high",
        Weight.LIMIT if check.low else Weight.UPKEEP,
        DAY_S,
        amounts=_float_facts(seen, check),
        entries=(*(entry.id for entry in check.entries), *seen.now.air_float.entries),
    )


def _float_facts(seen: Picture, check: FloatCheck) -> dict[str, Amount]:
    mark = seen.now.air_float.value
    facts = {
        "reading": Amount("air_float", check.reading_m3_s),
        "expected": Amount(
            "air_float",
            check.expected_m3_s,
            check.expected_m3_s - check.allowed_m3_s,
            check.expected_m3_s + check.allowed_m3_s,
        ),
        "looks": Amount("count", float(len(check.entries))),
        "mark": Amount("air_float", mark),
        "per_day": seen.air.per_day,
    }
    if check.low:
        facts |= _causes_of_low(seen, check.reading_m3_s / check.expected_m3_s, mark)
    return facts


def _causes_of_low(seen: Picture, ratio: float, mark: float) -> dict[str, Amount]:
    """Return what either cause alone would have to be: pressure, or film in the needle."""
    machine, opening = seen.now.site.filter.machine, seen.now.bypass.value
    gap = needle_gap_for_float_m(machine, opening, mark, seen.day)
    return {
        "back_pressure": Amount("pressure", seen.air.nominal.margin_start_pa * (1.0 - ratio)),
        "film": Amount("gap", gap * (1.0 - ratio ** (1.0 / 3.0))),
    }


def _count_off(seen: Picture) -> Iterator[Finding]:
    entry, expected = newest(seen.now, "backwash_count"), seen.air.per_day
    if entry is None or entry.interval is None or seen.now.age_s(entry) > COUNT_FRESH_S:
        return
    upset = seen.now.upset_at
    if upset is not None and (entry.taken_at - upset).total_seconds() < DAY_S:
        return  # the count spans a change of the setting
    assert expected.p05 is not None
    assert expected.p95 is not None
    low, high = entry.interval.high < expected.p05, entry.interval.low > expected.p95
    if low or high:
        air = seen.air.nominal
        yield Finding(
            "count_low" if low else "count_high",
            Weight.LIMIT if low else Weight.UPKEEP,
            DAY_S,
            amounts={
                "count": Amount("count", entry.interval.middle),
                "expected": expected,
                "air_ratio": Amount("share", entry.interval.middle / max(air.per_day, 1e-9)),
            },
            entries=(entry.id, *seen.air_float.entries),
        )


def _not_seen(seen: Picture) -> Iterator[Finding]:
    """No backwash was written down, seen or counted, for two days."""
    newest_seen = seen.now.last("backwash", "backwash_count")
    if newest_seen is not None and seen.now.age_s(newest_seen) <= SEEN_FRESH_S:
        return
    amounts = {"per_day": seen.air.per_day}
    if seen.air.interval is not None:
        amounts["interval"] = seen.air.interval
    if newest_seen is not None:
        amounts["since"] = Amount("days", seen.now.age_s(newest_seen))
    yield Finding(
        "backwash_not_seen",
        Weight.UPKEEP,
        6 * HOUR_S,
        amounts=amounts,
        entries=(newest_seen.id,) if newest_seen else (),
    )


def _flows_differ(seen: Picture) -> Iterator[Finding]:
    """Yield a timed flow that differs from the computed one by more than a bucket's error."""
    machine = seen.now.site.filter.machine
    for which in ("return", "bypass"):
        flow, opening, entries = _timed(seen, which)
        if flow is None or opening is None:
            continue
        state = water_state(machine, opening, seen.day)
        computed = state.filter_flow_m3_s if which == "return" else state.bypass_flow_m3_s
        if abs(flow - computed) > FLOW_DIFFERS_FRAC * max(computed, 1e-9):
            yield Finding(
                f"{which}_flow_differs",
                Weight.UPKEEP,
                7 * DAY_S,
                amounts={
                    "measured": Amount("water_flow", flow),
                    "computed": Amount("water_flow", computed),
                    "bypass": Amount("bypass_set", opening),
                },
                entries=entries,
            )


def _timed(seen: Picture, which: str) -> tuple[float | None, float | None, tuple[str, ...]]:
    """Return the newest timed flow with its opening: from the log, else from the site file."""
    entry = newest(seen.now, f"{which}_flow")
    if entry is not None and entry.interval is not None:
        return entry.interval.middle, _opening_at(seen, entry.taken_at), (entry.id,)
    measured = seen.now.site.filter.measured
    flow = measured.return_flow_m3_s if which == "return" else measured.bypass_flow_m3_s
    return flow, measured.bypass_open_frac, ()


def _opening_at(seen: Picture, moment: datetime) -> float:
    for entry in seen.now.of("bypass_set"):
        if entry.interval is not None and entry.taken_at <= moment:
            return entry.interval.middle
    return seen.now.site.filter.start.bypass_open_frac
