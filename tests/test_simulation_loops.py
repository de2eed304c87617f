"""Any loop: classroom to farm, against other solvers; empty, dry and dark; ions, heat, gases."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from tailrace.errors import InputError
from tailrace.simulation import (
    Device,
    Emptied,
    Ending,
    EvaporationChanged,
    Feeding,
    Heater,
    Loop,
    Ration,
    Schedule,
    SettingChanged,
    SludgeDrain,
    StartWater,
    Switched,
    TopUp,
    Weather,
    assemble,
    right_hand_side,
    simulate,
    start_state,
)
from tailrace.simulation import layout as lay
from tailrace.simulation.outputs import COLUMN
from tailrace.site.records import Pipe, Tank
from tailrace.water.carbonate import ph_from_alkalinity_and_dic
from tests import rodas4
from tests.loops import DAY_S, classroom, farm, farm_site, loop, site, stiff, usual, without_air

NAMES = ("total_ammonia", "nitrite", "nitrate", "oxygen", "ph", "alkalinity", "fine_solids",
         "phosphate", "potassium", "tank_oxygen")  # fmt: skip


def sides_of(of: Loop, feed_kg_day: float, alkalinity: float = 0.6) -> tuple[Any, Any]:
    """The loop without backwashes, as the engine and as any other solver see it."""
    start = start_state(of, water=StartWater(alkalinity_eq_m3=alkalinity, phosphate_p_g_m3=3.0))
    ration = Ration(0.0, feed_kg_day / DAY_S, 0.35)
    control = start.control.copy()
    control["air_pump_on"] = 0.0
    found = simulate(
        of,
        start=start,
        schedule=Schedule((ration, without_air())),
        until_s=DAY_S,
        every_s=DAY_S / 4,
    )
    return found, right_hand_side(of, start=replace(start, control=control), ration=ration)


# --- other solvers on the same equations ---


@pytest.mark.parametrize("steps", [8, 16])
def test_rodas4_is_of_fourth_order(steps: int) -> None:
    def swing(_: float, y: Any) -> Any:
        return np.array([-y[0] * y[1] + 0.3, y[0] - 0.5 * y[1] * y[1]])

    exact = solve_ivp(swing, (0.0, 2.0), [1.0, 0.5], "DOP853", rtol=1e-13, atol=1e-13).y[:, -1]

    def off(count: int) -> float:
        y, h = np.array([1.0, 0.5]), 2.0 / count
        for _ in range(count):
            jac = np.array([[-y[1], -y[0]], [1.0, -y[1]]])
            y, _ = rodas4.step(swing, 0.0, y, h, jac)
        return float(np.abs(y - exact).max())

    assert math.log2(off(steps) / off(2 * steps)) == pytest.approx(4.0, abs=0.35)


@pytest.mark.parametrize(
    ("of", "feed_kg_day", "alkalinity"),
    [(loop, 0.3, 0.6), (stiff, 0.3, 0.15), (classroom, 0.006, 0.3)],
    ids=["usual", "stiff and low in alkalinity", "classroom"],
)
def test_rodas4_agrees(of: Any, feed_kg_day: float, alkalinity: float) -> None:
    found, sides = sides_of(of(), feed_kg_day, alkalinity)
    layout = of().built.layout
    active = layout.inside & (layout.scale > 0.0)
    last = rodas4.integrate(
        sides, sides.y0, DAY_S / 2, active=active, rtol=1e-4, scale=layout.scale + 1e-3
    )
    other = sides.measure(last)
    for name in NAMES:
        assert found[name][2] == pytest.approx(other[COLUMN[name]], rel=5e-3, abs=1e-3), name


@pytest.mark.parametrize(
    ("of", "feed_kg_day"), [(loop, 0.3), (farm, 1.2)], ids=["usual", "farm of 200 m3"]
)
def test_cvode_agrees(of: Any, feed_kg_day: float) -> None:
    cvode = pytest.importorskip("sksundae.cvode")
    found, sides = sides_of(of(), feed_kg_day)

    def function(t: float, y: Any, dy: Any) -> None:
        dy[:] = sides(t, y)

    solver = cvode.CVODE(function, rtol=1e-6, atol=1e-7)
    done = solver.solve(np.array([0.0, DAY_S / 4]), sides.y0)
    assert done.success
    other = sides.measure(np.asarray(done.y)[-1])
    for name in NAMES:
        assert found[name][1] == pytest.approx(other[COLUMN[name]], rel=5e-3, abs=1e-3), name


def test_ph_of_every_place_is_that_of_the_water_package() -> None:
    start = start_state(farm(), water=StartWater(alkalinity_eq_m3=0.3, phosphate_p_g_m3=3.0))
    schedule = Schedule((Ration(0.0, 1.2 / DAY_S, 0.35),))
    found = simulate(farm(), start=start, schedule=schedule, until_s=2.0 * DAY_S, every_s=DAY_S)
    p = farm().parameters
    for row in (0, 2):
        expected = ph_from_alkalinity_and_dic(
            found["alkalinity"][row],
            found["dic"][row],
            found["total_ammonia"][row],
            found["water_temperature"][row],
            p.ionic_strength_mol_m3,
            found["phosphate"][row],
        )
        assert found["ph"][row] == pytest.approx(expected, abs=1e-9)


# --- many places, several filters ---


def test_a_farm_of_twenty_places_keeps_its_balances_and_its_water() -> None:
    events: list[Any] = [Feeding(h * 3600.0, 0.4, 0.35) for h in (8, 12, 17, 32, 36, 41)]
    events += [SludgeDrain(DAY_S, 7e-3, of_filter=f) for f in range(3)]
    found = simulate(farm(), schedule=Schedule(tuple(events)), until_s=3.0 * DAY_S)
    assert len(found.layout.places) == 20
    assert found.ending is Ending.DONE
    assert max(found.balance_error.values()) < 1e-11, found.balance_error
    assert found["water"][-1] == pytest.approx(farm().volume_m3, rel=0.01)
    each = found.last.control["backwashes"][1:]
    assert (each > 3).all()
    assert each.sum() == found.backwash_s.size
    assert found.drained_g.size == 3
    # The degassing stage strips carbon dioxide, so its water stands above the others in pH and
    # its own dissolved carbon below.
    before = found.concentration("settling 1", "inorganic carbon")[-1]
    assert found.concentration("degassing", "inorganic carbon")[-1] < before


def test_places_differ_as_they_must() -> None:
    found = simulate(
        farm(), schedule=Schedule((Ration(0.0, 1.2 / DAY_S, 0.35),)), until_s=2 * DAY_S
    )
    oxygen = {name: found.concentration(name, "oxygen")[-1] for name in found.layout.places}
    assert oxygen["degassing"] > max(o for n, o in oxygen.items() if n.startswith(("bed", "tank")))
    carbon = {name: found.concentration(name, "inorganic carbon")[-1] for name in oxygen}
    assert min(carbon, key=lambda name: carbon[name]) == "bed 5"  # the trickling one
    assert carbon["degassing"] < carbon["bed 1"]


def test_one_filter_stands_while_the_others_go_on() -> None:
    off = Switched(0.0, Device.WATER_PUMP, on=False, of_filter=1)
    found = simulate(farm(), schedule=Schedule((off,)), until_s=2.0 * DAY_S)
    counts = found.last.control["backwashes"][1:]
    assert counts[1] == 0.0
    assert counts[0] > 3.0
    gap = SettingChanged(0.0, replace(farm().settings[2], needle_gap_m=0.0), of_filter=2)
    found = simulate(farm(), schedule=Schedule((gap,)), until_s=2.0 * DAY_S)
    counts = found.last.control["backwashes"][1:]
    assert counts[2] == 0.0
    assert counts[1] > 3.0


@pytest.mark.parametrize(
    ("pipes", "says"),
    [
        ((Pipe("tank", "raft"), Pipe("raft", "tank")), "in a circle through"),
        ((Pipe("tank", "sump", 0.5), Pipe("raft", "sump")), "must add up to 1"),
        ((Pipe("tank", "pond"),), "a pipe names 'pond'"),
    ],
)
def test_pipes_that_cannot_be_are_refused_in_words(pipes: Any, says: str) -> None:
    own = replace(site(), tanks=(Tank("tank", 2.0),), beds=(replace(site().beds[0], name="raft"),))
    with pytest.raises(InputError, match=says):
        assemble(replace(own, pipes=pipes))


def test_a_ph_that_the_alkalinity_cannot_give_still_starts_sound() -> None:
    start = start_state(loop(), water=StartWater(alkalinity_eq_m3=0.1, phosphate_p_g_m3=8.0))
    found = simulate(loop(), start=start, until_s=3600.0)
    assert found.ending is Ending.DONE
    assert np.isfinite(found.outputs).all()


def test_two_places_of_one_name_are_refused() -> None:
    with pytest.raises(InputError, match="two places have one name"):
        assemble(replace(farm_site(), tanks=(Tank("tank", 2.0), Tank("tank", 1.0)), pipes=()))


# --- states of the world ---


@pytest.mark.parametrize(
    "events",
    [
        (Emptied(3600.0, "bed 1", 1.0),),
        (Emptied(3600.0, "sump", 1.0), Switched(3600.0, Device.POWER, on=False)),
        tuple(Emptied(3600.0, name, 1.0) for name in farm().built.layout.places),
        (Switched(3600.0, Device.POWER, on=False),),
        (Switched(3600.0, Device.WATER_PUMP, on=False), EvaporationChanged(0.0, 50.0)),
    ],
    ids=["dry bed", "empty sump in the dark", "everything empty", "outage", "no flow, hot wind"],
)
def test_dry_empty_and_dark_are_states_of_the_world(events: Any) -> None:
    schedule = Schedule((Ration(0.0, 0.5 / DAY_S, 0.35), *events))
    found = simulate(farm(), schedule=schedule, until_s=1.5 * DAY_S)
    assert found.ended == Ending.DONE.text
    assert np.isfinite(found.states).all()
    assert max(found.balance_error.values()) < 1e-11, found.balance_error
    water = found.states[:, found.layout.places_of(lay.VOLUME)]
    assert water.min() > -1e-9


# --- what else the matrix holds ---


def test_hard_water_drops_calcite_and_loses_alkalinity() -> None:
    hard = loop().with_parameters(make_up_calcium_g_m3=120.0, aeration_per_s=1e-3)
    start = start_state(hard, water=StartWater(alkalinity_eq_m3=4.0, ph=8.4))
    found = simulate(hard, start=start, until_s=5.0 * DAY_S, every_s=DAY_S)
    rock = found.ledgers["rock: carbon"]
    assert rock > 1.0
    fallen = rock / 12.011
    calcium = found.states[:, found.layout.places_of(lay.CAL)].sum(axis=1)
    assert calcium[0] - calcium[-1] > 0.8 * 40.08 * fallen


def test_chlorine_in_make_up_water_kills_film_and_fades() -> None:
    clean = loop()
    dirty = clean.with_parameters(make_up_chlorine_g_m3=2.0)
    added = Schedule((*usual(300.0, 3).events, TopUp(3600.0, 0.5)))
    film = []
    for of in (clean, dirty):
        found = simulate(of, schedule=added, until_s=2.0 * DAY_S)
        film.append(found.amount(f"{found.layout.filters[0]}: ammonia oxidisers on beads")[-1])
    assert film[1] < 0.99 * film[0]
    assert found["chlorine"].max() > 0.1
    assert found["chlorine"][-1] < 1e-3


def test_water_follows_air_and_sun_and_a_heater_holds_it() -> None:
    warm = Schedule((Weather(0.0, 15.0, 5.0, 50.0),))
    found = simulate(loop(), schedule=warm, until_s=20.0 * DAY_S)
    degc = found["water_temperature"]
    late = degc[found.times_s > 18.0 * DAY_S]
    assert 12.0 < late.mean() < 26.0
    assert 0.1 < np.ptp(late) < 5.0
    held = simulate(loop(), schedule=warm.plus((Heater(0.0, 5000.0, 25.0),)), until_s=20.0 * DAY_S)
    assert held["water_temperature"][-1] > degc[-1] + 1.0
    assert held["total_ammonia"][-1] != found["total_ammonia"][-1]


def test_nitrogen_gas_of_a_well_leaves_for_the_air() -> None:
    well = loop().with_parameters(make_up_nitrogen_gas_frac=1.4, make_up_oxygen_frac=0.2)
    found = simulate(well, schedule=Schedule((TopUp(3600.0, 0.8),)), until_s=DAY_S)
    assert found["nitrogen_gas"].max() > 1.015 * found["nitrogen_gas"][0]
    assert found["nitrogen_gas"][-1] == pytest.approx(found["nitrogen_gas"][0], rel=0.01)


def test_crops_draw_minerals_only_as_far_as_the_water_has_them() -> None:
    found = simulate(loop(), schedule=usual(100.0, 41), until_s=40.0 * DAY_S, every_s=DAY_S)
    for name in ("potassium", "calcium", "magnesium", "iron", "phosphate", "sulphate"):
        assert found[name].min() >= 0.0, name
    assert found["sodium"][-1] > found["sodium"][0]  # only bicarbonate and feed bring it
    assert found["conductivity"][-1] > 0.0


def test_crops_that_follow_the_light_rest_at_night() -> None:
    lit = loop().with_parameters(crop_daylight_frac=1.0)
    found = simulate(lit, schedule=usual(300.0, 3), until_s=2.0 * DAY_S)
    crop = found.amount("crop: nitrogen")
    night = crop[3] - crop[1]  # hours 1 to 3; the sun rises at 6
    day = crop[13] - crop[11]
    assert night < 0.01 * day


def test_conductivity_is_near_that_of_a_known_solution() -> None:
    # 0.01 mol/L KCl: 0.1413 S/m at 25 degC (a calibration standard; from memory).
    from tailrace.simulation.outputs import conductivity_s_m  # noqa: PLC0415

    mean = np.zeros(lay.WATER)
    mean[lay.POT], mean[lay.CHLO] = 10.0 * lay.POTASSIUM, 10.0 * lay.CHLORIDE
    function: Any = conductivity_s_m
    assert function.py_func(mean) == pytest.approx(0.1413, rel=0.05)
