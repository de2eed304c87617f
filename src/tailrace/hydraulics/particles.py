"""Turnover of tanks, velocities that keep pipes clean, and speeds at which particles settle."""

from __future__ import annotations

import math
from collections.abc import Iterable

from tailrace.errors import InputError
from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY


def total_volume_m3(parts: Iterable[tuple[float, float]]) -> float:
    """Water in a loop, summed over its tanks, beds and sumps.

    Parameters
    ----------
    parts
        How many there are of a kind, and the water in each [m3].

    Returns
    -------
    float
        Water in all of them [m3].

    Raises
    ------
    InputError
        A count or a volume is below zero or not a number.

    Examples
    --------
    >>> round(total_volume_m3([(4, 7.8), (6, 11.3), (1, 0.6)]), 1)
    99.6
    """
    held = list(parts)
    for count, volume_m3 in held:
        if not (count >= 0.0 and volume_m3 >= 0.0):
            message = (
                f"{count:g} parts of {volume_m3:g} m3: give a count and a volume of 0 or more."
            )
            raise InputError(message)
    return math.fsum(count * volume_m3 for count, volume_m3 in held)


@formula(volume_m3=(0.0, 1e6), flow_m3_s=(1e-9, 10.0))
def turnover_s(volume_m3: float, flow_m3_s: float) -> float:
    """Time in which as much water passes a tank as it holds.

    Parameters
    ----------
    volume_m3
        Water in the tank [m3].
    flow_m3_s
        Flow through it [m3/s].

    Returns
    -------
    float
        Turnover time, which is also the mean time that water stays [s].

    Notes
    -----
    V/Q. In a mixed tank 37 % of the water is older than this.

    Examples
    --------
    >>> turnover_s(3.6, 0.001)
    3600.0

    References
    ----------
    arithmetic
    """
    return volume_m3 / flow_m3_s


@formula(volume_m3=(0.0, 1e6), flow_m3_s=(1e-9, 10.0), removed_frac=(0.0, 0.999999))
def mixed_flushing_s(volume_m3: float, flow_m3_s: float, removed_frac: float) -> float:
    """Time in which flow flushes a share of a dissolved substance out of a mixed tank.

    Parameters
    ----------
    volume_m3
        Water in the tank [m3].
    flow_m3_s
        Flow of water without the substance [m3/s].
    removed_frac
        Share to be removed [-].

    Returns
    -------
    float
        Time [s].

    Notes
    -----
    t = -(V/Q) ln(1 - share), perfect mixing.

    Examples
    --------
    >>> round(mixed_flushing_s(1.0, 1e-3, 0.95))
    2996

    References
    ----------
    arithmetic
    """
    return -volume_m3 / flow_m3_s * math.log(1.0 - removed_frac)


@formula(flow_m3_s=(0.0, 10.0), surface_m2=(1e-6, 1e5))
def overflow_rate_m_s(flow_m3_s: float, surface_m2: float) -> float:
    """Surface loading of a settler: the slowest settling speed that it still catches.

    Parameters
    ----------
    flow_m3_s
        Flow through the settler [m3/s].
    surface_m2
        Its surface, seen from above [m2].

    Returns
    -------
    float
        Surface loading [m/s].

    Notes
    -----
    Q/A (Hazen): in even flow every particle that settles faster reaches the floor, whatever the
    depth; of slower ones the share v A/Q does.

    Examples
    --------
    >>> overflow_rate_m_s(0.002, 4.0)
    0.0005

    References
    ----------
    arithmetic
    """
    return flow_m3_s / surface_m2


@formula(
    particle_diameter_m=(1e-7, 1e-2),
    excess_density_kg_m3=(0.0, 8000.0),
    viscosity_pa_s=(1e-4, 1e-2),
)
def settling_velocity_stokes_m_s(
    particle_diameter_m: float, excess_density_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Settling speed of a small sphere, without inertia.

    Parameters
    ----------
    particle_diameter_m
        Diameter [m].
    excess_density_kg_m3
        Density of the particle less that of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].

    Returns
    -------
    float
        Settling speed [m/s].

    Notes
    -----
    v = g (rho_p - rho) d^2/(18 mu), for v d rho/mu below about 0.1 (10 % high at 0.5).

    Examples
    --------
    >>> round(settling_velocity_stokes_m_s(50e-6, 50.0, 1e-3) * 1e3, 3)
    0.068

    References
    ----------
    stokes_1851
    """
    weight = STANDARD_GRAVITY * excess_density_kg_m3
    return weight * particle_diameter_m**2 / (18.0 * viscosity_pa_s)


@formula(
    particle_diameter_m=(1e-7, 2e-2),
    excess_density_kg_m3=(0.0, 8000.0),
    density_kg_m3=(900.0, 1300.0),
    viscosity_pa_s=(1e-4, 1e-2),
    drag_far=(0.2, 2.0),
)
def settling_velocity_m_s(
    particle_diameter_m: float,
    excess_density_kg_m3: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
    drag_far: float = 0.4,
) -> float:
    """Settling speed of a grain, from creeping to turbulent.

    Parameters
    ----------
    particle_diameter_m
        Diameter [m].
    excess_density_kg_m3
        Density of the particle less that of the water [kg/m3].
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].
    drag_far
        Drag coefficient far above Stokes' range: 0.4 smooth spheres, 1.0 natural grains [-].

    Returns
    -------
    float
        Settling speed [m/s].

    Notes
    -----
    v = R g d^2/(18 nu + sqrt(0.75 C R g d^3)), R = (rho_p - rho)/rho. For spheres within 25 %
    of what a full drag curve gives. Faeces and uneaten feed are fragile and of unknown density:
    time a few in a jar instead where it matters.

    Examples
    --------
    >>> round(settling_velocity_m_s(1e-3, 60.0, 998.0, 1e-3) * 1e3, 1)
    18.8

    References
    ----------
    ferguson_church_2004
    """
    drive = excess_density_kg_m3 / density_kg_m3 * STANDARD_GRAVITY
    viscous = 18.0 * viscosity_pa_s / density_kg_m3
    inertial = math.sqrt(0.75 * drag_far * drive * particle_diameter_m**3)
    return drive * particle_diameter_m**2 / (viscous + inertial)


@formula(
    hydraulic_radius_m=(1e-4, 1.0),
    particle_diameter_m=(1e-6, 1e-2),
    specific_excess=(0.0, 5.0),
    transport_number=(0.01, 1.0),
    manning_n=(0.005, 0.05),
)
def self_cleaning_velocity_m_s(
    hydraulic_radius_m: float,
    particle_diameter_m: float,
    specific_excess: float,
    transport_number: float = 0.8,
    manning_n: float = 0.009,
) -> float:
    """Velocity at which a pipe or channel carries settled grains along.

    Parameters
    ----------
    hydraulic_radius_m
        Area over wetted perimeter; a quarter of the bore of a full pipe [m].
    particle_diameter_m
        Diameter of the grain [m].
    specific_excess
        Excess density of the grain over the water's density [-].
    transport_number
        Shear over weight of a grain: about 0.04 begins to move sand, 0.8 keeps a sewer clean
        [-].
    manning_n
        Manning's roughness [-].

    Returns
    -------
    float
        Mean velocity [m/s].

    Notes
    -----
    Camp: v = R^(1/6)/n sqrt(B s d), which sets the shear rho g R S of uniform flow equal to B
    times the excess weight of a layer of grains. For sticky organic solids it is too low; the
    trade lays returns out for 0.3 m/s and more, and flushes at 0.6 m/s and more (common
    practice, no source).

    Examples
    --------
    >>> round(self_cleaning_velocity_m_s(0.0125, 0.001, 0.06), 2)
    0.37

    References
    ----------
    camp_1946
    """
    radius: float = hydraulic_radius_m ** (1.0 / 6.0)
    weight = transport_number * specific_excess * particle_diameter_m
    return radius / manning_n * math.sqrt(weight)
