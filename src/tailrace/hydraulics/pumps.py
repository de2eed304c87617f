"""Water pumps: the head a pump gives at a flow, and the power it takes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tailrace.errors import InputError
from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY


@dataclass(frozen=True, slots=True)
class WaterPump:
    """A water pump by the two ends of its curve and how it bends between them.

    Parameters
    ----------
    shutoff_head_m
        Head at no flow, when new.
    maximum_flow_m3_s
        Flow at no head, when new.
    head_factor_frac
        Share of the shut-off head left; 1 when healthy.
    curve_exponent
        Exponent of the curve: 2 a parabola, larger a curve that stays flat and then drops.
    """

    shutoff_head_m: float
    maximum_flow_m3_s: float
    head_factor_frac: float = 1.0
    curve_exponent: float = 2.0


@formula(
    flow_m3_s=(0.0, 10.0),
    shutoff_head_m=(0.0, 1000.0),
    maximum_flow_m3_s=(1e-9, 10.0),
    head_factor_frac=(0.0, 1.5),
)
def parabolic_pump_head_m(
    flow_m3_s: float,
    shutoff_head_m: float,
    maximum_flow_m3_s: float,
    head_factor_frac: float,
) -> float:
    """Head of a centrifugal pump with a parabolic curve.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    shutoff_head_m
        Head at no flow when new [m].
    maximum_flow_m3_s
        Flow at no head when new [m3/s].
    head_factor_frac
        Share of the shut-off head left [-].

    Returns
    -------
    float
        Head given [m]; negative beyond the flow at which the pump gives none.

    Notes
    -----
    H = c H0 - H0 (Q/Qmax)^2. By the affinity laws c is the square of the speed ratio and the
    second term does not depend on speed. The parabola is the usual first description of a small
    pump of which only the two ends are known; real curves are flatter or steeper by some 10 %.

    Examples
    --------
    >>> parabolic_pump_head_m(0.002, 8.0, 0.004, 1.0)
    6.0

    References
    ----------
    affinity_laws
    epanet_2
    """
    return shutoff_head_m * (head_factor_frac - (flow_m3_s / maximum_flow_m3_s) ** 2)


@formula(
    flow_m3_s=(0.0, 10.0),
    shutoff_head_m=(0.0, 1000.0),
    maximum_flow_m3_s=(1e-9, 10.0),
    head_factor_frac=(0.0, 1.5),
    curve_exponent=(0.2, 20.0),
)
def power_curve_pump_head_m(
    flow_m3_s: float,
    shutoff_head_m: float,
    maximum_flow_m3_s: float,
    head_factor_frac: float,
    curve_exponent: float,
) -> float:
    """Head of a centrifugal pump whose curve falls with a power of the flow.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    shutoff_head_m
        Head at no flow when new [m].
    maximum_flow_m3_s
        Flow at no head when new [m3/s].
    head_factor_frac
        Share of the shut-off head left, which is the square of the speed ratio [-].
    curve_exponent
        Exponent of the curve; 2 is the parabola of `parabolic_pump_head_m` [-].

    Returns
    -------
    float
        Head given [m]; negative beyond the flow at which the pump gives none.

    Notes
    -----
    H = c H0 - c^(1 - n/2) H0 (Q/Qmax)^n: the curve H0 - a Q^n moved by the affinity laws. At no
    speed left there is no head.

    Examples
    --------
    >>> round(power_curve_pump_head_m(0.002, 8.0, 0.004, 1.0, 3.0), 3)
    7.0

    References
    ----------
    affinity_laws
    epanet_2
    """
    if head_factor_frac <= 0.0:
        return 0.0
    bend: float = head_factor_frac ** (1.0 - 0.5 * curve_exponent)
    used: float = (flow_m3_s / maximum_flow_m3_s) ** curve_exponent
    return shutoff_head_m * (head_factor_frac - bend * used)


def pump_from_points(points: Sequence[tuple[float, float]]) -> WaterPump:
    """Return the pump whose curve passes through points read off its label or data sheet.

    Parameters
    ----------
    points
        One to three (flow [m3/s], head [m]). One: the duty point. Two: any two, such as the
        ends of the curve. Three: no flow, and two more.

    Returns
    -------
    WaterPump
        The pump, as new.

    Raises
    ------
    InputError
        There are none or more than three, or they do not fall as a pump's curve does.

    Notes
    -----
    H = H0 - a Q^n. One point (Q1, H1): H0 = 4/3 H1 and no head at 2 Q1, as pipe-network solvers
    take it. Two: the parabola n = 2 through both. Three, the first at no flow:
    n = ln((H0 - H2)/(H0 - H1))/ln(Q2/Q1). Labels name the flow at no head and the head at no
    flow; both are best cases, and a worn or long-used pump gives less.

    Examples
    --------
    >>> pump = pump_from_points([(0.0, 8.0), (0.002, 6.0), (0.004, 0.0)])
    >>> round(pump.maximum_flow_m3_s, 6), round(pump.curve_exponent, 3)
    (0.004, 2.0)
    >>> two = pump_from_points([(0.001, 3.0), (0.002, 0.0)])
    >>> round(two.shutoff_head_m, 3)
    4.0

    References
    ----------
    epanet_2
    """
    ordered = sorted(points)
    flows = [flow for flow, _ in ordered]
    heads = [head for _, head in ordered]
    falls = all(a > b for a, b in pairwise(heads))
    rises = all(a < b for a, b in pairwise(flows))
    if not (ordered and flows[0] >= 0.0 and heads[-1] >= 0.0 and falls and rises):
        message = (
            f"a pump's curve needs heads that fall as flows rise, none negative; got {ordered}. "
            "Give (flow, head) pairs as on the label."
        )
        raise InputError(message)
    if len(ordered) == 1:
        return _pump_of_one(flows[0], heads[0])
    if len(ordered) == 2:
        slope = (heads[0] - heads[1]) / (flows[1] ** 2 - flows[0] ** 2)
        shutoff = heads[0] + slope * flows[0] ** 2
        return WaterPump(shutoff, math.sqrt(shutoff / slope))
    return _pump_of_three(flows, heads)


def _pump_of_one(flow: float, head: float) -> WaterPump:
    if flow <= 0.0 or head <= 0.0:
        message = "one point alone must be a duty point, with flow and head above zero."
        raise InputError(message)
    return WaterPump(4.0 / 3.0 * head, 2.0 * flow)


def _pump_of_three(flows: list[float], heads: list[float]) -> WaterPump:
    if len(flows) > 3 or flows[0] != 0.0:
        message = (
            f"give at most three points, the first of three at no flow; got flows {flows} m3/s. "
            "Leave out points, or add the head at no flow."
        )
        raise InputError(message)
    exponent = math.log((heads[0] - heads[2]) / (heads[0] - heads[1])) / math.log(
        flows[2] / flows[1]
    )
    maximum = flows[2] * (heads[0] / (heads[0] - heads[2])) ** (1.0 / exponent)
    return WaterPump(heads[0], maximum, curve_exponent=exponent)


@formula(
    flow_m3_s=(0.0, 10.0),
    head_m=(0.0, 1000.0),
    density_kg_m3=(900.0, 1300.0),
    efficiency_frac=(0.01, 1.0),
)
def pump_power_w(
    flow_m3_s: float, head_m: float, density_kg_m3: float, efficiency_frac: float
) -> float:
    """Electrical power that a pump takes.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    head_m
        Head given [m].
    density_kg_m3
        Density of the water [kg/m3].
    efficiency_frac
        Hydraulic over electrical power, wire to water [-].

    Returns
    -------
    float
        Electrical power [W].

    Notes
    -----
    P = rho g Q H / eta.

    Examples
    --------
    >>> round(pump_power_w(0.008, 3.5, 1000.0, 0.6), 1)
    457.6

    References
    ----------
    hydrostatics
    """
    return density_kg_m3 * STANDARD_GRAVITY * flow_m3_s * head_m / efficiency_frac


@formula(
    flow_m3_s=(0.0, 10.0),
    head_m=(0.0, 1000.0),
    density_kg_m3=(900.0, 1300.0),
    electrical_w=(1e-3, 1e6),
)
def pump_efficiency_frac(
    flow_m3_s: float, head_m: float, density_kg_m3: float, electrical_w: float
) -> float:
    """Efficiency of a pump, wire to water, from what it lifts and what it draws.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    head_m
        Head given [m].
    density_kg_m3
        Density of the water [kg/m3].
    electrical_w
        Electrical power, from a plug-in meter or the label [W].

    Returns
    -------
    float
        Efficiency [-]; above 1 says that one of the readings is wrong.

    Notes
    -----
    eta = rho g Q H/P. Small submersible pumps reach 0.1 to 0.4, well chosen larger ones 0.5 to
    0.7 (common practice, no source).

    Examples
    --------
    >>> round(pump_efficiency_frac(0.002, 2.0, 998.0, 100.0), 2)
    0.39

    References
    ----------
    hydrostatics
    """
    return density_kg_m3 * STANDARD_GRAVITY * flow_m3_s * head_m / electrical_w


@formula(
    volume_m3=(0.0, 1e9),
    head_m=(0.0, 1000.0),
    density_kg_m3=(900.0, 1300.0),
    efficiency_frac=(0.01, 1.0),
)
def pumping_energy_j(
    volume_m3: float, head_m: float, density_kg_m3: float, efficiency_frac: float
) -> float:
    """Electrical energy that it takes to move a volume of water.

    Parameters
    ----------
    volume_m3
        Volume moved [m3].
    head_m
        Head given [m].
    density_kg_m3
        Density of the water [kg/m3].
    efficiency_frac
        Hydraulic over electrical energy, wire to water [-].

    Returns
    -------
    float
        Electrical energy [J]; 3.6e6 J is a kWh.

    Notes
    -----
    E = rho g V H/eta.

    Examples
    --------
    >>> round(pumping_energy_j(100.0, 2.0, 1000.0, 0.4) / 3.6e6, 2)
    1.36

    References
    ----------
    hydrostatics
    """
    return density_kg_m3 * STANDARD_GRAVITY * volume_m3 * head_m / efficiency_frac


@formula(power_w=(0.0, 1e7), running_s=(0.0, 1e9))
def electrical_energy_j(power_w: float, running_s: float) -> float:
    """Electrical energy that machines use while they run.

    Parameters
    ----------
    power_w
        Electrical power, as a meter at the plug shows it [W].
    running_s
        Time that they run [s].

    Returns
    -------
    float
        Electrical energy [J]; 3.6e6 J is a kWh.

    Examples
    --------
    >>> round(electrical_energy_j(2210.0, 86400.0) / 3.6e6, 2)
    53.04

    References
    ----------
    arithmetic
    """
    return power_w * running_s


def pump_head_m(flow_m3_s: float, pump: WaterPump) -> float:
    """Head that a pump gives at a flow.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    pump
        The pump.

    Returns
    -------
    float
        Head [m]; negative beyond the flow at which it gives none.

    Raises
    ------
    OutsideRangeError
        The flow is negative, or the curve is not that of a pump.

    Examples
    --------
    >>> pump_head_m(0.0, WaterPump(4.0, 0.0023, head_factor_frac=0.8))
    3.2
    """
    shape = (pump.shutoff_head_m, pump.maximum_flow_m3_s, pump.head_factor_frac)
    if pump.curve_exponent == 2.0:  # most pumps of which only the two ends are known
        return parabolic_pump_head_m(flow_m3_s, *shape)
    return power_curve_pump_head_m(flow_m3_s, *shape, pump.curve_exponent)
