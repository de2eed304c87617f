"""Gravity returns and siphons: the flow that a fall drives, and the suction at a crest."""

from __future__ import annotations

from scipy.optimize import brentq

from tailrace.errors import OutsideRangeError
from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY, Pipe, pipe_head_loss_m

_FLOW_TOLERANCE = 1e-12  # m3/s
_LARGEST_M3_S = 10.0  # limit of the loss formula


def gravity_flow_m3_s(
    fall_m: float, pipe: Pipe, *, density_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Flow that a fall drives through a full pipe.

    Parameters
    ----------
    fall_m
        Upper surface over the lower surface, or over the outlet when it is free [m].
    pipe
        The pipe; its loss coefficient holds entrance, fittings and the velocity head at the exit.
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].

    Returns
    -------
    float
        Flow [m3/s]; zero without a fall.

    Raises
    ------
    OutsideRangeError
        A size is not that of a pipe, or the flow would exceed 10 m3/s.

    Notes
    -----
    Root of h(Q) = fall on a bracket. Where friction steps at Re 2040 a fall can belong to two
    flows; one of them is given.

    Examples
    --------
    >>> pipe = Pipe(bore_m=0.05, length_m=3.0, loss_coefficient=3.0)
    >>> flow = gravity_flow_m3_s(0.2, pipe, density_kg_m3=998.0, viscosity_pa_s=1e-3)
    >>> round(flow * 1e3, 2)
    1.88
    """
    if fall_m <= 0.0:
        return 0.0

    def surplus(flow: float) -> float:
        loss = pipe_head_loss_m(
            flow, pipe, density_kg_m3=density_kg_m3, viscosity_pa_s=viscosity_pa_s
        )
        return loss - fall_m

    high = 1e-6
    while surplus(high) < 0.0 and high < _LARGEST_M3_S:
        high = min(4.0 * high, _LARGEST_M3_S)
    if surplus(high) < 0.0:
        message = (
            f"a fall of {fall_m:g} m through a bore of {pipe.bore_m:g} m drives more than "
            f"{_LARGEST_M3_S:g} m3/s. Is the bore in metres?"
        )
        raise OutsideRangeError(message)
    return float(brentq(surplus, 0.0, high, xtol=_FLOW_TOLERANCE))


@formula(
    crest_height_m=(0.0, 10.0),
    velocity_m_s=(0.0, 10.0),
    loss_coefficient=(0.0, 1e6),
    air_pa_abs=(3e4, 1.2e5),
    density_kg_m3=(900.0, 1300.0),
)
def siphon_crest_pa_abs(
    crest_height_m: float,
    velocity_m_s: float,
    loss_coefficient: float,
    air_pa_abs: float,
    density_kg_m3: float,
) -> float:
    """Absolute pressure at the crest of a running siphon.

    Parameters
    ----------
    crest_height_m
        Crest over the upper surface [m].
    velocity_m_s
        Velocity in the pipe [m/s].
    loss_coefficient
        Losses from the inlet to the crest, pipe friction f L/D included, on this velocity
        head [-].
    air_pa_abs
        Pressure of the air on the upper surface [Pa].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Absolute pressure [Pa]. Gas comes out of air-saturated water at the crest long before the
        vapour pressure is reached, so a siphon high over its surface needs a bleed.

    Notes
    -----
    p = p_air - rho g z - (1 + K) rho v^2/2.

    Examples
    --------
    >>> round(siphon_crest_pa_abs(0.5, 1.0, 1.5, 101325.0, 998.0))
    95184

    References
    ----------
    hydrostatics
    """
    head = density_kg_m3 * STANDARD_GRAVITY * crest_height_m
    return air_pa_abs - head - (1.0 + loss_coefficient) * density_kg_m3 * velocity_m_s**2 / 2.0
