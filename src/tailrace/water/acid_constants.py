"""Acid constants beside those of carbonic acid's first step: pK2, water, phosphoric acid.

The first step of carbonic acid is in ``carbon_dioxide``, ammonium in ``ammonia``.
"""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(temperature_degc=(0.0, 45.0))
def carbonic_acid_pk2_plummer_busenberg_1982(temperature_degc: float) -> float:
    """Second acid constant of carbonic acid at zero ionic strength, as pK2.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pK2 [-].

    Notes
    -----
    log K2 = -107.8871 - 0.03252849 T + 5151.79/T + 38.92561 log T - 563713.9/T^2; measured
    from 0 to 90 degC.

    Examples
    --------
    >>> round(carbonic_acid_pk2_plummer_busenberg_1982(25.0), 4)
    10.3289

    References
    ----------
    plummer_busenberg_1982
    """
    kelvin = temperature_degc + 273.15
    return (
        107.8871
        + 0.03252849 * kelvin
        - 5151.79 / kelvin
        - 38.92561 * math.log10(kelvin)
        + 563713.9 / (kelvin * kelvin)
    )


@formula(temperature_degc=(0.0, 45.0))
def water_pkw(temperature_degc: float) -> float:
    """Ion product of water at zero ionic strength, as pKw.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pKw [-].

    Notes
    -----
    log Kw = 293.29227 + 0.1360833 T - 10576.913/T - 123.73158 log T - 6.996455e-5 T^2, the fit
    of the present geochemistry database. An older fit of the same family is 0.005 higher
    at 25 degC.

    Examples
    --------
    >>> round(water_pkw(25.0), 3)
    13.995

    References
    ----------
    phreeqc_3
    """
    kelvin = temperature_degc + 273.15
    return (
        -293.29227
        - 0.1360833 * kelvin
        + 10576.913 / kelvin
        + 123.73158 * math.log10(kelvin)
        + 6.996455e-5 * kelvin * kelvin
    )


@formula(log_k_25=(-20.0, 40.0), reaction_heat_j_mol=(-200e3, 200e3), temperature_degc=(0.0, 45.0))
def log_k_van_t_hoff(
    log_k_25: float, reaction_heat_j_mol: float, temperature_degc: float
) -> float:
    """Base-10 logarithm of an equilibrium constant, moved from 25 degC by the heat of reaction.

    Parameters
    ----------
    log_k_25
        Logarithm of the constant at 25 degC [-].
    reaction_heat_j_mol
        Heat taken up by the reaction [J/mol].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Logarithm of the constant [-].

    Notes
    -----
    log K = log K25 - dH/(R ln 10) (1/T - 1/298.15), R = 8.31446 J/(mol K); the heat is taken as
    the same at all temperatures.

    Examples
    --------
    >>> round(log_k_van_t_hoff(12.346, -14769.5, 5.0), 3)
    12.532

    References
    ----------
    phreeqc_3
    """
    inverse = 1.0 / (temperature_degc + 273.15) - 1.0 / 298.15
    return log_k_25 - reaction_heat_j_mol / (8.31446 * math.log(10.0)) * inverse


@formula(temperature_degc=(0.0, 45.0))
def phosphoric_acid_pk1(temperature_degc: float) -> float:
    """First acid constant of phosphoric acid at zero ionic strength, as pK1.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pK1 [-].

    Notes
    -----
    2.168 at 25 degC, from the database's two constants of formation 21.721 and 19.553; heats
    -10.1 kJ and -4.52 kcal.

    Examples
    --------
    >>> round(phosphoric_acid_pk1(25.0), 3)
    2.168

    References
    ----------
    phreeqc_3
    """
    return log_k_van_t_hoff(2.168, 8811.7, temperature_degc)


@formula(temperature_degc=(0.0, 45.0))
def phosphoric_acid_pk2(temperature_degc: float) -> float:
    """Second acid constant of phosphoric acid at zero ionic strength, as pK2.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pK2 [-].

    Notes
    -----
    7.207 at 25 degC, from the database's constants of formation 19.553 and 12.346; heats
    -4.52 and -3.53 kcal.

    Examples
    --------
    >>> round(phosphoric_acid_pk2(25.0), 3)
    7.207

    References
    ----------
    phreeqc_3
    """
    return log_k_van_t_hoff(7.207, -4142.2, temperature_degc)


@formula(temperature_degc=(0.0, 45.0))
def phosphoric_acid_pk3(temperature_degc: float) -> float:
    """Third acid constant of phosphoric acid at zero ionic strength, as pK3.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pK3 [-].

    Notes
    -----
    12.346 at 25 degC, with a heat of formation of -3.53 kcal.

    Examples
    --------
    >>> round(phosphoric_acid_pk3(25.0), 3)
    12.346

    References
    ----------
    phreeqc_3
    """
    return log_k_van_t_hoff(12.346, -14769.5, temperature_degc)


@formula(pk=(-5.0, 20.0), base_charge=(0.0, 4.0), log_activity_coefficient=(-1.0, 1.0))
def mixed_acid_constant(pk: float, base_charge: float, log_activity_coefficient: float) -> float:
    """Acid constant that takes hydrogen as an activity and everything else as an amount.

    Parameters
    ----------
    pk
        Acid constant at zero ionic strength, as pK [-].
    base_charge
        Charge number of the base without its sign: 1 for HCO3 and OH, 2 for CO3, 0 for NH3 [-].
    log_activity_coefficient
        Base-10 logarithm of the activity coefficient of a single charge, by Davies [-].

    Returns
    -------
    float
        h base/acid, amounts in mol/L [-].

    Notes
    -----
    10^(-pK - (2n - 1) log g1): with Davies log g goes with the square of the charge, and
    n^2 - (n - 1)^2 = 2n - 1; for ammonium, where n is 0, that is -1.

    Examples
    --------
    >>> round(mixed_acid_constant(10.0, 2.0, -0.1) / 1e-10, 3)
    1.995

    References
    ----------
    davies_1962
    """
    return math.pow(10.0, -pk - (2.0 * base_charge - 1.0) * log_activity_coefficient)
