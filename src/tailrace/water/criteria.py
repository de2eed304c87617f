"""Ammonia limits for fresh water, as published by the United States authority.

All are total ammonia counted as nitrogen, in the water that the animals live in. They protect
wild waters with some safety; a farmed fish may stand more, and its own limits come first.
"""

from __future__ import annotations

import math

from tailrace.formula import formula

_PH = (6.5, 9.0)
_T = (0.0, 35.0)


@formula()
def _two_sides(ph: float, low: float, high: float, middle: float) -> float:
    below = low / (1.0 + math.pow(10.0, middle - ph))
    return below + high / (1.0 + math.pow(10.0, ph - middle))


@formula(ph=_PH, temperature_degc=_T)
def ammonia_acute_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Acute limit of total ammonia where no salmon or trout of Oncorhynchus live (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        One-hour mean not to be passed more than once in three years [g N/m3].

    Notes
    -----
    0.7249 (0.0114/(1 + 10^(7.204 - pH)) + 1.6181/(1 + 10^(pH - 7.204)))
    min(51.93, 23.12 x 10^(0.036 (20 - t))). Set by freshwater mussels when it is warm.
    Published tables round to two figures.

    Examples
    --------
    >>> round(ammonia_acute_usepa_2013_n_g_m3(7.0, 25.0), 1)
    11.1

    References
    ----------
    usepa_2013
    """
    warmth = min(51.93, 23.12 * math.pow(10.0, 0.036 * (20.0 - temperature_degc)))
    return 0.7249 * _two_sides(ph, 0.0114, 1.6181, 7.204) * warmth


@formula(ph=_PH, temperature_degc=_T)
def ammonia_acute_oncorhynchus_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Acute limit of total ammonia where salmon or trout of Oncorhynchus live (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        One-hour mean not to be passed more than once in three years [g N/m3].

    Notes
    -----
    The lower of 0.275/(1 + 10^(7.204 - pH)) + 39.0/(1 + 10^(pH - 7.204)) and
    0.7249 (0.0114/(1 + 10^(7.204 - pH)) + 1.6181/(1 + 10^(pH - 7.204)))
    23.12 x 10^(0.036 (20 - t)).

    Examples
    --------
    >>> round(ammonia_acute_oncorhynchus_usepa_2013_n_g_m3(8.0, 20.0), 1)
    3.9

    References
    ----------
    usepa_2013
    """
    warmth = 23.12 * math.pow(10.0, 0.036 * (20.0 - temperature_degc))
    mussels = 0.7249 * _two_sides(ph, 0.0114, 1.6181, 7.204) * warmth
    return min(_two_sides(ph, 0.275, 39.0, 7.204), mussels)


@formula(ph=_PH, temperature_degc=_T)
def ammonia_chronic_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Chronic limit of total ammonia (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of 30 days [g N/m3].

    Notes
    -----
    0.8876 (0.0278/(1 + 10^(7.688 - pH)) + 1.1994/(1 + 10^(pH - 7.688)))
    2.126 x 10^(0.028 (20 - max(t, 7))). Copies without the 0.8876 or the max are in circulation.

    Examples
    --------
    >>> round(ammonia_chronic_usepa_2013_n_g_m3(8.0, 20.0), 2)
    0.78

    References
    ----------
    usepa_2013
    """
    warmth = 2.126 * math.pow(10.0, 0.028 * (20.0 - max(temperature_degc, 7.0)))
    return 0.8876 * _two_sides(ph, 0.0278, 1.1994, 7.688) * warmth


@formula(ph=_PH, temperature_degc=_T)
def ammonia_four_day_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Highest mean of four days within the 30 days of the chronic limit (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of four days [g N/m3].

    Notes
    -----
    2.5 times the chronic limit.

    Examples
    --------
    >>> round(ammonia_four_day_usepa_2013_n_g_m3(7.0, 20.0), 1)
    4.7

    References
    ----------
    usepa_2013
    """
    return 2.5 * ammonia_chronic_usepa_2013_n_g_m3(ph, temperature_degc)


@formula(ph=_PH, temperature_degc=_T)
def ammonia_acute_no_mussels_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Acute limit of total ammonia without freshwater mussels or Oncorhynchus (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        One-hour mean not to be passed more than once in three years [g N/m3].

    Notes
    -----
    0.7249 (0.0114/(1 + 10^(7.204 - pH)) + 1.6181/(1 + 10^(pH - 7.204)))
    min(51.93, 62.15 x 10^(0.036 (20 - t))), a variant for sites from which mussels are absent;
    a closed loop is one. Other water animals without a backbone set it above 22 degC.

    Examples
    --------
    >>> round(ammonia_acute_no_mussels_usepa_2013_n_g_m3(7.0, 20.0))
    38

    References
    ----------
    usepa_2013_sites
    """
    warmth = min(51.93, 62.15 * math.pow(10.0, 0.036 * (20.0 - temperature_degc)))
    return 0.7249 * _two_sides(ph, 0.0114, 1.6181, 7.204) * warmth


@formula(ph=_PH, temperature_degc=_T)
def ammonia_acute_oncorhynchus_no_mussels_usepa_2013_n_g_m3(
    ph: float, temperature_degc: float
) -> float:
    """Acute limit of total ammonia with Oncorhynchus and without freshwater mussels (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        One-hour mean not to be passed more than once in three years [g N/m3].

    Notes
    -----
    The lower of 0.275/(1 + 10^(7.204 - pH)) + 39.0/(1 + 10^(pH - 7.204)), set by the trout, and
    0.7249 (0.0114/(1 + 10^(7.204 - pH)) + 1.6181/(1 + 10^(pH - 7.204)))
    62.15 x 10^(0.036 (20 - t)).

    Examples
    --------
    >>> round(ammonia_acute_oncorhynchus_no_mussels_usepa_2013_n_g_m3(7.0, 20.0))
    24

    References
    ----------
    usepa_2013_sites
    """
    warmth = 62.15 * math.pow(10.0, 0.036 * (20.0 - temperature_degc))
    others = 0.7249 * _two_sides(ph, 0.0114, 1.6181, 7.204) * warmth
    return min(_two_sides(ph, 0.275, 39.0, 7.204), others)


@formula(ph=_PH, temperature_degc=_T)
def ammonia_chronic_no_mussels_usepa_2013_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Chronic limit of total ammonia without mussels, with early life stages of fish (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of 30 days [g N/m3].

    Notes
    -----
    0.9405 (0.0278/(1 + 10^(7.688 - pH)) + 1.1994/(1 + 10^(pH - 7.688)))
    min(6.920, 7.547 x 10^(0.028 (20 - t))).

    Examples
    --------
    >>> round(ammonia_chronic_no_mussels_usepa_2013_n_g_m3(7.0, 20.0), 1)
    6.5

    References
    ----------
    usepa_2013_sites
    """
    warmth = min(6.920, 7.547 * math.pow(10.0, 0.028 * (20.0 - temperature_degc)))
    return 0.9405 * _two_sides(ph, 0.0278, 1.1994, 7.688) * warmth


@formula(ph=_PH, temperature_degc=_T)
def ammonia_chronic_no_mussels_no_early_stages_usepa_2013_n_g_m3(
    ph: float, temperature_degc: float
) -> float:
    """Chronic limit of total ammonia without mussels or early life stages of fish (2013).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of 30 days [g N/m3].

    Notes
    -----
    0.9405 (0.0278/(1 + 10^(7.688 - pH)) + 1.1994/(1 + 10^(pH - 7.688)))
    7.547 x 10^(0.028 (20 - max(t, 7))).

    Examples
    --------
    >>> round(ammonia_chronic_no_mussels_no_early_stages_usepa_2013_n_g_m3(7.0, 20.0), 1)
    7.1

    References
    ----------
    usepa_2013_sites
    """
    warmth = 7.547 * math.pow(10.0, 0.028 * (20.0 - max(temperature_degc, 7.0)))
    return 0.9405 * _two_sides(ph, 0.0278, 1.1994, 7.688) * warmth


@formula(ph=_PH)
def ammonia_acute_usepa_1999_n_g_m3(ph: float) -> float:
    """Acute limit of total ammonia where no salmonids live (1999, superseded).

    Parameters
    ----------
    ph
        pH [-].

    Returns
    -------
    float
        Total ammonia as nitrogen [g N/m3].

    Notes
    -----
    0.411/(1 + 10^(7.204 - pH)) + 58.4/(1 + 10^(pH - 7.204)). Mussels were not yet counted.

    Examples
    --------
    >>> round(ammonia_acute_usepa_1999_n_g_m3(8.0), 1)
    8.4

    References
    ----------
    usepa_1999
    """
    return _two_sides(ph, 0.411, 58.4, 7.204)


@formula(ph=_PH)
def ammonia_acute_salmonids_usepa_1999_n_g_m3(ph: float) -> float:
    """Acute limit of total ammonia where salmonids live (1999, superseded).

    Parameters
    ----------
    ph
        pH [-].

    Returns
    -------
    float
        Total ammonia as nitrogen [g N/m3].

    Notes
    -----
    0.275/(1 + 10^(7.204 - pH)) + 39.0/(1 + 10^(pH - 7.204)).

    Examples
    --------
    >>> round(ammonia_acute_salmonids_usepa_1999_n_g_m3(8.0), 1)
    5.6

    References
    ----------
    usepa_1999
    """
    return _two_sides(ph, 0.275, 39.0, 7.204)


@formula(ph=_PH, temperature_degc=_T)
def ammonia_chronic_usepa_1999_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Chronic limit of total ammonia where early life stages of fish live (1999, superseded).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of 30 days [g N/m3].

    Notes
    -----
    (0.0577/(1 + 10^(7.688 - pH)) + 2.487/(1 + 10^(pH - 7.688)))
    min(2.85, 1.45 x 10^(0.028 (25 - t))).

    Examples
    --------
    >>> round(ammonia_chronic_usepa_1999_n_g_m3(8.0, 10.0), 2)
    2.43

    References
    ----------
    usepa_1999
    """
    warmth = min(2.85, 1.45 * math.pow(10.0, 0.028 * (25.0 - temperature_degc)))
    return _two_sides(ph, 0.0577, 2.487, 7.688) * warmth


@formula(ph=_PH, temperature_degc=_T)
def ammonia_chronic_no_early_stages_usepa_1999_n_g_m3(ph: float, temperature_degc: float) -> float:
    """Chronic limit of total ammonia without early life stages of fish (1999, superseded).

    Parameters
    ----------
    ph
        pH [-].
    temperature_degc
        Water temperature [degC].

    Returns
    -------
    float
        Mean of 30 days [g N/m3].

    Notes
    -----
    (0.0577/(1 + 10^(7.688 - pH)) + 2.487/(1 + 10^(pH - 7.688)))
    1.45 x 10^(0.028 (25 - max(t, 7))).

    Examples
    --------
    >>> round(ammonia_chronic_no_early_stages_usepa_1999_n_g_m3(8.0, 10.0), 2)
    3.26

    References
    ----------
    usepa_1999
    """
    warmth = 1.45 * math.pow(10.0, 0.028 * (25.0 - max(temperature_degc, 7.0)))
    return _two_sides(ph, 0.0577, 2.487, 7.688) * warmth
