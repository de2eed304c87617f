"""Airlift pumps: the water that air lifts through a riser."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.optimize import brentq

from tailrace.formula import formula
from tailrace.pneumatics.standard import STANDARD_GRAVITY, STANDARD_PA_ABS

_PROFILE = 1.2  # velocity of the water ahead of a slug over the mean, turbulent
_SURFACE_TENSION = 0.0728  # N/m, clean water at 20 degC
_LARGEST_M_S = 10.0


@dataclass(frozen=True, slots=True)
class Riser:
    """The upright pipe of an airlift pump.

    Parameters
    ----------
    bore_m
        Inner diameter.
    length_m
        From the air inlet to the outlet.
    submerged_m
        From the air inlet to the surface outside.
    """

    bore_m: float
    length_m: float
    submerged_m: float


@formula(bore_m=(0.005, 0.3), density_kg_m3=(900.0, 1300.0))
def slug_rise_velocity_m_s(bore_m: float, density_kg_m3: float = 998.0) -> float:
    """Speed at which a long bubble rises in still water in an upright pipe.

    Parameters
    ----------
    bore_m
        Inner diameter [m].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Rise velocity [m/s].

    Notes
    -----
    v = 0.352 sqrt(g D)(1 - 3.18 S - 14.77 S^2), S = sigma/(rho g D^2): surface tension slows the
    bubble in pipes below about 20 mm. In pipes above 0.1 m slugs break up and the pump is poorer
    than slug flow says.

    Examples
    --------
    >>> round(slug_rise_velocity_m_s(0.025), 3)
    0.167

    References
    ----------
    reinemann_1990
    """
    tension = _SURFACE_TENSION / (density_kg_m3 * STANDARD_GRAVITY * bore_m**2)
    slowed = 1.0 - 3.18 * tension - 14.77 * tension**2
    return 0.352 * math.sqrt(STANDARD_GRAVITY * bore_m) * slowed


@formula(
    water_velocity_m_s=(0.0, 10.0),
    air_velocity_m_s=(0.0, 10.0),
    bore_m=(0.005, 0.3),
    density_kg_m3=(900.0, 1300.0),
    viscosity_pa_s=(1e-4, 1e-2),
)
def airlift_submergence_frac(
    water_velocity_m_s: float,
    air_velocity_m_s: float,
    bore_m: float,
    density_kg_m3: float = 998.0,
    viscosity_pa_s: float = 1.0e-3,
) -> float:
    """Share of a riser that must stand under water for given flows of water and air.

    Parameters
    ----------
    water_velocity_m_s
        Water flow over the cross-section of the riser [m/s].
    air_velocity_m_s
        Air flow, at the mean pressure in the riser, over the cross-section [m/s].
    bore_m
        Inner diameter [m].
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].

    Returns
    -------
    float
        Submerged length over length of the riser [-].

    Notes
    -----
    S = (1 - e)(1 + f v^2/(2 g D)), v = v_w + v_a, e = v_a/(1.2 v + v_slug), f = 0.316 Re^-0.25:
    the water left in the riser and the friction on it against the water outside. Losses at the
    foot and the outlet are left out. Slug flow, air velocity to about 2 m/s and Re above 500.

    Examples
    --------
    >>> round(airlift_submergence_frac(0.5, 0.5, 0.025), 2)
    0.67

    References
    ----------
    nicklin_1963
    reinemann_1990
    """
    mixture = water_velocity_m_s + air_velocity_m_s
    if mixture <= 0.0:
        return 1.0
    share = air_velocity_m_s / (_PROFILE * mixture + slug_rise_velocity_m_s(bore_m, density_kg_m3))
    reynolds: float = density_kg_m3 * mixture * bore_m / viscosity_pa_s
    friction: float = 0.316 * reynolds**-0.25
    head = friction * mixture**2 / (2.0 * STANDARD_GRAVITY * bore_m)
    return (1.0 - share) * (1.0 + head)


@formula(
    submerged_m=(1e-3, 100.0),
    air_pa_abs=(3e4, 1.2e5),
    density_kg_m3=(900.0, 1300.0),
)
def riser_mean_pa_abs(
    submerged_m: float, air_pa_abs: float = STANDARD_PA_ABS, density_kg_m3: float = 998.0
) -> float:
    """Mean pressure of the air on its way up a riser, weighted as its volume flow is.

    Parameters
    ----------
    submerged_m
        From the air inlet to the surface outside [m].
    air_pa_abs
        Pressure of the open air [Pa].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Mean absolute pressure [Pa].

    Notes
    -----
    (P1 - P2)/ln(P1/P2): the mean of 1/P over a pressure that falls evenly from the foot to the
    outlet.

    Examples
    --------
    >>> round(riser_mean_pa_abs(1.0))
    106143

    References
    ----------
    arithmetic
    """
    rise = density_kg_m3 * STANDARD_GRAVITY * submerged_m
    return rise / math.log(1.0 + rise / air_pa_abs)


def airlift_water_flow_m3_s(
    air_flow_m3_s: float,
    riser: Riser,
    *,
    air_pa_abs: float = STANDARD_PA_ABS,
    density_kg_m3: float = 998.0,
    viscosity_pa_s: float = 1.0e-3,
    loss_coefficient: float = 1.5,
) -> float:
    """Water that an airlift pump lifts.

    Parameters
    ----------
    air_flow_m3_s
        Air flow, counted at the temperature of the water and the pressure of the open air [m3/s].
    riser
        The riser.
    air_pa_abs
        Pressure of the open air [Pa].
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].
    loss_coefficient
        Losses at the foot and the velocity head at the outlet, on the velocity head of the
        water alone [-].

    Returns
    -------
    float
        Water flow [m3/s]; zero when the air is too little to reach the outlet, or so much that
        none is lifted.

    Raises
    ------
    OutsideRangeError
        A size or flow is not that of an airlift pump.

    Notes
    -----
    Root of `airlift_submergence_frac` + K v_w^2/(2 g L) = submerged/length in the water velocity;
    the losses at the ends are an addition of ours to the slug-flow theory. Against the
    measurements of Stenning & Martin (25 mm, 4.3 m) within 12 % up to air velocities of 1.5 m/s
    at the outlet; at the best air flow 10 to 20 % high; beyond it flow is no longer in slugs and
    the answer too low.

    Examples
    --------
    >>> riser = Riser(bore_m=0.025, length_m=1.0, submerged_m=0.8)
    >>> round(airlift_water_flow_m3_s(2e-4, riser) * 1e3, 2)
    0.32
    """
    area = math.pi / 4.0 * riser.bore_m**2
    wanted = riser.submerged_m / riser.length_m
    mean = riser_mean_pa_abs(riser.submerged_m, air_pa_abs, density_kg_m3)
    air_velocity = air_flow_m3_s * air_pa_abs / mean / area

    def surplus(velocity: float) -> float:
        needed = airlift_submergence_frac(
            velocity, air_velocity, riser.bore_m, density_kg_m3, viscosity_pa_s
        )
        ends = loss_coefficient * velocity**2 / (2.0 * STANDARD_GRAVITY * riser.length_m)
        return needed + ends - wanted

    if surplus(0.0) >= 0.0:
        return 0.0
    return float(brentq(surplus, 0.0, _LARGEST_M_S, xtol=1e-12)) * area
