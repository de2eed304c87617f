"""The water of a site over a range of days: readings, limits, forecast, and what was done."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from tailrace.errors import InputError
from tailrace.estimation.quality import WATER, water_quality
from tailrace.estimation.standing import standing
from tailrace.observations import Entry, Interval
from tailrace.operations.record import site_reading
from tailrace.quantities import Amount, subjects
from tailrace.records.store import Store
from tailrace.reports.rows import figure as number_text
from tailrace.reports.series import Band, Event, LimitLine, Mark, Series, Span, Water
from tailrace.reports.view import View
from tailrace.site import Site, UnitFamily

DAYS = (1, 7, 30, 365)
LONG_DAYS = 90  # above it one mark stands for a week
TOGETHER = timedelta(hours=1)  # tests of one sitting, written one after the other
AHEAD = timedelta(days=7)
ALSO = ("clarity", "turbidity", "conductivity", "salinity", "hardness", "chloride")
EVENTS = (
    *("water_change", "top_up", "drain", "bypass_set", "air_set", "needle_fully_open"),
    *("bicarbonate_dose", "potassium_bicarbonate_dose", "salt_dose"),
    *("power_off", "power_on", "water_pump_off", "water_pump_on"),
    *("air_pump_off", "air_pump_on", "fish_added", "fish_removed", "fish_dead", "maintenance"),
)

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class _Reading:
    """A reading inside: when, its interval, and what stands behind it."""

    at: datetime
    interval: Interval
    source: str


def water_series(store: Store, made: Json, days: int) -> Water:
    """Return the water of a site over the days before a round.

    Parameters
    ----------
    store
        The record.
    made
        The round, of `tailrace.operations.rounds.todays_round`: its moment, its units, its
        limits and its forecast are used.
    days
        How many days to look back: one of `DAYS`.

    Returns
    -------
    Water
        Readings in the units of the round. For more than `LONG_DAYS` one mark holds all
        readings of a week.

    Raises
    ------
    InputError
        The number of days is not one of `DAYS`.
    NotKnownError
        The record holds no such site.
    """
    if days not in DAYS:
        allowed = ", ".join(map(str, DAYS))
        message = f"the range is {days} days; the charts go over {allowed} days. Choose one."
        raise InputError(message)
    name = made["site"]["name"]
    site = site_reading(store, name).site
    view = View(site, UnitFamily(made["units"]))
    now = datetime.fromisoformat(made["at"])
    forecast = made.get("forecast") or {"say": "", "quantities": []}
    bands = {row["quantity"]: row for row in forecast["quantities"]}
    ahead = min(timedelta(days=days), AHEAD) if bands else timedelta(0)
    span = Span(now - timedelta(days=days), now + ahead, now, view.zone)
    # a round is as of a minute; what was taken within that minute belongs to it
    known = [e for e in store.entries(name) if e.taken_at < now + timedelta(minutes=1)]
    seen = [entry for entry in known if entry.taken_at >= span.start]
    weekly = days > LONG_DAYS
    water = {row["quantity"]: row for row in made["water"]}
    return Water(
        span=span,
        series=tuple(
            _with_band(
                _series(quantity, found, span, view=view, row=water.get(quantity), weekly=weekly),
                bands.get(quantity),
                span,
            )
            for quantity, found in _readings(site, known, seen, bands)
        ),
        events=tuple(_event(entry, view, now) for entry in seen if entry.subject in EVENTS),
        grouped="week" if weekly else "reading",
        forecast_say=forecast["say"],
    )


def _readings(
    site: Site, known: list[Entry], seen: list[Entry], bands: dict[str, Json]
) -> Iterator[tuple[str, list[_Reading]]]:
    """Yield each quantity with its readings; the rarer ones only where there is something."""
    for quantity in (*WATER, *ALSO):
        measured = [
            _Reading(e.taken_at, e.interval, _source(e))
            for e in seen
            if e.subject == quantity and e.interval is not None
        ]
        if quantity == "un_ionised_ammonia":
            measured += _toxic_parts(site, known, seen)
            measured.sort(key=lambda reading: reading.at)
        if measured or quantity in WATER or quantity in bands:
            yield quantity, measured


def _toxic_parts(site: Site, known: list[Entry], seen: list[Entry]) -> Iterator[_Reading]:
    """Yield the toxic part as of each total ammonia test, with the pH of the same sitting."""
    for entry in seen:
        if entry.subject != "total_ammonia":
            continue
        then = standing(site, known, entry.taken_at + TOGETHER)
        found = next(q for q in water_quality(then) if q.subject == "un_ionised_ammonia")
        if found.interval is not None and found.computed:
            yield _Reading(entry.taken_at, found.interval, f"computed {', '.join(found.entries)}")


def _source(entry: Entry) -> str:
    return " ".join(part for part in (entry.as_typed, entry.method, entry.id) if part)


def _series(
    quantity: str,
    readings: list[_Reading],
    span: Span,
    *,
    view: View,
    row: Json | None,
    weekly: bool,
) -> Series:
    label = row["label"] if row else subjects()[quantity].label
    shown = list(_by_week(readings, span)) if weekly else readings
    marks = tuple(_mark(quantity, reading, view) for reading in shown)
    return Series(
        quantity=quantity,
        label=label,
        unit=view.figure(Amount(quantity, 1.0)).unit,
        marks=marks,
        limits=tuple(_limits(row)) if row else (),
        band=None,
        say=_say(label, marks, len(readings), row),
    )


def _by_week(readings: Iterable[_Reading], span: Span) -> Iterator[_Reading]:
    weeks: dict[int, list[_Reading]] = defaultdict(list)
    for reading in readings:
        weeks[(reading.at - span.start) // timedelta(days=7)].append(reading)
    for week, group in sorted(weeks.items()):
        whole = group[0].interval
        for reading in group[1:]:
            whole = whole.hull(reading.interval)
        middle = span.start + timedelta(days=7 * week + 3.5)
        yield _Reading(min(middle, span.now), whole, f"{len(group)} in the week")


def _mark(quantity: str, reading: _Reading, view: View) -> Mark:
    interval = reading.interval
    certain = interval.low == interval.high
    amount = (
        Amount(quantity, interval.low)
        if certain
        else Amount(quantity, interval.middle, interval.low, interval.high)
    )
    seen = view.figure(amount)
    low = seen.middle if seen.low is None else seen.low
    high = seen.middle if seen.high is None else seen.high
    return Mark(
        at=reading.at,
        low=low,
        high=None if math.isinf(high) else high,
        words=f"{seen:span}",
        source=reading.source,
    )


def _limits(row: Json) -> Iterator[LimitLine]:
    several = len({limit["species"] for limit in row["limits"]}) > 1
    for limit in row["limits"]:
        side = "above" if limit["side"] == "high" else "below"
        of = f" ({limit['species']})" if several else ""
        value = float(limit["limit"]["value"])
        words = f"{limit['level']} {side} {value:g}{of}"
        yield LimitLine(value, limit["level"], words)


def _say(label: str, marks: tuple[Mark, ...], count: int, row: Json | None) -> str:
    """Say in one sentence what a chart shows; the newest reading in the words of the round."""
    newest = ""
    if row is not None and row["reading"] is not None:
        age = number_text(row["age"])
        newest = f" The newest, {age} old: {row['in_words']}, {row['state']}."
    if not marks:
        return f"No reading of {label} in this range.{newest}"
    readings = "1 reading" if count == 1 else f"{count} readings"
    low, high = min(mark.low for mark in marks), max(mark.top for mark in marks)
    over = f", from {low:g} to {high:g}" if count > 1 else ""
    return f"{readings} of {label}{over}.{newest}"


def _with_band(series: Series, row: Json | None, span: Span) -> Series:
    if row is None:
        return series
    times = [datetime.fromisoformat(text) for text in row["times"]]
    kept = [place for place, at in enumerate(times) if at <= span.end]
    said = tuple(line["say"] for line in row["in_words"])
    band = Band(
        times=tuple(times[place] for place in kept),
        p05=tuple(row["p05"][place] for place in kept),
        p50=tuple(row["p50"][place] for place in kept),
        p95=tuple(row["p95"][place] for place in kept),
        in_words=said,
    )
    return replace(series, band=band if kept else None, say=_with_ahead(series.say, said))


def _event(entry: Entry, view: View, now: datetime) -> Event:
    label = subjects()[entry.subject].label
    words = f"{view.clock(entry.taken_at, now)}: {label} {entry.as_typed}".strip()
    return Event(entry.taken_at, label, f"{words} [{entry.id}]")


def _with_ahead(say: str, said: tuple[str, ...]) -> str:
    """Add what the forecast says as one more sentence."""
    ahead = "; ".join(said)
    return f"{say} {ahead[0].upper()}{ahead[1:]}." if ahead else say
