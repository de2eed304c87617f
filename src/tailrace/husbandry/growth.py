"""Rations, growth and how much oxygen a fish breathes."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(fish_count=(0.0, 1e7), fish_mass_kg=(1e-5, 20.0), ration_per_s=(0.0, 6e-6))
def feed_ration_kg_s(fish_count: float, fish_mass_kg: float, ration_per_s: float) -> float:
    """Feed for a lot of fish.

    Parameters
    ----------
    fish_count
        Number of fish [-].
    fish_mass_kg
        Mean mass of one fish [kg].
    ration_per_s
        Feed per fish mass and time [1/s].

    Returns
    -------
    float or ndarray
        Feed, as fed [kg/s].

    Notes
    -----
    Definition. A ration of 2 % a day is ``0.02/86400`` per second.

    Examples
    --------
    >>> round(feed_ration_kg_s(200.0, 0.120, 0.025 / 86400.0) * 86400.0, 6)
    0.6

    References
    ----------
    common_practice
    """
    return fish_count * fish_mass_kg * ration_per_s


@formula(feed_kg_s=(0.0, 1.0), ration_per_s=(1e-8, 6e-6))
def fish_biomass_kg(feed_kg_s: float, ration_per_s: float) -> float:
    """Mass of fish that a feed supports at a ration.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    ration_per_s
        Feed per fish mass and time [1/s].

    Returns
    -------
    float or ndarray
        Mass of all fish [kg].

    Notes
    -----
    Definition: feed over ration. At grow-out 1 to 2 % a day is printed.

    Examples
    --------
    >>> round(fish_biomass_kg(0.2 / 86400.0, 0.02 / 86400.0), 6)
    10.0

    References
    ----------
    somerville_2014
    """
    return feed_kg_s / ration_per_s


@formula(feed_kg=(0.0, 1e6), gain_kg=(1e-6, 1e6))
def feed_conversion_kg_kg(feed_kg: float, gain_kg: float) -> float:
    """Feed used per gain of wet fish.

    Parameters
    ----------
    feed_kg
        Feed given in a period, as fed [kg].
    gain_kg
        Gain of wet fish in that period [kg].

    Returns
    -------
    float or ndarray
        Feed conversion ratio [kg/kg].

    Notes
    -----
    Total feed over total growth.

    Examples
    --------
    >>> feed_conversion_kg_kg(14.0, 10.0)
    1.4

    References
    ----------
    somerville_2014
    """
    return feed_kg / gain_kg


@formula(
    start_mass_kg=(1e-4, 20.0),
    end_mass_kg=(1e-4, 20.0),
    water_temperature_degc=(1.0, 40.0),
    duration_s=(3600.0, 1e8),
)
def thermal_growth_kg13_per_degc_s(
    start_mass_kg: float, end_mass_kg: float, water_temperature_degc: float, duration_s: float
) -> float:
    """Thermal growth coefficient, found from two weighings.

    Parameters
    ----------
    start_mass_kg
        Mean mass of a fish at the start [kg].
    end_mass_kg
        Mean mass of a fish at the end [kg].
    water_temperature_degc
        Mean water temperature [degC].
    duration_s
        Time between the weighings [s].

    Returns
    -------
    float or ndarray
        Thermal growth coefficient [kg^(1/3)/(degC s)].

    Notes
    -----
    ``(W2^(1/3) - W1^(1/3))/(T t)``. Books print it in g and days and often times 100 or 1000;
    100 g^(1/3)/(degC d) is 1e-3/86400 of this unit. Only well below the temperature of best
    growth is the gain proportional to temperature.

    Examples
    --------
    >>> found = thermal_growth_kg13_per_degc_s(
    ...     0.010, 0.350, water_temperature_degc=11.0, duration_s=200.0 * 86400.0
    ... )
    >>> round(found * 86400.0 / 1e-3, 4)
    0.2224

    References
    ----------
    iwama_tautz_1981
    """
    gain = math.pow(end_mass_kg, 1.0 / 3.0) - math.pow(start_mass_kg, 1.0 / 3.0)
    return gain / (water_temperature_degc * duration_s)


@formula(
    start_mass_kg=(1e-4, 20.0),
    growth_kg13_per_degc_s=(0.0, 1e-7),
    water_temperature_degc=(1.0, 40.0),
    duration_s=(0.0, 1e8),
)
def grown_mass_kg(
    start_mass_kg: float,
    growth_kg13_per_degc_s: float,
    water_temperature_degc: float,
    duration_s: float,
) -> float:
    """Mean mass of a fish after a time of steady growth.

    Parameters
    ----------
    start_mass_kg
        Mean mass of a fish at the start [kg].
    growth_kg13_per_degc_s
        Thermal growth coefficient [kg^(1/3)/(degC s)].
    water_temperature_degc
        Mean water temperature [degC].
    duration_s
        Time of growth [s].

    Returns
    -------
    float or ndarray
        Mean mass at the end [kg].

    Notes
    -----
    ``(W1^(1/3) + G T t)^3``, the inverse of `thermal_growth_kg13_per_degc_s`.

    Examples
    --------
    >>> coefficient = 0.2 * 1e-3 / 86400.0
    >>> grown = grown_mass_kg(
    ...     0.050, coefficient, water_temperature_degc=14.0, duration_s=120.0 * 86400.0
    ... )
    >>> round(1000.0 * grown, 1)
    349.5

    References
    ----------
    iwama_tautz_1981
    """
    root = math.pow(start_mass_kg, 1.0 / 3.0)
    root += growth_kg13_per_degc_s * water_temperature_degc * duration_s
    return root * root * root


@formula(fish_mass_kg=(0.01, 0.18), water_temperature_degc=(26.0, 32.0))
def nile_tilapia_oxygen_uptake_per_s(fish_mass_kg: float, water_temperature_degc: float) -> float:
    """Oxygen that Nile tilapia take up, per mass of fish.

    Parameters
    ----------
    fish_mass_kg
        Mean mass of one fish [kg].
    water_temperature_degc
        Water temperature [degC].

    Returns
    -------
    float or ndarray
        Oxygen per fish mass and time, kg per kg and second [1/s].

    Notes
    -----
    ``2014.45 + 2.75 W - 165.2 T + 0.007 W^2 + 3.93 T^2 - 0.21 W T`` in mg/(kg h), W in g. The
    original paper and its range are not identified. The polynomial turns upwards in cool water
    and for big fish, which no fish does; it is kept to where it does not.

    Examples
    --------
    >>> round(nile_tilapia_oxygen_uptake_per_s(0.050, 28.0) * 3600.0 * 1e6, 2)
    330.97

    References
    ----------
    tilapia_oxygen_fit
    """
    mass_g = 1000.0 * fish_mass_kg
    t = water_temperature_degc
    uptake = 2014.45 + 2.75 * mass_g - 165.2 * t + 0.007 * mass_g * mass_g + 3.93 * t * t
    return (uptake - 0.21 * mass_g * t) * 1e-6 / 3600.0
