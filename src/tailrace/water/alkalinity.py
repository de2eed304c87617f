"""Alkalinity term by term: what carbon, water, ammonia and phosphate hold of it.

``carbonate`` sums the terms and solves for pH. The charges here take mixed constants (see
`acid_constants.mixed_acid_constant`), so that a search for pH works them out only once.
"""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.acid_constants import (
    mixed_acid_constant,
    phosphoric_acid_pk1,
    phosphoric_acid_pk2,
    phosphoric_acid_pk3,
    water_pkw,
)
from tailrace.water.activity import log_activity_coefficient_davies_1962
from tailrace.water.ammonia import ammonium_pka_emerson_1975
from tailrace.water.molar_masses import NITROGEN_G_MOL, PHOSPHORUS_G_MOL


@formula()
def carbonic_charge(hydrogen_activity: float, k1: float, k2: float) -> float:
    """Alkalinity of each mole of inorganic carbon, from 0 to 2.

    Parameters
    ----------
    hydrogen_activity
        10^-pH [-].
    k1, k2
        Mixed constants of carbonic acid [-].

    Returns
    -------
    float
        HCO3 + 2 CO3 for each CO2 + HCO3 + CO3 [-].

    Examples
    --------
    >>> round(carbonic_charge(1e-10, 1e-6, 1e-10), 3)
    1.5

    References
    ----------
    plummer_busenberg_1982
    """
    first, second = k1 / hydrogen_activity, k2 / hydrogen_activity
    return first * (1.0 + 2.0 * second) / (1.0 + first * (1.0 + second))


@formula()
def phosphoric_charge(hydrogen_activity: float, k1: float, k2: float, k3: float) -> float:
    """Alkalinity of each mole of phosphate, counted from H2PO4: from -1 to 2.

    Parameters
    ----------
    hydrogen_activity
        10^-pH [-].
    k1, k2, k3
        Mixed constants of phosphoric acid [-].

    Returns
    -------
    float
        HPO4 + 2 PO4 - H3PO4 for each phosphate [-].

    Examples
    --------
    >>> round(phosphoric_charge(6.2e-8, 6.8e-3, 6.2e-8, 4.5e-13), 3)
    0.5

    References
    ----------
    phreeqc_3
    """
    below, second, third = hydrogen_activity / k1, k2 / hydrogen_activity, k3 / hydrogen_activity
    return (second * (1.0 + 2.0 * third) - below) / (1.0 + below + second * (1.0 + third))


@formula()
def water_charge_eq_m3(
    hydrogen_activity: float, kw: float, log_activity_coefficient: float
) -> float:
    """Alkalinity of water itself: hydroxide less hydrogen ions.

    Parameters
    ----------
    hydrogen_activity
        10^-pH [-].
    kw
        Mixed ion product of water [-].
    log_activity_coefficient
        Base-10 logarithm of the activity coefficient of a single charge [-].

    Returns
    -------
    float
        OH - H [eq/m3].

    Examples
    --------
    >>> round(water_charge_eq_m3(1e-5, 1e-14, 0.0), 5)
    -0.01

    References
    ----------
    phreeqc_3
    """
    hydrogen = hydrogen_activity * math.pow(10.0, -log_activity_coefficient)
    return 1000.0 * (kw / hydrogen_activity - hydrogen)


@formula(ph=(0.0, 14.0), temperature_degc=(0.0, 45.0), ionic_strength_mol_m3=(0.0, 500.0))
def hydroxide_less_hydrogen_eq_m3(
    ph: float, temperature_degc: float, ionic_strength_mol_m3: float
) -> float:
    """Share of water itself in the alkalinity: hydroxide less hydrogen ions.

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].

    Returns
    -------
    float
        OH - H [eq/m3].

    Notes
    -----
    Kw/(h g1) - h/g1, in mol/L, h = 10^-pH.

    Examples
    --------
    >>> round(hydroxide_less_hydrogen_eq_m3(4.0, 25.0, 0.0), 3)
    -0.1

    References
    ----------
    phreeqc_3, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    return water_charge_eq_m3(
        math.pow(10.0, -ph),
        mixed_acid_constant(water_pkw(temperature_degc), 1.0, log_one),
        log_one,
    )


@formula(
    phosphate_p_g_m3=(0.0, 1000.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def phosphate_alkalinity_eq_m3(
    phosphate_p_g_m3: float, ph: float, temperature_degc: float, ionic_strength_mol_m3: float
) -> float:
    """Share of dissolved phosphate in the alkalinity.

    Parameters
    ----------
    phosphate_p_g_m3
        Dissolved orthophosphate, counted as phosphorus [g P/m3].
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].

    Returns
    -------
    float
        HPO4 + 2 PO4 - H3PO4 [eq/m3].

    Notes
    -----
    Counted from H2PO4, which is what a titration to pH 4.5 leaves. Near neutral, 10 g P/m3
    is 0.16 eq/m3, which a titration reports as alkalinity.

    Examples
    --------
    >>> round(phosphate_alkalinity_eq_m3(10.0, 7.2069, 25.0, 0.0), 3)
    0.161

    References
    ----------
    phreeqc_3, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    charge = phosphoric_charge(
        math.pow(10.0, -ph),
        mixed_acid_constant(phosphoric_acid_pk1(temperature_degc), 1.0, log_one),
        mixed_acid_constant(phosphoric_acid_pk2(temperature_degc), 2.0, log_one),
        mixed_acid_constant(phosphoric_acid_pk3(temperature_degc), 3.0, log_one),
    )
    return phosphate_p_g_m3 / PHOSPHORUS_G_MOL * charge


@formula(
    ph=(0.0, 14.0),
    total_ammonia_n_g_m3=(0.0, 1000.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
    phosphate_p_g_m3=(0.0, 1000.0),
)
def alkalinity_without_carbon_eq_m3(
    ph: float,
    total_ammonia_n_g_m3: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float,
    phosphate_p_g_m3: float = 0.0,
) -> float:
    """Share of water, ammonia and phosphate in the alkalinity.

    Parameters
    ----------
    ph
        pH [-].
    total_ammonia_n_g_m3
        Total ammonia (TAN), counted as nitrogen [g N/m3].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].
    phosphate_p_g_m3
        Dissolved orthophosphate, counted as phosphorus [g P/m3].

    Returns
    -------
    float
        OH - H + NH3 + HPO4 + 2 PO4 - H3PO4 [eq/m3].

    Examples
    --------
    >>> round(alkalinity_without_carbon_eq_m3(9.2462, 14.007, 25.0, 0.0), 2)
    0.52

    References
    ----------
    phreeqc_3, emerson_1975, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    ka = mixed_acid_constant(ammonium_pka_emerson_1975(temperature_degc), 0.0, log_one)
    return (
        hydroxide_less_hydrogen_eq_m3(ph, temperature_degc, ionic_strength_mol_m3)
        + total_ammonia_n_g_m3 / NITROGEN_G_MOL * ka / (ka + math.pow(10.0, -ph))
        + phosphate_alkalinity_eq_m3(phosphate_p_g_m3, ph, temperature_degc, ionic_strength_mol_m3)
    )
