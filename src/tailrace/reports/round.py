"""The round as one documented object (see docs/round.md); screen, page and JSON show it alike."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tailrace.advice.acts import Attention
from tailrace.advice.air import AirAdvice
from tailrace.advice.checks import Check
from tailrace.advice.drain import DrainAdvice
from tailrace.advice.next_backwash import NextBackwash
from tailrace.beadfilter.sludge import MAXIMUM_DRAIN_M3
from tailrace.diagnosis import Weight
from tailrace.estimation.bands import Forecast
from tailrace.estimation.quality import Quality
from tailrace.estimation.today import Picture
from tailrace.husbandry.limits import species
from tailrace.quantities import Amount
from tailrace.reports.assumptions import assumptions
from tailrace.reports.forecast import forecast_object
from tailrace.reports.sentences import sentences
from tailrace.reports.vessel import vessel_object
from tailrace.reports.view import View
from tailrace.reports.words import label_of

_WEIGHTS = {Weight.HARM: "act first", Weight.LIMIT: "limit", Weight.UPKEEP: "upkeep"}
_LEVELS = {"danger": "can harm within hours", "act": "act today", "good": "not comfortable"}
_BASIS = {"age": "the age of the sludge", "volume": "its volume"}

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Round:
    """Everything that a round shows.

    Parameters
    ----------
    seen
        Everything known about now.
    attention, checks
        What needs attention, and the checks.
    air, drain, next_backwash
        The advice on air and drain, and the next backwash.
    ahead
        The water ahead; None where none was made.
    said_of_file
        What the site's file left to defaults, in words.
    version
        Version of the code.
    """

    seen: Picture
    attention: tuple[Attention, ...]
    checks: tuple[Check, ...]
    air: AirAdvice
    drain: DrainAdvice
    next_backwash: NextBackwash
    ahead: Forecast | None
    said_of_file: tuple[str, ...]
    version: str


def round_object(made: Round, view: View) -> Json:
    """Write a round as one object.

    Parameters
    ----------
    made
        The round.
    view
        How the person sees the site.

    Returns
    -------
    dict
        Documented in docs/round.md.
    """
    site, now = made.seen.now.site, made.seen.now
    return {
        "site": {
            "name": site.name,
            "title": site.title,
            "invented": site.invented,
            "zone": site.zone,
        },
        "at": view.iso(now.at),
        "units": view.family.value,
        "checks": [_check(check, view, now.at) for check in made.checks],
        "attention": [_line(line, view, now.at) for line in made.attention],
        "backwash": backwash_object(made.seen, made.air, made.next_backwash, view),
        "drain": drain_object(made.seen, made.drain, view),
        "water": [_quality(quality, view) for quality in made.seen.quality],
        "forecast": None if made.ahead is None else forecast_object(made.ahead, view),
        "seed": None if made.ahead is None else made.ahead.seed,
        "assumed": list(assumptions(made.seen, made.said_of_file, view)),
        "not_measured": list(_not_measured(made.seen.quality, view)),
        "version": made.version,
    }


def _check(check: Check, view: View, at: datetime) -> Json:
    return {
        "key": check.key,
        "what": check.what,
        "how": check.how,
        "place": check.place,
        "due": view.iso(check.due_at),
        "due_in_words": "now" if check.due_now else view.clock(check.due_at, at),
        "due_now": check.due_now,
        "last": None if check.last_at is None else view.iso(check.last_at),
        "last_in_words": "never" if check.last_at is None else view.clock(check.last_at, at),
        "readings": list(check.entries),
    }


def _line(line: Attention, view: View, at: datetime) -> Json:
    words = sentences(line, view)
    amounts = {**line.finding.amounts, **line.amounts}
    by = view.clock(line.by, at)
    return {
        "key": line.finding.key,
        "weight": _WEIGHTS[line.finding.weight],
        "title": words.title,
        "seen": words.seen,
        "means": words.means,
        "do": words.do,
        "by": view.iso(line.by),
        "by_in_words": "now" if line.by <= at else by,
        "caution": words.caution,
        "numbers": {name: view.figure(a).as_object() for name, a in sorted(amounts.items())},
        "readings": list(line.finding.entries),
    }


def backwash_object(seen: Picture, air: AirAdvice, coming: NextBackwash, view: View) -> Json:
    """Write the air side as an object: the setting, what it gives, what is recommended.

    Parameters
    ----------
    seen
        Everything known about now.
    air
        The setting recommended.
    coming
        The next backwash.
    view
        How the person sees the site.

    Returns
    -------
    dict
        Section ``backwash`` of the round.
    """
    now = seen.air
    readings = (
        *seen.now.bypass.entries,
        *seen.now.air_float.entries,
        *seen.air_float.entries,
        *coming.entries,
    )
    return {
        "setting": {
            "bypass": _json(view, Amount("bypass_set", seen.now.bypass.value)),
            "air_float": _json(view, Amount("air_float", seen.now.air_float.value)),
        },
        "per_day": _json(view, now.per_day),
        "interval": None if now.interval is None else _json(view, now.interval),
        "margin": _json(view, now.margin),
        "stall_chance": _json(view, Amount("share", now.stall_share)),
        "float_after": _json(view, now.float_start),
        "float_before": _json(view, now.float_end),
        "face_pressure": _json(view, Amount("pressure", now.nominal.face_end_pa_gauge)),
        "filter_flow": _json(view, Amount("water_flow", now.nominal.filter_flow_m3_s)),
        "next": _next(coming, view),
        "say": _next_in_words(seen, coming, view),
        "recommended": _recommended(air, view),
        "first_two_hours": [
            {
                "after": _json(view, Amount("minutes", since)),
                "air_float": _json(view, Amount("air_float", reading)),
            }
            for since, reading in air.looks
        ],
        "vessel": vessel_object(seen, coming, view),
        "mode": now.nominal.mode.value,
        "readings": list(dict.fromkeys(readings)),
    }


def _recommended(air: AirAdvice, view: View) -> Json:
    cure = air.curing_bypass_frac
    return {
        "keep": air.keep,
        "bypass": _json(view, Amount("bypass_set", air.bypass_open_frac)),
        "air_float": _json(view, Amount("air_float", air.air_float_m3_s)),
        "per_day": _json(view, air.outlook.per_day),
        "margin": _json(view, air.outlook.margin),
        "margin_enough": air.enough,
        "least_bypass": None if cure is None else _json(view, Amount("bypass_set", cure)),
    }


def _next(coming: NextBackwash, view: View) -> Json | None:
    if coming.likely is None or coming.earliest is None or coming.latest is None:
        return None
    return {
        "earliest": view.iso(coming.earliest),
        "likely": view.iso(coming.likely),
        "latest": view.iso(coming.latest),
    }


def _next_in_words(seen: Picture, coming: NextBackwash, view: View) -> str:
    interval = seen.air.interval
    every = f" One comes each {view.figure(interval)}." if interval else ""
    if coming.likely is None or coming.earliest is None or coming.latest is None:
        return f"No clock time: {coming.why_not}.{every} Log the next one you see."
    at = seen.now.at
    times = (view.clock(t, at) for t in (coming.likely, coming.earliest, coming.latest))
    likely, earliest, latest = times
    return f"Next backwash about {likely} (between {earliest} and {latest}).{every}"


def drain_object(seen: Picture, drain: DrainAdvice, view: View) -> Json:
    """Write the drain as an object.

    Parameters
    ----------
    seen
        Everything known about now.
    drain
        The drain recommended.
    view
        How the person sees the site.

    Returns
    -------
    dict
        Section ``drain`` of the round.
    """
    window, at = drain.window, seen.now.at
    due = "now" if drain.due_at is None or drain.due_at <= at else view.clock(drain.due_at, at)
    minutes = {
        name: Amount("minutes", seconds)
        for name, seconds in (
            ("opens", window.opens_s),
            ("best", window.best_s),
            ("closes", window.closes_s),
        )
    }
    why = window.why or "without a backwash first, beads would go out with the sludge"
    say = (
        f"Do not drain now: {why}. Set the air first."
        if window.refused or seen.air.stalls
        else f"Drain every {view.figure(drain.every)}, {view.figure(drain.draw):mid} each time, "
        f"{view.figure(minutes['best']):mid} after a backwash, still good to "
        f"{view.figure(minutes['closes']):mid}; due {due}."
    )
    return {
        "every": _json(view, drain.every),
        "draw": _json(view, drain.draw),
        "due": None if drain.due_at is None else view.iso(drain.due_at),
        "window": {name: _json(view, amount) for name, amount in minutes.items()},
        "beads_at_risk": {
            "best": _json(view, Amount("bead_volume", window.beads_lost_best_m3)),
            "closes": _json(view, Amount("bead_volume", window.beads_lost_closes_m3)),
        },
        "sludge_now": None if drain.volume_now is None else _json(view, drain.volume_now),
        "set_by": _BASIS.get(drain.limit, drain.limit),
        "refused": window.refused,
        "say": say,
        "caution": (
            "Never late in a charge, never with the needle fully open, never above "
            f"{view.figure(Amount('sludge_volume', MAXIMUM_DRAIN_M3)):mid}. How many beads go "
            "is a guess: their geometry was never measured."
        ),
        "readings": list(drain.entries),
    }


def _quality(quality: Quality, view: View) -> Json:
    interval = quality.interval
    amount = None
    if interval is not None:
        certain = interval.low == interval.high
        amount = (
            Amount(quality.subject, interval.low)
            if certain
            else Amount(quality.subject, interval.middle, interval.low, interval.high)
        )
    beyond = quality.beyond
    state = "not measured" if amount is None else _no_limit_passed(quality)
    if beyond is not None:
        state = _LEVELS[beyond.limit.level] + ("" if beyond.surely else " (perhaps)")
    if amount is not None and not quality.fresh:
        state += ", old"
    figure = None if amount is None else view.figure(amount)
    return {
        "quantity": quality.subject,
        "label": label_of(quality.subject),
        "reading": None if figure is None else figure.as_object(),
        "in_words": "not measured" if figure is None else f"{figure:span}",
        "computed": quality.computed,
        "age": None if amount is None else _json(view, Amount("duration", quality.age_s)),
        "state": state,
        "limits": [_limit(quality, place, view) for place in range(len(quality.limits))],
        "readings": list(quality.entries),
    }


def _no_limit_passed(quality: Quality) -> str:
    if quality.subject == "total_ammonia" and not quality.limits:
        return "judged by its toxic part at this pH"
    return "within the limits" if quality.limits else "no limit known"


def _limit(quality: Quality, place: int, view: View) -> Json:
    limit = quality.limits[place]
    return {
        "species": species()[limit.species].name,
        "side": limit.side,
        "level": _LEVELS[limit.level],
        "limit": _json(view, Amount(quality.subject, limit.value)),
        "source": limit.source,
        "obtained": limit.obtained,
    }


def _not_measured(water: Iterable[Quality], view: View) -> Iterable[Json]:
    for quality in water:
        computed = quality.range_if_not_measured
        if quality.interval is None:
            words = "" if computed is None else f"; computed {view.figure(computed)}"
            yield {
                "quantity": quality.subject,
                "label": label_of(quality.subject),
                "computed": None if computed is None else _json(view, computed),
                "say": f"{label_of(quality.subject)}: not measured{words}",
            }


def _json(view: View, amount: Amount) -> dict[str, float | str]:
    return view.figure(amount).as_object()
