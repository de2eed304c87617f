"""Nitrogen, argon and the sum of all dissolved gas: when water holds more than it can keep.

Water that was warmed, or that sucked air in under pressure, is supersaturated; bubbles then form
in fish. Oxygen is in ``oxygen``, carbon dioxide in ``carbon_dioxide``.
"""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.air import oxygen_partial_pressure_pa_abs, vapour_pressure_pa_abs
from tailrace.water.oxygen import oxygen_saturation_frac
from tailrace.water.properties import sea_water_density_millero_poisson_1981_kg_m3

_T = (0.0, 40.0)
_S = (0.0, 40.0)
_P = (40e3, 120e3)
_NITROGEN_IN_AIR = 0.78084  # of dry air; from memory
_ARGON_IN_AIR = 0.00934


@formula()
def _at_pressure_mol_m3(
    umol_kg: float, temperature_degc: float, salinity_g_kg: float, pressure_pa_abs: float
) -> float:
    vapour = vapour_pressure_pa_abs(temperature_degc)
    density = sea_water_density_millero_poisson_1981_kg_m3(temperature_degc, salinity_g_kg)
    return umol_kg * 1e-6 * density * (pressure_pa_abs - vapour) / (101325.0 - vapour)


@formula(temperature_degc=_T, salinity_g_kg=_S, pressure_pa_abs=_P)
def nitrogen_saturation_hamme_emerson_2004_mol_m3(
    temperature_degc: float, salinity_g_kg: float = 0.0, pressure_pa_abs: float = 101325.0
) -> float:
    """Dissolved nitrogen gas that water holds at equilibrium with moist air.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Nitrogen gas at saturation, as N2 [mol/m3].

    Notes
    -----
    ln C = 6.42931 + 2.92704 s + 4.32531 s^2 + 4.69149 s^3 + S (-7.44129e-3 - 8.02566e-3 s
    - 1.46775e-2 s^2), C in umol/kg, s = ln((298.15 - t)/(273.15 + t)); then times
    (P - u)/(1 atm - u). Measured from 1 to 30 degC, beyond extrapolated. Copies with the signs
    of two salt terms lost are in circulation.

    Examples
    --------
    >>> round(28.014 * nitrogen_saturation_hamme_emerson_2004_mol_m3(20.0), 1)
    15.0

    References
    ----------
    hamme_emerson_2004
    """
    s = math.log((298.15 - temperature_degc) / (273.15 + temperature_degc))
    fresh = 6.42931 + s * (2.92704 + s * (4.32531 + s * 4.69149))
    salt = -7.44129e-3 + s * (-8.02566e-3 - s * 1.46775e-2)
    umol_kg = math.exp(fresh + salinity_g_kg * salt)
    return _at_pressure_mol_m3(umol_kg, temperature_degc, salinity_g_kg, pressure_pa_abs)


@formula(temperature_degc=_T, salinity_g_kg=_S, pressure_pa_abs=_P)
def argon_saturation_hamme_emerson_2004_mol_m3(
    temperature_degc: float, salinity_g_kg: float = 0.0, pressure_pa_abs: float = 101325.0
) -> float:
    """Dissolved argon that water holds at equilibrium with moist air.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Argon at saturation [mol/m3].

    Notes
    -----
    As for nitrogen, with 2.79150, 3.17609, 4.13116, 4.90379 and -6.96233e-3, -7.66670e-3,
    -1.16888e-2.

    Examples
    --------
    >>> round(39.95 * argon_saturation_hamme_emerson_2004_mol_m3(20.0), 2)
    0.56

    References
    ----------
    hamme_emerson_2004
    """
    s = math.log((298.15 - temperature_degc) / (273.15 + temperature_degc))
    fresh = 2.79150 + s * (3.17609 + s * (4.13116 + s * 4.90379))
    salt = -6.96233e-3 + s * (-7.66670e-3 - s * 1.16888e-2)
    umol_kg = math.exp(fresh + salinity_g_kg * salt)
    return _at_pressure_mol_m3(umol_kg, temperature_degc, salinity_g_kg, pressure_pa_abs)


@formula(temperature_degc=_T, pressure_pa_abs=_P)
def nitrogen_partial_pressure_pa_abs(
    temperature_degc: float, pressure_pa_abs: float = 101325.0
) -> float:
    """Partial pressure of nitrogen gas in moist air.

    Parameters
    ----------
    temperature_degc
        Temperature at which the air is saturated with vapour [degC].
    pressure_pa_abs
        Air pressure [Pa].

    Returns
    -------
    float
        Partial pressure of nitrogen [Pa].

    Notes
    -----
    0.78084 (P - u).

    Examples
    --------
    >>> round(nitrogen_partial_pressure_pa_abs(20.0))
    77297

    References
    ----------
    us_standard_atmosphere_1976, alduchov_eskridge_1996
    """
    return _NITROGEN_IN_AIR * (pressure_pa_abs - vapour_pressure_pa_abs(temperature_degc))


@formula(
    oxygen_g_m3=(0.0, 60.0),
    nitrogen_saturation_frac=(0.0, 3.0),
    temperature_degc=_T,
    salinity_g_kg=_S,
    pressure_pa_abs=_P,
)
def total_gas_pressure_pa_abs(
    oxygen_g_m3: float,
    nitrogen_saturation_frac: float,
    temperature_degc: float,
    salinity_g_kg: float = 0.0,
    pressure_pa_abs: float = 101325.0,
) -> float:
    """Total pressure of the gases dissolved in water.

    Parameters
    ----------
    oxygen_g_m3
        Dissolved oxygen [g/m3].
    nitrogen_saturation_frac
        Nitrogen gas, argon with it, as a share of saturation [-].
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure at the site [Pa].

    Returns
    -------
    float
        Total gas pressure, water vapour included [Pa].

    Notes
    -----
    Sum of partial pressures: oxygen and nitrogen each as its share of saturation times its
    pressure in moist air, argon like nitrogen, and vapour. Carbon dioxide is left out: at
    20 g/m3 it adds 1 %.

    Examples
    --------
    >>> round(total_gas_pressure_pa_abs(9.092, 1.0, 20.0) / 101325.0, 3)
    1.0

    References
    ----------
    benson_krause_1984, us_standard_atmosphere_1976, alduchov_eskridge_1996
    """
    share = oxygen_saturation_frac(oxygen_g_m3, temperature_degc, salinity_g_kg, pressure_pa_abs)
    inert = (_NITROGEN_IN_AIR + _ARGON_IN_AIR) / _NITROGEN_IN_AIR
    return (
        share * oxygen_partial_pressure_pa_abs(temperature_degc, pressure_pa_abs)
        + nitrogen_saturation_frac
        * inert
        * nitrogen_partial_pressure_pa_abs(temperature_degc, pressure_pa_abs)
        + vapour_pressure_pa_abs(temperature_degc)
    )


@formula(
    gas_excess_pa=(-110e3, 110e3),
    oxygen_g_m3=(0.0, 60.0),
    temperature_degc=_T,
    salinity_g_kg=_S,
    pressure_pa_abs=_P,
)
def nitrogen_saturation_from_gas_excess_frac(
    gas_excess_pa: float,
    oxygen_g_m3: float,
    temperature_degc: float,
    salinity_g_kg: float = 0.0,
    pressure_pa_abs: float = 101325.0,
) -> float:
    """Nitrogen gas as a share of saturation, from a reading of the excess gas pressure.

    Parameters
    ----------
    gas_excess_pa
        Total gas pressure less air pressure, as a membrane meter reads it [Pa].
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

    Notes
    -----
    `total_gas_pressure_pa_abs` turned round.

    Examples
    --------
    >>> round(nitrogen_saturation_from_gas_excess_frac(5000.0, 9.092, 20.0), 3)
    1.064

    References
    ----------
    benson_krause_1984, us_standard_atmosphere_1976, alduchov_eskridge_1996
    """
    without = total_gas_pressure_pa_abs(
        oxygen_g_m3, 0.0, temperature_degc, salinity_g_kg, pressure_pa_abs
    )
    full = total_gas_pressure_pa_abs(
        oxygen_g_m3, 1.0, temperature_degc, salinity_g_kg, pressure_pa_abs
    )
    return (pressure_pa_abs + gas_excess_pa - without) / (full - without)


@formula(gas_excess_pa=(-110e3, 110e3), depth_m=(0.0, 30.0), density_kg_m3=(900.0, 1100.0))
def gas_excess_at_depth_pa(
    gas_excess_pa: float, depth_m: float, density_kg_m3: float = 998.0
) -> float:
    """Excess gas pressure that is left at a depth, where the water's weight holds gas down.

    Parameters
    ----------
    gas_excess_pa
        Total gas pressure less air pressure [Pa].
    depth_m
        Depth below the surface [m].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Excess at the depth; bubbles can grow in fish only above 0 [Pa].

    Notes
    -----
    Excess - rho g z: each metre of depth makes good 9.8 kPa.

    Examples
    --------
    >>> round(gas_excess_at_depth_pa(5000.0, 0.5))
    106

    References
    ----------
    hydrostatics
    """
    return gas_excess_pa - density_kg_m3 * 9.80665 * depth_m
