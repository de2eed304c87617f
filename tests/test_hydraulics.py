"""Water in pipes, valves, pumps, packed beds and tees, against a general fluids library."""

from __future__ import annotations

import math

import fluids
import pytest
from fluids.fittings import K_ball_valve_Crane, K_gate_valve_Crane
from fluids.friction import LAMINAR_TRANSITION_PIPE, Swamee_Jain_1976
from fluids.packed_bed import Ergun
from hypothesis import given
from hypothesis import strategies as st

from tailrace.errors import OutsideRangeError
from tailrace.hydraulics.packed_bed import ergun_pa_m
from tailrace.hydraulics.pipes import (
    LAMINAR_LIMIT,
    Pipe,
    friction_factor,
    pipe_head_loss_m,
    round_pipe_head_loss_m,
)
from tailrace.hydraulics.pumps import WaterPump, parabolic_pump_head_m, pump_head_m
from tailrace.hydraulics.tee import Branch, tee_flows
from tailrace.hydraulics.valves import ValveKind, valve_loss_coefficient

WATER = {"density_kg_m3": 998.2, "viscosity_pa_s": 1.002e-3}
HOSE = Pipe(bore_m=0.03, length_m=3.0, loss_coefficient=4.0)


@pytest.mark.outside("tailrace.hydraulics.pipes.friction_factor", source="fluids")
@pytest.mark.parametrize("roughness", [0.0, 7.5e-5, 1e-3, 0.02])
@pytest.mark.parametrize("reynolds", [2041.0, 5000.0, 3e4, 1e6])
def test_turbulent_friction_is_swamee_and_jain_as_the_library_runs_it(
    reynolds: float, roughness: float
) -> None:
    # The library writes 5.74/Re^0.9 as (6.97/Re)^0.9, which is 5.73997: hence the tolerance.
    expected = Swamee_Jain_1976(reynolds, roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(expected, rel=1e-5)


@pytest.mark.outside("tailrace.hydraulics.pipes.friction_factor", source="fluids")
def test_laminar_friction_and_its_limit_are_those_of_the_library() -> None:
    assert LAMINAR_LIMIT == LAMINAR_TRANSITION_PIPE
    assert friction_factor(1500.0, 0.0) == pytest.approx(
        fluids.friction_factor(1500.0, 0.0), rel=1e-12
    )


@pytest.mark.outside("tailrace.hydraulics.pipes.friction_factor", source="fluids: Colebrook")
@given(st.floats(5e3, 1e7), st.floats(1e-6, 1e-2))
def test_friction_stays_near_colebrook(reynolds: float, roughness: float) -> None:
    exact = fluids.friction.Colebrook(reynolds, roughness)
    assert friction_factor(reynolds, roughness) == pytest.approx(exact, rel=0.03)


@pytest.mark.outside("tailrace.hydraulics.pipes.round_pipe_head_loss_m", source="fluids")
def test_head_loss_is_the_library_s_with_the_same_friction() -> None:
    flow = 8e-4
    velocity = flow / (math.pi / 4.0 * HOSE.bore_m**2)
    reynolds = fluids.Reynolds(velocity, HOSE.bore_m, rho=998.2, mu=1.002e-3)
    friction = Swamee_Jain_1976(reynolds, HOSE.roughness_m / HOSE.bore_m)
    loss = fluids.K_from_f(friction, HOSE.length_m, HOSE.bore_m) + HOSE.loss_coefficient
    expected = fluids.head_from_K(loss, velocity)
    assert pipe_head_loss_m(flow, HOSE, **WATER) == pytest.approx(expected, rel=1e-5)
    assert round_pipe_head_loss_m(0.0, 0.03, 3.0, 4.0, 2e-6, 998.2, 1e-3) == 0.0


@pytest.mark.outside("tailrace.hydraulics.packed_bed.ergun_pa_m", source="fluids")
@given(st.floats(1e-4, 0.05), st.floats(0.1, 0.6), st.floats(5e-4, 0.01))
def test_packed_bed_loss_is_ergun_as_the_library_runs_it(
    velocity: float, void: float, grain: float
) -> None:
    expected = Ergun(dp=grain, voidage=void, vs=velocity, rho=996.5, mu=8.5e-4)
    assert ergun_pa_m(velocity, void, grain, 996.5, 8.5e-4) == pytest.approx(expected, rel=1e-9)


def test_open_valves_are_of_the_library_s_order() -> None:
    ball = K_ball_valve_Crane(D1=0.02, D2=0.02, angle=0.0)
    gate = K_gate_valve_Crane(D1=0.02, D2=0.02, angle=0.0)
    assert 0.25 < valve_loss_coefficient(1.0, ValveKind.QUARTER_TURN) / ball < 4.0
    assert 0.25 < valve_loss_coefficient(1.0, ValveKind.GATE) / gate < 4.0


@pytest.mark.parametrize("kind", ValveKind)
@given(one=st.floats(0.0, 1.0), other=st.floats(0.0, 1.0))
def test_a_valve_loses_less_the_wider_it_is(kind: ValveKind, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert valve_loss_coefficient(low, kind) >= valve_loss_coefficient(high, kind)


@pytest.mark.parametrize("opening", [-0.1, 1.1, 66.0, math.nan])
def test_an_impossible_opening_is_said(opening: float) -> None:
    with pytest.raises(OutsideRangeError, match=r"share of the handle's travel: 0 is shut"):
        valve_loss_coefficient(opening, ValveKind.GATE)


def test_a_negative_flow_is_said() -> None:
    with pytest.raises(OutsideRangeError, match=r"flow is -0.001 m3/s, outside 0 to 10"):
        pipe_head_loss_m(-0.001, HOSE, **WATER)


@pytest.mark.outside(
    "tailrace.hydraulics.pumps.parabolic_pump_head_m", source="affinity laws, from memory"
)
@given(st.floats(0.3, 1.0), st.floats(0.0, 1.0))
def test_a_slower_pump_follows_the_affinity_laws(speed: float, share: float) -> None:
    flow = share * 2e-3
    full = parabolic_pump_head_m(flow, 4.0, 2e-3, 1.0)
    slow = parabolic_pump_head_m(flow * speed, 4.0, 2e-3, speed**2)
    assert slow == pytest.approx(full * speed**2, abs=1e-12)


@given(st.floats(0.1, 5.0), st.floats(0.0, 4.0), st.floats(1e4, 1e8), st.floats(1e4, 1e8))
def test_what_the_pump_gives_is_what_the_branches_take(
    high_m: float, low_m: float, first: float, second: float
) -> None:
    pump = WaterPump(shutoff_head_m=4.0, maximum_flow_m3_s=2e-3)
    branches = (
        Branch(high_m, lambda q: first * q**2),
        Branch(low_m, lambda q: second * q**2),
    )
    flows = tee_flows(pump, lambda q: 1e5 * q**2, branches)
    total = sum(flows.flows_m3_s)
    assert flows.tee_head_m == pytest.approx(pump_head_m(total, pump) - 1e5 * total**2, abs=1e-6)
    for branch, flow in zip(branches, flows.flows_m3_s, strict=True):
        if flow > 0.0:
            rise = branch.outlet_height_m + branch.loss_m(flow)
            assert rise == pytest.approx(flows.tee_head_m, abs=1e-6)
        else:
            assert flows.tee_head_m <= branch.outlet_height_m + 1e-6


def test_a_pump_too_weak_for_every_outlet_moves_nothing() -> None:
    pump = WaterPump(shutoff_head_m=1.0, maximum_flow_m3_s=2e-3)
    flows = tee_flows(pump, lambda _: 0.0, [Branch(1.4, lambda q: q), Branch(2.0, lambda q: q)])
    assert flows.flows_m3_s == (0.0, 0.0)
    assert flows.tee_head_m == 1.0
