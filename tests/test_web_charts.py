"""Charts and the section drawing: well-formed, in words as well, true to their numbers."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET
from zoneinfo import ZoneInfo

import pytest

from tailrace.errors import InputError
from tailrace.operations.record import open_record
from tailrace.operations.rounds import todays_round
from tailrace.operations.series import DAYS, water_series
from tailrace.quantities import subjects
from tailrace.reports.axes import number_ticks, time_ticks
from tailrace.reports.charts import events_chart, has_data, shown_limits, water_chart
from tailrace.reports.section import balance_chart, section_drawing
from tailrace.reports.series import Band, LimitLine, Mark, Series, Span
from tailrace.site import UnitFamily
from tests.browser import MOMENTS

SVG = "{http://www.w3.org/2000/svg}"
DENVER = ZoneInfo("America/Denver")
NOW = datetime(2026, 11, 9, 15, 24, tzinfo=UTC)
SPAN = Span(NOW - timedelta(days=7), NOW + timedelta(days=3), NOW, DENVER)


def a_round(home: Path, name: str, at: str | None = None, **more: Any) -> dict[str, Any]:
    return todays_round(open_record(str(home)), name, at=at or MOMENTS[name], **more)


def mark(days_ago: float, low: float, high: float | None) -> Mark:
    return Mark(NOW - timedelta(days=days_ago), low, high, f"{low}", "e1")


def series(*marks: Mark, band: Band | None = None) -> Series:
    limits = (
        LimitLine(0.3, "not comfortable", "not comfortable above 0.3"),
        LimitLine(1.0, "act today", "act today above 1"),
        LimitLine(4.3, "can harm within hours", "can harm within hours above 4.3"),
    )
    return Series("nitrite", "nitrite (as N)", "ppm as N", marks, limits, band, "Two & <three>.")


def texts(svg: str) -> list[str]:
    return [element.text or "" for element in ET.fromstring(svg).iter(f"{SVG}text")]


def test_a_chart_is_well_formed_and_says_what_it_shows() -> None:
    svg = water_chart(series(mark(3, 0.1, 0.75), mark(1, 0.2, 0.2)), SPAN)
    root = ET.fromstring(svg)
    assert root.findtext(f"{SVG}title") == "Nitrite (as N) [ppm as N]"
    assert root.findtext(f"{SVG}desc") == "Two & <three>."
    assert "not comfortable above 0.3" in texts(svg)
    assert 'class="bar"' in svg
    assert 'class="dot"' in svg


def test_a_chart_shows_the_nearest_limit_and_leaves_out_far_ones() -> None:
    near = series(mark(3, 0.1, 0.75))
    assert [limit.value for limit in shown_limits(near)] == [0.3, 1.0]
    far = series(mark(3, 0.01, 0.02))
    assert [limit.value for limit in shown_limits(far)] == [0.3]


def test_an_open_reading_is_an_arrow_and_not_a_bar() -> None:
    svg = water_chart(series(mark(2, 0.5, None)), SPAN)
    assert 'class="at-least"' in svg
    assert 'class="bar"' not in svg


def test_a_band_reaches_past_now() -> None:
    times = tuple(NOW + timedelta(days=day) for day in (0, 1, 3))
    band = Band(times, (0.2, 0.3, 0.3), (0.4, 0.5, 0.6), (0.7, 0.9, 1.2), ("In 3 days ...",))
    svg = water_chart(series(band=band), SPAN)
    assert 'class="band"' in svg
    assert "now" in texts(svg)
    assert has_data(series(band=band))
    assert not has_data(series())


def test_every_point_lies_on_the_paper() -> None:
    svg = water_chart(series(mark(6.9, 0.0, 0.0), mark(0, 3.0, 5.0)), SPAN)
    root = ET.fromstring(svg)
    width, height = (float(part) for part in root.attrib["viewBox"].split()[2:])
    for element in root.iter(f"{SVG}text"):
        assert 0.0 <= float(element.attrib["x"]) <= width
        assert 0.0 <= float(element.attrib["y"]) <= height


@pytest.mark.parametrize(
    ("low", "high"), [(0.0, 0.06), (6.7, 7.6), (5.0, 500.0), (-0.2, 0.3), (62.5, 62.6)]
)
def test_ticks_are_few_round_and_inside(low: float, high: float) -> None:
    ticks = number_ticks(low, high)
    assert 2 <= len(ticks) <= 6
    assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks)
    steps = {round(b - a, 9) for a, b in pairwise(ticks)}
    assert len(steps) == 1


@pytest.mark.parametrize("days", [1, 2, 7, 14, 30, 60, 365])
def test_time_ticks_stand_at_local_midnight_or_hour_through_a_change_of_the_clock(
    days: int,
) -> None:
    end = datetime(2026, 11, 4, 18, 0, tzinfo=UTC)  # Denver sets its clocks on 1 November
    ticks = time_ticks(end - timedelta(days=days), end, DENVER)
    assert 2 <= len(ticks) <= 6
    for at, label in ticks:
        local = at.astimezone(DENVER)
        assert local.minute == 0
        assert local.hour == (int(label[:2]) if ":" in label else 0)


@pytest.mark.parametrize("name", MOMENTS)
@pytest.mark.parametrize("days", DAYS)
def test_the_water_of_the_demonstration_sites(demo_home: Path, name: str, days: int) -> None:
    water = water_series(open_record(str(demo_home)), a_round(demo_home, name), days)
    for shown in water.series:
        for one in shown.marks:
            assert water.span.start <= one.at <= water.span.end
            assert one.high is None or one.low <= one.high
        if has_data(shown):
            ET.fromstring(water_chart(shown, water.span))
    if water.events:
        ET.fromstring(events_chart(water.events, water.span))


def test_the_newest_mark_is_the_reading_of_the_round(demo_home: Path) -> None:
    made = a_round(demo_home, "lantern-school")
    water = water_series(open_record(str(demo_home)), made, 30)
    by_key = {shown.quantity: shown for shown in water.series}
    for row in made["water"]:
        marks = by_key[row["quantity"]].marks
        if marks and not row["computed"]:
            assert marks[-1].words == row["in_words"]
            assert row["in_words"] in by_key[row["quantity"]].say


def test_nothing_after_the_moment_is_drawn(demo_home: Path) -> None:
    made = a_round(demo_home, "lantern-school", "2026-10-20 12:00")
    water = water_series(open_record(str(demo_home)), made, 30)
    assert max(m.at for s in water.series for m in s.marks) <= water.span.now
    assert max(event.at for event in water.events) <= water.span.now


def test_a_forecast_of_the_round_is_drawn_and_said(demo_home: Path) -> None:
    made = a_round(demo_home, "lantern-school")
    times = [(NOW + timedelta(hours=6 * step)).isoformat() for step in range(29)]
    row = {
        "quantity": "ph",
        "label": "pH",
        "unit": "",
        "times": times,
        "p05": [7.0] * 29,
        "p50": [7.2] * 29,
        "p95": [7.4] * 29,
        "in_words": [{"after": "3 days", "say": "In 3 days pH 7.2 (7 to 7.4)."}],
    }
    made["forecast"] = {"say": "90 % band, not yet scored against outcomes.", "quantities": [row]}
    water = water_series(open_record(str(demo_home)), made, 7)
    ph = next(shown for shown in water.series if shown.quantity == "ph")
    assert ph.band is not None
    assert ph.band.p50[-1] == 7.2
    assert "In 3 days pH 7.2 (7 to 7.4)." in ph.say
    assert water.forecast_say.startswith("90 % band")
    assert 'class="band"' in water_chart(ph, water.span)


def test_a_year_puts_a_week_into_one_bar_that_holds_all_its_readings(demo_home: Path) -> None:
    store, made = open_record(str(demo_home)), a_round(demo_home, "lantern-school")
    year, month = (water_series(store, made, days) for days in (365, 30))
    for weekly, single in zip(year.series, month.series, strict=False):
        if weekly.quantity == single.quantity and single.marks:
            assert len(weekly.marks) <= 53
            assert min(m.low for m in weekly.marks) <= min(m.low for m in single.marks)
            assert max(m.top for m in weekly.marks) >= max(m.top for m in single.marks)


def test_a_range_that_is_none_is_refused(demo_home: Path) -> None:
    made = a_round(demo_home, "lantern-school")
    with pytest.raises(InputError, match="1, 7, 30, 365"):
        water_series(open_record(str(demo_home)), made, 8)


@pytest.mark.parametrize("name", MOMENTS)
@pytest.mark.parametrize("family", UnitFamily)
def test_the_section_names_its_parts_and_pressures(
    demo_home: Path, name: str, family: UnitFamily
) -> None:
    made = a_round(demo_home, name, units=family)
    svg = section_drawing(made["backwash"], made["drain"])
    words = texts(svg)
    for part in ("bead bed", "filter inlet", "roof of the air chamber", "release depth", "sludge"):
        assert part in words
    pressures = {row["key"]: row["pressure"] for row in made["backwash"]["vessel"]["pressures"]}
    assert f"{pressures['release']['value']:g} kPa" in words
    assert pressures["release"]["value"] > pressures["roof"]["value"]
    heights = [float(e.attrib["y"]) for e in ET.fromstring(svg).iter(f"{SVG}text")]
    height = float(ET.fromstring(svg).attrib["viewBox"].split()[3])
    assert max(heights) <= height


def test_pressures_add_up_as_the_water_does(demo_home: Path) -> None:
    """Hydrostatics: the roof carries the column up to the outlet and both losses on its way."""
    made = a_round(demo_home, "lantern-school", units=UnitFamily.METRIC)
    vessel = made["backwash"]["vessel"]
    kpa = {row["key"]: row["pressure"]["value"] for row in vessel["pressures"]}
    column_m = (vessel["outlet_height"]["value"] - vessel["roof_height"]["value"]) / 100.0
    weight = 0.997 * 9.80665  # kPa per metre of water near 25 degC
    assert kpa["roof"] == pytest.approx(weight * column_m + kpa["bead_bed"] + kpa["return"], 0.01)
    deeper = kpa["release"] - kpa["roof"]
    assert deeper == pytest.approx(weight * vessel["release_depth"]["value"] / 100.0, 0.08)


def test_the_face_is_drawn_only_where_the_log_tells_it(demo_home: Path) -> None:
    unknown = a_round(demo_home, "lantern-school")["backwash"]
    assert unknown["next"] is None
    assert unknown["vessel"]["face_depth"] is None
    known = a_round(demo_home, "lantern-school", "2026-11-05 11:00")
    face = known["backwash"]["vessel"]["face_depth"]
    release = known["backwash"]["vessel"]["release_depth"]["value"]
    assert 0.0 < face["p05"] < face["p50"] < face["p95"] <= release
    later = a_round(demo_home, "lantern-school", "2026-11-05 11:20")["backwash"]["vessel"]
    assert later["face_depth"]["p50"] > face["p50"]
    words = texts(section_drawing(known["backwash"], known["drain"]))
    assert "face now" in words


def test_the_balance_puts_the_air_past_the_water_by_the_margin(demo_home: Path) -> None:
    made = a_round(demo_home, "lantern-school")["backwash"]
    root = ET.fromstring(balance_chart(made))
    widths = {e.attrib["class"]: float(e.attrib["width"]) for e in root.iter(f"{SVG}rect")}
    share = 1.0 + made["margin"]["p50"] / made["face_pressure"]["value"]
    assert widths["air-bar"] / widths["water-bar"] == pytest.approx(share, rel=0.01)


def test_events_are_words_of_the_vocabulary(demo_home: Path) -> None:
    water = water_series(open_record(str(demo_home)), a_round(demo_home, "lantern-school"), 30)
    labels = {subject.label for subject in subjects().values()}
    assert {event.kind for event in water.events} <= labels
