"""Air pumps: the pressure a pump gives at a flow."""

from __future__ import annotations

from dataclasses import dataclass

from tailrace.formula import formula


@dataclass(frozen=True, slots=True)
class AirPump:
    """An air pump by the two ends of its curve.

    Parameters
    ----------
    maximum_pa_gauge
        Pressure at no flow, when new.
    free_flow_m3_s
        Flow at no back pressure, standard m3/s (70 degF, 1 atm).
    wear_frac
        Share of both that is left; 1 when new.
    """

    maximum_pa_gauge: float
    free_flow_m3_s: float
    wear_frac: float = 1.0


@formula(
    standard_flow_m3_s=(0.0, 10.0),
    maximum_pa_gauge=(0.0, 1e6),
    free_flow_m3_s=(1e-9, 10.0),
    wear_frac=(1e-3, 1.5),
)
def straight_air_pump_pa_gauge(
    standard_flow_m3_s: float,
    maximum_pa_gauge: float,
    free_flow_m3_s: float,
    wear_frac: float,
) -> float:
    """Pressure of an air pump whose curve is a straight line.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    maximum_pa_gauge
        Pressure at no flow when new [Pa].
    free_flow_m3_s
        Standard flow at no back pressure when new [m3/s].
    wear_frac
        Share of both that is left [-].

    Returns
    -------
    float
        Pressure above the local air [Pa]; negative beyond the free flow.

    Notes
    -----
    p = w p_max (1 - q/(w q_0)). Real curves bow; near the usual reading, far below the free
    flow, only the pressure at no flow matters. The straight line and the way wear enters are
    judgement.

    Examples
    --------
    >>> straight_air_pump_pa_gauge(1e-4, 21000.0, 2e-4, 1.0)
    10500.0

    References
    ----------
    judgement
    """
    return maximum_pa_gauge * (wear_frac - standard_flow_m3_s / free_flow_m3_s)


def air_pump_pa_gauge(standard_flow_m3_s: float, pump: AirPump) -> float:
    """Pressure that an air pump gives at a flow.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    pump
        The pump.

    Returns
    -------
    float
        Pressure above the local air [Pa].

    Raises
    ------
    OutsideRangeError
        The flow is negative, or the curve is not that of a pump.

    Examples
    --------
    >>> air_pump_pa_gauge(0.0, AirPump(21000.0, 2e-4, wear_frac=0.5))
    10500.0
    """
    return straight_air_pump_pa_gauge(
        standard_flow_m3_s, pump.maximum_pa_gauge, pump.free_flow_m3_s, pump.wear_frac
    )
