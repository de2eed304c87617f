"""Calcite (calcium carbonate): its solubility and how far a water is from it."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.activity import log_activity_coefficient_davies_1962
from tailrace.water.carbonate import carbonate_mol_m3
from tailrace.water.molar_masses import CALCIUM_G_MOL


@formula(temperature_degc=(0.0, 45.0))
def calcite_pksp_plummer_busenberg_1982(temperature_degc: float) -> float:
    """Solubility product of calcite at zero ionic strength, as pKsp.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pKsp [-].

    Notes
    -----
    log Ksp = -171.9065 - 0.077993 T + 2839.319/T + 71.595 log T; measured from 0 to 90 degC.

    Examples
    --------
    >>> round(calcite_pksp_plummer_busenberg_1982(25.0), 4)
    8.4798

    References
    ----------
    plummer_busenberg_1982
    """
    kelvin = temperature_degc + 273.15
    return 171.9065 + 0.077993 * kelvin - 2839.319 / kelvin - 71.595 * math.log10(kelvin)


@formula(
    calcium_g_m3=(1e-6, 5000.0),
    dic_mol_m3=(1e-9, 500.0),
    ph=(0.0, 14.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def calcite_saturation_index(
    calcium_g_m3: float,
    dic_mol_m3: float,
    ph: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float,
) -> float:
    """Saturation index of calcite, without ion pairs.

    Parameters
    ----------
    calcium_g_m3
        Dissolved calcium [g/m3].
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
        0 at equilibrium; above 0 the water can scale, below it dissolves lime [-].

    Notes
    -----
    log10 of the ion activity product over Ksp. Ion pairs, left out, take 0.01 to 0.03 off in
    water of 30 to 60 g Ca/m3. Water above 0 often stays clear: phosphate and humic acids hinder
    the crystals.

    Examples
    --------
    >>> round(calcite_saturation_index(50.0, 3.2224, 7.5, 15.0, 5.08), 3)
    -0.09

    References
    ----------
    plummer_busenberg_1982, davies_1962
    """
    log_two = log_activity_coefficient_davies_1962(2.0, ionic_strength_mol_m3, temperature_degc)
    carbonate = carbonate_mol_m3(dic_mol_m3, ph, temperature_degc, ionic_strength_mol_m3)
    product = calcium_g_m3 / CALCIUM_G_MOL / 1000.0 * carbonate / 1000.0
    return (
        math.log10(product) + 2.0 * log_two + calcite_pksp_plummer_busenberg_1982(temperature_degc)
    )
