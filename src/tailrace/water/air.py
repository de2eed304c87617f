"""Air above the water: its pressure at an altitude, and the water vapour in it."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(altitude_m=(-500.0, 5000.0))
def pressure_at_altitude_pa_abs(altitude_m: float) -> float:
    """Mean air pressure at an altitude, by the standard atmosphere.

    Parameters
    ----------
    altitude_m
        Altitude above sea level [m].

    Returns
    -------
    float
        Air pressure [Pa].

    Notes
    -----
    P = 101325 (1 - 2.25577e-5 h)^5.25588. Weather moves the real pressure by 2 to 4 % either
    way; where a barometer stands, use it, and its station reading, not the one reduced to sea
    level that weather reports give.

    Examples
    --------
    >>> round(pressure_at_altitude_pa_abs(2000.0))
    79495

    References
    ----------
    us_standard_atmosphere_1976
    """
    return 101325.0 * math.pow(1.0 - 2.25577e-5 * altitude_m, 5.25588)


@formula(altitude_m=(-500.0, 5000.0))
def pressure_at_altitude_allen_1998_pa_abs(altitude_m: float) -> float:
    """Mean air pressure at an altitude, in the form used for evapotranspiration.

    Parameters
    ----------
    altitude_m
        Altitude above sea level [m].

    Returns
    -------
    float
        Air pressure [Pa].

    Notes
    -----
    P = 101300 ((293 - 0.0065 h)/293)^5.26: an atmosphere of 20 degC at sea level, against
    15 degC in the standard one, so it reads up to 0.4 % more at 2000 m.

    Examples
    --------
    >>> round(pressure_at_altitude_allen_1998_pa_abs(1800.0), -2)
    81800.0

    References
    ----------
    allen_1998
    """
    return 101300.0 * math.pow((293.0 - 0.0065 * altitude_m) / 293.0, 5.26)


@formula(temperature_degc=(-40.0, 50.0))
def vapour_pressure_pa_abs(temperature_degc: float) -> float:
    """Pressure of water vapour over pure water at equilibrium.

    Parameters
    ----------
    temperature_degc
        Temperature of water and air [degC].

    Returns
    -------
    float
        Vapour pressure [Pa].

    Notes
    -----
    Magnus form, 610.94 exp(17.625 t/(t + 243.04)); within 0.4 % from -40 to 50 degC by its
    authors. Below 0 degC it stands for supercooled water, not for ice.

    Examples
    --------
    >>> round(vapour_pressure_pa_abs(20.0))
    2333

    References
    ----------
    alduchov_eskridge_1996
    """
    return 610.94 * math.exp(17.625 * temperature_degc / (temperature_degc + 243.04))


@formula(temperature_degc=(0.0, 45.0))
def vapour_pressure_benson_krause_1984_pa_abs(temperature_degc: float) -> float:
    """Pressure of water vapour, in the form that belongs to the oxygen solubility equation.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Vapour pressure [Pa].

    Notes
    -----
    ln u = 11.8571 - 3840.70/T - 216961/T^2, u in atm, T in kelvin.

    Examples
    --------
    >>> round(vapour_pressure_benson_krause_1984_pa_abs(20.0))
    2338

    References
    ----------
    benson_krause_1984
    """
    kelvin = temperature_degc + 273.15
    return 101325.0 * math.exp(11.8571 - 3840.70 / kelvin - 216961.0 / (kelvin * kelvin))


@formula(temperature_degc=(0.0, 45.0), pressure_pa_abs=(40e3, 120e3))
def oxygen_partial_pressure_pa_abs(
    temperature_degc: float, pressure_pa_abs: float = 101325.0
) -> float:
    """Partial pressure of oxygen in moist air, and so in water at equilibrium with it.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    pressure_pa_abs
        Air pressure [Pa].

    Returns
    -------
    float
        Partial pressure of oxygen [Pa].

    Notes
    -----
    0.20946 (P - u), with 0.20946 the share of oxygen in dry air. Salt lowers u by 2 % at most
    in sea water, which is left out.

    Examples
    --------
    >>> round(oxygen_partial_pressure_pa_abs(20.0))
    20734

    References
    ----------
    colt_1984
    """
    vapour = vapour_pressure_benson_krause_1984_pa_abs(temperature_degc)
    return 0.20946 * (pressure_pa_abs - vapour)
