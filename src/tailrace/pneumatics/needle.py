"""Needle valves as an annular slit: conductance for air, and what inertia adds."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.formula import formula
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, ZERO_CELSIUS_K

AIR_GAS_CONSTANT = 287.05  # J/(kg K), dry air
_SLIT_LOSS = 1.5  # velocity heads at the entrance and exit of a slit


@dataclass(frozen=True, slots=True)
class Needle:
    """Geometry of a needle; guesswork, only the flow at a reading matters.

    Parameters
    ----------
    diameter_m
        Mean diameter of the slit.
    slit_length_m
        Length of the slit along the flow.
    """

    diameter_m: float = 0.0015
    slit_length_m: float = 0.0005


@formula(air_temperature_degc=(-50.0, 150.0))
def air_viscosity_pa_s(air_temperature_degc: float) -> float:
    """Dynamic viscosity of air.

    Parameters
    ----------
    air_temperature_degc
        Air temperature [degC].

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    Notes
    -----
    mu = 1.716e-5 (T/273.15)^1.5 (273.15 + 110.4)/(T + 110.4), T in kelvin; independent of
    pressure here; within 2 % from -50 to 150 degC.

    Examples
    --------
    >>> round(air_viscosity_pa_s(27.0) * 1e5, 2)
    1.85

    References
    ----------
    sutherland_1893
    """
    kelvin = air_temperature_degc + ZERO_CELSIUS_K
    ratio = kelvin / 273.15
    return 1.716e-5 * ratio * math.sqrt(ratio) * (273.15 + 110.4) / (kelvin + 110.4)


@formula(
    gap_m=(0.0, math.inf),
    diameter_m=(1e-5, 0.1),
    slit_length_m=(1e-6, 0.1),
    upstream_pa_abs=(1e3, 1e7),
    downstream_pa_abs=(1e3, 1e7),
    air_temperature_degc=(-50.0, 150.0),
)
def slit_conductance_m3_s_pa(
    gap_m: float,
    diameter_m: float,
    slit_length_m: float,
    upstream_pa_abs: float,
    downstream_pa_abs: float,
    air_temperature_degc: float,
) -> float:
    """Conductance of a narrow annular slit for air, counted in standard volume.

    Parameters
    ----------
    gap_m
        Width of the slit; infinite when fully open [m].
    diameter_m
        Mean diameter of the slit [m].
    slit_length_m
        Length of the slit along the flow [m].
    upstream_pa_abs
        Absolute pressure before the slit [Pa].
    downstream_pa_abs
        Absolute pressure after the slit [Pa].
    air_temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Standard flow (70 degF, 1 atm) per pressure difference [m3/(s Pa)].

    Notes
    -----
    G = pi d y^3/(12 mu L) (P1+P2)/(2 P_s) T_s/T: viscous flow between near plates, integrated
    for an ideal gas at constant temperature. Slip at the wall adds 2 to 3 % at gaps of 15 um.
    Validity: gap far below diameter and length; what inertia adds is `slit_inertia_pa_s2_m6`.

    Examples
    --------
    >>> round(slit_conductance_m3_s_pa(17e-6, 0.0015, 0.0005, 122e3, 116e3, 27.0) * 1e10, 2)
    2.41

    References
    ----------
    plane_poiseuille
    """
    viscous = math.pi * diameter_m * gap_m**3 / 12.0 / slit_length_m
    viscosity = air_viscosity_pa_s(air_temperature_degc)
    mean_pa_abs = 0.5 * (upstream_pa_abs + downstream_pa_abs)
    to_standard = (STANDARD_DEGC + ZERO_CELSIUS_K) / (air_temperature_degc + ZERO_CELSIUS_K)
    return viscous / viscosity * mean_pa_abs / STANDARD_PA_ABS * to_standard


@formula(
    gap_m=(1e-7, math.inf),
    diameter_m=(1e-5, 0.1),
    mean_pa_abs=(1e3, 1e7),
    air_temperature_degc=(-50.0, 150.0),
)
def slit_inertia_pa_s2_m6(
    gap_m: float, diameter_m: float, mean_pa_abs: float, air_temperature_degc: float
) -> float:
    """Quadratic resistance that entrance and exit of a slit add, for standard flow.

    Parameters
    ----------
    gap_m
        Width of the slit; infinite when fully open [m].
    diameter_m
        Mean diameter of the slit [m].
    mean_pa_abs
        Mean absolute pressure in the slit [Pa].
    air_temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Pressure loss over the square of the standard flow (70 degF, 1 atm) [Pa s2/m6].

    Notes
    -----
    1.5 velocity heads: 1.5 rho/2 (q_actual/(pi d y))^2, q_actual = q P_s T/(P T_s). About 4 % of
    the needle's drop at 0.175 SCFH with the default geometry, a third at 1 SCFH. The coefficient
    1.5 is textbook order for a sharp entrance and a lost exit head.

    Examples
    --------
    >>> needle_drop = slit_inertia_pa_s2_m6(17e-6, 0.0015, 119e3, 27.0) * 1.38e-6**2
    >>> 100.0 < needle_drop < 300.0
    True

    References
    ----------
    judgement
    """
    kelvin = air_temperature_degc + ZERO_CELSIUS_K
    density = mean_pa_abs / (AIR_GAS_CONSTANT * kelvin)
    actual = STANDARD_PA_ABS / mean_pa_abs * kelvin / (STANDARD_DEGC + ZERO_CELSIUS_K)
    return _SLIT_LOSS * 0.5 * density * (actual / (math.pi * diameter_m * gap_m)) ** 2


def needle_conductance_m3_s_pa(
    gap_m: float,
    needle: Needle,
    *,
    upstream_pa_abs: float,
    downstream_pa_abs: float,
    air_temperature_degc: float,
) -> float:
    """Conductance of a needle for air, counted in standard volume (70 degF, 1 atm).

    Parameters
    ----------
    gap_m
        Gap; zero when shut, infinite when fully open [m].
    needle
        Geometry.
    upstream_pa_abs, downstream_pa_abs
        Absolute pressure before and after the needle [Pa].
    air_temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Standard flow per pressure difference [m3/(s Pa)].

    Raises
    ------
    OutsideRangeError
        The gap is negative, or a pressure is not one of this machine.

    Examples
    --------
    >>> needle_conductance_m3_s_pa(
    ...     0.0, Needle(), upstream_pa_abs=122e3, downstream_pa_abs=116e3,
    ...     air_temperature_degc=27.0,
    ... )
    0.0
    """
    return slit_conductance_m3_s_pa(
        gap_m,
        needle.diameter_m,
        needle.slit_length_m,
        upstream_pa_abs,
        downstream_pa_abs,
        air_temperature_degc,
    )
