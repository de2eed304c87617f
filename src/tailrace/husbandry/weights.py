"""Weighings of a lot: growth in a period, what feed becomes in it, and how stout the fish are.

`tailrace.husbandry.growth` holds the growth that counts degrees.
"""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(start_mass_kg=(1e-6, 20.0), end_mass_kg=(1e-6, 20.0), duration_s=(3600.0, 1e8))
def specific_growth_per_s(start_mass_kg: float, end_mass_kg: float, duration_s: float) -> float:
    """Relative growth in a unit of time, found from two weighings.

    Parameters
    ----------
    start_mass_kg
        Mean mass of a fish at the start [kg].
    end_mass_kg
        Mean mass of a fish at the end [kg].
    duration_s
        Time between the weighings [s].

    Returns
    -------
    float or ndarray
        Specific growth rate [1/s].

    Notes
    -----
    ``ln(W2/W1)/t``. Books print it times 100, a day; that number is ``100 x 86400`` times this
    one. It falls as fish grow, so it must not be carried over to another size.

    Examples
    --------
    >>> round(100.0 * 86400.0 * specific_growth_per_s(0.010, 0.020, 35.0 * 86400.0), 3)
    1.98

    References
    ----------
    arithmetic
    """
    return math.log(end_mass_kg / start_mass_kg) / duration_s


@formula(start_mass_kg=(1e-6, 20.0), growth_per_s=(-1e-6, 1e-5), duration_s=(0.0, 1e8))
def mass_by_specific_growth_kg(
    start_mass_kg: float, growth_per_s: float, duration_s: float
) -> float:
    """Mean mass of a fish after growing at a specific rate.

    Parameters
    ----------
    start_mass_kg
        Mean mass of a fish at the start [kg].
    growth_per_s
        Specific growth rate [1/s].
    duration_s
        Time of growth [s].

    Returns
    -------
    float or ndarray
        Mean mass at the end [kg].

    Notes
    -----
    ``W1 exp(G t)``, the inverse of `specific_growth_per_s`; for a few weeks only.

    Examples
    --------
    >>> round(mass_by_specific_growth_kg(0.010, 0.02 / 86400.0, 35.0 * 86400.0), 5)
    0.02014

    References
    ----------
    arithmetic
    """
    return start_mass_kg * math.exp(growth_per_s * duration_s)


@formula(
    start_mass_kg=(1e-4, 20.0),
    end_mass_kg=(1e-4, 20.0),
    growth_kg13_per_degc_s=(1e-13, 1e-7),
    water_temperature_degc=(1.0, 40.0),
)
def growth_time_s(
    start_mass_kg: float,
    end_mass_kg: float,
    growth_kg13_per_degc_s: float,
    water_temperature_degc: float,
) -> float:
    """Time that fish need from one mass to another.

    Parameters
    ----------
    start_mass_kg
        Mean mass of a fish at the start [kg].
    end_mass_kg
        Mean mass of a fish at the end [kg].
    growth_kg13_per_degc_s
        Thermal growth coefficient [kg^(1/3)/(degC s)].
    water_temperature_degc
        Mean water temperature [degC].

    Returns
    -------
    float or ndarray
        Time [s].

    Notes
    -----
    ``(W2^(1/3) - W1^(1/3))/(G T)``, the growth law of
    `tailrace.husbandry.growth.grown_mass_kg` solved for time; negative when the end is lighter.

    Examples
    --------
    >>> round(growth_time_s(0.050, 0.34951, 0.2e-3 / 86400.0, 14.0) / 86400.0)
    120

    References
    ----------
    iwama_tautz_1981
    """
    gain = math.pow(end_mass_kg, 1.0 / 3.0) - math.pow(start_mass_kg, 1.0 / 3.0)
    return gain / (growth_kg13_per_degc_s * water_temperature_degc)


@formula(fish_mass_kg=(1e-6, 50.0), length_m=(0.005, 3.0))
def condition_kg_m3(fish_mass_kg: float, length_m: float) -> float:
    """Mass over the cube of the length, by which thin fish are told from stout ones.

    Parameters
    ----------
    fish_mass_kg
        Mass of one fish [kg].
    length_m
        Its length, from snout to fork or tail, always the same way [m].

    Returns
    -------
    float or ndarray
        Fulton's condition [kg/m3].

    Notes
    -----
    ``W/L^3``. Books print ``100 W/L^3`` in g and cm, a tenth of this number. Compare fish of one
    kind and measured in one way only.

    Examples
    --------
    >>> round(condition_kg_m3(0.250, 0.23) / 10.0, 4)
    2.0547

    References
    ----------
    arithmetic
    """
    return fish_mass_kg / (length_m * length_m * length_m)


@formula(feed_kg_s=(0.0, 1.0), duration_s=(0.0, 1e9))
def fed_kg(feed_kg_s: float, duration_s: float) -> float:
    """Feed given over a period.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    duration_s
        Length of the period [s].

    Returns
    -------
    float or ndarray
        Feed, as fed [kg].

    Examples
    --------
    >>> round(fed_kg(0.1925 / 86400.0, 7.0 * 86400.0), 4)
    1.3475

    References
    ----------
    arithmetic
    """
    return feed_kg_s * duration_s


@formula(feed_kg=(0.0, 1e7), feed_conversion_kg_kg=(0.5, 10.0))
def gain_kg(feed_kg: float, feed_conversion_kg_kg: float) -> float:
    """Gain of wet fish that feed brings.

    Parameters
    ----------
    feed_kg
        Feed given, as fed [kg].
    feed_conversion_kg_kg
        Feed given per gain of wet fish [kg/kg].

    Returns
    -------
    float or ndarray
        Gain of wet fish [kg].

    Examples
    --------
    >>> round(gain_kg(1.3475, 1.0 / 0.75), 4)
    1.0106

    References
    ----------
    arithmetic
    """
    return feed_kg / feed_conversion_kg_kg


@formula(gain_kg_s=(0.0, 1.0), feed_conversion_kg_kg=(0.5, 10.0))
def feed_for_gain_kg_s(gain_kg_s: float, feed_conversion_kg_kg: float) -> float:
    """Feed that a steady gain of fish needs.

    Parameters
    ----------
    gain_kg_s
        Gain of wet fish, or harvest where stock and harvest are in balance [kg/s].
    feed_conversion_kg_kg
        Feed given per gain of wet fish [kg/kg].

    Returns
    -------
    float or ndarray
        Feed, as fed [kg/s].

    Notes
    -----
    A mean over the period. With lots of different ages in turn the feed stays near it; with one
    lot it is far lower at the start and higher at the end.

    Examples
    --------
    >>> year = 365.0 * 86400.0
    >>> round(feed_for_gain_kg_s(4350.0 / year, 1.7) * year)
    7395

    References
    ----------
    arithmetic
    """
    return gain_kg_s * feed_conversion_kg_kg
