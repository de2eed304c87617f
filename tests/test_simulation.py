"""The loop in time: balances, another solver on the same equations, order, odd input."""

from __future__ import annotations

import math
import types
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some
from numba.core.errors import TypingError
from scipy.integrate import solve_ivp

from tailrace.errors import InputError
from tailrace.simulation import (
    Base,
    Device,
    Dose,
    Ending,
    Feeding,
    HeldAlkalinity,
    Loop,
    Parameters,
    Ration,
    Schedule,
    SettingChanged,
    SludgeDrain,
    Solution,
    StartWater,
    Switched,
    TemperatureChanged,
    TopUp,
    WaterChange,
    apart,
    engine,
    jumps,
    march,
    outputs,
    parameter_table,
    processes,
    right_hand_side,
    rkc2,
    simulate,
    start_state,
)
from tailrace.simulation import layout as lay
from tailrace.simulation.film import in_series, lesser, uptake
from tailrace.simulation.outputs import NAMES
from tailrace.simulation.stoichiometry import COLUMNS, COMPOSITION, Process, process_matrices
from tailrace.water.carbonate import alkalinity_from_ph_and_dic_eq_m3
from tests.loops import DAY_S, at_bypass, fish_only, loop, stiff, usual, without_air

MATRIX = process_matrices(parameter_table(Parameters()))[0]


def busy(days: int) -> Schedule:
    """Everything a keeper does, over and over."""
    of = loop()
    events: list[Any] = [HeldAlkalinity(0.0, 0.6)]
    for day in range(days):
        at = day * DAY_S
        events += [Feeding(at + h * 3600.0, 0.15, 0.35, 0.05) for h in (8, 17)]
        events += [SludgeDrain(at + 9 * 3600.0, 7e-3), TopUp(at + 10 * 3600.0, 0.04)]
        if day % 7 == 3:
            events += [WaterChange(at, 0.2), Dose(at, 0.05, Base.POTASSIUM_BICARBONATE)]
        if day % 10 == 5:
            events += [SettingChanged(at, at_bypass(0.75 if day % 20 == 5 else 0.70, of))]
            events += [Switched(at + h * 3600.0, Device.POWER, on=h == 3) for h in (1, 3)]
        if day % 15 == 8:
            events += [TemperatureChanged(at, 24.0 + day % 4)]
    return Schedule(tuple(events))


# --- balances ---


@pytest.mark.parametrize("process", Process, ids=lambda process: process.name)
def test_a_process_keeps_every_element(process: Process) -> None:
    row = MATRIX[process]
    assert np.abs(row @ COMPOSITION).max() < 1e-14 * max(1.0, np.abs(row).max() * 14.0)


@pytest.mark.parametrize(
    ("process", "column", "per_n"),
    [
        # Textbook stoichiometry without growth, from memory: 3.43 and 1.14 g O2, 2/14 eq per g N;
        # growth of 0.15 and 0.06 g VSS per g N (1.42 g O2 each) is taken off.
        (Process.AMMONIA_OXIDATION, "oxygen", -(3.43 - 1.42 * 0.15)),
        (Process.NITRITE_OXIDATION, "oxygen", -(1.14 - 1.42 * 0.06)),
        (Process.AMMONIA_OXIDATION, "alkalinity", -2.0 / 14.0),
        (Process.DENITRIFICATION, "alkalinity", 1.0 / 14.0),
        (Process.NITRATE_UPTAKE, "alkalinity", 1.0 / 14.0),
        (Process.CALCITE, "alkalinity", -2.0),
        (Process.CALCITE, "calcium", -40.08),
    ],
)
def test_textbook_coefficients_come_out(process: Process, column: str, per_n: float) -> None:
    assert MATRIX[process, COLUMNS.index(column)] == pytest.approx(per_n, rel=0.07)


def test_all_balances_close_over_sixty_busy_days() -> None:
    found = simulate(loop(), schedule=busy(60), until_s=60.0 * DAY_S, every_s=DAY_S)
    assert found.ending is Ending.DONE
    assert found.backwash_s.size > 100
    assert found.drained_g.sum() > 1000.0
    assert max(found.balance_error.values()) < 1e-11, found.balance_error
    assert np.isfinite(found.outputs).all()


def test_the_ledgers_tell_what_came_and_went() -> None:
    events = (Feeding(10.0, 0.2, 0.35), TopUp(20.0, 0.1), Dose(30.0, 0.084007))
    found = simulate(loop(), schedule=Schedule(events), until_s=3600.0)
    assert found.ledgers["feed: nitrogen"] == pytest.approx(-200.0 * 0.16 * 0.35)
    assert found.ledgers["top-up: water"] == pytest.approx(-0.1)
    # 84.007 g of sodium bicarbonate hold a mole of sodium, of carbon and of alkalinity.
    assert found.ledgers["dose: carbon"] == pytest.approx(-12.011, rel=1e-4)
    of = found.layout
    sodium = found.states[:, of.places_of(lay.SOD)].sum(axis=1)
    assert sodium[-1] - sodium[0] == pytest.approx(22.99 + 0.1 * 5.0, rel=0.01)
    assert found.ledgers["evaporated: water"] == pytest.approx(
        loop().parameters.evaporation_m3_s * 3600.0
    )


def test_water_is_made_up_when_the_tank_runs_low_and_runs_over_when_full() -> None:
    dry = loop().with_parameters(evaporation_m3_s=0.2 / DAY_S)
    found = simulate(dry, until_s=20.0 * DAY_S, every_s=DAY_S)
    assert found.ledgers["make-up: water"] < -1.0
    assert found["water"].min() > 0.4 * loop().volume_m3
    events = tuple(TopUp(hour * 3600.0, 0.2) for hour in range(1, 12))
    found = simulate(loop(), schedule=Schedule(events), until_s=2.0 * DAY_S)
    assert found.ledgers["overflow: water"] > 0.5
    assert max(found.balance_error.values()) < 1e-12


# --- another solver on the same equations ---


def against_lsoda(of: Loop, days: float, **water: Any) -> tuple[Solution, Any]:
    start = start_state(of, water=StartWater(**water))
    ration = Ration(0.0, 0.3 / DAY_S, 0.35)
    schedule = Schedule((ration, without_air()))
    found = simulate(of, start=start, schedule=schedule, until_s=days * DAY_S, every_s=DAY_S / 4)
    control = start.control.copy()
    control["air_pump_on"] = 0.0
    sides = right_hand_side(of, start=replace(start, control=control), ration=ration)
    other = solve_ivp(
        sides, (0.0, days * DAY_S), sides.y0, "LSODA", found.times_s, rtol=1e-8, atol=1e-9
    )
    assert other.status == 0
    return found, np.array([sides.measure(y) for y in other.y.T])


@pytest.mark.parametrize(
    ("of", "alkalinity"),
    [(loop, 0.6), (loop, 0.15), (stiff, 0.6), (stiff, 0.15), (fish_only, 0.6)],
    ids=["usual", "low alkalinity", "stiff", "stiff and low", "no plant bed"],
)
def test_lsoda_on_the_same_right_hand_side_agrees(of: Any, alkalinity: float) -> None:
    found, other = against_lsoda(of(), 5.0, alkalinity_eq_m3=alkalinity)
    for name in ("total_ammonia", "nitrite", "nitrate", "oxygen", "ph", "un_ionised_ammonia"):
        column = NAMES.index(name)
        assert found[name] == pytest.approx(other[:, column], rel=0.01), name
    for name in ("alkalinity", "fine_solids", "coarse_solids", "dissolved_organics", "clarity"):
        column = NAMES.index(name)
        assert found[name] == pytest.approx(other[:, column], rel=0.01), name


@pytest.mark.parametrize("of", [loop, stiff], ids=["low alkalinity", "stiff"])
def test_ph_is_solved_to_convergence(of: Any) -> None:
    schedule = Schedule((Ration(0.0, 0.45 / DAY_S, 0.35),))
    start = start_state(of(), water=StartWater(alkalinity_eq_m3=0.15))
    found = simulate(of(), start=start, schedule=schedule, until_s=12.0 * DAY_S)
    for row in range(0, found.times_s.size, 24):
        back = alkalinity_from_ph_and_dic_eq_m3(
            found["ph"][row],
            found["dic"][row],
            found["total_ammonia"][row],
            of().day.water_temperature_degc,
            of().parameters.ionic_strength_mol_m3,
            found["phosphate"][row],
            outside="extrapolate",
        )
        assert back == pytest.approx(found["alkalinity"][row], abs=1e-9)


def test_the_tolerance_asked_for_is_met_where_no_backwash_is_near() -> None:
    fine = simulate(loop(), schedule=usual(300.0, 8), until_s=8.0 * DAY_S, tolerance=1e-6)
    found = simulate(loop(), schedule=usual(300.0, 8), until_s=8.0 * DAY_S)
    assert found.backwash_s == pytest.approx(fine.backwash_s, abs=120.0)
    near = np.abs(fine.times_s[:, np.newaxis] - fine.backwash_s).min(axis=1) < 300.0
    for name in ("total_ammonia", "nitrite", "nitrate", "oxygen", "ph", "alkalinity"):
        assert found[name][~near] == pytest.approx(fine[name][~near], rel=1e-3), name


# --- the stepper ---


def stepper(rate: Any) -> Any:
    """The step with another right-hand side, as plain Python."""
    scope = dict(vars(rkc2))
    kernels: Any = rkc2
    scope |= {"rates_into": rate, "_shift": kernels._shift.py_func}
    return types.FunctionType(kernels.step.py_func.__code__, scope)


def swing(t: float, y: Any, dy: Any, _: Any) -> None:
    dy[0] = -y[0] * y[1] + math.cos(t)
    dy[1] = y[0] - 0.5 * y[1] * y[1]


CONTEXT = (None, types.SimpleNamespace(moving=2))


def after_swing(steps: int, stages: int) -> Any:
    step = stepper(swing)
    y, work, h = np.array([1.0, 0.5]), np.zeros((6, 2)), 2.0 / steps
    for i in range(steps):
        swing(i * h, y, work[0], None)
        step(i * h, h, stages, y, work, CONTEXT)
        y = work[1].copy()
    return y


@pytest.mark.parametrize("stages", [2, 3, 5, 9, 20])
def test_the_stepper_is_of_second_order(stages: int) -> None:
    exact = solve_ivp(
        lambda t, y: [-y[0] * y[1] + math.cos(t), y[0] - 0.5 * y[1] ** 2],
        (0.0, 2.0), [1.0, 0.5], "DOP853", rtol=1e-13, atol=1e-13,
    ).y[:, -1]  # fmt: skip
    coarse, fine = (np.abs(after_swing(n, stages) - exact).max() for n in (40, 80))
    assert math.log2(coarse / fine) == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize("stages", [2, 4, 10, 40])
def test_the_stepper_meets_the_order_conditions_and_its_stability_bound(stages: int) -> None:
    def grown(z: float) -> float:
        def linear(_: float, y: Any, dy: Any, __: Any) -> None:
            dy[:] = z * y

        y, work = np.array([1.0, 1.0]), np.zeros((6, 2))
        linear(0.0, y, work[0], None)
        stepper(linear)(0.0, 1.0, stages, y, work, CONTEXT)
        return float(work[1, 0])

    small = 1e-3
    assert grown(small) == pytest.approx(math.exp(small), abs=2.0 * small**3)
    reach = stages * stages / 1.54 - 1.0  # what `stages_for` relies on
    bound = min(reach, 0.653 * stages * stages)
    assert max(abs(grown(-z)) for z in np.linspace(0.1, bound, 60)) <= 1.0 + 1e-9


@given(
    greatest=some.floats(0.0, 1e3), half=some.floats(1e-3, 50.0),
    conductance=some.floats(0.0, 1e3), concentration=some.floats(0.0, 1e3),
)  # fmt: skip
@settings(max_examples=200, deadline=None)
def test_uptake_solves_monod_behind_a_conductance(
    greatest: float, half: float, conductance: float, concentration: float
) -> None:
    supply = conductance * concentration
    taken = uptake.py_func(greatest, half, conductance, supply)  # type: ignore[attr-defined]
    assert 0.0 <= taken <= min(greatest, supply) * (1.0 + 1e-12) + 1e-200  # products underflow
    # Monod's law at the concentration that is left, multiplied out.
    left = (greatest - taken) * (supply - taken)
    kept = taken * conductance * half
    assert abs(left - kept) <= 1e-9 * (greatest * supply + kept) + 1e-300


def test_the_lesser_of_two_rates_and_conductances_in_series() -> None:
    soft, series = lesser.py_func, in_series.py_func  # type: ignore[attr-defined]
    assert soft(1.0, 1e6) == pytest.approx(1.0, rel=0.02)
    assert soft(0.0, 1.0) == soft(1.0, 0.0) == 0.0
    assert series(2.0, 2.0) == 1.0
    assert series(2.0, math.inf) == 2.0
    assert series(0.0, 0.0) == 0.0


# --- odd input ---

PUMP_OFF = (
    Switched(DAY_S, Device.WATER_PUMP, on=False),
    Switched(3 * DAY_S, Device.WATER_PUMP, on=True),
)
NO_POWER = (Switched(DAY_S, Device.POWER, on=False), Switched(3 * DAY_S, Device.POWER, on=True))


@pytest.mark.parametrize(
    ("schedule", "water"),
    [
        (Schedule.EMPTY, {}),
        (Schedule(PUMP_OFF), {}),
        (Schedule((*usual(450.0, 6).events, *PUMP_OFF)), {}),
        (Schedule((*usual(450.0, 6).events, *NO_POWER)), {}),
        (usual(450.0, 6, held=0.0), {"alkalinity_eq_m3": 0.0, "ph": 4.5}),
        (usual(450.0, 6, held=0.0), {"alkalinity_eq_m3": -0.05, "ph": 4.2}),
        (Schedule((Feeding(3600.0, 5.0, 0.45, 0.5),)), {"total_ammonia_n_g_m3": 0.0}),
        (Schedule((Feeding(0.0, 0.0, 0.35),)), {"nitrite_n_g_m3": 0.0, "nitrate_n_g_m3": 0.0}),
        (Schedule((WaterChange(10.0, 0.95), SludgeDrain(10.0, 1.0))), {}),
    ],
    ids=["empty", "pump off", "pump off, fed", "power off", "no alkalinity", "sour", "much feed",
         "nothing", "great change"],
)  # fmt: skip
@pytest.mark.parametrize("of", [loop, fish_only], ids=["plant bed", "fish only"])
def test_odd_input_gives_numbers_and_an_ending_in_words(
    of: Any, schedule: Schedule, water: dict[str, Any]
) -> None:
    start = start_state(of(), water=StartWater(**water))
    found = simulate(of(), start=start, schedule=schedule, until_s=6.0 * DAY_S)
    assert found.ended == Ending.DONE.text
    assert np.isfinite(found.outputs).all()
    assert found.last.at_s == 6.0 * DAY_S
    assert max(found.balance_error.values()) < 1e-11
    for name in ("total_ammonia", "nitrite", "nitrate", "oxygen", "fine_solids"):
        assert found[name].min() > -1e-3, name


def test_no_backwash_comes_while_no_water_flows() -> None:
    schedule = Schedule((*usual(300.0, 5).events, *PUMP_OFF))
    found = simulate(loop(), schedule=schedule, until_s=5.0 * DAY_S)
    off = (found.backwash_s > DAY_S) & (found.backwash_s <= 3.0 * DAY_S)
    assert not off.any()
    assert (found.backwash_s > 3.0 * DAY_S).any()


def test_an_output_at_an_event_is_the_state_before_it() -> None:
    schedule = Schedule((WaterChange(3600.0, 0.5),))
    found = simulate(loop(), schedule=schedule, until_s=3660.0, every_s=1800.0)
    assert found["nitrate"][2] == pytest.approx(40.0, rel=0.01)
    assert found["nitrate"][-1] == pytest.approx(20.0, rel=0.02)


def test_a_simulation_leaves_its_loop_and_start_alone_and_repeats_itself() -> None:
    start = start_state(loop())
    before = start.amounts.copy()
    first, second = (
        simulate(loop(), start=start, schedule=busy(3), until_s=3.0 * DAY_S) for _ in range(2)
    )
    assert (start.amounts == before).all()
    assert (first.states == second.states).all()
    with pytest.raises(ValueError, match="read-only"):
        first.outputs[0, 0] = 1.0


def test_going_on_from_an_end_is_the_same_as_going_through() -> None:
    whole = simulate(loop(), schedule=busy(4), until_s=4.0 * DAY_S)
    half = simulate(loop(), schedule=busy(4), until_s=2.0 * DAY_S)
    rest = simulate(
        loop(), start=half.last, schedule=busy(4), from_s=2.0 * DAY_S, until_s=4.0 * DAY_S
    )
    assert rest["total_ammonia"][-1] == pytest.approx(whole["total_ammonia"][-1], rel=2e-3)
    assert half.backwash_s.size + rest.backwash_s.size == whole.backwash_s.size


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Schedule((Feeding(0.0, 0.1, 35.0),)), "Was it given in percent?"),
        (lambda: Schedule((TopUp(0.0, -1.0),)), "added_m3 is -1"),
        (lambda: Schedule((Feeding(math.nan, 0.1, 0.3),)), "a time in seconds"),
        (lambda: Schedule((TemperatureChanged(0.0, 80.0),)), "Fahrenheit"),
        (lambda: simulate(loop(), until_s=-1.0), "must go forward"),
        (lambda: simulate(loop(), until_s=1.0, every_s=0.0), "above zero"),
        (lambda: StartWater(total_ammonia_n_g_m3=-1.0), "must be zero or more"),
        (lambda: StartWater(ph=70.0), "pH from 3 to 11"),
        (lambda: simulate(loop().with_parameters(gut_s=math.nan), until_s=1.0), "gut_s of"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_in_words(make: Any, says: str) -> None:
    with pytest.raises(InputError, match=says.replace("?", r"\?")):
        make()


def test_the_entry_carries_no_right_hand_side_and_what_is_apart_refuses_other_types() -> None:
    # A copy of the right-hand side in each caller made most of the time of the first start.
    heavy = (processes.derivative, outputs.write_outputs)
    carried = [
        name
        for module in (march, rkc2, jumps, engine)
        for name, value in vars(module).items()
        if any(value is each for each in heavy)
    ]
    assert not carried
    with pytest.raises(TypingError, match="compiled apart takes"):
        apart._call(apart.DERIVE, apart.TYPES[apart.RATES])
    inner: Any = march._blend
    assert inner.targetoptions["no_cpython_wrapper"]
    assert inner.targetoptions["no_cfunc_wrapper"]


def test_the_layout_and_its_positions_agree() -> None:
    layout = lay.Layout(("tank", "sump"), ("A", "B"), ("wall",), ("tank",))
    names = [state.name for state in layout.states]
    assert names[lay.FED] == "feed: nitrogen"
    assert names[lay.MAKE_UP_M3] == "make-up: water"
    assert names[lay.FIRST + lay.PLACE + lay.ALK] == "sump: alkalinity"
    assert names[lay.FIRST + lay.PLACE + lay.VOLUME] == "sump: water"
    second = layout.filters_at + lay.FILTER
    assert names[second + lay.PACKED] == "B: packed sludge"
    assert names[second + lay.LAYER + 3] == "B: fine solids in layer 2"
    assert names[layout.surfaces_at + lay.DEPOSIT] == "wall: deposit"
    assert names[layout.fish_at + lay.GUT_P] == "tank: phosphorus in gut"
    assert names[layout.moving + lay.DRAIN] == "drain: nitrogen"
    assert names[layout.moving + lay.DRAIN_M3] == "drain: water"
    assert len(layout.index) == layout.size
    assert not layout.inside[: lay.TEMPERATURE].any()
    assert layout.inside[lay.TEMPERATURE : layout.moving].all()
    assert not layout.inside[layout.moving :].any()
