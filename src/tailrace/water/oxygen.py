"""Dissolved oxygen: what water holds at equilibrium with air, and how far it is from that."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.air import vapour_pressure_benson_krause_1984_pa_abs


@formula(temperature_degc=(0.0, 45.0), salinity_g_kg=(0.0, 40.0), pressure_pa_abs=(40e3, 120e3))
def oxygen_saturation_g_m3(
    temperature_degc: float, salinity_g_kg: float = 0.0, pressure_pa_abs: float = 101325.0
) -> float:
    """Oxygen that water holds at equilibrium with moist air.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site, not reduced to sea level [Pa].

    Returns
    -------
    float
        Oxygen at saturation [g/m3].

    Notes
    -----
    ln C = -139.34411 + 1.575701e5/T - 6.642308e7/T^2 + 1.243800e10/T^3 - 8.621949e11/T^4
    - S (1.7674e-2 - 10.754/T + 2140.7/T^2), T in kelvin; then times
    (P - u)(1 - th P)/((1 - u)(1 - th)), P and u in atm, th = 0.000975 - 1.426e-5 t
    + 6.436e-8 t^2. Measured from 0 to 40 degC; up to 45 degC it is extrapolated. A printed
    copy has 1.754e1 for 1.0754e1 in the salt term.

    Examples
    --------
    >>> round(oxygen_saturation_g_m3(20.0), 3)
    9.092
    >>> round(oxygen_saturation_g_m3(20.0, pressure_pa_abs=0.7 * 101325.0), 2)
    6.3

    References
    ----------
    benson_krause_1984
    """
    kelvin = temperature_degc + 273.15
    inverse = 1.0 / kelvin
    fresh = -139.34411 + inverse * (
        1.575701e5 + inverse * (-6.642308e7 + inverse * (1.243800e10 - inverse * 8.621949e11))
    )
    salt = salinity_g_kg * (1.7674e-2 + inverse * (-10.754 + inverse * 2140.7))
    atm = pressure_pa_abs / 101325.0
    vapour = vapour_pressure_benson_krause_1984_pa_abs(temperature_degc) / 101325.0
    theta = 0.000975 + temperature_degc * (-1.426e-5 + temperature_degc * 6.436e-8)
    pressure = (atm - vapour) * (1.0 - theta * atm) / ((1.0 - vapour) * (1.0 - theta))
    return math.exp(fresh - salt) * pressure


@formula(
    oxygen_g_m3=(0.0, 60.0),
    temperature_degc=(0.0, 45.0),
    salinity_g_kg=(0.0, 40.0),
    pressure_pa_abs=(40e3, 120e3),
)
def oxygen_saturation_frac(
    oxygen_g_m3: float,
    temperature_degc: float,
    salinity_g_kg: float = 0.0,
    pressure_pa_abs: float = 101325.0,
) -> float:
    """Share of saturation that an oxygen concentration is; above 1 when supersaturated.

    Parameters
    ----------
    oxygen_g_m3
        Dissolved oxygen [g/m3].
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Share of saturation [-].

    Examples
    --------
    >>> round(oxygen_saturation_frac(5.0, 22.0), 4)
    0.5718

    References
    ----------
    benson_krause_1984
    """
    return oxygen_g_m3 / oxygen_saturation_g_m3(temperature_degc, salinity_g_kg, pressure_pa_abs)


@formula(
    saturation_frac=(0.0, 10.0),
    temperature_degc=(0.0, 45.0),
    salinity_g_kg=(0.0, 40.0),
    pressure_pa_abs=(40e3, 120e3),
)
def oxygen_from_saturation_g_m3(
    saturation_frac: float,
    temperature_degc: float,
    salinity_g_kg: float = 0.0,
    pressure_pa_abs: float = 101325.0,
) -> float:
    """Oxygen concentration of a reading given as a share of saturation.

    Parameters
    ----------
    saturation_frac
        Share of saturation; 0.8 for a meter that shows 80 % [-].
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Dissolved oxygen [g/m3].

    Notes
    -----
    Meters differ in whether 100 % means saturation at the site's pressure (as here) or at
    1 atm; at altitude the two part, and the meter's manual tells which it shows.

    Examples
    --------
    >>> round(oxygen_from_saturation_g_m3(0.8, 25.0), 2)
    6.61

    References
    ----------
    benson_krause_1984
    """
    return saturation_frac * oxygen_saturation_g_m3(
        temperature_degc, salinity_g_kg, pressure_pa_abs
    )


@formula(
    oxygen_g_m3=(0.0, 60.0),
    temperature_degc=(0.0, 45.0),
    salinity_g_kg=(0.0, 40.0),
    pressure_pa_abs=(40e3, 120e3),
)
def oxygen_deficit_g_m3(
    oxygen_g_m3: float,
    temperature_degc: float,
    salinity_g_kg: float = 0.0,
    pressure_pa_abs: float = 101325.0,
) -> float:
    """Oxygen missing to saturation; negative when supersaturated.

    Parameters
    ----------
    oxygen_g_m3
        Dissolved oxygen [g/m3].
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Saturation less the concentration [g/m3].

    Examples
    --------
    >>> round(oxygen_deficit_g_m3(5.0, 22.0), 3)
    3.744

    References
    ----------
    benson_krause_1984
    """
    return oxygen_saturation_g_m3(temperature_degc, salinity_g_kg, pressure_pa_abs) - oxygen_g_m3
