"""What sensors send, kept on both engines: each sample once, roll-ups always current."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from sqlalchemy import text
from typer.testing import CliRunner

import tailrace.cli.sensors  # noqa: F401  # adds its commands
from tailrace.cli.commands import app
from tailrace.errors import InputError, NotKnownError, RecordError
from tailrace.operations.backwashes import backwashes_found, log_backwashes
from tailrace.operations.sensor_messages import Message, take_messages, take_senml
from tailrace.operations.sensors import (
    SeriesWords,
    say_series,
    sensor_asides,
    sensor_troubles,
    series_chart,
    series_of,
)
from tailrace.records import samples as kept
from tailrace.records import series as book
from tailrace.records.home import find_place
from tailrace.records.store import Store
from tailrace.records.upgrade import change_form
from tailrace.sensors.backwashes import Kind
from tailrace.sensors.rollups import Width
from tests.backwash_series import Case, Made, simulate
from tests.pages_round import demo_store

NOW = datetime(2026, 3, 2, 12, tzinfo=UTC)
T0 = int(datetime(2026, 3, 1, tzinfo=UTC).timestamp())
SITE = "lantern"


@pytest.fixture
def store(record_address: str) -> Iterator[Store]:
    made = Store.open(record_address)
    made.add_site_version(SITE, "invented", received_at=NOW)
    yield made
    made.close()


def pack(*rows: Mapping[str, object]) -> bytes:
    return json.dumps(rows).encode()


def minutes(first: int, count: int, name: str = "tank:temp") -> bytes:
    return pack(
        {"bn": name, "bt": T0, "bu": "Cel"},
        *({"t": 60 * n, "v": 20 + n % 7} for n in range(first, first + count)),
    )


def sound(store: Store) -> bool:
    with book.act(store, write=False) as connection:
        numbers = [one.number for one in book.all_series(connection)]
        return kept.wrong_rollups(connection, numbers) == ()


def test_a_list_sent_again_in_any_order_is_stored_once(store: Store) -> None:
    parts = [minutes(first, 25) for first in range(0, 200, 20)]  # they overlap by five
    random.Random(3).shuffle(parts)
    for part in parts:
        take_senml(store, SITE, part, now=NOW)
    again = take_senml(store, SITE, minutes(0, 205), now=NOW)
    assert (again.new, again.again, again.aside) == (0, 205, 0)
    (view,) = series_of(store, SITE)
    assert (view.count, view.newest, view.series.id) == (205, 20 + 204 % 7, "s1")
    assert view.newest_at == datetime.fromtimestamp(T0 + 204 * 60, UTC)
    assert sound(store)


def test_roll_ups_can_be_made_anew_and_a_wrong_one_is_said(store: Store) -> None:
    take_senml(store, SITE, minutes(0, 130), now=NOW)
    with book.act(store, write=True) as connection:
        connection.execute(text("UPDATE rollups SET n = n + 1 WHERE width = 3600"))
        assert kept.wrong_rollups(connection, [1]) == (
            "the hour roll-ups of series 1 differ from its samples.",
        )
        kept.remake_rollups(connection, 1)
    assert sound(store)


def test_samples_are_never_changed_nor_removed(store: Store) -> None:
    take_senml(store, SITE, minutes(0, 3), now=NOW)
    for statement in ("UPDATE samples SET value = 0", "DELETE FROM samples", "DELETE FROM series"):
        with (
            pytest.raises(RecordError, match="append-only"),
            book.act(store, write=True) as connection,
        ):
            connection.execute(text(statement))
    assert series_of(store, SITE)[0].count == 3


def test_another_value_for_the_same_moment_is_set_aside_and_the_first_stays(store: Store) -> None:
    one = {"n": "p", "t": T0, "u": "Pa"}
    take_senml(store, SITE, pack(one | {"v": 1}), now=NOW)
    for _ in range(2):
        taken = take_senml(store, SITE, pack(one | {"v": 2}), now=NOW)
        assert (taken.new, taken.aside) == (0, 1)
    assert series_of(store, SITE)[0].newest == 1
    (aside,) = sensor_asides(store, SITE)
    assert "another value" in aside.reason
    assert "2.0 Pa" in aside.text


def test_truths_sums_and_units_make_series_and_texts_are_kept_aside(store: Store) -> None:
    rows: tuple[dict[str, object], ...] = (
        {"bn": "pump/", "bt": T0, "n": "on", "vb": True},
        {"n": "power", "u": "W", "v": 40, "s": 7200},
        {"n": "power", "u": "kW", "v": 0.04},
        {"n": "state", "vs": "fine"},
        {"n": "bad"},
    )
    taken = take_senml(store, SITE, pack(*rows), now=NOW)
    assert (taken.new, taken.aside) == (4, 2)
    views = {(view.series.name, view.series.unit): view.newest for view in series_of(store, SITE)}
    assert views == {
        ("pump/on", ""): 1,
        ("pump/power", "W"): 40,
        ("pump/power", "W s"): 7200,
        ("pump/power", "kW"): 0.04,
    }
    assert {"fine" in aside.text for aside in sensor_asides(store, SITE)} == {True, False}


def test_a_key_makes_a_list_of_now_come_once(store: Store) -> None:
    now = pack({"n": "a", "v": 1})
    later = NOW + timedelta(seconds=9)
    assert take_senml(store, SITE, now, now=NOW, key="k").new == 1
    assert take_senml(store, SITE, now, now=later, key="k").new == 0
    assert take_senml(store, SITE, now, now=later, key="l").new == 1
    with pytest.raises(InputError, match="another message"):
        take_senml(store, SITE, minutes(0, 1), now=NOW, key="k")


def test_a_message_of_now_delivered_twice_is_stored_once(store: Store) -> None:
    first = Message(SITE, pack({"n": "a", "v": 1}), NOW, key="7")
    twice = first._replace(at=NOW + timedelta(seconds=3), perhaps_again=True)
    fresh = first._replace(at=NOW + timedelta(seconds=60))  # the number is used anew
    assert [take_messages(store, [one]).new for one in (first, twice, fresh)] == [1, 0, 1]
    assert take_messages(store, [twice._replace(key="8")]).new == 1  # was never taken in


def test_what_cannot_be_read_and_an_unknown_site_are_kept_aside_over_mqtt(store: Store) -> None:
    taken = take_messages(
        store,
        [
            Message(SITE, b"hel\x00lo \xff", NOW),
            Message("nowhere", minutes(0, 2), NOW),
            Message(SITE, minutes(0, 2), NOW),
        ],
    )
    assert (taken.new, taken.aside) == (2, 2)
    assert sensor_asides(store, SITE)[0].text == "hel\\x00lo \\xff"
    assert "no site 'nowhere'" in sensor_asides(store, "nowhere")[0].reason
    with pytest.raises(NotKnownError):
        take_senml(store, "nowhere", minutes(0, 2), now=NOW)
    with pytest.raises(InputError):
        take_senml(store, SITE, b"hello", now=NOW)


def test_a_chart_takes_samples_hours_or_days_by_its_span(store: Store) -> None:
    take_senml(store, SITE, minutes(0, 3 * 1440), now=NOW + timedelta(days=3))
    start = datetime.fromtimestamp(T0, UTC)
    for days, width, points in ((1, None, 1440), (2, Width.HOUR, 48), (3, Width.HOUR, 72)):
        end = start + timedelta(days=days)
        chart = series_chart(store, SITE, "tank:temp", start=start, end=end, width=width)
        assert chart.width is width
        assert chart.buckets.at_us.size == points
        assert int(chart.buckets.count.sum()) == days * 1440
    chart = series_chart(store, SITE, "s1", start=start, end=end, width=Width.DAY)
    assert chart.buckets.mean == pytest.approx(
        [20 + np.mean(np.arange(d, d + 1440) % 7) for d in (0, 1440, 2880)]
    )


def test_what_a_series_means_is_said_later_and_again(store: Store) -> None:
    take_senml(store, SITE, minutes(0, 3), now=NOW)
    say_series(store, SITE, "s1", SeriesWords("water_temperature", "tank"), who="AB", now=NOW)
    made = say_series(
        store, SITE, "tank:temp", SeriesWords(instrument="probe 2"), who="AB", now=NOW
    )
    assert series_of(store, SITE)[0].series == made
    assert (made.subject, made.place, made.instrument) == ("water_temperature", "tank", "probe 2")
    with pytest.raises(InputError, match="cannot measure 'feed'"):
        say_series(store, SITE, "s1", SeriesWords("feed"), who="", now=NOW)
    with pytest.raises(InputError, match="degC"):
        say_series(store, SITE, "s1", SeriesWords("dip_pressure"), who="", now=NOW)
    with pytest.raises(NotKnownError, match="it has: s1"):
        say_series(store, SITE, "s9", SeriesWords("level"), who="", now=NOW)


def test_gaps_and_stuck_sensors_of_a_site_are_found(store: Store) -> None:
    take_senml(store, SITE, minutes(0, 60), now=NOW)
    take_senml(store, SITE, minutes(120, 60), now=NOW)
    until = datetime.fromtimestamp(T0 + 179 * 60, UTC)
    (found,) = sensor_troubles(store, SITE, until=until)
    assert [gap.missing for gap in found.gaps] == [60]
    assert found.stuck == ()
    (silent,) = sensor_troubles(store, SITE, until=until + timedelta(days=30))
    assert silent.gaps[-1].missing == 30 * 1440


def fill(store: Store, site: str) -> Made:
    made = simulate(Case(Kind.PRESSURE, 0.175, 60.0, 0.05), np.random.default_rng(5))
    rows = [
        {"t": t, "v": v} for t, v in zip(made.time_s.tolist(), made.values.tolist(), strict=True)
    ]
    now = datetime.fromtimestamp(made.time_s[-1] + 1, UTC)
    take_senml(store, site, pack({"bn": "filter:p", "bu": "Pa"}, *rows), now=now)
    return made


def test_backwashes_are_found_and_put_into_the_log_once(store: Store) -> None:
    made = fill(store, SITE)
    until = datetime.fromtimestamp(made.time_s[-1], UTC)
    with pytest.raises(InputError, match="say which one"):
        backwashes_found(store, SITE, until=until)
    say_series(store, SITE, "s1", SeriesWords("pressure"), who="AB", now=NOW)
    found = backwashes_found(store, SITE, until=until)
    assert not any(one.in_log for one in found)
    names = log_backwashes(store, SITE, found, now=until)
    assert len(names) >= 0.9 * made.true_s.size
    again = backwashes_found(store, SITE, until=until)
    assert sum(one.in_log for one in again) == len(names)
    assert log_backwashes(store, SITE, again, now=until) == ()
    entry = store.entries(SITE)[0]
    assert (entry.subject, entry.method) == ("backwash", "found from sensor")
    assert min(abs(entry.taken_at.timestamp() - made.true_s)) < 60


def test_the_series_travel_with_the_other_rows_and_are_the_same_ones(
    store: Store, tmp_path: Path
) -> None:
    take_senml(store, SITE, minutes(0, 50), now=NOW)
    say_series(store, SITE, "s1", SeriesWords("air_temperature"), who="AB", now=NOW)
    take_senml(store, SITE, pack({"n": "bad", "t": T0}), now=NOW)
    rows = list(store.rows())
    other = Store.open(tmp_path / "other")
    other.merge(rows)
    assert list(other.rows()) == rows
    assert sound(other)
    taken = take_senml(other, SITE, minutes(0, 60), now=NOW)
    assert (taken.new, taken.again) == (10, 50)
    assert store.merge(other.rows()).added == 10
    assert list(store.rows()) == list(other.rows())
    assert sound(store)
    other.close()


def test_the_step_down_and_up_again_keeps_the_other_rows(
    record_address: str,
) -> None:
    store = Store.open(record_address)
    store.add_site_version(SITE, "invented", received_at=NOW)
    take_senml(store, SITE, minutes(0, 50), now=NOW)
    take_senml(store, SITE, pack({"n": "bad", "t": T0}), now=NOW)
    store.close()
    change_form(find_place(record_address), 4)  # the form before the sensors
    again = Store.open(record_address)
    assert again.site_text(SITE) == "invented"
    assert series_of(again, SITE) == ()
    assert take_senml(again, SITE, minutes(0, 50), now=NOW).new == 50
    again.close()


def test_the_commands_take_show_say_and_find(tmp_path: Path) -> None:
    demo_store(tmp_path)
    store = Store.open(tmp_path)
    site = sorted(store.site_names())[0]
    made = fill(store, site)
    store.close()
    file = tmp_path / "more.senml"
    file.write_bytes(minutes(0, 3))
    end = f"{datetime.fromtimestamp(made.time_s[-1], UTC).isoformat()}"

    def tailrace(*words: str) -> str:
        done = CliRunner().invoke(app, ["sensors", *words, "--home", str(tmp_path)])
        assert done.exit_code == 0, done.output
        return done.output

    assert "3 samples stored" in tailrace("take", site, str(file))
    assert "3 were there" in tailrace("take", site, str(file))
    shown = tailrace("show", site)
    assert "tank:temp: 3 samples, newest 22 degC" in shown
    assert "not said what it measures" in shown
    assert "filter:p): pressure" in tailrace("say", site, "filter:p", "--what", "pressure")
    assert "no readings from" in tailrace("gaps", site, "--days", "1")
    assert "say --yes" in tailrace("backwashes", site, "--at", end)
    assert "are in the log now" in tailrace("backwashes", site, "--at", end, "--yes")
    assert "Nothing to put" in tailrace("backwashes", site, "--at", end, "--yes")
