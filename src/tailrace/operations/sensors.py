"""What the series of sensors show: newest values, charts, gaps, stuck sensors, what they mean.

Open `tailrace.operations.sensor_messages` for how they come in.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection

from tailrace.errors import InputError
from tailrace.intake.senml_units import familiar_unit
from tailrace.operations.sensor_messages import micros, moment_of
from tailrace.quantities import subjects
from tailrace.records import samples as kept
from tailrace.records import series as book
from tailrace.records.series import SensorAside, Series
from tailrace.records.store import Store
from tailrace.sensors.backwashes import Kind
from tailrace.sensors.rollups import Buckets, Width, width_for
from tailrace.sensors.troubles import Gap, Stuck, find_gaps, find_stuck
from tailrace.units.registry import from_unit

OWN_SUBJECTS = tuple(kind.value for kind in Kind)  # what a backwash is found from


@dataclass(frozen=True, slots=True)
class SeriesView:
    """A series with what it holds.

    Parameters
    ----------
    series
        The series.
    count
        How many samples.
    newest_at, newest
        Time and value of the newest, in the familiar unit; None for a series without any.
    unit
        The familiar unit, such as degC for Cel.
    """

    series: Series
    count: int
    newest_at: datetime | None
    newest: float | None
    unit: str


def series_of(store: Store, site: str) -> tuple[SeriesView, ...]:
    """Return the series of a site.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.

    Returns
    -------
    tuple of SeriesView
        In the order they began.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    """
    store.site_text(site)
    views = []
    with book.act(store, write=False) as connection:
        for one in book.all_series(connection, site):
            at_us, values = kept.newest_samples(connection, one.number, 1)
            unit, factor = familiar_unit(one.unit)
            at, newest = None, None
            if at_us.size:
                at, newest = moment_of(int(at_us[0])), float(values[0]) * factor
            count = kept.count_samples(connection, one.number)
            views.append(SeriesView(one, count, at, newest, unit))
    return tuple(views)


def sensor_asides(store: Store, site: str, count: int = 20) -> tuple[SensorAside, ...]:
    """Return what a site's sensors sent that could not be used, the newest first.

    Parameters
    ----------
    store
        The record.
    site
        The site that the sender named; it need not be in the record.
    count
        How many at most.

    Returns
    -------
    tuple of SensorAside
        Text and reason of each.
    """
    with book.act(store, write=False) as connection:
        return book.newest_asides(connection, site, count)


@dataclass(frozen=True, slots=True)
class SeriesWords:
    """What is said of a series; None leaves a word as it was.

    Parameters
    ----------
    subject
        Key of a reading, or ``pressure``, ``level`` or ``sound`` of the filter, from which
        backwashes are found.
    place
        Where it is.
    instrument
        With what it is measured.
    """

    subject: str | None = None
    place: str | None = None
    instrument: str | None = None


def say_series(
    store: Store,
    site: str,
    series_id: str,
    words: SeriesWords,
    *,
    who: str,
    now: datetime,
) -> Series:
    """Say what a series measures, where, and with what; an earlier saying stays in the record.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    series_id
        Short name of the series, such as ``s3``, or its name.
    words
        What is said of it.
    who
        Who says it.
    now
        When, aware.

    Returns
    -------
    Series
        The series as it is now.

    Raises
    ------
    NotKnownError
        The site has no such series.
    InputError
        The subject is none, or is measured in other units than this series.
    """
    readings = [key for key, one in subjects().items() if one.kind == "reading"]
    subject = words.subject
    if subject and subject not in (*OWN_SUBJECTS, *readings):
        message = (
            f"a series cannot measure {subject!r}; it is one of {', '.join(OWN_SUBJECTS)} (of the "
            f"filter), or one of {', '.join(readings)}."
        )
        raise InputError(message)
    with book.act(store, write=True) as connection:
        old = book.one_series(connection, site, series_id)
        if subject in readings:  # a unit of something else is a mistake that spoils every chart
            from_unit(1.0, familiar_unit(old.unit)[0], subjects()[subject].suffix)
        new = replace(
            old,
            subject=old.subject if subject is None else subject,
            place=old.place if words.place is None else words.place,
            instrument=old.instrument if words.instrument is None else words.instrument,
        )
        if new != old:
            book.say_meaning(connection, new, who=who, at=now)
    return new


@dataclass(frozen=True, slots=True, eq=False)
class Chart:
    """A series over a span, drawn from samples or from roll-ups.

    Parameters
    ----------
    series
        The series.
    width
        Width of the buckets; None when these are the samples themselves.
    buckets
        One bucket for each point; a sample is a bucket of one.
    """

    series: Series
    width: Width | None
    buckets: Buckets


def series_chart(
    store: Store,
    site: str,
    series_id: str,
    *,
    start: datetime,
    end: datetime,
    width: Width | None = None,
) -> Chart:
    """Return a series over a span, fine enough to draw and no finer.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    series_id
        Short name of the series, such as ``s3``, or its name.
    start, end
        The span, aware.
    width
        Width of the buckets; None for the narrowest that suits the span.

    Returns
    -------
    Chart
        Buckets in the order of time.

    Raises
    ------
    NotKnownError
        The site has no such series.
    """
    width = width or width_for((end - start).total_seconds())
    with book.act(store, write=False) as connection:
        one = book.one_series(connection, site, series_id)
        span = (micros(start), micros(end))
        if width is not None:
            found = kept.buckets_between(connection, one.number, width, *span)
            return Chart(one, width, found)
        at_us, values = kept.samples_between(connection, one.number, *span)
    ones = np.ones(at_us.size, dtype=np.int64)
    numbers = ones * one.number
    return Chart(one, None, Buckets(numbers, at_us, ones, values, values, values, values, at_us))


@dataclass(frozen=True, slots=True)
class Troubles:
    """What is wrong with a series over a span.

    Parameters
    ----------
    series
        The series.
    gaps
        Times without readings.
    stuck
        Times in which one value was repeated.
    """

    series: Series
    gaps: tuple[Gap, ...]
    stuck: tuple[Stuck, ...]


def sensor_troubles(
    store: Store, site: str, *, until: datetime, days: float = 7.0
) -> tuple[Troubles, ...]:
    """Find gaps and stuck sensors of a site.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    until
        End of the time looked at, aware; a sensor silent since then shows as a gap.
    days
        How far to look back.

    Returns
    -------
    tuple of Troubles
        One for each series that has any.
    """
    store.site_text(site)
    found = []
    with book.act(store, write=False) as connection:
        for one in book.all_series(connection, site):
            time_s, values = looked_at(connection, one, until=until, days=days)
            if time_s.size < 2:  # silent for longer than that: its last readings say since when
                last = kept.newest_samples(connection, one.number, 50, before_us=micros(until) + 1)
                time_s, values = last[0] / 1e6, last[1]
            gaps = find_gaps(time_s, until_s=micros(until) / 1e6)
            stuck = find_stuck(time_s, values)
            if gaps or stuck:
                found.append(Troubles(one, gaps, stuck))
    return tuple(found)


def looked_at(
    connection: Connection, one: Series, *, until: datetime, days: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the samples of a series over some days.

    Parameters
    ----------
    connection
        Connection to the record.
    one
        The series.
    until
        End, aware, included.
    days
        How far back.

    Returns
    -------
    tuple of ndarray
        Times in seconds since 1970 in UTC, rising, and values.
    """
    end_us = micros(until) + 1
    start_us = end_us - int(days * 86_400_000_000)
    at_us, values = kept.samples_between(connection, one.number, start_us, end_us)
    return at_us / 1e6, values
