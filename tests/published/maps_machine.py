"""Rows on pipes, valves, pumps, packed beds, tees, air lines and bead filters."""

from __future__ import annotations

from collections.abc import Callable

from tailrace.beadfilter.ratios import bead_area_m2, conversion_g_m3_s
from tailrace.hydraulics.packed_bed import ergun_pa_m
from tailrace.hydraulics.pipes import (
    STANDARD_GRAVITY,
    Pipe,
    friction_factor,
    pipe_head_loss_m,
    round_pipe_head_loss_m,
)
from tailrace.hydraulics.pumps import WaterPump, pump_power_w
from tailrace.hydraulics.tee import Branch, TeeFlows, tee_flows
from tailrace.hydraulics.valves import ValveKind, valve_loss_coefficient
from tailrace.pneumatics.rotameter import Rotameter, standard_flow_m3_s
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, standard_volume_m3
from tests.published.registry import Inputs, maps
from tests.published.rows import Given

PSI_PA = 6894.757293168
_DENSITY = 998.2  # only its product with the row's kinematic viscosity enters a head


@maps("Darcy friction factor, turbulent", gives="-", needs="Re relative_roughness")
def _turbulent(inputs: Inputs) -> float:
    return friction_factor(inputs["Re"].to("-"), inputs["relative_roughness"].to("-"))


@maps("Darcy friction factor, laminar", gives="-", needs="Re")
def _laminar(inputs: Inputs) -> float:
    return friction_factor(inputs["Re"].to("-"), 0.0)


@maps(
    "pipe friction head loss, Darcy-Weisbach", gives="m", needs="Q D L roughness nu", optional="g"
)
def _head_loss(inputs: Inputs) -> float:
    return round_pipe_head_loss_m(
        inputs["Q"].to("m3/s"),
        inputs["D"].to("m"),
        inputs["L"].to("m"),
        0.0,
        inputs["roughness"].to("m"),
        _DENSITY,
        inputs["nu"].to("m2/s") * _DENSITY,
    )


@maps(
    "loss coefficient K of a fitting",
    gives="-",
    needs="fitting opening",
    accepts=lambda inputs: inputs["fitting"].text == "gate valve",
)
def _gate(inputs: Inputs) -> float:
    return valve_loss_coefficient(inputs["opening"].to("-"), ValveKind.GATE)


@maps(
    "loss coefficient K of a fitting",
    gives="-",
    needs="fitting closed_angle",
    accepts=lambda inputs: inputs["fitting"].text == "plug or ball valve",
)
def _quarter_turn(inputs: Inputs) -> float:
    closed = inputs["closed_angle"].to("deg") / 90.0
    return valve_loss_coefficient(1.0 - closed, ValveKind.QUARTER_TURN)


@maps(
    "pressure drop of a clean bed, Ergun",
    gives="Pa",
    needs="diameter porosity superficial_velocity depth rho mu",
)
def _ergun(inputs: Inputs) -> float:
    per_m = ergun_pa_m(
        inputs["superficial_velocity"].to("m/s"),
        inputs["porosity"].to("-"),
        inputs["diameter"].to("m"),
        inputs["rho"].to("kg/m3"),
        inputs["mu"].to("Pa.s"),
    )
    return per_m * inputs["depth"].to("m")


@maps("pump electrical power", gives="W", needs="Q head efficiency rho")
def _power(inputs: Inputs) -> float:
    return pump_power_w(
        inputs["Q"].to("m3/s"),
        inputs["head"].to("m"),
        inputs["rho"].to("kg/m3"),
        inputs["efficiency"].to("-"),
    )


def _pump(inputs: Inputs) -> WaterPump:
    flows, heads = inputs["pump_Q"].all_to("m3/s"), inputs["pump_H"].all_to("m")
    pump = WaterPump(shutoff_head_m=heads[0], maximum_flow_m3_s=flows[-1])
    halfway = heads[0] * (1.0 - (flows[1] / flows[-1]) ** 2)
    assert abs(halfway - heads[1]) < 1e-9, "the three points are not one parabola"
    return pump


def _minor_m(coefficient: float, bore_m: float) -> Callable[[float], float]:
    pipe = Pipe(bore_m=bore_m, length_m=0.0, loss_coefficient=coefficient)
    return lambda q: pipe_head_loss_m(q, pipe, density_kg_m3=_DENSITY, viscosity_pa_s=1.02e-3)


def _branch(inputs: Inputs, name: str, added: float = 0.0) -> Branch:
    """A branch as the rows describe it, with the Hazen-Williams loss that they name."""
    bore, length = inputs[f"{name}_D"].to("m"), inputs[f"{name}_L"].to("m")
    smoothness = inputs[f"{name}_C"].to("-")
    minor = _minor_m(inputs[f"{name}_K"].to("-") + added, bore)
    wall = 10.667 * length / smoothness**1.852 / bore**4.871
    height = inputs[f"{name}_outlet_level"].to("m") - inputs["sump_level"].to("m")
    return Branch(height, lambda q: wall * q**1.852 + minor(q))


def _with_bypass(inputs: Inputs) -> TeeFlows:
    valve = inputs["bypass_valve_K"].to("-")
    branches = (_branch(inputs, "main"), _branch(inputs, "bypass", valve))
    return tee_flows(_pump(inputs), lambda _: 0.0, branches)


_BYPASS = (
    "pump_Q pump_H sump_level main_L main_D main_C main_K main_outlet_level bypass_L bypass_D "
    "bypass_C bypass_K bypass_valve_K bypass_outlet_level"
)


@maps("filter flow with a bypass", gives="m3/s", needs=_BYPASS)
def _filter_flow(inputs: Inputs) -> float:
    return _with_bypass(inputs).flows_m3_s[0]


@maps("bypass flow", gives="m3/s", needs=_BYPASS)
def _bypass_flow(inputs: Inputs) -> float:
    return _with_bypass(inputs).flows_m3_s[1]


@maps("head at the branch point with a bypass", gives="m", needs=_BYPASS)
def _tee_head(inputs: Inputs) -> float:
    return _with_bypass(inputs).tee_head_m


_TANKS = "pump_Q pump_H sump_level A_L A_D A_C A_K A_outlet_level B_L B_D B_C B_K B_outlet_level"


def _two_tanks(inputs: Inputs) -> TeeFlows:
    branches = (_branch(inputs, "A"), _branch(inputs, "B"))
    return tee_flows(_pump(inputs), lambda _: 0.0, branches)


@maps("flow in branch A, two tanks", gives="m3/s", needs=_TANKS)
def _flow_a(inputs: Inputs) -> float:
    return _two_tanks(inputs).flows_m3_s[0]


@maps("flow in branch B, two tanks", gives="m3/s", needs=_TANKS)
def _flow_b(inputs: Inputs) -> float:
    return _two_tanks(inputs).flows_m3_s[1]


@maps(
    "duty flow, one pipe, Darcy-Weisbach",
    gives="m3/s",
    needs="pump_Q pump_H sump_level L D roughness nu K outlet_level",
)
def _duty(inputs: Inputs) -> float:
    pipe = Pipe(
        bore_m=inputs["D"].to("m"),
        length_m=inputs["L"].to("m"),
        loss_coefficient=inputs["K"].to("-"),
        roughness_m=inputs["roughness"].to("m"),
    )
    viscosity = inputs["nu"].to("m2/s") * _DENSITY
    height = inputs["outlet_level"].to("m") - inputs["sump_level"].to("m")
    branch = Branch(
        height,
        lambda q: pipe_head_loss_m(q, pipe, density_kg_m3=_DENSITY, viscosity_pa_s=viscosity),
    )
    return tee_flows(_pump(inputs), lambda _: 0.0, (branch,)).flows_m3_s[0]


def _absolute_pa(gauge: Given) -> float:
    return STANDARD_PA_ABS + gauge.numbers[0] * PSI_PA


def _of_air(inputs: Inputs) -> bool:
    return inputs["P"].unit == "psig" and inputs["specific_gravity"].to("-") == 1.0


def _standard_flow(inputs: Inputs) -> float:
    reading, meter = inputs["reading"].to("SCFH"), Rotameter(full_scale_m3_s=1.0)
    pressure, temperature = _absolute_pa(inputs["P"]), inputs["T"].to("degC")
    return standard_flow_m3_s(reading, pressure, temperature, meter)


@maps(
    "true standard flow of a variable-area meter",
    gives="SCFH",
    needs="reading P T specific_gravity",
    accepts=_of_air,
)
def _true_standard_flow(inputs: Inputs) -> float:
    return _standard_flow(inputs)


@maps(
    "actual flow through a variable-area meter",
    gives="ft3/h",
    needs="reading P T specific_gravity",
    accepts=_of_air,
)
def _actual_flow(inputs: Inputs) -> float:
    standard = _standard_flow(inputs)
    pressure, temperature = _absolute_pa(inputs["P"]), inputs["T"].to("degC")
    return standard / standard_volume_m3(1.0, pressure, temperature)


@maps("time to fill an air chamber under water", gives="s", needs="chamber water_head rho inflow")
def _fill_time(inputs: Inputs) -> float:
    head = inputs["rho"].to("kg/m3") * STANDARD_GRAVITY * inputs["water_head"].to("m")
    volume = inputs["chamber"].to("m3")
    air = standard_volume_m3(volume, STANDARD_PA_ABS + head, STANDARD_DEGC)
    return air / inputs["inflow"].to("m3/s")


@maps("time to raise the pressure of a rigid vessel", gives="s", needs="V P1 P2 inflow")
def _vessel(inputs: Inputs) -> float:
    before, after = (
        standard_volume_m3(inputs["V"].to("m3"), inputs[name].to("Pa"), STANDARD_DEGC)
        for name in ("P1", "P2")
    )
    return (after - before) / inputs["inflow"].to("m3/s")


@maps("specific surface area of smooth spheres", gives="m2/m3", needs="diameter porosity")
def _area(inputs: Inputs) -> float:
    return bead_area_m2(1.0, inputs["diameter"].to("m"), inputs["porosity"].to("-"))


def _converted(inputs: Inputs, name: str) -> float:
    flow, media = inputs["flow"].to("m3/s"), inputs["media"].to("m3")
    inlet, outlet = inputs[f"{name}_in"].to("g/m3"), inputs[f"{name}_out"].to("g/m3")
    return conversion_g_m3_s(flow, inlet, outlet, media) * 86400.0


@maps("volumetric TAN conversion rate", gives="g/m3/d", needs="flow TAN_in TAN_out media")
def _tan_rate(inputs: Inputs) -> float:
    return _converted(inputs, "TAN")


@maps(
    "volumetric nitrite conversion rate",
    gives="g/m3/d",
    needs="flow TAN_in TAN_out NO2_N_in NO2_N_out media",
)
def _nitrite_rate(inputs: Inputs) -> float:
    return _converted(inputs, "TAN") + _converted(inputs, "NO2_N")


@maps("volumetric oxygen consumption of a filter", gives="g/m3/d", needs="flow DO_in DO_out media")
def _oxygen_rate(inputs: Inputs) -> float:
    return _converted(inputs, "DO")
