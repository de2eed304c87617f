"""Oxygen that one kind of fish breathes, by its mass and the water's temperature.

Each equation was fitted to one set of trials and is kept to its own range. The fish alone:
bacteria on beads, rafts and in the sludge come on top. For Nile tilapia see
`tailrace.husbandry.growth`.
"""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(fish_mass_kg=(0.0005, 5.0), water_temperature_degc=(3.0, 22.0))
def trout_oxygen_uptake_liao_1971_per_s(
    fish_mass_kg: float, water_temperature_degc: float
) -> float:
    """Oxygen that trout take up, per mass of fish.

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
    ``K T^n W^m`` in lb per 100 lb and day, with T in degF and W in lb: up to 50 degF
    K = 1.90e-6, n = 3.13; above it K = 3.05e-4, n = 1.855; m = -0.138. The two pieces differ by
    9 % where they meet, at 10 degC. The range is ours; the coefficients are from memory.

    Examples
    --------
    >>> uptake = trout_oxygen_uptake_liao_1971_per_s(0.5 * 0.45359237, 15.0)
    >>> round(100.0 * 86400.0 * uptake, 4)
    0.6468

    References
    ----------
    liao_1971
    """
    mass_lb = fish_mass_kg / 0.45359237
    temperature_degf = 1.8 * water_temperature_degc + 32.0
    if temperature_degf <= 50.0:
        per_hundred = 1.90e-6 * math.pow(temperature_degf, 3.13)
    else:
        per_hundred = 3.05e-4 * math.pow(temperature_degf, 1.855)
    return per_hundred * math.pow(mass_lb, -0.138) / 100.0 / 86400.0


@formula(fish_mass_kg=(0.0005, 10.0), water_temperature_degc=(3.0, 22.0))
def salmon_oxygen_uptake_liao_1971_per_s(
    fish_mass_kg: float, water_temperature_degc: float
) -> float:
    """Oxygen that salmon take up, per mass of fish.

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
    The form of `trout_oxygen_uptake_liao_1971_per_s`: up to 50 degF K = 7.20e-7, n = 3.20; above
    it K = 4.90e-5, n = 2.12; m = -0.194. The range is ours; the coefficients are from memory.

    Examples
    --------
    >>> round(100.0 * 86400.0 * salmon_oxygen_uptake_liao_1971_per_s(0.453592, 15.0), 3)
    0.278

    References
    ----------
    liao_1971
    """
    mass_lb = fish_mass_kg / 0.45359237
    temperature_degf = 1.8 * water_temperature_degc + 32.0
    if temperature_degf <= 50.0:
        per_hundred = 7.20e-7 * math.pow(temperature_degf, 3.20)
    else:
        per_hundred = 4.90e-5 * math.pow(temperature_degf, 2.12)
    return per_hundred * math.pow(mass_lb, -0.194) / 100.0 / 86400.0


@formula(fish_mass_kg=(0.002, 2.0), water_temperature_degc=(4.0, 22.0))
def rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s(
    fish_mass_kg: float, water_temperature_degc: float
) -> float:
    """Oxygen that rainbow trout take up, per mass of fish.

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
    ``K W^a 10^(b T)`` in mg/(kg h), W in g: from 4 to 10 degC K = 75, a = -0.196, b = 0.055; from
    12 to 22 degC K = 249, a = -0.142, b = 0.024. Nothing is printed between 10 and 12 degC; a
    straight line joins them here. At 100 g it climbs from 108 to 251 mg/(kg h) in these two
    degrees, which no fish does: one of the coefficients, all from memory, may be wrong.

    Examples
    --------
    >>> uptake = rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s(0.100, 15.0)
    >>> round(1e6 * 3600.0 * uptake, 1)
    296.6

    References
    ----------
    muller_feuga_1978
    """
    mass_g = 1000.0 * fish_mass_kg
    t = water_temperature_degc
    cold = 75.0 * math.pow(mass_g, -0.196) * math.pow(10.0, 0.055 * min(t, 10.0))
    warm = 249.0 * math.pow(mass_g, -0.142) * math.pow(10.0, 0.024 * max(t, 12.0))
    warm_part = min(max((t - 10.0) / 2.0, 0.0), 1.0)
    return (cold + warm_part * (warm - cold)) * 1e-6 / 3600.0
