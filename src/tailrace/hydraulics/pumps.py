"""Water pumps: the head a pump gives at a flow, and the power it takes."""

from __future__ import annotations

from dataclasses import dataclass

from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY


@dataclass(frozen=True, slots=True)
class WaterPump:
    """A water pump by the two ends of its curve.

    Parameters
    ----------
    shutoff_head_m
        Head at no flow, when new.
    maximum_flow_m3_s
        Flow at no head, when new.
    head_factor_frac
        Share of the shut-off head left; 1 when healthy.
    """

    shutoff_head_m: float
    maximum_flow_m3_s: float
    head_factor_frac: float = 1.0


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
    return parabolic_pump_head_m(
        flow_m3_s, pump.shutoff_head_m, pump.maximum_flow_m3_s, pump.head_factor_frac
    )
