"""Un-ionised ammonia in sea water and brackish water, on a stated pH scale."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(temperature_degc=(-2.0, 40.0), salinity_g_kg=(0.0, 40.0))
def ammonium_pka_clegg_whitfield_1995(temperature_degc: float, salinity_g_kg: float) -> float:
    """Acid constant of ammonium in sea water, as pKa on the total pH scale.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].

    Returns
    -------
    float
        pKa in mol per kg of sea water [-].

    Notes
    -----
    Their equation (18), from -2 to 40 degC and 0 to 40 g/kg, in mol/kg of water, brought to
    mol/kg of sea water by 1 - 0.001005 S.

    Examples
    --------
    >>> round(ammonium_pka_clegg_whitfield_1995(25.0, 35.0), 3)
    9.246

    References
    ----------
    clegg_whitfield_1995
    """
    kelvin = temperature_degc + 273.15
    root = math.sqrt(kelvin)
    salt = salinity_g_kg
    pka = 9.244605 - 2729.33 * (1.0 / 298.15 - 1.0 / kelvin)
    pka += (0.04203362 - 11.24742 / kelvin) * math.pow(salt, 0.25)
    half = -13.6416 + 1.176949 * root - 0.02860785 * kelvin + 545.4834 / kelvin
    pka += half * math.sqrt(salt)
    three_halves = -0.1462507 + 0.0090226468 * root - 0.0001471361 * kelvin + 10.5425 / kelvin
    pka += three_halves * math.pow(salt, 1.5)
    pka += (0.004669309 - 0.0001691742 * root - 0.5677934 / kelvin) * salt * salt
    pka += (-2.354039e-05 + 0.009698623 / kelvin) * math.pow(salt, 2.5)
    return pka - math.log10(1.0 - 0.001005 * salt)


@formula(temperature_degc=(0.0, 40.0), salinity_g_kg=(0.0, 40.0))
def free_to_total_ph_shift_dickson_1990(temperature_degc: float, salinity_g_kg: float) -> float:
    """PH on the free scale less pH on the total scale, in sea water.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].

    Returns
    -------
    float
        pH on the free scale less pH on the total scale [-].

    Notes
    -----
    log10(1 + S_T/K_S): sulfate S_T = 0.14/96.062 S/1.80655 mol/kg takes up hydrogen ions with
    the constant K_S of the source. About 0.1 in sea water, 0 in fresh water.

    Examples
    --------
    >>> round(free_to_total_ph_shift_dickson_1990(25.0, 35.0), 3)
    0.108

    References
    ----------
    dickson_1990, morris_riley_1966
    """
    kelvin = temperature_degc + 273.15
    log_kelvin = math.log(kelvin)
    strength = 19.924 * salinity_g_kg / (1000.0 - 1.005 * salinity_g_kg)
    ln_constant = -4276.1 / kelvin + 141.328 - 23.093 * log_kelvin
    ln_constant += (-13856.0 / kelvin + 324.57 - 47.986 * log_kelvin) * math.sqrt(strength)
    ln_constant += (35474.0 / kelvin - 771.54 + 114.723 * log_kelvin) * strength
    ln_constant += -2698.0 / kelvin * math.pow(strength, 1.5) + 1776.0 / kelvin * strength**2
    constant = math.exp(ln_constant) * (1.0 - 0.001005 * salinity_g_kg)
    sulfate = 0.14 / 96.062 * salinity_g_kg / 1.80655
    return math.log10(1.0 + sulfate / constant)


@formula(ph_free=(0.0, 14.0), temperature_degc=(0.0, 40.0), salinity_g_kg=(0.0, 40.0))
def sea_water_un_ionised_ammonia_frac(
    ph_free: float, temperature_degc: float, salinity_g_kg: float
) -> float:
    """Share of total ammonia that is un-ionised in sea water or brackish water.

    Parameters
    ----------
    ph_free
        pH on the free hydrogen-ion scale [-].
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].

    Returns
    -------
    float
        Un-ionised share [-].

    Notes
    -----
    A meter calibrated in fresh-water buffers shows neither scale exactly in sea water; an
    error of 0.1 is an error of a quarter in the share. Other published formulas differ by
    8 to 23 % in salty water.

    Examples
    --------
    >>> round(sea_water_un_ionised_ammonia_frac(8.1, 25.0, 35.0), 4)
    0.0528

    References
    ----------
    clegg_whitfield_1995, dickson_1990
    """
    pka = ammonium_pka_clegg_whitfield_1995(temperature_degc, salinity_g_kg)
    ph_total = ph_free - free_to_total_ph_shift_dickson_1990(temperature_degc, salinity_g_kg)
    return 1.0 / (1.0 + math.pow(10.0, pka - ph_total))


@formula(temperature_degc=(0.0, 40.0), salinity_g_kg=(0.0, 40.0), pressure_pa_abs=(40e3, 120e3))
def ammonium_pka_hampson_1977(
    temperature_degc: float, salinity_g_kg: float, pressure_pa_abs: float = 101325.0
) -> float:
    """Acid constant of ammonium in sea water, in the form of older salt-water criteria.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    salinity_g_kg
        Salinity [g/kg].
    pressure_pa_abs
        Air pressure [Pa].

    Returns
    -------
    float
        pKa [-].

    Notes
    -----
    pKa = 9.245 + 0.116 I + 0.0324 (25 - t) + 0.0415 P/T, with P in atm, T in kelvin and
    I = 19.9273 S/(1000 - 1.005109 S). From memory; here for comparison with older work.

    Examples
    --------
    >>> round(ammonium_pka_hampson_1977(25.0, 35.0), 3)
    9.329

    References
    ----------
    hampson_1977
    """
    strength = 19.9273 * salinity_g_kg / (1000.0 - 1.005109 * salinity_g_kg)
    pressure = 0.0415 * (pressure_pa_abs / 101325.0) / (temperature_degc + 273.15)
    return 9.245 + 0.116 * strength + 0.0324 * (25.0 - temperature_degc) + pressure
