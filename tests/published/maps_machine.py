"""Rows on pipes, valves, pumps, packed beds, tees, air lines and bead filters."""

from __future__ import annotations

from collections.abc import Callable

from tailrace.beadfilter.ratios import bead_area_m2, conversion_g_m3_s
from tailrace.hydraulics.friction import hazen_williams_head_loss_m
from tailrace.hydraulics.packed_bed import ergun_pa_m
from tailrace.hydraulics.pipes import (
    STANDARD_GRAVITY,
    Pipe,
    friction_factor,
    pipe_head_loss_m,
    round_pipe_head_loss_m,
)
from tailrace.hydraulics.pumps import WaterPump, pump_from_points, pump_power_w
from tailrace.hydraulics.tee import Branch, TeeFlows, tee_flows
from tailrace.pneumatics.charging import displacement_fill_s, pressurising_s
from tailrace.pneumatics.rotameter import Rotameter, standard_flow_m3_s
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, standard_volume_m3
from tests.published.registry import Inputs, maps

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
    return pump_from_points(list(zip(flows, heads, strict=True)))


def _minor_m(coefficient: float, bore_m: float) -> Callable[[float], float]:
    pipe = Pipe(bore_m=bore_m, length_m=0.0, loss_coefficient=coefficient)
    return lambda q: pipe_head_loss_m(q, pipe, density_kg_m3=_DENSITY, viscosity_pa_s=1.02e-3)


def _branch(inputs: Inputs, name: str, added: float = 0.0) -> Branch:
    """A branch as the rows describe it, with the Hazen-Williams loss that they name."""
    bore, length = inputs[f"{name}_D"].to("m"), inputs[f"{name}_L"].to("m")
    smoothness = inputs[f"{name}_C"].to("-")
    minor = _minor_m(inputs[f"{name}_K"].to("-") + added, bore)
    height = inputs[f"{name}_outlet_level"].to("m") - inputs["sump_level"].to("m")
    return Branch(
        height, lambda q: hazen_williams_head_loss_m(q, bore, length, smoothness) + minor(q)
    )


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


def _absolute_pa(inputs: Inputs) -> float:
    """Absolute pressure in the meter; a plain pressure is above the air's, as the rows say."""
    pressure, unit = inputs["P"], inputs["P"].unit
    if unit == "psia":
        return pressure.numbers[0] * PSI_PA
    gauge = pressure.numbers[0] * PSI_PA if unit == "psig" else pressure.to("Pa")
    return STANDARD_PA_ABS + gauge


def _standard_flow(inputs: Inputs) -> float:
    gravity = inputs["specific_gravity"].to("-") if "specific_gravity" in inputs else 1.0
    meter = Rotameter(full_scale_m3_s=1.0, specific_gravity=gravity)
    temperature = inputs["T"].to("degC") if "T" in inputs else STANDARD_DEGC
    reading = inputs["reading"].to("m3/s")
    return standard_flow_m3_s(reading, _absolute_pa(inputs), temperature, meter)


@maps(
    "true standard flow of a variable-area meter",
    gives="m3/s",
    needs="reading P",
    optional="T specific_gravity",
)
def _true_standard_flow(inputs: Inputs) -> float:
    return _standard_flow(inputs)


@maps(
    "actual flow through a variable-area meter",
    gives="m3/s",
    needs="reading P",
    optional="T specific_gravity",
)
def _actual_flow(inputs: Inputs) -> float:
    temperature = inputs["T"].to("degC") if "T" in inputs else STANDARD_DEGC
    return _standard_flow(inputs) / standard_volume_m3(1.0, _absolute_pa(inputs), temperature)


@maps("time to fill an air chamber under water", gives="s", needs="chamber water_head rho inflow")
def _fill_time(inputs: Inputs) -> float:
    head = inputs["rho"].to("kg/m3") * STANDARD_GRAVITY * inputs["water_head"].to("m")
    return displacement_fill_s(
        inputs["chamber"].to("m3"),
        STANDARD_PA_ABS + head,
        STANDARD_DEGC,
        inputs["inflow"].to("m3/s"),
    )


@maps("time to raise the pressure of a rigid vessel", gives="s", needs="V P1 P2 inflow")
def _vessel(inputs: Inputs) -> float:
    return pressurising_s(
        inputs["V"].to("m3"),
        inputs["P1"].to("Pa"),
        inputs["P2"].to("Pa"),
        STANDARD_DEGC,
        inputs["inflow"].to("m3/s"),
    )


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
