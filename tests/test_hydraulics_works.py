"""Fittings, outflow, particles, pump curves and networks, against libraries of fluid mechanics."""

from __future__ import annotations

import math
import random
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import fluids
import pytest
from epanet import toolkit
from fluids.fittings import Cv_to_K, Kv_to_K, entrance_sharp
from fluids.friction import Colebrook
from fluids.open_flow import Q_weir_rectangular_full_Rehbock, V_Manning
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from tailrace.errors import InputError, NotKnownError, OutsideRangeError
from tailrace.hydraulics.fittings import (
    fittings,
    flow_coefficient_from_cv_m2,
    flow_coefficient_from_kv_m2,
    loss_coefficient_from_flow_coefficient,
    loss_coefficient_sum,
)
from tailrace.hydraulics.friction import (
    friction_factor_colebrook_1939,
    hazen_williams_head_loss_m,
)
from tailrace.hydraulics.network import Node, Run, network_flows
from tailrace.hydraulics.outflow import (
    full_width_weir_flow_m3_s,
    orifice_flow_m3_s,
    part_full_pipe_flow_m3_s,
    standpipe_flow_m3_s,
    tank_emptying_s,
    v_notch_flow_m3_s,
)
from tailrace.hydraulics.particles import (
    mixed_flushing_s,
    overflow_rate_m_s,
    self_cleaning_velocity_m_s,
    settling_velocity_m_s,
    settling_velocity_stokes_m_s,
    turnover_s,
)
from tailrace.hydraulics.pipes import Pipe, pipe_head_loss_m
from tailrace.hydraulics.pumps import (
    WaterPump,
    power_curve_pump_head_m,
    pump_efficiency_frac,
    pump_from_points,
    pump_head_m,
    pump_power_w,
    pumping_energy_j,
)
from tailrace.hydraulics.returns import gravity_flow_m3_s, siphon_crest_pa_abs
from tailrace.hydraulics.tee import Branch, tee_flows
from tailrace.hydraulics.valves import ValveKind, valve_loss_coefficient

WATER = {"density_kg_m3": 998.0, "viscosity_pa_s": 1e-3}
GRAVITY = 9.80665
Loss = Callable[[float], float]

# --- friction, fittings -------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.hydraulics.friction.friction_factor_colebrook_1939", source="fluids: Colebrook"
)
@given(st.floats(2041.0, 1e8), st.floats(0.0, 0.05))
def test_colebrook_is_solved_to_the_last_digits(reynolds: float, roughness: float) -> None:
    expected = Colebrook(reynolds, roughness)
    assert friction_factor_colebrook_1939(reynolds, roughness) == pytest.approx(expected, rel=1e-9)


@pytest.mark.outside(
    "tailrace.hydraulics.fittings.flow_coefficient_from_cv_m2",
    "tailrace.hydraulics.fittings.flow_coefficient_from_kv_m2",
    "tailrace.hydraulics.fittings.loss_coefficient_from_flow_coefficient",
    source="fluids: Cv_to_K, Kv_to_K",
)
@given(st.floats(1.0, 500.0), st.floats(0.01, 0.2))
def test_loss_coefficients_from_cv_and_kv_are_the_library_s(printed: float, bore: float) -> None:
    from_cv = loss_coefficient_from_flow_coefficient(flow_coefficient_from_cv_m2(printed), bore)
    from_kv = loss_coefficient_from_flow_coefficient(flow_coefficient_from_kv_m2(printed), bore)
    assert from_cv == pytest.approx(Cv_to_K(printed, bore), rel=1e-3)
    assert from_kv == pytest.approx(Kv_to_K(printed, bore), rel=1e-3)


def test_a_sharp_entrance_is_of_the_library_s_order() -> None:
    assert fittings()["entrance_flush"].loss_coefficient == pytest.approx(
        entrance_sharp(), abs=0.08
    )


def test_fittings_in_series_add_up_and_a_misspelt_one_is_asked_about() -> None:
    assert loss_coefficient_sum({"elbow_90_standard": 2, "union": 1}) == pytest.approx(1.54)
    with pytest.raises(NotKnownError, match=r"no fitting 'elbow_90'.*Was elbow_90_"):
        loss_coefficient_sum({"elbow_90": 1})


@pytest.mark.parametrize("kind", ValveKind)
def test_every_valve_is_open_at_one_and_shut_at_zero(kind: ValveKind) -> None:
    assert valve_loss_coefficient(0.0, kind) == pytest.approx(1e8)
    assert valve_loss_coefficient(1.0, kind) < 10.0


# --- outflow ------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.hydraulics.outflow.full_width_weir_flow_m3_s", source="fluids: Rehbock"
)
@given(st.floats(0.01, 0.5), st.floats(0.1, 1.0), st.floats(0.1, 2.0))
def test_the_full_width_weir_is_rehbock_s(head: float, crest: float, width: float) -> None:
    expected = Q_weir_rectangular_full_Rehbock(head, crest, width)
    assert full_width_weir_flow_m3_s(head, crest, width) == pytest.approx(expected, rel=1e-4)


@pytest.mark.outside(
    "tailrace.hydraulics.outflow.v_notch_flow_m3_s",
    source="cone formula of the US Bureau of Reclamation, 2.49 h^2.48 in feet, from memory",
)
@pytest.mark.parametrize("head", [0.06, 0.1, 0.2, 0.38])
def test_the_right_angled_notch_follows_the_cone_formula(head: float) -> None:
    expected = 2.49 * (head / 0.3048) ** 2.48 * 0.3048**3
    assert v_notch_flow_m3_s(head) == pytest.approx(expected, rel=0.02)


@pytest.mark.outside(
    "tailrace.hydraulics.outflow.part_full_pipe_flow_m3_s",
    source="fluids: V_Manning, with the segment integrated by scipy",
)
@pytest.mark.parametrize("depth", [0.1, 0.3, 0.5, 0.8, 1.0])
def test_a_pipe_part_full_is_manning_s_with_an_integrated_segment(depth: float) -> None:
    bore, slope, rough = 0.1, 0.01, 0.009
    radius = bore / 2.0

    def width(level: float) -> float:
        return 2.0 * math.sqrt(max(radius**2 - (level - radius) ** 2, 0.0))

    area, _ = quad(width, 0.0, depth * bore)
    wetted = bore * math.acos(1.0 - 2.0 * depth)
    expected = area * V_Manning(area / wetted, slope, rough)
    assert part_full_pipe_flow_m3_s(depth, bore, slope, rough) == pytest.approx(expected, rel=1e-5)


def test_most_flows_in_a_pipe_a_little_less_than_full() -> None:
    shares = [i / 100.0 for i in range(101)]
    best = max(shares, key=lambda share: part_full_pipe_flow_m3_s(share, 0.1, 0.01))
    assert best == pytest.approx(0.94, abs=0.01)  # any hydraulics handbook, from memory


@pytest.mark.outside(
    "tailrace.hydraulics.outflow.tank_emptying_s",
    "tailrace.hydraulics.outflow.orifice_flow_m3_s",
    source="scipy.integrate.quad of Torricelli's law written out here",
)
def test_a_tank_empties_in_the_time_that_its_orifice_takes() -> None:
    surface, opening = 2.0, 1e-3

    def slowness(head: float) -> float:
        return surface / (0.61 * opening * math.sqrt(2.0 * GRAVITY * head))

    expected, _ = quad(slowness, 0.1, 1.0)
    assert tank_emptying_s(1.0, 0.1, surface, opening) == pytest.approx(expected, rel=1e-6)
    assert orifice_flow_m3_s(0.5, opening) == pytest.approx(surface / slowness(0.5), rel=1e-12)


def test_a_standpipe_goes_over_from_weir_to_orifice_without_a_step() -> None:
    bore = 0.05
    crossing = 0.375 * bore
    below, above = (standpipe_flow_m3_s(crossing * f, bore) for f in (1 - 1e-9, 1 + 1e-9))
    assert below == pytest.approx(above, rel=1e-6)
    assert standpipe_flow_m3_s(0.0, bore) == 0.0


# --- particles and turnover ---------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.hydraulics.particles.settling_velocity_stokes_m_s",
    "tailrace.hydraulics.particles.settling_velocity_m_s",
    source="fluids: v_terminal",
)
@given(st.floats(1e-5, 3e-3), st.floats(10.0, 300.0))
def test_settling_speeds_are_near_those_of_a_full_drag_curve(
    diameter: float, excess: float
) -> None:
    expected = fluids.v_terminal(D=diameter, rhop=998.0 + excess, rho=998.0, mu=1e-3)
    assert settling_velocity_m_s(diameter, excess, 998.0, 1e-3) == pytest.approx(
        expected, rel=0.26
    )
    stokes = settling_velocity_stokes_m_s(diameter, excess, 1e-3)
    if stokes * diameter * 998.0 / 1e-3 < 0.05:
        assert stokes == pytest.approx(expected, rel=0.01)


@pytest.mark.outside(
    "tailrace.hydraulics.particles.self_cleaning_velocity_m_s", source="fluids: V_Manning"
)
def test_camp_s_velocity_has_the_shear_that_it_promises() -> None:
    radius, grain, excess, number, rough = 0.0125, 1e-3, 0.06, 0.8, 0.009
    slope = number * excess * grain / radius  # shear rho g R S over excess weight of a layer
    expected = V_Manning(radius, slope, rough)
    got = self_cleaning_velocity_m_s(radius, grain, excess, number, rough)
    assert got == pytest.approx(expected, rel=1e-9)


@pytest.mark.outside(
    "tailrace.hydraulics.particles.turnover_s",
    "tailrace.hydraulics.particles.mixed_flushing_s",
    source="scipy.integrate.quad of the mixed tank",
)
def test_a_mixed_tank_flushes_by_its_turnover() -> None:
    volume, flow, removed = 3.0, 2e-3, 0.9
    expected, _ = quad(lambda share: volume / (flow * share), 1.0 - removed, 1.0)
    assert mixed_flushing_s(volume, flow, removed) == pytest.approx(expected, rel=1e-9)
    assert mixed_flushing_s(volume, flow, 1.0 - math.exp(-1.0)) == pytest.approx(
        turnover_s(volume, flow)
    )
    assert overflow_rate_m_s(flow, 4.0) == pytest.approx(5e-4)


# --- returns ------------------------------------------------------------------------------


@given(st.floats(1e-4, 3.0), st.floats(0.02, 0.1), st.floats(0.1, 30.0))
def test_a_fall_is_used_up_by_the_flow_that_it_drives(
    fall: float, bore: float, length: float
) -> None:
    pipe = Pipe(bore_m=bore, length_m=length, loss_coefficient=3.0)
    flow = gravity_flow_m3_s(fall, pipe, **WATER)
    reynolds = 4.0 * flow * 998.0 / (math.pi * bore * 1e-3)
    if abs(reynolds - 2040.0) > 1.0:  # there the loss has a step, which a fall can end in
        assert pipe_head_loss_m(flow, pipe, **WATER) == pytest.approx(fall, rel=1e-4, abs=1e-9)


def test_no_fall_no_flow_and_a_bore_in_millimetres_is_asked_about() -> None:
    pipe = Pipe(bore_m=0.05, length_m=3.0, loss_coefficient=3.0)
    assert gravity_flow_m3_s(0.0, pipe, **WATER) == 0.0
    with pytest.raises(OutsideRangeError, match="Is the bore in metres"):
        gravity_flow_m3_s(1.0, Pipe(bore_m=5.0, length_m=3.0, loss_coefficient=3.0), **WATER)


@pytest.mark.outside(
    "tailrace.hydraulics.returns.siphon_crest_pa_abs",
    source="energy equation with fluids: head_from_K, head_from_P",
)
def test_the_crest_of_a_siphon_keeps_the_energy_equation() -> None:
    velocity, loss = 1.5, 2.0
    crest = siphon_crest_pa_abs(1.2, velocity, loss, 101325.0, 998.0)
    head = fluids.head_from_P(101325.0 - crest, 998.0)
    assert head == pytest.approx(1.2 + fluids.head_from_K(1.0 + loss, velocity), rel=1e-9)


# --- pumps --------------------------------------------------------------------------------


@given(st.floats(1.0, 20.0), st.floats(1e-4, 1e-2), st.floats(0.6, 4.0))
def test_a_pump_passes_through_its_three_points(top: float, flow: float, bend: float) -> None:
    made = WaterPump(top, flow, curve_exponent=bend)
    points = [(q, pump_head_m(q, made)) for q in (0.0, 0.4 * flow, 0.8 * flow)]
    found = pump_from_points(points)
    for q, head in points:
        assert pump_head_m(q, found) == pytest.approx(head, rel=1e-6)


def test_two_points_give_a_parabola_and_one_the_usual_shape() -> None:
    two = pump_from_points([(0.001, 3.5), (0.0005, 4.0)])
    assert pump_head_m(0.001, two) == pytest.approx(3.5)
    assert pump_head_m(0.0005, two) == pytest.approx(4.0)
    one = pump_from_points([(0.001, 3.0)])
    assert (one.shutoff_head_m, one.maximum_flow_m3_s) == pytest.approx((4.0, 0.002))
    assert pump_head_m(0.001, one) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("points", "said"),
    [
        ([], "heads that fall"),
        ([(0.0, 3.0), (0.001, 4.0)], "heads that fall"),
        ([(0.0, 4.0), (0.001, -1.0)], "none negative"),
        ([(0.0, 4.0)], "duty point"),
        ([(0.001, 4.0), (0.002, 3.0), (0.003, 1.0)], "first of three at no flow"),
        ([(0.0, 4.0), (0.001, 3.0), (0.002, 2.0), (0.003, 1.0)], "at most three"),
    ],
)
def test_points_that_are_no_pump_are_said(points: list[tuple[float, float]], said: str) -> None:
    with pytest.raises(InputError, match=said):
        pump_from_points(points)


@pytest.mark.outside(
    "tailrace.hydraulics.pumps.power_curve_pump_head_m", source="affinity laws, from memory"
)
@given(st.floats(0.3, 1.0), st.floats(0.0, 1.0), st.floats(0.6, 4.0))
def test_a_slower_pump_follows_the_affinity_laws_on_any_curve(
    speed: float, share: float, bend: float
) -> None:
    flow = share * 2e-3
    full = power_curve_pump_head_m(flow, 4.0, 2e-3, 1.0, bend)
    slow = power_curve_pump_head_m(flow * speed, 4.0, 2e-3, speed**2, bend)
    assert slow == pytest.approx(full * speed**2, abs=1e-9)


@pytest.mark.outside(
    "tailrace.hydraulics.pumps.pump_efficiency_frac",
    "tailrace.hydraulics.pumps.pumping_energy_j",
    source="fluids: P_from_head",
)
def test_efficiency_power_and_energy_agree() -> None:
    power = pump_power_w(2e-3, 2.5, 998.0, 0.35)
    hydraulic = fluids.P_from_head(2.5, 998.0) * 2e-3
    assert pump_efficiency_frac(2e-3, 2.5, 998.0, power) == pytest.approx(hydraulic / power)
    assert pumping_energy_j(2e-3 * 3600.0, 2.5, 998.0, 0.35) == pytest.approx(power * 3600.0)


# --- networks, against EPANET ------------------------------------------------------------


def _hazen(bore_m: float, length_m: float, smoothness: float) -> Loss:
    return lambda q: hazen_williams_head_loss_m(q, bore_m, length_m, smoothness)


def epanet_flows(folder: Path, text: str, links: list[str]) -> list[float]:
    """Flows of links in m3/s as EPANET solves a network given in its own input format."""
    names = [str(folder / name) for name in ("net.inp", "net.rpt", "net.out")]
    Path(names[0]).write_text(text, encoding="utf-8")
    project = toolkit.createproject()
    toolkit.open(project, *names)
    try:
        toolkit.solveH(project)
        wanted = [toolkit.getlinkindex(project, link) for link in links]
        return [toolkit.getlinkvalue(project, link, toolkit.FLOW) * 1e-3 for link in wanted]
    finally:
        toolkit.close(project)
        toolkit.deleteproject(project)


_RING = """
[JUNCTIONS]
 A 0 0
 B 0 0
 C 0 0.5
 D 0 0.3
[RESERVOIRS]
 SUMP 0
 HIGH 3
 LOW 1
[PIPES]
 ab A B 12 40 140 0
 ac A C 20 50 140 0
 bd B D 15 32 130 0
 cd C D 18 32 130 0
 bc B C 6 25 120 0
 high D HIGH 5 40 150 0
 low C LOW 9 32 150 0
[PUMPS]
 pump SUMP A HEAD curve
[CURVES]
 curve 0 9
 curve 2 7
 curve 4 0
[OPTIONS]
 UNITS LPS
 HEADLOSS H-W
 ACCURACY 1e-8
 TRIALS 200
[TIMES]
 DURATION 0
[END]
"""


@pytest.mark.outside(
    "tailrace.hydraulics.friction.hazen_williams_head_loss_m", source="owa-epanet"
)
def test_a_ring_of_pipes_with_a_pump_agrees_with_epanet(tmp_path: Path) -> None:
    names = ["ab", "ac", "bd", "cd", "bc", "high", "low"]
    expected = epanet_flows(tmp_path, _RING, names)
    pump = pump_from_points([(0.0, 9.0), (2e-3, 7.0), (4e-3, 0.0)])
    nodes = [
        Node("sump", 0.0),
        Node("high", 3.0),
        Node("low", 1.0),
        *(Node(name) for name in "AB"),
        Node("C", drawn_m3_s=5e-4),
        Node("D", drawn_m3_s=3e-4),
    ]
    runs = [
        Run("pump", "sump", "A", lambda _: 0.0, lambda q: pump_head_m(q, pump)),
        Run("ab", "A", "B", _hazen(0.040, 12.0, 140.0)),
        Run("ac", "A", "C", _hazen(0.050, 20.0, 140.0)),
        Run("bd", "B", "D", _hazen(0.032, 15.0, 130.0)),
        Run("cd", "C", "D", _hazen(0.032, 18.0, 130.0)),
        Run("bc", "B", "C", _hazen(0.025, 6.0, 120.0)),
        Run("high", "D", "high", _hazen(0.040, 5.0, 150.0)),
        Run("low", "C", "low", _hazen(0.032, 9.0, 150.0)),
    ]
    found = network_flows(nodes, runs)
    assert found.solved
    for name, flow in zip(names, expected, strict=True):
        assert found.flows_m3_s[name] == pytest.approx(flow, rel=2e-4, abs=1e-7)


def _random_ring(seed: int) -> tuple[str, list[Node], list[Run]]:
    """A chain of junctions with chords, a pump and two surfaces: as EPANET text and as ours."""
    rng = random.Random(seed)
    names = [f"J{i}" for i in range(rng.randint(3, 8))]
    chords = [rng.sample(names, 2) for _ in range(rng.randint(1, 4))]
    ends = [*pairwise(names), *chords, (names[-1], "HIGH"), (rng.choice(names), "LOW")]
    sizes = [
        (rng.uniform(2, 30), rng.choice([20, 25, 32, 40, 50, 63]), rng.uniform(100, 150))
        for _ in ends
    ]
    drawn = {name: rng.choice([0.0, rng.uniform(0.0, 0.4)]) for name in names}
    head, tail = _RING.split("[JUNCTIONS]", maxsplit=1)[0], "[PUMPS]" + _RING.split("[PUMPS]")[1]
    junctions = "".join(f" {name} 0 {drawn[name]}\n" for name in names)
    pipes = "".join(
        f" p{i} {a} {b} {length} {bore} {smooth} 0\n"
        for i, ((a, b), (length, bore, smooth)) in enumerate(zip(ends, sizes, strict=True))
    )
    text = f"{head}[JUNCTIONS]\n{junctions}[RESERVOIRS]\n SUMP 0\n HIGH 3\n LOW 1\n"
    text += f"[PIPES]\n{pipes}{tail.replace('SUMP A', 'SUMP J0')}"
    pump = pump_from_points([(0.0, 9.0), (2e-3, 7.0), (4e-3, 0.0)])
    runs = [Run("pump", "SUMP", "J0", lambda _: 0.0, lambda q: pump_head_m(q, pump))]
    runs += [
        Run(f"p{i}", a, b, _hazen(bore * 1e-3, length, smooth))
        for i, ((a, b), (length, bore, smooth)) in enumerate(zip(ends, sizes, strict=True))
    ]
    levels = [Node("SUMP", 0.0), Node("HIGH", 3.0), Node("LOW", 1.0)]
    return text, levels + [Node(n, drawn_m3_s=drawn[n] * 1e-3) for n in names], runs


@pytest.mark.parametrize("seed", range(8))
def test_random_loops_agree_with_epanet(seed: int, tmp_path: Path) -> None:
    text, nodes, runs = _random_ring(seed)
    names = [run.name for run in runs if run.gain_m is None]
    expected = epanet_flows(tmp_path, text, names)
    found = network_flows(nodes, runs)
    assert found.solved, found.text
    for name, flow in zip(names, expected, strict=True):
        assert found.flows_m3_s[name] == pytest.approx(flow, abs=2e-7)  # EPANET keeps floats


_DARCY = """
[JUNCTIONS]
 T 0 0
[RESERVOIRS]
 SUMP 0
 TANK 2
 BED 1.2
[PIPES]
 tank T TANK 10 50 0.002 20
 bed T BED 15 32 0.002 6
[PUMPS]
 pump SUMP T HEAD curve
[CURVES]
 curve 0 8
 curve 2 6
 curve 4 0
[OPTIONS]
 UNITS LPS
 HEADLOSS D-W
 VISCOSITY 1
 ACCURACY 1e-8
 TRIALS 200
[TIMES]
 DURATION 0
[END]
"""


def test_darcy_weisbach_branches_agree_with_epanet_and_with_the_tee(tmp_path: Path) -> None:
    expected = epanet_flows(tmp_path, _DARCY, ["tank", "bed"])
    pump = pump_from_points([(0.0, 8.0), (2e-3, 6.0), (4e-3, 0.0)])
    viscosity = 1.1e-5 * 0.3048**2 * 998.0  # EPANET's water: 1.1e-5 ft2/s

    def pipe(bore: float, length: float, loss: float) -> Loss:
        run = Pipe(bore, length, loss, roughness_m=2e-6)
        return lambda q: pipe_head_loss_m(q, run, density_kg_m3=998.0, viscosity_pa_s=viscosity)

    tank, bed = pipe(0.05, 10.0, 20.0), pipe(0.032, 15.0, 6.0)
    found = network_flows(
        [Node("sump", 0.0), Node("T"), Node("tank", 2.0), Node("bed", 1.2)],
        [
            Run("pump", "sump", "T", lambda _: 0.0, lambda q: pump_head_m(q, pump)),
            Run("tank", "T", "tank", tank, one_way=True),
            Run("bed", "T", "bed", bed, one_way=True),
        ],
    )
    by_tee = tee_flows(pump, lambda _: 0.0, [Branch(2.0, tank), Branch(1.2, bed)])
    assert found.solved
    for ours, tee, theirs in zip(
        (found.flows_m3_s["tank"], found.flows_m3_s["bed"]),
        by_tee.flows_m3_s,
        expected,
        strict=True,
    ):
        assert ours == pytest.approx(theirs, rel=2e-3)
        assert ours == pytest.approx(tee, rel=1e-6)


@settings(max_examples=40, deadline=None)
@given(st.floats(0.2, 6.0), st.floats(0.0, 3.0), st.floats(1e4, 1e7), st.floats(1e4, 1e7))
def test_a_network_agrees_with_the_tee_whatever_its_outlets(
    high: float, low: float, first: float, second: float
) -> None:
    pump = WaterPump(shutoff_head_m=4.0, maximum_flow_m3_s=2e-3)
    losses: tuple[Loss, Loss] = (lambda q: first * q**2, lambda q: second * q**2)
    by_tee = tee_flows(pump, lambda _: 0.0, [Branch(high, losses[0]), Branch(low, losses[1])])
    found = network_flows(
        [Node("sump", 0.0), Node("tee"), Node("a", high), Node("b", low)],
        [
            Run("pump", "sump", "tee", lambda _: 0.0, lambda q: pump_head_m(q, pump), True),
            Run("to a", "tee", "a", losses[0], one_way=True),
            Run("to b", "tee", "b", losses[1], one_way=True),
        ],
    )
    assert found.solved, found.text
    for name, flow in zip(("to a", "to b"), by_tee.flows_m3_s, strict=True):
        assert found.flows_m3_s[name] == pytest.approx(flow, rel=1e-3, abs=2e-6)


@pytest.mark.parametrize(
    ("nodes", "runs", "said"),
    [
        ([Node("a"), Node("b")], [("a", "b")], "no node has a level"),
        ([Node("a", 1.0)], [("a", "b")], "not there: b"),
        ([Node("a", 1.0), Node("a", 2.0)], [], "used twice"),
        ([Node("a", 1.0), Node("c")], [], "junctions without a run: c"),
    ],
)
def test_a_network_that_hangs_together_badly_is_said(
    nodes: list[Node], runs: list[tuple[str, str]], said: str
) -> None:
    made = [Run("run", start, end, lambda q: q) for start, end in runs]
    with pytest.raises(InputError, match=said):
        network_flows(nodes, made)


def test_a_network_without_a_solution_is_a_value_that_says_what_to_try() -> None:
    backward = Run("wrong way", "end", "tank", lambda q: 1e3 * q, one_way=True)
    found = network_flows([Node("tank", 1.0), Node("end", drawn_m3_s=1e-3)], [backward])
    assert not found.solved
    assert found.residual > 0.1
    assert "Look for a part that no run joins" in found.text
