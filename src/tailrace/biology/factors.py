"""Factors of growth: temperature, substrate, oxygen, alkalinity, pH and inhibition."""

from __future__ import annotations

import math

from tailrace.formula import formula

_GAS_CONSTANT = 8.314462618  # J/(mol K)
_ZERO_CELSIUS_K = 273.15


@formula(
    temperature_degc=(0.0, 45.0),
    reference_degc=(0.0, 45.0),
    activation_j_mol=(0.0, 2e5),
)
def arrhenius_factor(
    temperature_degc: float, reference_degc: float, activation_j_mol: float
) -> float:
    """Factor of a rate for temperature, in the form of Arrhenius.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].
    reference_degc
        Temperature at which the factor is 1 [degC].
    activation_j_mol
        Activation energy: 68 kJ/mol ammonia oxidisers, 44 kJ/mol nitrite oxidisers [J/mol].

    Returns
    -------
    float
        Factor [-].

    Notes
    -----
    exp(E (T - Tr)/(R T Tr)), absolute temperatures. Rises without end: above about 32 degC, and
    for nitrite oxidisers from about 30 degC, growth falls short of it.

    Examples
    --------
    >>> round(arrhenius_factor(20.0, 30.0, 68000.0), 3)
    0.398

    References
    ----------
    vannecke_volcke_2015
    """
    kelvin, reference = temperature_degc + _ZERO_CELSIUS_K, reference_degc + _ZERO_CELSIUS_K
    steps = (kelvin - reference) / (_GAS_CONSTANT * kelvin * reference)
    return math.exp(activation_j_mol * steps)


@formula(temperature_degc=(0.0, 45.0), theta=(0.9, 1.3), reference_degc=(0.0, 45.0))
def theta_factor(temperature_degc: float, theta: float, reference_degc: float = 20.0) -> float:
    """Factor of a rate for temperature, as a power per degree.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].
    theta
        Factor per degree [-].
    reference_degc
        Temperature at which the factor is 1 [degC].

    Returns
    -------
    float
        Factor [-].

    Notes
    -----
    theta^(T - Tr), between 10 and 30 degC.

    Examples
    --------
    >>> round(theta_factor(15.0, 1.07), 3)
    0.713

    References
    ----------
    metcalf_eddy_2003
    """
    factor: float = theta ** (temperature_degc - reference_degc)
    return factor


@formula(concentration_g_m3=(0.0, 1e5), half_saturation_g_m3=(0.0, 1e4))
def monod_frac(concentration_g_m3: float, half_saturation_g_m3: float) -> float:
    """Share of the highest rate that a concentration of what is used allows.

    Parameters
    ----------
    concentration_g_m3
        Concentration [g/m3].
    half_saturation_g_m3
        Concentration at which the rate is half [g/m3].

    Returns
    -------
    float
        Share [-]; zero where there is none.

    Notes
    -----
    C/(K + C), Monod.

    Examples
    --------
    >>> monod_frac(1.0, 1.0)
    0.5

    References
    ----------
    henze_1987
    """
    if concentration_g_m3 <= 0.0:
        return 0.0
    return concentration_g_m3 / (half_saturation_g_m3 + concentration_g_m3)


@formula(alkalinity_eq_m3=(0.0, 100.0), half_saturation_eq_m3=(0.0, 10.0))
def alkalinity_monod_frac(alkalinity_eq_m3: float, half_saturation_eq_m3: float = 0.5) -> float:
    """Share of the highest rate that the alkalinity allows.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3]; 1 eq/m3 is 50.04 mg/L as CaCO3.
    half_saturation_eq_m3
        Alkalinity at which the rate is half [eq/m3].

    Returns
    -------
    float
        Share [-]; zero where there is none.

    Notes
    -----
    A/(K + A). It stands for both the carbon that nitrifiers need and the fall of pH.

    Examples
    --------
    >>> round(alkalinity_monod_frac(0.7993), 3)
    0.615

    References
    ----------
    henze_1999
    """
    if alkalinity_eq_m3 <= 0.0:
        return 0.0
    return alkalinity_eq_m3 / (half_saturation_eq_m3 + alkalinity_eq_m3)


@formula(concentration_g_m3=(0.0, 1e5), inhibition_g_m3=(1e-9, 1e5))
def non_competitive_frac(concentration_g_m3: float, inhibition_g_m3: float) -> float:
    """Share of a rate that an inhibitor leaves.

    Parameters
    ----------
    concentration_g_m3
        Concentration of the inhibitor [g/m3].
    inhibition_g_m3
        Concentration that halves the rate [g/m3].

    Returns
    -------
    float
        Share [-].

    Notes
    -----
    K/(K + C). With oxygen as the inhibitor it switches denitrification off.

    Examples
    --------
    >>> non_competitive_frac(0.2, 0.2)
    0.5

    References
    ----------
    henze_1987
    """
    return inhibition_g_m3 / (inhibition_g_m3 + concentration_g_m3)


@formula(
    concentration_g_m3=(0.0, 1e5),
    half_saturation_g_m3=(0.0, 1e4),
    inhibition_g_m3=(1e-9, 1e5),
)
def haldane_frac(
    concentration_g_m3: float, half_saturation_g_m3: float, inhibition_g_m3: float
) -> float:
    """Share of the highest rate when what is used also inhibits.

    Parameters
    ----------
    concentration_g_m3
        Concentration of what is used, such as un-ionised ammonia [g/m3].
    half_saturation_g_m3
        Half-saturation [g/m3].
    inhibition_g_m3
        Inhibition constant [g/m3].

    Returns
    -------
    float
        Share [-]; largest at the square root of the product of the two constants.

    Notes
    -----
    C/(K + C + C^2/Ki), Haldane's form, also written after Andrews.

    Examples
    --------
    >>> round(haldane_frac(2.0, 1.0, 4.0), 3)
    0.5

    References
    ----------
    andrews_1968
    """
    if concentration_g_m3 <= 0.0:
        return 0.0
    squared = concentration_g_m3**2 / inhibition_g_m3
    return concentration_g_m3 / (half_saturation_g_m3 + concentration_g_m3 + squared)


@formula(ph=(3.0, 12.0))
def nitrifier_ph_frac_usepa_1975(ph: float) -> float:
    """Share of nitrifier growth that a pH below 7.2 leaves, by USEPA 1975.

    Parameters
    ----------
    ph
        pH [-].

    Returns
    -------
    float
        Share [-].

    Notes
    -----
    1 - 0.833 (7.2 - pH), 1 above pH 7.2 and 0 below pH 6.0. Filters that have had time to adapt
    nitrify at pH 6 and below, so this errs towards less.

    Examples
    --------
    >>> round(nitrifier_ph_frac_usepa_1975(7.0), 4)
    0.8334

    References
    ----------
    usepa_1975
    """
    share = 1.0 - 0.833 * (7.2 - ph)
    if share >= 1.0:
        return 1.0
    return 0.5 * (share + abs(share))


@formula(ph=(3.0, 12.0), base=(1.0, 5.0))
def nitrifier_ph_frac_ekama(ph: float, base: float = 2.35) -> float:
    """Share of nitrifier growth that a pH below 7.2 leaves, as a power of the pH.

    Parameters
    ----------
    ph
        pH [-].
    base
        Factor per unit of pH [-].

    Returns
    -------
    float
        Share [-].

    Notes
    -----
    base^(pH - 7.2), 1 above pH 7.2; the author is known from notes on activated sludge, the year
    is not. Above pH 8.5 growth falls again, which is left out.

    Examples
    --------
    >>> round(nitrifier_ph_frac_ekama(6.7), 3)
    0.652

    References
    ----------
    ekama
    """
    if ph >= 7.2:
        return 1.0
    factor: float = base ** (ph - 7.2)
    return factor
