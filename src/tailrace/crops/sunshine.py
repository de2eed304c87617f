"""Where the sun stands and what reaches the ground, by day: the first half of FAO-56.

All radiation is the mean over 24 hours in W/m2; 1 MJ/m2 a day is 11.574 W/m2. The day of the
year counts from 1. `tailrace.crops.evapotranspiration` goes on from here.
"""

from __future__ import annotations

import math

from tailrace.formula import formula

_DAY_S = 86400.0
_DAY = (1.0, 366.0)
_LATITUDE = (-66.0, 66.0)
_RADIATION = (0.0, 600.0)


@formula(day_of_year=_DAY)
def solar_declination_rad(day_of_year: float) -> float:
    """Angle of the sun north of the equator at noon.

    Parameters
    ----------
    day_of_year
        Day of the year, from 1 [-].

    Returns
    -------
    float or ndarray
        Declination [rad].

    Notes
    -----
    ``0.409 sin(2 pi J/365 - 1.39)``, equation 24.

    Examples
    --------
    >>> round(solar_declination_rad(246.0), 3)
    0.12

    References
    ----------
    allen_1998
    """
    return 0.409 * math.sin(2.0 * math.pi * day_of_year / 365.0 - 1.39)


@formula(latitude_deg=_LATITUDE, day_of_year=_DAY)
def sunset_hour_angle_rad(latitude_deg: float, day_of_year: float) -> float:
    """Hour angle at which the sun sets.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, from 1 [-].

    Returns
    -------
    float or ndarray
        Hour angle; half of the day is pi/2 at the equinox [rad].

    Notes
    -----
    ``arccos(-tan(phi) tan(delta))``, equation 25; between the polar circles only.

    Examples
    --------
    >>> round(sunset_hour_angle_rad(-20.0, 246.0), 3)
    1.527

    References
    ----------
    allen_1998
    """
    tangents = math.tan(math.radians(latitude_deg)) * math.tan(solar_declination_rad(day_of_year))
    return math.acos(min(max(-tangents, -1.0), 1.0))


@formula(latitude_deg=_LATITUDE, day_of_year=_DAY)
def daylight_s(latitude_deg: float, day_of_year: float) -> float:
    """Time from sunrise to sunset.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, from 1 [-].

    Returns
    -------
    float or ndarray
        Daylight [s].

    Notes
    -----
    ``24 h x omega/pi``, equation 34: no refraction and the sun as a point, so some 10 minutes
    less than an almanac gives.

    Examples
    --------
    >>> round(daylight_s(-20.0, 246.0) / 3600.0, 1)
    11.7

    References
    ----------
    allen_1998
    """
    return _DAY_S * sunset_hour_angle_rad(latitude_deg, day_of_year) / math.pi


@formula(latitude_deg=_LATITUDE, day_of_year=_DAY)
def extraterrestrial_radiation_w_m2(latitude_deg: float, day_of_year: float) -> float:
    """Sunshine on a level surface above the air, mean over the day.

    Parameters
    ----------
    latitude_deg
        Latitude, north positive [deg].
    day_of_year
        Day of the year, from 1 [-].

    Returns
    -------
    float or ndarray
        Radiation, mean over 24 hours [W/m2].

    Notes
    -----
    ``(Gsc/pi) dr (omega sin phi sin delta + cos phi cos delta sin omega)`` with
    Gsc = 0.0820 MJ/(m2 min) and ``dr = 1 + 0.033 cos(2 pi J/365)``, equations 21 and 23.

    Examples
    --------
    >>> round(extraterrestrial_radiation_w_m2(-20.0, 246.0) * 0.0864, 1)
    32.2

    References
    ----------
    allen_1998
    """
    phi = math.radians(latitude_deg)
    delta = solar_declination_rad(day_of_year)
    omega = sunset_hour_angle_rad(latitude_deg, day_of_year)
    nearness = 1.0 + 0.033 * math.cos(2.0 * math.pi * day_of_year / 365.0)
    height = omega * math.sin(phi) * math.sin(delta)
    height += math.cos(phi) * math.cos(delta) * math.sin(omega)
    return 0.0820e6 / 60.0 / math.pi * nearness * height


@formula(
    extraterrestrial_w_m2=_RADIATION,
    sunshine_s=(0.0, _DAY_S),
    daylight_time_s=(1.0, _DAY_S),
    overcast_share=(0.1, 0.5),
    clear_share=(0.3, 0.8),
)
def solar_radiation_w_m2(
    extraterrestrial_w_m2: float,
    sunshine_s: float,
    daylight_time_s: float,
    overcast_share: float = 0.25,
    clear_share: float = 0.50,
) -> float:
    """Sunshine that reaches the ground, from the hours of bright sun.

    Parameters
    ----------
    extraterrestrial_w_m2
        Radiation above the air, mean over 24 hours [W/m2].
    sunshine_s
        Time of bright sunshine in the day [s].
    daylight_time_s
        Time from sunrise to sunset [s].
    overcast_share
        Share that reaches the ground under a closed sky [-].
    clear_share
        Further share at full sunshine [-].

    Returns
    -------
    float or ndarray
        Radiation on level ground, mean over 24 hours [W/m2].

    Notes
    -----
    ``(as + bs n/N) Ra``, equation 35. The two shares fit a site; the defaults are for where none
    were measured. Under glass multiply by what the cover lets through.

    Examples
    --------
    >>> round(solar_radiation_w_m2(475.56, 9.25 * 3600.0, 16.11 * 3600.0) * 0.0864, 2)
    22.07

    References
    ----------
    allen_1998
    """
    if sunshine_s > daylight_time_s:
        return math.nan
    return (overcast_share + clear_share * sunshine_s / daylight_time_s) * extraterrestrial_w_m2


@formula(
    extraterrestrial_w_m2=_RADIATION,
    highest_degc=(-30.0, 55.0),
    lowest_degc=(-40.0, 45.0),
    coast_factor=(0.1, 0.25),
)
def solar_radiation_from_temperatures_w_m2(
    extraterrestrial_w_m2: float, highest_degc: float, lowest_degc: float, coast_factor: float
) -> float:
    """Sunshine that reaches the ground, guessed from the warmest and coldest hour.

    Parameters
    ----------
    extraterrestrial_w_m2
        Radiation above the air, mean over 24 hours [W/m2].
    highest_degc
        Highest air temperature of the day [degC].
    lowest_degc
        Lowest air temperature of the day [degC].
    coast_factor
        0.16 inland, 0.19 near a coast, per square root of a degree [-].

    Returns
    -------
    float or ndarray
        Radiation on level ground, mean over 24 hours [W/m2].

    Notes
    -----
    ``k sqrt(Tmax - Tmin) Ra``, equation 50. For open ground, means over some days.

    Examples
    --------
    >>> round(solar_radiation_from_temperatures_w_m2(40.6 / 0.0864, 34.8, 25.6, 0.19) * 0.0864, 1)
    23.4

    References
    ----------
    allen_1998
    """
    if highest_degc < lowest_degc:
        return math.nan
    return coast_factor * math.sqrt(highest_degc - lowest_degc) * extraterrestrial_w_m2


@formula(extraterrestrial_w_m2=_RADIATION, altitude_m=(-500.0, 5000.0))
def clear_sky_radiation_w_m2(extraterrestrial_w_m2: float, altitude_m: float) -> float:
    """Sunshine that reaches the ground on a cloudless day.

    Parameters
    ----------
    extraterrestrial_w_m2
        Radiation above the air, mean over 24 hours [W/m2].
    altitude_m
        Altitude above sea level [m].

    Returns
    -------
    float or ndarray
        Radiation on level ground, mean over 24 hours [W/m2].

    Notes
    -----
    ``(0.75 + 2e-5 z) Ra``, equation 37.

    Examples
    --------
    >>> round(clear_sky_radiation_w_m2(475.56, 100.0) * 0.0864, 2)
    30.9

    References
    ----------
    allen_1998
    """
    return (0.75 + 2e-5 * altitude_m) * extraterrestrial_w_m2


@formula(solar_w_m2=_RADIATION, reflected_frac=(0.0, 1.0))
def net_solar_radiation_w_m2(solar_w_m2: float, reflected_frac: float = 0.23) -> float:
    """Sunshine that a surface keeps.

    Parameters
    ----------
    solar_w_m2
        Radiation on the surface, mean over 24 hours [W/m2].
    reflected_frac
        Share thrown back; 0.23 for grass [-].

    Returns
    -------
    float or ndarray
        Radiation kept, mean over 24 hours [W/m2].

    Notes
    -----
    ``(1 - albedo) Rs``, equation 38.

    Examples
    --------
    >>> round(net_solar_radiation_w_m2(255.46) * 0.0864, 1)
    17.0

    References
    ----------
    allen_1998
    """
    return (1.0 - reflected_frac) * solar_w_m2


@formula(
    highest_degc=(-30.0, 55.0),
    lowest_degc=(-40.0, 45.0),
    vapour_pa_abs=(0.0, 8000.0),
    solar_w_m2=_RADIATION,
    clear_sky_w_m2=(1.0, 600.0),
)
def net_heat_radiation_w_m2(
    highest_degc: float,
    lowest_degc: float,
    vapour_pa_abs: float,
    solar_w_m2: float,
    clear_sky_w_m2: float,
) -> float:
    """Heat that the ground radiates to the sky, mean over the day.

    Parameters
    ----------
    highest_degc
        Highest air temperature of the day [degC].
    lowest_degc
        Lowest air temperature of the day [degC].
    vapour_pa_abs
        Vapour pressure of the air [Pa].
    solar_w_m2
        Radiation on level ground, mean over 24 hours [W/m2].
    clear_sky_w_m2
        The same on a cloudless day [W/m2].

    Returns
    -------
    float or ndarray
        Heat lost, mean over 24 hours [W/m2].

    Notes
    -----
    ``s mean(T^4) (0.34 - 0.14 sqrt(ea)) (1.35 Rs/Rso - 0.35)``, equation 39, ea in kPa,
    s = 4.903e-9 MJ/(K4 m2 d); Rs/Rso is held at 1 and below. Open ground only: under glass the
    cover, not the sky, is what the crop sees.

    Examples
    --------
    >>> lost = net_heat_radiation_w_m2(25.1, 19.1, 2100.0, 14.5 / 0.0864, 18.8 / 0.0864)
    >>> round(lost * 0.0864, 1)
    3.5

    References
    ----------
    allen_1998
    """
    warm = math.pow(highest_degc + 273.16, 4.0) + math.pow(lowest_degc + 273.16, 4.0)
    damp = 0.34 - 0.14 * math.sqrt(vapour_pa_abs / 1000.0)
    cloud = 1.35 * min(solar_w_m2 / clear_sky_w_m2, 1.0) - 0.35
    return 4.903e-9 * 0.5 * warm * damp * cloud / 0.0864
