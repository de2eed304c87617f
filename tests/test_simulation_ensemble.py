"""Many members: each depends on its own numbers alone; redraws are booked."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np
import platformdirs
import pytest

from tailrace.errors import InputError
from tailrace.simulation import (
    Ensemble,
    Feeding,
    Noise,
    Schedule,
    SettingChanged,
    WaterChange,
    compiled,
    member_streams,
    parameter_table,
    prepare,
    simulate,
)
from tests.loops import DAY_S, at_bypass, loop, usual


def drawn(members: int, seed: int = 7) -> Any:
    table = parameter_table(loop().parameters, members)
    for row, stream in zip(table, member_streams(seed, members), strict=True):
        row["bead_film_m_s"] *= np.exp(0.3 * stream.standard_normal())
        row["solids_yield_kg_kg"] *= np.exp(0.2 * stream.standard_normal())
    return table


def test_a_member_does_as_a_single_run_does() -> None:
    ensemble = Ensemble(loop(), 3)
    many = ensemble.advance(3.0 * DAY_S, usual(300.0, 4))
    one = simulate(loop(), schedule=usual(300.0, 4), until_s=3.0 * DAY_S)
    assert many.stuck.size == 0
    for member in many["total_ammonia"]:
        assert (member == one["total_ammonia"]).all()


@pytest.mark.parametrize("threads", [1, 2, 5])
def test_results_do_not_depend_on_threads_or_on_the_number_of_members(
    threads: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = Ensemble(loop(), 4, parameters=drawn(4)).advance(2.0 * DAY_S, usual(300.0, 3))
    monkeypatch.setattr(os, "cpu_count", lambda: threads)
    many = Ensemble(loop(), 11, parameters=drawn(11)).advance(2.0 * DAY_S, usual(300.0, 3))
    assert (many.outputs[:4] == few.outputs).all()
    assert np.ptp(many["total_ammonia"][:, -1]) > 0.01


def test_noise_changes_at_a_boundary_and_acts() -> None:
    ensemble = Ensemble(loop(), 2)
    ensemble.advance(DAY_S, usual(300.0, 4))
    ensemble.set_noise(Noise.AOB, np.array([0.3, 1.0]))
    ensemble.set_noise(Noise.DRIFT, np.array([0.0, 0.05 / DAY_S]))
    found = ensemble.advance(4.0 * DAY_S, usual(300.0, 4, held=0.0))
    assert found["total_ammonia"][0, -1] > 1.2 * found["total_ammonia"][1, -1]
    assert found["alkalinity"][1, -1] > found["alkalinity"][0, -1]
    assert max(ensemble.balance_error().values()) < 1e-11


@pytest.mark.parametrize(
    "quantity", ["total_ammonia", "nitrite", "nitrate", "oxygen", "alkalinity", "fine_solids"]
)
def test_a_redraw_sets_the_quantity_and_books_the_difference(quantity: str) -> None:
    ensemble = Ensemble(loop(), 3)
    ensemble.advance(0.2 * DAY_S, usual(300.0, 2))
    ensemble.set_quantity(quantity, np.array([0.5, 3.0, 0.0]))
    assert ensemble.measured(quantity) == pytest.approx([0.5, 3.0, 0.0], abs=1e-12)
    assert max(ensemble.balance_error().values()) < 1e-12
    ensemble.set_quantity(quantity, np.array([0.5, 3.0, 1.0]))
    assert ensemble.measured(quantity) == pytest.approx([0.5, 3.0, 1.0])
    ensemble.advance(1.0 * DAY_S, usual(300.0, 2))
    assert np.isfinite(ensemble.states).all()
    assert max(ensemble.balance_error().values()) < 1e-11


def test_a_redraw_of_ph_moves_carbon_and_keeps_alkalinity() -> None:
    ensemble = Ensemble(loop(), 3)
    before = ensemble.measured("alkalinity")
    ensemble.set_quantity("ph", np.array([6.5, 7.0, 7.8]))
    assert ensemble.measured("ph") == pytest.approx([6.5, 7.0, 7.8], abs=1e-6)
    assert ensemble.measured("alkalinity") == pytest.approx(before)
    assert max(ensemble.balance_error().values()) < 1e-12


def test_schedules_can_differ_and_settings_can_come_later() -> None:
    ensemble = Ensemble(loop(), 3)
    ensemble.advance(0.5 * DAY_S, usual(300.0, 3))
    shut = SettingChanged(0.6 * DAY_S, at_bypass(0.30, loop()))
    each = [Schedule.EMPTY, Schedule((WaterChange(0.6 * DAY_S, 0.5),)), Schedule((shut,))]
    found = ensemble.advance(3.0 * DAY_S, each)
    assert found["nitrate"][1, -1] < 0.6 * found["nitrate"][0, -1]
    assert found["backwashes"][2, -1] < found["backwashes"][0, -1]
    assert max(ensemble.balance_error().values()) < 1e-11


@pytest.mark.parametrize(
    ("what", "says"),
    [
        (lambda e: e.set_quantity("turbidity", np.zeros(2)), "cannot be set"),
        (lambda e: e.set_quantity("nitrite", np.array([-1.0, 0.0])), "zero or more"),
        (lambda e: e.set_quantity("ph", np.array([70.0, 7.0])), "between 3 and 11"),
        (lambda e: e.set_noise(Noise.LOAD, np.array([np.nan, 1.0])), "load_factor of member 0"),
        (lambda e: e.advance(-1.0), "must go forward"),
        (lambda e: e.advance(1.0, [Schedule.EMPTY] * 3), "3 schedules for 2 members"),
        (lambda e: Ensemble(e.loop, 2, parameters=drawn(3)), "one for each"),
    ],
)
def test_what_cannot_be_is_refused_in_words(what: Any, says: str) -> None:
    with pytest.raises(InputError, match=says):
        what(Ensemble(loop(), 2))


def test_feed_that_is_not_known_can_differ_between_members() -> None:
    ensemble = Ensemble(loop(), 2)
    ensemble.set_noise(Noise.LOAD, np.array([0.5, 2.0]))
    found = ensemble.advance(2.0 * DAY_S, Schedule((Feeding(3600.0, 0.3, 0.35),)))
    assert found["total_ammonia"][1, -1] > found["total_ammonia"][0, -1]


def test_without_a_place_to_write_the_cache_is_a_temporary_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("no folder")
    monkeypatch.setattr(platformdirs, "user_cache_dir", lambda _: str(blocked))
    assert compiled._cache_folder().is_dir()
    monkeypatch.setattr(platformdirs, "user_cache_dir", lambda _: str(tmp_path / "new"))
    kept = compiled._cache_folder()
    assert kept.is_dir()
    assert kept.parent == tmp_path / "new" / "engine"


def test_preparing_is_said_once_and_only_when_there_is_something_to_compile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    said: list[str] = []
    monkeypatch.setattr(compiled, "CACHE_FOLDER", tmp_path)
    prepare(said.append, loop())
    prepare(said.append, loop())
    assert said == [compiled.PREPARING]
