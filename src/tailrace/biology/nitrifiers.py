"""Growth of nitrifiers: by USEPA 1975, and in two steps with constants of the IWA kind.

The two-step laws multiply independent factors, which is custom and not knowledge: where two of
them limit at once the product is too low. Rates per volume are growth over yield times bacteria.
"""

from __future__ import annotations

import math

from tailrace.biology.factors import (
    alkalinity_monod_frac,
    arrhenius_factor,
    monod_frac,
    nitrifier_ph_frac_ekama,
    nitrifier_ph_frac_usepa_1975,
    non_competitive_frac,
)
from tailrace.formula import formula

DAY_S = 86400.0
_AMMONIA_MAXIMUM_PER_S = 0.50 / DAY_S  # at 20 degC; on films, judgement within 0.35 to 0.9 a day
_NITRITE_MAXIMUM_PER_S = 0.50 / DAY_S
_AMMONIA_ACTIVATION, _NITRITE_ACTIVATION = 68e3, 44e3  # J/mol
_AMMONIA_HALF, _NITRITE_HALF = 0.7, 0.4  # g N/m3
_AMMONIA_OXYGEN_HALF, _NITRITE_OXYGEN_HALF = 0.5, 0.9  # g/m3
_ALKALINITY_HALF = 0.2  # eq/m3
_FREE_AMMONIA_HALVES = 1.0  # g N/m3, on nitrite oxidisers; judgement within Anthonisen's range
_NITROUS_ACID_HALVES = 0.5  # g HNO2/m3, on nitrite oxidisers; judgement within the same


@formula(temperature_degc=(5.0, 35.0))
def ammonia_half_saturation_usepa_1975_n_g_m3(temperature_degc: float) -> float:
    """Half-saturation of ammonia oxidisers by USEPA 1975.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].

    Returns
    -------
    float
        Total ammonia at which growth is half [g N/m3].

    Notes
    -----
    10^(0.051 T - 1.158).

    Examples
    --------
    >>> round(ammonia_half_saturation_usepa_1975_n_g_m3(20.0), 3)
    0.728

    References
    ----------
    usepa_1975
    """
    half: float = 10.0 ** (0.051 * temperature_degc - 1.158)
    return half


@formula(temperature_degc=(5.0, 35.0))
def nitrite_half_saturation_usepa_1975_n_g_m3(temperature_degc: float) -> float:
    """Half-saturation of nitrite oxidisers by USEPA 1975.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].

    Returns
    -------
    float
        Nitrite at which growth is half [g N/m3].

    Notes
    -----
    10^(0.063 T - 1.149).

    Examples
    --------
    >>> round(nitrite_half_saturation_usepa_1975_n_g_m3(20.0), 2)
    1.29

    References
    ----------
    usepa_1975
    """
    half: float = 10.0 ** (0.063 * temperature_degc - 1.149)
    return half


@formula(
    temperature_degc=(5.0, 35.0),
    ammonia_n_g_m3=(0.0, 1e4),
    oxygen_g_m3=(0.0, 50.0),
    ph=(3.0, 12.0),
)
def ammonia_oxidiser_growth_usepa_1975_per_s(
    temperature_degc: float, ammonia_n_g_m3: float, oxygen_g_m3: float, ph: float
) -> float:
    """Growth of ammonia oxidisers by USEPA 1975.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].
    ammonia_n_g_m3
        Total ammonia [g N/m3].
    oxygen_g_m3
        Dissolved oxygen [g/m3].
    ph
        pH [-].

    Returns
    -------
    float
        Specific growth, decay not taken off [1/s].

    Notes
    -----
    0.47 exp(0.098 (T - 15)) N/(N + 10^(0.051 T - 1.158)) DO/(1.3 + DO) (1 - 0.833 (7.2 - pH)) a
    day, the last factor 1 above pH 7.2. Fitted between 8 and 30 degC.

    Examples
    --------
    >>> round(ammonia_oxidiser_growth_usepa_1975_per_s(20.0, 2.0, 3.0, 7.2) * 86400.0, 3)
    0.392

    References
    ----------
    usepa_1975
    """
    highest = 0.47 / DAY_S * math.exp(0.098 * (temperature_degc - 15.0))
    half = ammonia_half_saturation_usepa_1975_n_g_m3(temperature_degc)
    substrate = monod_frac(ammonia_n_g_m3, half) * monod_frac(oxygen_g_m3, 1.3)
    return highest * substrate * nitrifier_ph_frac_usepa_1975(ph)


@formula(
    temperature_degc=(0.0, 40.0),
    total_ammonia_n_g_m3=(0.0, 1e4),
    oxygen_g_m3=(0.0, 50.0),
    alkalinity_eq_m3=(0.0, 100.0),
    ph=(3.0, 12.0),
    maximum_20_per_s=(0.0, 1e-3),
)
def ammonia_oxidiser_growth_per_s(
    temperature_degc: float,
    total_ammonia_n_g_m3: float,
    oxygen_g_m3: float,
    alkalinity_eq_m3: float,
    ph: float,
    maximum_20_per_s: float = _AMMONIA_MAXIMUM_PER_S,
) -> float:
    """Growth of ammonia oxidisers, the first of two steps.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].
    total_ammonia_n_g_m3
        Total ammonia at the bacteria [g N/m3].
    oxygen_g_m3
        Dissolved oxygen at the bacteria [g/m3].
    alkalinity_eq_m3
        Alkalinity [eq/m3].
    ph
        pH [-].
    maximum_20_per_s
        Highest growth at 20 degC [1/s].

    Returns
    -------
    float
        Specific growth, decay not taken off [1/s].

    Notes
    -----
    mu_20 exp(E (T - 20)/(R T T_20)) TAN/(0.7 + TAN) DO/(0.5 + DO) Alk/(0.2 + Alk) f(pH), E 68
    kJ/mol, f(pH) 2.35^(pH - 7.2) below 7.2. The constants are of the order of the activated
    sludge models; the highest growth on films is judgement. Valid 10 to 32 degC.

    Examples
    --------
    >>> round(ammonia_oxidiser_growth_per_s(20.0, 1.0, 6.0, 2.0, 7.2) * 86400.0, 3)
    0.247

    References
    ----------
    vannecke_volcke_2015
    henze_1987
    ekama
    judgement
    """
    warmth = arrhenius_factor(temperature_degc, 20.0, _AMMONIA_ACTIVATION)
    used = monod_frac(total_ammonia_n_g_m3, _AMMONIA_HALF)
    breathed = monod_frac(oxygen_g_m3, _AMMONIA_OXYGEN_HALF)
    buffered = alkalinity_monod_frac(alkalinity_eq_m3, _ALKALINITY_HALF)
    return maximum_20_per_s * warmth * used * breathed * buffered * nitrifier_ph_frac_ekama(ph)


@formula(
    temperature_degc=(0.0, 40.0),
    nitrite_n_g_m3=(0.0, 1e4),
    oxygen_g_m3=(0.0, 50.0),
    alkalinity_eq_m3=(0.0, 100.0),
    un_ionised_ammonia_n_g_m3=(0.0, 1e4),
    nitrous_acid_g_m3=(0.0, 1e4),
    maximum_20_per_s=(0.0, 1e-3),
)
def nitrite_oxidiser_growth_per_s(
    temperature_degc: float,
    nitrite_n_g_m3: float,
    oxygen_g_m3: float,
    alkalinity_eq_m3: float,
    un_ionised_ammonia_n_g_m3: float,
    nitrous_acid_g_m3: float,
    maximum_20_per_s: float = _NITRITE_MAXIMUM_PER_S,
) -> float:
    """Growth of nitrite oxidisers, the second of two steps.

    Parameters
    ----------
    temperature_degc
        Temperature [degC].
    nitrite_n_g_m3
        Nitrite at the bacteria [g N/m3].
    oxygen_g_m3
        Dissolved oxygen at the bacteria [g/m3].
    alkalinity_eq_m3
        Alkalinity [eq/m3].
    un_ionised_ammonia_n_g_m3
        Un-ionised ammonia, which inhibits [g N/m3].
    nitrous_acid_g_m3
        Free nitrous acid as HNO2, which inhibits [g/m3].
    maximum_20_per_s
        Highest growth at 20 degC [1/s].

    Returns
    -------
    float
        Specific growth, decay not taken off [1/s].

    Notes
    -----
    mu_20 exp(E (T - 20)/(R T T_20)) N/(0.4 + N) DO/(0.9 + DO) Alk/(0.2 + Alk)
    /(1 + NH3/1.0)/(1 + HNO2/0.5), E 44 kJ/mol. Both inhibition constants are judgement within
    the ranges of Anthonisen and others 1976. Valid 10 to 30 degC.

    Examples
    --------
    >>> round(nitrite_oxidiser_growth_per_s(20.0, 1.0, 6.0, 2.0, 0.0, 0.0) * 86400.0, 3)
    0.282

    References
    ----------
    vannecke_volcke_2015
    anthonisen_1976
    judgement
    """
    warmth = arrhenius_factor(temperature_degc, 20.0, _NITRITE_ACTIVATION)
    used = monod_frac(nitrite_n_g_m3, _NITRITE_HALF)
    breathed = monod_frac(oxygen_g_m3, _NITRITE_OXYGEN_HALF)
    buffered = alkalinity_monod_frac(alkalinity_eq_m3, _ALKALINITY_HALF)
    left = non_competitive_frac(un_ionised_ammonia_n_g_m3, _FREE_AMMONIA_HALVES)
    left *= non_competitive_frac(nitrous_acid_g_m3, _NITROUS_ACID_HALVES)
    return maximum_20_per_s * warmth * used * breathed * buffered * left


@formula(
    growth_per_s=(0.0, 1e-2),
    yield_kg_kg=(1e-3, 2.0),
    bacteria_vss_g_m3=(0.0, 1e6),
)
def substrate_use_g_m3_s(
    growth_per_s: float, yield_kg_kg: float, bacteria_vss_g_m3: float
) -> float:
    """Rate at which bacteria use what they grow on.

    Parameters
    ----------
    growth_per_s
        Specific growth, decay not taken off [1/s].
    yield_kg_kg
        Bacteria made per mass used: volatile solids per nitrogen, or per oxygen demand [kg/kg].
    bacteria_vss_g_m3
        Bacteria [g VSS/m3].

    Returns
    -------
    float
        Use per volume and time, in what the yield counts [g/(m3 s)].

    Notes
    -----
    mu X/Y.

    Examples
    --------
    >>> round(substrate_use_g_m3_s(0.5 / 86400.0, 0.15, 30.0) * 86400.0)
    100

    References
    ----------
    metcalf_eddy_2003
    """
    return growth_per_s * bacteria_vss_g_m3 / yield_kg_kg
