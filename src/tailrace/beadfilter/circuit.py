"""The water side: pump, tee, filter branch and bypass, and what they press on the air."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from tailrace.beadfilter.machine import BeadBed, Day, Machine
from tailrace.hydraulics.packed_bed import ergun_pa_m
from tailrace.hydraulics.pipes import STANDARD_GRAVITY, Pipe, pipe_head_loss_m
from tailrace.hydraulics.tee import Branch, TeeFlows, tee_flows
from tailrace.hydraulics.valves import valve_loss_coefficient
from tailrace.water.properties import density_kg_m3, viscosity_pa_s

LEAST_VOID_FRAC = 0.06  # below it the deposit no longer fits into the pores

FloatOrArray = TypeVar("FloatOrArray", float, NDArray[np.float64])


@dataclass(frozen=True, slots=True)
class WaterState:
    """The water circuit at one setting.

    Parameters
    ----------
    filter_flow_m3_s, bypass_flow_m3_s
        Flow into the filter and through the bypass.
    return_flow_m3_s
        Flow through bead bed and return: filter flow less what the drain takes.
    tee_head_m
        Head at the tee above the sump surface.
    bed_loss_pa, return_loss_pa
        Pressure lost in the bead bed and in the return; both load the air pump.
    outlet_height_m
        Elevation of the return outlet.
    density_kg_m3
        Density of the water.
    displaced_pa_s_m3, displaced_pa_s2_m6
        What water displaced by the air adds to the two losses: linear and quadratic term.
    overfull
        True when the deposit no longer fits into the pores of some layer.
    """

    filter_flow_m3_s: float
    bypass_flow_m3_s: float
    return_flow_m3_s: float
    tee_head_m: float
    bed_loss_pa: float
    return_loss_pa: float
    outlet_height_m: float
    density_kg_m3: float
    displaced_pa_s_m3: float
    displaced_pa_s2_m6: float
    overfull: bool

    @property
    def flowing(self) -> bool:
        """Whether water goes through the filter and leaves by the return."""
        return self.filter_flow_m3_s > 0.0 and self.return_flow_m3_s > 0.0


@dataclass(frozen=True, slots=True)
class _Losses:
    """Losses of one machine on one day, as functions of flow."""

    machine: Machine
    density_kg_m3: float
    viscosity_pa_s: float
    bed_linear: float  # Pa s/m3
    bed_quadratic: float  # Pa s2/m6

    def bed_pa(self, flow_m3_s: float) -> float:
        return (self.bed_linear + self.bed_quadratic * flow_m3_s) * flow_m3_s

    def pipe_m(self, pipe: Pipe, flow_m3_s: float) -> float:
        return pipe_head_loss_m(
            flow_m3_s,
            pipe,
            density_kg_m3=self.density_kg_m3,
            viscosity_pa_s=self.viscosity_pa_s,
        )

    def filter_m(self, flow_m3_s: float, displaced_m3_s: float) -> float:
        onward = max(0.0, flow_m3_s + displaced_m3_s)
        bed_m = self.bed_pa(onward) / (self.density_kg_m3 * STANDARD_GRAVITY)
        return (
            self.pipe_m(self.machine.inlet, flow_m3_s)
            + bed_m
            + self.pipe_m(self.machine.return_line, onward)
        )


def layer_void_frac(bed: BeadBed, deposit_kg_m3: tuple[float, ...]) -> tuple[float, ...]:
    """Share of pores left in each layer of the bead bed.

    Parameters
    ----------
    bed
        The bead bed.
    deposit_kg_m3
        Dry deposit per bead-bed volume in each layer from the inlet; empty when clean [kg/m3].

    Returns
    -------
    tuple of float
        One share for each layer, one in all when clean [-].

    Examples
    --------
    >>> layer_void_frac(BeadBed(0.0283, 0.36), (8.0, 4.0))
    (0.18, 0.28)
    """
    return tuple(
        max(bed.void_frac - deposit / bed.deposit_density_kg_m3, LEAST_VOID_FRAC)
        for deposit in deposit_kg_m3 or (0.0,)
    )


def _losses(machine: Machine, day: Day) -> _Losses:
    bed = machine.bed
    density = density_kg_m3(day.water_temperature_degc)
    viscosity = viscosity_pa_s(day.water_temperature_degc)
    area = math.pi / 4.0 * bed.diameter_m**2
    voids = layer_void_frac(bed, day.deposit_kg_m3)
    depth = bed.volume_m3 / area / len(voids)
    # Ergun's law is a u + b u^2: each term alone at 1 m/s gives its coefficient exactly.
    linear = sum(ergun_pa_m(1.0, e, bed.bead_diameter_m, 0.0, viscosity) for e in voids)
    quadratic = sum(ergun_pa_m(1.0, e, bed.bead_diameter_m, density, 0.0) for e in voids)
    return _Losses(machine, density, viscosity, linear * depth / area, quadratic * depth / area**2)


def _flows(losses: _Losses, open_frac: float, displaced_m3_s: float) -> TeeFlows:
    machine = losses.machine
    valve = valve_loss_coefficient(open_frac, machine.bypass_valve)
    bypass = replace(machine.bypass, loss_coefficient=machine.bypass.loss_coefficient + valve)
    return tee_flows(
        machine.pump,
        lambda q: losses.pipe_m(machine.suction, q),
        (
            Branch(machine.outlet_height_m, lambda q: losses.filter_m(q, displaced_m3_s)),
            Branch(machine.bypass_outlet_height_m, lambda q: losses.pipe_m(bypass, q)),
        ),
    )


def _onward_pa(losses: _Losses, flow_m3_s: float) -> tuple[float, float]:
    weight = losses.density_kg_m3 * STANDARD_GRAVITY
    return losses.bed_pa(flow_m3_s), weight * losses.pipe_m(losses.machine.return_line, flow_m3_s)


def _displaced_terms(half_pa: float, whole_pa: float, top_m3_s: float) -> tuple[float, float]:
    """Linear and quadratic term through half and all of the top flow; neither below zero."""
    linear = (4.0 * half_pa - whole_pa) / top_m3_s
    quadratic = (2.0 * whole_pa - 4.0 * half_pa) / top_m3_s**2
    if linear < 0.0:  # an air pump so large that the filter's own flow stops on the way
        return 0.0, max(0.0, whole_pa) / top_m3_s**2
    if quadratic < 0.0:
        return max(0.0, whole_pa) / top_m3_s, 0.0
    return linear, quadratic


def water_state(
    machine: Machine, open_frac: float, day: Day, *, drain_flow_m3_s: float = 0.0
) -> WaterState:
    """Solve the water circuit.

    Parameters
    ----------
    machine
        The machine.
    open_frac
        Bypass opening as share of the handle's travel [-].
    day
        Water temperature and deposit.
    drain_flow_m3_s
        Flow out of the open sludge drain [m3/s].

    Returns
    -------
    WaterState
        Flows, heads and losses; with a flow of zero when the pump does not reach the outlet.

    Raises
    ------
    OutsideRangeError
        The opening is not between 0 and 1, or the water is not liquid.

    Notes
    -----
    Pump head less suction loss equals the tee head; the filter branch needs the outlet height,
    the inlet, bead-bed and return losses; the bypass its own. Throat losses are neglected. The
    air displaces water through bead bed and return; what that adds is fitted exactly at no
    displacement, half and all of the air pump's free flow.

    References
    ----------
    darcy_weisbach
    ergun_1952
    """
    losses = _losses(machine, day)
    top = machine.air_pump.free_flow_m3_s
    onward = []
    states = []
    for share in (0.0, 0.5, 1.0):
        displaced = share * top - drain_flow_m3_s
        flows = _flows(losses, open_frac, displaced)
        states.append(flows)
        onward.append(max(0.0, flows.flows_m3_s[0] + displaced))
    pressures = [sum(_onward_pa(losses, flow)) for flow in onward]
    linear, quadratic = _displaced_terms(
        pressures[1] - pressures[0], pressures[2] - pressures[0], top
    )
    bed_pa, return_pa = _onward_pa(losses, onward[0])
    return WaterState(
        filter_flow_m3_s=states[0].flows_m3_s[0],
        bypass_flow_m3_s=states[0].flows_m3_s[1],
        return_flow_m3_s=onward[0],
        tee_head_m=states[0].tee_head_m,
        bed_loss_pa=bed_pa,
        return_loss_pa=return_pa,
        outlet_height_m=machine.outlet_height_m,
        density_kg_m3=losses.density_kg_m3,
        displaced_pa_s_m3=linear,
        displaced_pa_s2_m6=quadratic,
        overfull=min(layer_void_frac(machine.bed, day.deposit_kg_m3)) <= LEAST_VOID_FRAC,
    )


def face_pressure_pa_gauge(
    state: WaterState,
    machine: Machine,
    fill_frac: FloatOrArray,
    *,
    displaced_m3_s: FloatOrArray | float = 0.0,
) -> FloatOrArray:
    """Pressure at the face between air and water in the chamber.

    Parameters
    ----------
    state
        The water circuit.
    machine
        The machine.
    fill_frac
        Air volume over the volume at the trigger [-].
    displaced_m3_s
        Water that the growing air displaces through bead bed and return [m3/s].

    Returns
    -------
    float or ndarray
        Pressure above the local air, of the shape of the fill [Pa].

    Notes
    -----
    p = rho g (z_out - z) + return loss + bead-bed loss, z = z_roof - depth x fill: the bead bed
    and the return both load the air pump.

    References
    ----------
    hydrostatics
    """
    chamber = machine.chamber
    column_m = state.outlet_height_m - chamber.roof_height_m + chamber.trigger_depth_m * fill_frac
    added = (state.displaced_pa_s_m3 + state.displaced_pa_s2_m6 * displaced_m3_s) * displaced_m3_s
    lost = state.bed_loss_pa + state.return_loss_pa + added
    return state.density_kg_m3 * STANDARD_GRAVITY * column_m + lost
