"""The air line: flow that a pressure difference drives, and pressure that a long line takes."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.pneumatics.needle import AIR_GAS_CONSTANT, air_viscosity_pa_s
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, ZERO_CELSIUS_K

_STANDARD_DENSITY = STANDARD_PA_ABS / (AIR_GAS_CONSTANT * (STANDARD_DEGC + ZERO_CELSIUS_K))


@formula(
    drive_pa=(-1e7, 1e7),
    resistance_pa_s_m3=(1.0, math.inf),
    quadratic_pa_s2_m6=(0.0, 1e20),
)
def line_flow_m3_s(drive_pa: float, resistance_pa_s_m3: float, quadratic_pa_s2_m6: float) -> float:
    """Flow through a line with a linear and a quadratic resistance in series.

    Parameters
    ----------
    drive_pa
        Pressure left to drive the flow: pump at no flow less check valve less back pressure [Pa].
    resistance_pa_s_m3
        Linear resistance: slope of the pump curve plus that of the needle [Pa s/m3].
    quadratic_pa_s2_m6
        Quadratic resistance of hose and fittings [Pa s2/m6].

    Returns
    -------
    float
        Standard flow (70 degF, 1 atm) [m3/s]; zero when nothing drives it, as the check valve
        holds.

    Notes
    -----
    Root of R q + k q^2 = D, written q = 2 D/(R + sqrt(R^2 + 4 k D)), which does not cancel.

    Examples
    --------
    >>> line_flow_m3_s(6000.0, 6e9, 0.0)
    1e-06
    >>> line_flow_m3_s(-500.0, 6e9, 0.0)
    0.0

    References
    ----------
    arithmetic
    """
    drive = 0.5 * (drive_pa + abs(drive_pa))
    root: float = (resistance_pa_s_m3**2 + 4.0 * quadratic_pa_s2_m6 * drive) ** 0.5
    return 2.0 * drive / (resistance_pa_s_m3 + root)


@formula(
    standard_flow_m3_s=(0.0, 10.0),
    bore_m=(1e-4, 1.0),
    air_temperature_degc=(-50.0, 150.0),
)
def air_line_reynolds(
    standard_flow_m3_s: float, bore_m: float, air_temperature_degc: float
) -> float:
    """Reynolds number of air in a line.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    bore_m
        Inner diameter [m].
    air_temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Reynolds number [-]; it does not depend on the pressure.

    Notes
    -----
    Re = 4 m/(pi D mu), m = rho_s q_s. Below 2040 the friction factor is 64/Re, above it that of
    Colebrook or a fit to it.

    Examples
    --------
    >>> round(air_line_reynolds(5e-5, 0.004, 25.0))
    1039

    References
    ----------
    darcy_weisbach
    """
    mass = _STANDARD_DENSITY * standard_flow_m3_s
    return 4.0 * mass / (math.pi * bore_m * air_viscosity_pa_s(air_temperature_degc))


@formula(
    upstream_pa_abs=(1e4, 1e7),
    standard_flow_m3_s=(0.0, 10.0),
    bore_m=(1e-4, 1.0),
    length_m=(0.0, 1e4),
    friction_factor=(0.0, 10.0),
    loss_coefficient=(0.0, 1e6),
    air_temperature_degc=(-50.0, 150.0),
)
def air_line_end_pa_abs(
    upstream_pa_abs: float,
    standard_flow_m3_s: float,
    bore_m: float,
    length_m: float,
    friction_factor: float,
    loss_coefficient: float,
    air_temperature_degc: float,
) -> float:
    """Absolute pressure at the end of an air line.

    Parameters
    ----------
    upstream_pa_abs
        Absolute pressure at its beginning [Pa].
    standard_flow_m3_s
        Standard flow (70 degF, 1 atm) [m3/s].
    bore_m
        Inner diameter [m].
    length_m
        Length [m].
    friction_factor
        Darcy friction factor at the line's Reynolds number [-].
    loss_coefficient
        Sum of the loss coefficients of its fittings [-].
    air_temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Absolute pressure [Pa]; not a number when the line cannot pass that much.

    Notes
    -----
    P2^2 = P1^2 - (f L/D + K) G^2 R T, G = m/A: isothermal flow of an ideal gas without the term
    for its acceleration, which is small while P2 is above about 0.8 P1.

    Examples
    --------
    >>> round(121325.0 - air_line_end_pa_abs(121325.0, 5e-5, 0.004, 3.0, 64.0 / 1036.0, 3.0, 25.0))
    397

    References
    ----------
    isothermal_gas
    """
    flux = _STANDARD_DENSITY * standard_flow_m3_s / (math.pi / 4.0 * bore_m**2)
    kelvin = air_temperature_degc + ZERO_CELSIUS_K
    losses = friction_factor * length_m / bore_m + loss_coefficient
    left = upstream_pa_abs**2 - losses * flux**2 * AIR_GAS_CONSTANT * kelvin
    return math.sqrt(left) if left >= 0.0 else math.nan
