"""Carbon dioxide: its constants, its equilibrium with air, and pH in the bicarbonate range.

The pH here holds where bicarbonate is nearly all of the alkalinity; ``carbonate`` has it whole.
"""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.water.activity import log_activity_coefficient_davies_1962
from tailrace.water.air import vapour_pressure_pa_abs
from tailrace.water.properties import density_kg_m3


@formula(temperature_degc=(0.0, 45.0))
def carbonic_acid_pk1_plummer_busenberg_1982(temperature_degc: float) -> float:
    """First acid constant of dissolved carbon dioxide at zero ionic strength, as pK1.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pK1, for CO2(aq) with carbonic acid counted in it [-].

    Notes
    -----
    log K1 = -356.3094 - 0.06091964 T + 21834.37/T + 126.8339 log T - 1684915/T^2; measured
    from 0 to 90 degC.

    Examples
    --------
    >>> round(carbonic_acid_pk1_plummer_busenberg_1982(25.0), 4)
    6.3519

    References
    ----------
    plummer_busenberg_1982
    """
    kelvin = temperature_degc + 273.15
    return (
        356.3094
        + 0.06091964 * kelvin
        - 21834.37 / kelvin
        - 126.8339 * math.log10(kelvin)
        + 1684915.0 / (kelvin * kelvin)
    )


@formula(temperature_degc=(0.0, 45.0))
def carbon_dioxide_pkh_plummer_busenberg_1982(temperature_degc: float) -> float:
    """Solubility constant of carbon dioxide, as the negative logarithm of mol/(kg atm).

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        pKH [-].

    Notes
    -----
    log KH = 108.3865 + 0.01985076 T - 6919.53/T - 40.45154 log T + 669365/T^2; measured from
    0 to 90 degC.

    Examples
    --------
    >>> round(carbon_dioxide_pkh_plummer_busenberg_1982(25.0), 4)
    1.4679

    References
    ----------
    plummer_busenberg_1982
    """
    kelvin = temperature_degc + 273.15
    return (
        -108.3865
        - 0.01985076 * kelvin
        + 6919.53 / kelvin
        + 40.45154 * math.log10(kelvin)
        - 669365.0 / (kelvin * kelvin)
    )


@formula(
    temperature_degc=(0.0, 45.0),
    pressure_pa_abs=(40e3, 120e3),
    carbon_dioxide_air_frac=(0.0, 0.1),
)
def carbon_dioxide_at_air_equilibrium_mol_m3(
    temperature_degc: float,
    pressure_pa_abs: float = 101325.0,
    carbon_dioxide_air_frac: float = 420e-6,
) -> float:
    """Carbon dioxide in fresh water at equilibrium with moist air.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    pressure_pa_abs
        Air pressure at the site [Pa].
    carbon_dioxide_air_frac
        Share of carbon dioxide in dry air; 420e-6 is an assumption for open air in the 2020s,
        and a closed greenhouse or fish house often has several times as much [-].

    Returns
    -------
    float
        Dissolved carbon dioxide [mol/m3].

    Notes
    -----
    KH x (P - u) rho, with the gas taken as ideal, which costs less than 0.5 %.

    Examples
    --------
    >>> round(carbon_dioxide_at_air_equilibrium_mol_m3(25.0), 5)
    0.01381

    References
    ----------
    plummer_busenberg_1982, alduchov_eskridge_1996
    """
    dry_atm = (pressure_pa_abs - vapour_pressure_pa_abs(temperature_degc)) / 101325.0
    mol_kg_atm = math.pow(10.0, -carbon_dioxide_pkh_plummer_busenberg_1982(temperature_degc))
    return mol_kg_atm * carbon_dioxide_air_frac * dry_atm * density_kg_m3(temperature_degc)


@formula(
    alkalinity_eq_m3=(1e-3, 100.0),
    carbon_dioxide_mol_m3=(1e-4, 100.0),
    temperature_degc=(0.0, 45.0),
    ionic_strength_mol_m3=(0.0, 500.0),
)
def ph_from_alkalinity_and_carbon_dioxide(
    alkalinity_eq_m3: float,
    carbon_dioxide_mol_m3: float,
    temperature_degc: float,
    ionic_strength_mol_m3: float = 0.0,
) -> float:
    """PH of water whose alkalinity is bicarbonate.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3].
    carbon_dioxide_mol_m3
        Dissolved carbon dioxide [mol/m3].
    temperature_degc
        Water temperature [degC].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].

    Returns
    -------
    float
        pH [-].

    Notes
    -----
    pH = pK1 + log10(alkalinity/CO2) + log10 g(HCO3), with the Davies coefficient. Carbonate,
    hydroxide, phosphate and ion pairs are left out. Held against a full
    calculation in waters of 0.2 to 4 eq/m3 it errs by 0.02 at pH 5, 0.01 at pH 7, 0.03 at pH 8,
    0.06 at pH 8.5 and 0.11 at pH 8.8, where it reads too high; beyond, a carbonate solver is
    needed. The range is not tested for: it is one of the result, not of the arguments.

    Examples
    --------
    >>> round(ph_from_alkalinity_and_carbon_dioxide(2.0, 0.4, 25.0, 2.0), 2)
    7.03

    References
    ----------
    plummer_busenberg_1982, davies_1962
    """
    log_bicarbonate = log_activity_coefficient_davies_1962(
        1.0, ionic_strength_mol_m3, temperature_degc
    )
    ratio = alkalinity_eq_m3 / carbon_dioxide_mol_m3
    pk1 = carbonic_acid_pk1_plummer_busenberg_1982(temperature_degc)
    return pk1 + math.log10(ratio) + log_bicarbonate
