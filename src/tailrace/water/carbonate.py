"""The carbonate system: pH, alkalinity and dissolved inorganic carbon (DIC), any two to the third.

Activities by Davies, no ion pairs: ``speciation`` has those. What is in the alkalinity beside
carbon is in ``alkalinity``. The search for pH works out its constants once, for speed.
"""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.acid_constants import (
    carbonic_acid_pk2_plummer_busenberg_1982 as carbonic_pk2,
)
from tailrace.water.acid_constants import (
    mixed_acid_constant,
    phosphoric_acid_pk1,
    phosphoric_acid_pk2,
    phosphoric_acid_pk3,
    water_pkw,
)
from tailrace.water.activity import log_activity_coefficient_davies_1962
from tailrace.water.alkalinity import (
    alkalinity_without_carbon_eq_m3,
    carbonic_charge,
    phosphoric_charge,
    water_charge_eq_m3,
)
from tailrace.water.ammonia import ammonium_pka_emerson_1975
from tailrace.water.carbon_dioxide import (
    carbonic_acid_pk1_plummer_busenberg_1982 as carbonic_pk1,
)
from tailrace.water.molar_masses import NITROGEN_G_MOL, PHOSPHORUS_G_MOL

_PH_LOW, _PH_HIGH = 0.0, 14.0
_STEPS_AT_MOST = 200  # every fourth halves the bracket: 14 to 1e-14


@formula()
def _next_ph(
    ph: float, y: float, ph_before: float, y_before: float, low: float, high: float, turn: float
) -> float:
    """Return the secant's next pH if it stays in the bracket; each fourth one is the middle."""
    run, rise = ph - ph_before, y - y_before
    if run * rise > 0.0 and turn < 3.0:
        secant = ph - y * run / rise
        if low < secant < high:
            return secant
    return 0.5 * (low + high)


@formula(
    dic_mol_m3=(0.0, 500.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def carbon_dioxide_mol_m3(
    dic_mol_m3: float, ph: float, temperature_degc: float, ionic_strength_mol_m3: float
) -> float:
    """Dissolved carbon dioxide, carbonic acid counted in it.

    Parameters
    ----------
    dic_mol_m3
        Dissolved inorganic carbon: CO2, HCO3 and CO3 together [mol/m3].
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].

    Returns
    -------
    float
        Carbon dioxide [mol/m3].

    Examples
    --------
    >>> round(44.009 * carbon_dioxide_mol_m3(2.4241, 7.0, 25.0, 2.0), 2)
    18.79

    References
    ----------
    plummer_busenberg_1982, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    h = math.pow(10.0, -ph)
    first = mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one) / h
    second = mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one) / h
    return dic_mol_m3 / (1.0 + first * (1.0 + second))


@formula(
    dic_mol_m3=(0.0, 500.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def bicarbonate_mol_m3(
    dic_mol_m3: float, ph: float, temperature_degc: float, ionic_strength_mol_m3: float
) -> float:
    """Bicarbonate.

    Parameters
    ----------
    dic_mol_m3
        Dissolved inorganic carbon [mol/m3].
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].

    Returns
    -------
    float
        Bicarbonate [mol/m3].

    Examples
    --------
    >>> round(bicarbonate_mol_m3(2.4241, 7.0, 25.0, 2.0), 3)
    1.996

    References
    ----------
    plummer_busenberg_1982, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    h = math.pow(10.0, -ph)
    first = mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one) / h
    second = mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one) / h
    return dic_mol_m3 * first / (1.0 + first * (1.0 + second))


@formula(
    dic_mol_m3=(0.0, 500.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def carbonate_mol_m3(
    dic_mol_m3: float, ph: float, temperature_degc: float, ionic_strength_mol_m3: float
) -> float:
    """Carbonate.

    Parameters
    ----------
    dic_mol_m3
        Dissolved inorganic carbon [mol/m3].
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength; 0 switches activity coefficients off [mol/m3].

    Returns
    -------
    float
        Carbonate [mol/m3].

    Examples
    --------
    >>> round(carbonate_mol_m3(2.4, 8.3, 20.0, 2.42), 4)
    0.0232

    References
    ----------
    plummer_busenberg_1982, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    h = math.pow(10.0, -ph)
    first = mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one) / h
    second = mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one) / h
    return dic_mol_m3 * first * second / (1.0 + first * (1.0 + second))


@formula(
    ph=(0.0, 14.0),
    dic_mol_m3=(0.0, 500.0),
    total_ammonia_n_g_m3=(0.0, 1000.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
    phosphate_p_g_m3=(0.0, 1000.0),
)
def alkalinity_from_ph_and_dic_eq_m3(
    ph: float,
    dic_mol_m3: float,
    total_ammonia_n_g_m3: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float,
    phosphate_p_g_m3: float = 0.0,
) -> float:
    """Alkalinity of water of known pH and inorganic carbon.

    Parameters
    ----------
    ph
        pH, an activity as meters show it [-].
    dic_mol_m3
        Dissolved inorganic carbon [mol/m3].
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
        Alkalinity, below zero in acid water [eq/m3].

    Notes
    -----
    HCO3 + 2 CO3 + OH - H + NH3 + HPO4 + 2 PO4 - H3PO4, counted from H2CO3, NH4 and H2PO4.
    Amounts per litre and per kilogram of water are taken as equal, which costs less than 1 %.

    Examples
    --------
    >>> round(alkalinity_from_ph_and_dic_eq_m3(7.0, 2.4241, 0.0, 25.0, 2.0), 3)
    1.998

    References
    ----------
    plummer_busenberg_1982, phreeqc_3, emerson_1975, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    charge = carbonic_charge(
        math.pow(10.0, -ph),
        mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one),
        mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one),
    )
    return dic_mol_m3 * charge + alkalinity_without_carbon_eq_m3(
        ph, total_ammonia_n_g_m3, temperature_degc, ionic_strength_mol_m3, phosphate_p_g_m3
    )


@formula(
    alkalinity_eq_m3=(-100.0, 100.0),
    ph=(4.5, 14.0),
    total_ammonia_n_g_m3=(0.0, 1000.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
    phosphate_p_g_m3=(0.0, 1000.0),
)
def dic_from_alkalinity_and_ph_mol_m3(
    alkalinity_eq_m3: float,
    ph: float,
    total_ammonia_n_g_m3: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float,
    phosphate_p_g_m3: float = 0.0,
) -> float:
    """Inorganic carbon of water of known alkalinity and pH.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3].
    ph
        pH, an activity as meters show it [-].
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
        Dissolved inorganic carbon; NaN where the two cannot belong together, since water,
        ammonia and phosphate alone have more alkalinity at that pH [mol/m3].

    Notes
    -----
    Exact as an equation, but an error of 0.1 in pH near 6.5 is 10 % of the result. Below pH 4.5
    carbon leaves no mark in the alkalinity.

    Examples
    --------
    >>> round(dic_from_alkalinity_and_ph_mol_m3(1.998, 7.0, 0.0, 25.0, 2.0), 3)
    2.424

    References
    ----------
    plummer_busenberg_1982, phreeqc_3, emerson_1975, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    charge = carbonic_charge(
        math.pow(10.0, -ph),
        mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one),
        mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one),
    )
    rest = alkalinity_without_carbon_eq_m3(
        ph, total_ammonia_n_g_m3, temperature_degc, ionic_strength_mol_m3, phosphate_p_g_m3
    )
    if alkalinity_eq_m3 < rest:
        return math.nan
    return (alkalinity_eq_m3 - rest) / charge


@formula(
    alkalinity_eq_m3=(-100.0, 100.0),
    dic_mol_m3=(0.0, 500.0),
    total_ammonia_n_g_m3=(0.0, 1000.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
    phosphate_p_g_m3=(0.0, 1000.0),
)
def ph_from_alkalinity_and_dic(
    alkalinity_eq_m3: float,
    dic_mol_m3: float,
    total_ammonia_n_g_m3: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float,
    phosphate_p_g_m3: float = 0.0,
) -> float:
    """PH of water of known alkalinity and inorganic carbon.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity; zero and below are the state of water that has lost it [eq/m3].
    dic_mol_m3
        Dissolved inorganic carbon; zero is allowed [mol/m3].
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
        pH on the activity scale, as meters show it; NaN where no pH from 0 to 14 fits [-].

    Notes
    -----
    Solves `alkalinity_from_ph_and_dic_eq_m3` = alkalinity between pH 0 and 14. The left side
    rises with pH, so there is one root. Each step is the secant's where that stays inside the
    bracket, and every fourth one halves the bracket. It ends when the residual is below 1e-12 of
    the largest amount, and gives NaN after 200 steps.
    pH is very sensitive where DIC is close to alkalinity, pH 8.2 to 8.4: 1 % of DIC moves it
    by 0.05 to 0.1.

    Examples
    --------
    >>> round(ph_from_alkalinity_and_dic(1.998, 2.4, 0.0, 25.0, 2.0), 3)
    7.025
    >>> round(ph_from_alkalinity_and_dic(-0.1, 0.0, 0.0, 25.0, 0.0), 3)
    4.0

    References
    ----------
    plummer_busenberg_1982, phreeqc_3, emerson_1975, davies_1962
    """
    log_one = log_activity_coefficient_davies_1962(1.0, ionic_strength_mol_m3, temperature_degc)
    k1 = mixed_acid_constant(carbonic_pk1(temperature_degc), 1.0, log_one)
    k2 = mixed_acid_constant(carbonic_pk2(temperature_degc), 2.0, log_one)
    kw = mixed_acid_constant(water_pkw(temperature_degc), 1.0, log_one)
    ka = mixed_acid_constant(ammonium_pka_emerson_1975(temperature_degc), 0.0, log_one)
    kp1 = mixed_acid_constant(phosphoric_acid_pk1(temperature_degc), 1.0, log_one)
    kp2 = mixed_acid_constant(phosphoric_acid_pk2(temperature_degc), 2.0, log_one)
    kp3 = mixed_acid_constant(phosphoric_acid_pk3(temperature_degc), 3.0, log_one)
    ammonia = total_ammonia_n_g_m3 / NITROGEN_G_MOL
    phosphate = phosphate_p_g_m3 / PHOSPHORUS_G_MOL
    largest = abs(alkalinity_eq_m3) + dic_mol_m3 + ammonia + phosphate + 1e-4
    low, high, ph, ph_before, y_before = _PH_LOW, _PH_HIGH, 7.0, 14.0, largest
    for step in range(_STEPS_AT_MOST):
        h = math.pow(10.0, -ph)
        y = dic_mol_m3 * carbonic_charge(h, k1, k2) + water_charge_eq_m3(h, kw, log_one)
        y += ammonia * ka / (ka + h) + phosphate * phosphoric_charge(h, kp1, kp2, kp3)
        y -= alkalinity_eq_m3
        if abs(y) <= 1e-12 * largest:
            return ph
        if y < 0.0:
            low = ph
        else:
            high = ph
        following = _next_ph(ph, y, ph_before, y_before, low, high, float(step % 4))
        ph, ph_before, y_before = following, ph, y
    return math.nan
