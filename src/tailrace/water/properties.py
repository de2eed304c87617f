"""Density and viscosity of water."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(temperature_degc=(0.0, 45.0))
def density_kg_m3(temperature_degc: float) -> float:
    """Density of air-free fresh water at 1 atm.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    A ratio of polynomials, good to 0.01 kg/m3 from 0 to 100 degC. Copies with 16.897850e-3
    for 16.879850e-3 in the denominator, and with t^3 left out, were met.

    Examples
    --------
    >>> round(density_kg_m3(25.0), 3)
    997.045

    References
    ----------
    kell_1975
    """
    t = temperature_degc
    cubic = 999.83952 + t * (16.945176 + t * (-7.9870401e-3 - t * 46.170461e-6))
    quintic = t * t * t * t * (105.56302e-9 - t * 280.54253e-12)
    return (cubic + quintic) / (1.0 + 16.879850e-3 * t)


@formula(temperature_degc=(0.0, 40.0), salinity_g_kg=(0.0, 42.0))
def sea_water_density_millero_poisson_1981_kg_m3(
    temperature_degc: float, salinity_g_kg: float
) -> float:
    """Density of sea water and brackish water at 1 atm.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].

    Returns
    -------
    float
        Density [kg/m3].

    Notes
    -----
    The one-atmosphere equation of state of 1980: rho_w + A S + B S^1.5 + C S^2. Within
    0.005 kg/m3 of the present standard up to 35 g/kg.

    Examples
    --------
    >>> round(sea_water_density_millero_poisson_1981_kg_m3(5.0, 35.0), 3)
    1027.675

    References
    ----------
    millero_poisson_1981
    """
    t = temperature_degc
    salt = salinity_g_kg
    fresh = 999.842594 + t * (
        6.793952e-2 + t * (-9.095290e-3 + t * (1.001685e-4 + t * (-1.120083e-6 + t * 6.536332e-9)))
    )
    linear = 0.824493 + t * (-4.0899e-3 + t * (7.6438e-5 + t * (-8.2467e-7 + t * 5.3875e-9)))
    power = -5.72466e-3 + t * (1.0227e-4 - t * 1.6546e-6)
    return fresh + salt * (linear + power * math.sqrt(salt) + 4.8314e-4 * salt)


@formula(temperature_degc=(0.0, 45.0))
def viscosity_pa_s(temperature_degc: float) -> float:
    """Dynamic viscosity of fresh water.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Dynamic viscosity [Pa s].

    Notes
    -----
    log10(mu/mu20) = (20 - t)/(t + 96) (1.2364 - 1.37e-3 (20 - t) + 5.7e-6 (20 - t)^2) with
    mu20 = 1.0016e-3 Pa s, the present value, where the paper of 1978 had 1.002e-3.

    Examples
    --------
    >>> round(viscosity_pa_s(25.0) * 1e6, 1)
    889.8

    References
    ----------
    kestin_1978
    """
    below = 20.0 - temperature_degc
    series = 1.2364 + below * (-1.37e-3 + below * 5.7e-6)
    return 1.0016e-3 * math.pow(10.0, below / (temperature_degc + 96.0) * series)


@formula(temperature_degc=(0.0, 45.0))
def kinematic_viscosity_m2_s(temperature_degc: float) -> float:
    """Kinematic viscosity of fresh water.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Kinematic viscosity [m2/s].

    Examples
    --------
    >>> round(kinematic_viscosity_m2_s(20.0) * 1e6, 3)
    1.003

    References
    ----------
    kestin_1978, kell_1975
    """
    return viscosity_pa_s(temperature_degc) / density_kg_m3(temperature_degc)
