"""Activity of ions: how dissolved salt shifts equilibria, and how much salt there is."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(temperature_degc=(0.0, 45.0))
def relative_permittivity(temperature_degc: float) -> float:
    """Relative permittivity (dielectric constant) of water.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Relative permittivity [-].

    Notes
    -----
    87.740 - 0.40008 t + 9.398e-4 t^2 - 1.410e-6 t^3, measured from 0 to 100 degC.

    Examples
    --------
    >>> round(relative_permittivity(25.0), 2)
    78.3

    References
    ----------
    malmberg_maryott_1956
    """
    t = temperature_degc
    return 87.740 + t * (-0.40008 + t * (9.398e-4 - t * 1.410e-6))


@formula(temperature_degc=(0.0, 45.0))
def debye_huckel_slope(temperature_degc: float) -> float:
    """Slope A of the Debye-Hückel limiting law, for base-10 logarithms.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        A, counted for ionic strength in mol/kg and given as a bare number [-].

    Notes
    -----
    A = 1.82483e6 (eps T)^-1.5, water taken as 1 kg/L; 0.5116 at 25 degC, where many texts
    round to 0.509.

    Examples
    --------
    >>> round(debye_huckel_slope(25.0), 4)
    0.5116

    References
    ----------
    truesdell_jones_1974, malmberg_maryott_1956
    """
    kelvin = temperature_degc + 273.15
    return 1.82483e6 * math.pow(relative_permittivity(temperature_degc) * kelvin, -1.5)


@formula(charge=(-4.0, 4.0), ionic_strength_mol_m3=(0.0, 500.0), temperature_degc=(0.0, 45.0))
def log_activity_coefficient_davies_1962(
    charge: float, ionic_strength_mol_m3: float, temperature_degc: float
) -> float:
    """Base-10 logarithm of an ion's activity coefficient, by Davies.

    Parameters
    ----------
    charge
        Charge number of the ion; its sign does not matter [-].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Logarithm of the activity coefficient [-].

    Notes
    -----
    log g = -A z^2 (sqrt I/(1 + sqrt I) - 0.3 I), I in mol/L, which at these strengths is
    within 1 % of mol/kg. Good to I of 0.1 mol/L, usable to 0.5.

    Examples
    --------
    >>> round(10 ** log_activity_coefficient_davies_1962(1.0, 50.0, 25.0), 4)
    0.8207

    References
    ----------
    davies_1962
    """
    strength = ionic_strength_mol_m3 / 1000.0
    root = math.sqrt(strength)
    slope = debye_huckel_slope(temperature_degc)
    return -slope * charge * charge * (root / (1.0 + root) - 0.3 * strength)


@formula(
    charge=(-4.0, 4.0),
    ionic_strength_mol_m3=(0.0, 500.0),
    temperature_degc=(0.0, 45.0),
    ion_size_m=(1e-10, 12e-10),
)
def log_activity_coefficient_truesdell_jones_1974(
    charge: float,
    ionic_strength_mol_m3: float,
    temperature_degc: float,
    ion_size_m: float,
    linear_term: float = 0.0,
) -> float:
    """Base-10 logarithm of an ion's activity coefficient, with the ion's own size.

    Parameters
    ----------
    charge
        Charge number of the ion; its sign does not matter [-].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].
    temperature_degc
        Water temperature [degC].
    ion_size_m
        Fitted size of the ion, 2.5e-10 for ammonium [m].
    linear_term
        Coefficient b of the ionic strength in mol/kg, 0 for ammonium [-].

    Returns
    -------
    float
        Logarithm of the activity coefficient [-].

    Notes
    -----
    log g = -A z^2 sqrt I/(1 + B a sqrt I) + b I, with B = 5.02916e11 (eps T)^-0.5 per metre.

    Examples
    --------
    >>> round(10 ** log_activity_coefficient_truesdell_jones_1974(1.0, 20.0, 25.0, 2.5e-10), 3)
    0.861

    References
    ----------
    truesdell_jones_1974
    """
    strength = ionic_strength_mol_m3 / 1000.0
    root = math.sqrt(strength)
    kelvin = temperature_degc + 273.15
    per_m = 5.02916e11 / math.sqrt(relative_permittivity(temperature_degc) * kelvin)
    slope = debye_huckel_slope(temperature_degc)
    limiting = -slope * charge * charge * root / (1.0 + per_m * ion_size_m * root)
    return limiting + linear_term * strength


@formula(conductivity_s_m=(0.0, 3.2))
def ionic_strength_griffin_jurinak_1973_mol_m3(conductivity_s_m: float) -> float:
    """Ionic strength guessed from electrical conductivity.

    Parameters
    ----------
    conductivity_s_m
        Conductivity as meters show it, referred to 25 degC; 0.1 S/m is 1000 uS/cm [S/m].

    Returns
    -------
    float
        Ionic strength [mol/m3].

    Notes
    -----
    I = 0.013 EC, I in mol/L and EC in mS/cm; the range of conductivities is from memory. A
    rule for mixed waters: potassium nitrate has 0.56 of it, sodium chloride 0.65, hard water
    up to 1.3 times. For un-ionised ammonia that is worth about 3 % of the value.

    Examples
    --------
    >>> round(ionic_strength_griffin_jurinak_1973_mol_m3(0.1), 6)
    13.0

    References
    ----------
    griffin_jurinak_1973
    """
    return 130.0 * conductivity_s_m
