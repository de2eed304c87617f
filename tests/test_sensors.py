"""Series of sensors: roll-ups, gaps, stuck sensors, and backwashes against the charge model."""

from __future__ import annotations

from datetime import UTC, datetime
from itertools import groupby

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tailrace.sensors.backwashes import Kind, find_backwashes
from tailrace.sensors.rollups import Width, roll_up
from tailrace.sensors.troubles import find_gaps, find_stuck
from tests.backwash_series import Case, Made, score, simulate

SAMPLES = st.lists(
    st.tuples(
        st.integers(1, 3),
        st.integers(-(10**9), 10**9),
        st.floats(-1e6, 1e6),
    ),
    max_size=40,
    unique_by=lambda row: row[:2],
)


@given(SAMPLES, st.sampled_from(list(Width)))
def test_roll_ups_are_those_of_plain_python(
    rows: list[tuple[int, int, float]], width: Width
) -> None:
    rows = [(series, at * 1000, value) for series, at, value in rows]
    columns = tuple(zip(*rows, strict=True)) if rows else ((), (), ())
    made = roll_up(
        np.array(columns[0], dtype=np.int64),
        np.array(columns[1], dtype=np.int64),
        np.array(columns[2], dtype=np.float64),
        width,
    )

    def bucket(row: tuple[int, int, float]) -> tuple[int, int]:
        return row[0], row[1] // width.micros * width.micros

    want = [(key, list(group)) for key, group in groupby(sorted(rows), key=bucket)]
    got = zip(made.series.tolist(), made.at_us.tolist(), strict=True)
    assert list(got) == [key for key, _ in want]
    assert made.count.tolist() == [len(group) for _, group in want]
    for name, of in (("low", min), ("high", max)):
        assert getattr(made, name).tolist() == [of(row[2] for row in group) for _, group in want]
    assert made.last.tolist() == [group[-1][2] for _, group in want]
    assert made.total == pytest.approx([sum(row[2] for row in group) for _, group in want])


def test_a_day_is_a_day_of_utc() -> None:
    at = np.array([int(datetime(2026, 3, 29, 23, 59, tzinfo=UTC).timestamp()) * 10**6])
    made = roll_up(np.array([1]), at, np.array([1.0]), Width.DAY)
    begin = datetime(2026, 3, 29, tzinfo=UTC).timestamp()
    assert made.at_us[0] == begin * 10**6


def test_a_sensor_gone_silent_is_a_gap_to_the_end() -> None:
    time_s = np.arange(0.0, 3600.0, 60.0)
    assert find_gaps(time_s) == ()
    (gap,) = find_gaps(time_s, until_s=7140.0)
    assert (gap.begin_s, gap.end_s, gap.missing) == (3540.0, 7140.0, 60)


def test_one_late_reading_is_no_gap_and_two_missing_are_none() -> None:
    time_s = np.delete(np.arange(0.0, 7200.0, 60.0), [10, 11])
    assert find_gaps(time_s) == ()
    assert [gap.missing for gap in find_gaps(np.delete(time_s, [10, 11]))] == [4]


def test_a_coarse_sensor_is_not_stuck_while_it_does_as_it_always_does() -> None:
    time_s = np.arange(0.0, 5 * 86400.0, 60.0)
    coarse = np.round(np.sin(time_s / 86400.0 * 2 * np.pi) * 2) / 2
    assert find_stuck(time_s, coarse) == ()
    stuck = np.where(time_s > 3 * 86400.0, 0.5, coarse)
    assert [run.value for run in find_stuck(time_s, stuck)] == [0.5]


def test_a_sensor_that_never_says_anything_else_is_stuck() -> None:
    time_s = np.arange(0.0, 86400.0, 60.0)
    (run,) = find_stuck(time_s, np.full(time_s.size, 7.0))
    assert (run.begin_s, run.end_s) == (0.0, 86340.0)


@pytest.mark.parametrize("disturbed", [False, True])
@pytest.mark.parametrize("spacing_s", [5.0, 60.0])
@pytest.mark.parametrize("kind", [Kind.PRESSURE, Kind.LEVEL])
def test_backwashes_of_the_charge_model_are_found(
    kind: Kind, spacing_s: float, disturbed: bool
) -> None:
    case = Case(kind, 0.175, spacing_s, 0.05, disturbed)
    made = simulate(case, np.random.default_rng(5))
    got = score(made, find_backwashes(made.time_s, made.values, kind))
    assert got.true >= 14
    # a release while the pump stands cannot be seen: two of them may go
    assert got.missed <= (2 if disturbed else 0)
    assert got.false <= (1 if disturbed else 0)
    assert got.within >= 0.9 * len(got.errors_s)


@pytest.mark.parametrize("disturbed", [False, True])
def test_the_roar_of_a_backwash_is_heard(disturbed: bool) -> None:
    made = simulate(Case(Kind.SOUND, 0.175, 1.0, 2.0, disturbed), np.random.default_rng(6), days=1)
    got = score(made, find_backwashes(made.time_s, made.values, Kind.SOUND))
    assert got.true >= 4
    assert (got.missed, got.false) == (0, 0)


def test_a_falling_level_is_as_good_as_a_rising_one() -> None:
    made = simulate(Case(Kind.LEVEL, 0.175, 60.0, 0.05), np.random.default_rng(7))
    up = find_backwashes(made.time_s, made.values, Kind.LEVEL)
    down = find_backwashes(made.time_s, 1.0 - made.values, Kind.LEVEL)
    assert [one.at_s for one in up] == [one.at_s for one in down]


def quiet(seed: int) -> Made:
    rng = np.random.default_rng(seed)
    time_s = np.arange(0.0, 3 * 86400.0, 60.0)
    return Made(time_s, 14000.0 + 100.0 * rng.standard_normal(time_s.size), np.empty(0))


@pytest.mark.parametrize("kind", list(Kind))
def test_noise_alone_and_silence_hold_no_backwash(kind: Kind) -> None:
    made = quiet(8)
    values = made.values if kind is not Kind.SOUND else 45.0 + (made.values - 14000.0) / 100.0
    assert find_backwashes(made.time_s, values, kind) == ()
    assert find_backwashes(made.time_s, np.full(made.time_s.size, 3.0), kind) == ()
    assert find_backwashes(made.time_s[:5], values[:5], kind) == ()


def test_a_pump_that_stops_and_starts_is_no_backwash() -> None:
    made = quiet(9)
    off = (made.time_s % 86400.0) < 3600.0
    assert find_backwashes(made.time_s, np.where(off, 0.0, made.values), Kind.PRESSURE) == ()


def test_times_that_do_not_rise_are_refused() -> None:
    with pytest.raises(ValueError, match="the times rise"):
        find_backwashes(np.array([0.0, 0.0]), np.array([1.0, 2.0]), Kind.PRESSURE)
