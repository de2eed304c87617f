"""Un-ionised ammonia, the toxic part of total ammonia, in fresh and slightly salty water."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.activity import (
    log_activity_coefficient_davies_1962,
    log_activity_coefficient_truesdell_jones_1974,
)


@formula(temperature_degc=(0.0, 45.0))
def ammonium_pka_emerson_1975(temperature_degc: float) -> float:
    """Acid constant of ammonium at zero ionic strength, as pKa.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pKa [-].

    Notes
    -----
    pKa = 0.09018 + 2729.92/T, T = t + 273.15; measured from 0 to 50 degC. The printed table
    of 1975 is matched better with 273.2, a difference of 0.4 % in the un-ionised share. One
    manual prints 2727.92, a misprint.

    Examples
    --------
    >>> round(ammonium_pka_emerson_1975(20.0), 4)
    9.4025

    References
    ----------
    emerson_1975
    """
    return 0.09018 + 2729.92 / (temperature_degc + 273.15)


@formula(ph=(0.0, 14.0), temperature_degc=(0.0, 45.0), ionic_strength_mol_m3=(0.0, 500.0))
def un_ionised_ammonia_frac(
    ph: float, temperature_degc: float, ionic_strength_mol_m3: float = 0.0
) -> float:
    """Share of total ammonia that is un-ionised.

    Parameters
    ----------
    ph
        pH, an activity as meters show it [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 gives the usual fresh-water table [mol/m3].

    Returns
    -------
    float
        Un-ionised share [-].

    Notes
    -----
    NH3/NH4 = 10^(pH - pKa) g(NH4)/g(NH3), with ammonium of size 2.5e-10 m and
    log g(NH3) = 0.1 I as for any uncharged species. The share falls with salt: at 25 degC
    and pH 8 by 1/7 at 20 mol/m3. Sea water has its own formula in ``sea_water_ammonia``.

    Examples
    --------
    >>> round(un_ionised_ammonia_frac(8.0, 25.0), 4)
    0.0537
    >>> round(un_ionised_ammonia_frac(8.0, 25.0, 20.0), 4)
    0.0464

    References
    ----------
    emerson_1975, truesdell_jones_1974
    """
    log_ammonium = log_activity_coefficient_truesdell_jones_1974(
        1.0, ionic_strength_mol_m3, temperature_degc, 2.5e-10, 0.0
    )
    log_neutral = 1e-4 * ionic_strength_mol_m3
    pka = ammonium_pka_emerson_1975(temperature_degc) - log_ammonium + log_neutral
    return 1.0 / (1.0 + math.pow(10.0, pka - ph))


@formula(ph=(0.0, 14.0), temperature_degc=(0.0, 45.0), ionic_strength_mol_m3=(0.0, 500.0))
def un_ionised_ammonia_davies_1962_frac(
    ph: float, temperature_degc: float, ionic_strength_mol_m3: float = 0.0
) -> float:
    """Share of total ammonia that is un-ionised, with Davies activity for ammonium.

    Parameters
    ----------
    ph
        pH, an activity as meters show it [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].

    Returns
    -------
    float
        Un-ionised share [-].

    Notes
    -----
    As `un_ionised_ammonia_frac`, with the Davies coefficient for ammonium and 1 for ammonia:
    1.4 % higher at 20 mol/m3, 7 % higher at 100.

    Examples
    --------
    >>> round(un_ionised_ammonia_davies_1962_frac(8.0, 25.0, 20.0), 4)
    0.047

    References
    ----------
    emerson_1975, davies_1962
    """
    log_ammonium = log_activity_coefficient_davies_1962(
        1.0, ionic_strength_mol_m3, temperature_degc
    )
    pka = ammonium_pka_emerson_1975(temperature_degc) - log_ammonium
    return 1.0 / (1.0 + math.pow(10.0, pka - ph))


@formula(
    total_ammonia_n_g_m3=(0.0, 1000.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def un_ionised_ammonia_n_g_m3(
    total_ammonia_n_g_m3: float,
    ph: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float = 0.0,
) -> float:
    """Un-ionised ammonia, counted as nitrogen.

    Parameters
    ----------
    total_ammonia_n_g_m3
        Total ammonia (TAN), counted as nitrogen [g N/m3].
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].

    Returns
    -------
    float
        Un-ionised ammonia as nitrogen [g N/m3].

    Notes
    -----
    Limits in papers are given as N or as NH3; the latter is 1.216 times larger.

    Examples
    --------
    >>> round(un_ionised_ammonia_n_g_m3(3.0, 8.4, 24.0), 4)
    0.3514

    References
    ----------
    emerson_1975, truesdell_jones_1974
    """
    return total_ammonia_n_g_m3 * un_ionised_ammonia_frac(
        ph, temperature_degc, ionic_strength_mol_m3
    )
