"""Water that a crop gives to the air: the FAO-56 way, from weather to litres a day.

`tailrace.crops.sunshine` gives the radiation. The grass of the reference stands on open ground;
for a greenhouse put in the weather inside it, and take the answer for a first estimate only.
"""

from __future__ import annotations

import math

from tailrace.formula import formula

_TEMPERATURE = (-40.0, 55.0)
_SHARE = (0.0, 1.0)
_VAPOUR = (0.0, 16000.0)


@formula(temperature_degc=_TEMPERATURE)
def saturation_vapour_allen_1998_pa_abs(temperature_degc: float) -> float:
    """Vapour pressure of saturated air, in the form that belongs to this method.

    Parameters
    ----------
    temperature_degc
        Air temperature [degC].

    Returns
    -------
    float or ndarray
        Saturation vapour pressure [Pa].

    Notes
    -----
    ``0.6108 exp(17.27 t/(t + 237.3))`` kPa, equation 11. Elsewhere
    `tailrace.water.air.vapour_pressure_pa_abs` is used; they differ by less than 0.25 % from 0 to
    40 degC.

    Examples
    --------
    >>> round(saturation_vapour_allen_1998_pa_abs(24.5))
    3075

    References
    ----------
    allen_1998
    """
    return 610.8 * math.exp(17.27 * temperature_degc / (temperature_degc + 237.3))


@formula(highest_degc=_TEMPERATURE, lowest_degc=_TEMPERATURE)
def mean_saturation_vapour_pa_abs(highest_degc: float, lowest_degc: float) -> float:
    """Saturation vapour pressure of a day.

    Parameters
    ----------
    highest_degc
        Highest air temperature of the day [degC].
    lowest_degc
        Lowest air temperature of the day [degC].

    Returns
    -------
    float or ndarray
        Mean of the two saturation pressures [Pa].

    Notes
    -----
    Equation 12. The pressure at the mean temperature would be lower, as the curve bends up.

    Examples
    --------
    >>> round(mean_saturation_vapour_pa_abs(24.5, 15.0), -1)
    2390.0

    References
    ----------
    allen_1998
    """
    return 0.5 * (
        saturation_vapour_allen_1998_pa_abs(highest_degc)
        + saturation_vapour_allen_1998_pa_abs(lowest_degc)
    )


@formula(
    highest_degc=_TEMPERATURE,
    lowest_degc=_TEMPERATURE,
    highest_humidity_frac=_SHARE,
    lowest_humidity_frac=_SHARE,
)
def vapour_from_humidities_pa_abs(
    highest_degc: float,
    lowest_degc: float,
    highest_humidity_frac: float,
    lowest_humidity_frac: float,
) -> float:
    """Vapour pressure of the air of a day, from its extremes of humidity.

    Parameters
    ----------
    highest_degc
        Highest air temperature of the day [degC].
    lowest_degc
        Lowest air temperature of the day [degC].
    highest_humidity_frac
        Highest relative humidity, as a rule in the coldest hour [-].
    lowest_humidity_frac
        Lowest relative humidity, as a rule in the warmest hour [-].

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa].

    Notes
    -----
    ``(e(Tmin) RHmax + e(Tmax) RHmin)/2``, equation 17.

    Examples
    --------
    >>> round(vapour_from_humidities_pa_abs(25.0, 18.0, 0.82, 0.54), -1)
    1700.0

    References
    ----------
    allen_1998
    """
    return 0.5 * (
        saturation_vapour_allen_1998_pa_abs(lowest_degc) * highest_humidity_frac
        + saturation_vapour_allen_1998_pa_abs(highest_degc) * lowest_humidity_frac
    )


@formula(
    wet_bulb_degc=_TEMPERATURE,
    dry_bulb_degc=_TEMPERATURE,
    air_pressure_pa_abs=(5e4, 1.1e5),
    aspiration_per_k=(1e-4, 2e-3),
)
def vapour_from_wet_bulb_pa_abs(
    wet_bulb_degc: float,
    dry_bulb_degc: float,
    air_pressure_pa_abs: float,
    aspiration_per_k: float = 0.000662,
) -> float:
    """Vapour pressure of the air, from a wet and a dry thermometer.

    Parameters
    ----------
    wet_bulb_degc
        Temperature of the wet thermometer [degC].
    dry_bulb_degc
        Temperature of the dry thermometer [degC].
    air_pressure_pa_abs
        Air pressure [Pa].
    aspiration_per_k
        0.000662 with a fan, 0.000800 in natural draught, 0.001200 indoors without any [1/K].

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa].

    Notes
    -----
    ``e(Twet) - a P (Tdry - Twet)``, equations 15 and 16. NaN where the wet one is warmer.

    Examples
    --------
    >>> round(vapour_from_wet_bulb_pa_abs(19.5, 25.6, 87900.0), -1)
    1910.0

    References
    ----------
    allen_1998
    """
    if wet_bulb_degc > dry_bulb_degc:
        return math.nan
    drop = aspiration_per_k * air_pressure_pa_abs * (dry_bulb_degc - wet_bulb_degc)
    return saturation_vapour_allen_1998_pa_abs(wet_bulb_degc) - drop


@formula(temperature_degc=_TEMPERATURE)
def vapour_slope_pa_k(temperature_degc: float) -> float:
    """Slope of the saturation vapour pressure with temperature.

    Parameters
    ----------
    temperature_degc
        Air temperature [degC].

    Returns
    -------
    float or ndarray
        Slope [Pa/K].

    Notes
    -----
    ``4098 e(t)/(t + 237.3)^2``, equation 13.

    Examples
    --------
    >>> round(vapour_slope_pa_k(16.9))
    122

    References
    ----------
    allen_1998
    """
    warmth = temperature_degc + 237.3
    return 4098.0 * saturation_vapour_allen_1998_pa_abs(temperature_degc) / (warmth * warmth)


@formula(air_pressure_pa_abs=(5e4, 1.1e5))
def psychrometric_constant_pa_k(air_pressure_pa_abs: float) -> float:
    """Constant that weighs the heat of the air against that of vapour.

    Parameters
    ----------
    air_pressure_pa_abs
        Air pressure [Pa].

    Returns
    -------
    float or ndarray
        Psychrometric constant [Pa/K].

    Notes
    -----
    ``0.665e-3 P``, equation 8.

    Examples
    --------
    >>> round(psychrometric_constant_pa_k(81800.0), 1)
    54.4

    References
    ----------
    allen_1998
    """
    return 0.665e-3 * air_pressure_pa_abs


@formula(wind_m_s=(0.0, 60.0), height_m=(0.5, 200.0))
def wind_at_two_metres_m_s(wind_m_s: float, height_m: float) -> float:
    """Wind at two metres, from the wind at another height over short grass.

    Parameters
    ----------
    wind_m_s
        Wind where it was measured [m/s].
    height_m
        Height of the meter above the ground [m].

    Returns
    -------
    float or ndarray
        Wind at 2 m [m/s].

    Notes
    -----
    ``u 4.87/ln(67.8 z - 5.42)``, equation 47.

    Examples
    --------
    >>> round(wind_at_two_metres_m_s(3.2, 10.0), 1)
    2.4

    References
    ----------
    allen_1998
    """
    return wind_m_s * 4.87 / math.log(67.8 * height_m - 5.42)


@formula(
    temperature_degc=(-20.0, 50.0),
    wind_m_s=(0.0, 20.0),
    saturation_pa_abs=_VAPOUR,
    vapour_pa_abs=_VAPOUR,
    net_radiation_w_m2=(-200.0, 600.0),
    air_pressure_pa_abs=(5e4, 1.1e5),
    into_ground_w_m2=(-200.0, 200.0),
)
def reference_evapotranspiration_m_s(
    temperature_degc: float,
    wind_m_s: float,
    saturation_pa_abs: float,
    vapour_pa_abs: float,
    net_radiation_w_m2: float,
    air_pressure_pa_abs: float,
    into_ground_w_m2: float = 0.0,
) -> float:
    """Water that well-watered short grass gives to the air.

    Parameters
    ----------
    temperature_degc
        Mean air temperature of the day, of its highest and lowest [degC].
    wind_m_s
        Wind at 2 m, mean over 24 hours [m/s].
    saturation_pa_abs
        Saturation vapour pressure of the day [Pa].
    vapour_pa_abs
        Vapour pressure of the air [Pa].
    net_radiation_w_m2
        Net radiation, mean over 24 hours [W/m2].
    air_pressure_pa_abs
        Air pressure [Pa].
    into_ground_w_m2
        Heat that goes into the ground, near zero over a day [W/m2].

    Returns
    -------
    float or ndarray
        Depth of water in a unit of time; 1 mm a day is 1.157e-8 [m/s].

    Notes
    -----
    ``(0.408 D (Rn - G) + g 900/(T + 273) u2 (es - ea))/(D + g (1 + 0.34 u2))`` in mm/d, kPa and
    MJ/(m2 d), equation 6. Daily means, open ground.

    Examples
    --------
    >>> found = reference_evapotranspiration_m_s(
    ...     16.9, 2.078, 1997.0, 1409.0, 13.28 / 0.0864, 100100.0
    ... )
    >>> round(found * 1000.0 * 86400.0, 1)
    3.9

    References
    ----------
    allen_1998
    """
    slope = vapour_slope_pa_k(temperature_degc) / 1000.0
    gamma = psychrometric_constant_pa_k(air_pressure_pa_abs) / 1000.0
    warming = 0.408 * slope * (net_radiation_w_m2 - into_ground_w_m2) * 0.0864
    dryness = (saturation_pa_abs - vapour_pa_abs) / 1000.0
    drying = gamma * 900.0 / (temperature_degc + 273.0) * wind_m_s * dryness
    return (warming + drying) / (slope + gamma * (1.0 + 0.34 * wind_m_s)) / 1000.0 / 86400.0


@formula(extraterrestrial_w_m2=(0.0, 600.0), highest_degc=_TEMPERATURE, lowest_degc=_TEMPERATURE)
def reference_evapotranspiration_hargreaves_m_s(
    extraterrestrial_w_m2: float, highest_degc: float, lowest_degc: float
) -> float:
    """Water that short grass gives to the air, from temperatures alone.

    Parameters
    ----------
    extraterrestrial_w_m2
        Radiation above the air, mean over 24 hours [W/m2].
    highest_degc
        Highest air temperature of the day [degC].
    lowest_degc
        Lowest air temperature of the day [degC].

    Returns
    -------
    float or ndarray
        Depth of water in a unit of time [m/s].

    Notes
    -----
    ``0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra`` with Ra as depth of water, 0.408 mm for each
    MJ/m2, equation 52. Means over five days and more; errors of a fifth are usual.

    Examples
    --------
    >>> found = reference_evapotranspiration_hargreaves_m_s(475.56, 21.5, 12.3)
    >>> round(found * 1000.0 * 86400.0, 1)
    4.1

    References
    ----------
    allen_1998
    """
    if highest_degc < lowest_degc:
        return math.nan
    mean = 0.5 * (highest_degc + lowest_degc)
    span = math.sqrt(highest_degc - lowest_degc)
    water = 0.408 * extraterrestrial_w_m2 * 0.0864
    return max(0.0023 * (mean + 17.8) * span * water, 0.0) / 1000.0 / 86400.0


@formula(reference_m_s=(0.0, 3e-7), crop_coefficient=(0.0, 2.0), area_m2=(0.0, 1e7))
def crop_water_use_m3_s(reference_m_s: float, crop_coefficient: float, area_m2: float) -> float:
    """Water that a crop gives to the air.

    Parameters
    ----------
    reference_m_s
        Reference evapotranspiration [m/s].
    crop_coefficient
        Crop coefficient for the crop and its stage [-].
    area_m2
        Area of the crop [m2].

    Returns
    -------
    float or ndarray
        Water [m3/s].

    Notes
    -----
    ``Kc ETo A``, equation 58. Over rafts no bare soil evaporates, so Kc of a young crop is too
    high there and of a closed crop right.

    Examples
    --------
    >>> used = crop_water_use_m3_s(5.0 / 1000.0 / 86400.0, 1.0, 20.0)
    >>> round(used * 86400.0 * 1000.0, 6)
    100.0

    References
    ----------
    allen_1998
    """
    return crop_coefficient * reference_m_s * area_m2
