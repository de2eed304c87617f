"""Nitrite and the chloride that shields fish from it."""

from __future__ import annotations

from typing import Final

from tailrace.formula import formula

# Kept by producers of channel catfish against sudden nitrite; srac_462.
CHANNEL_CATFISH_INSURANCE_CHLORIDE_G_M3: Final = 100.0


@formula(
    chloride_g_m3=(0.0, 2e4),
    slope=(0.0, 100.0),
    intercept_n_g_m3=(0.0, 1000.0),
    divisor=(1e-3, 1e3),
    chloride_cap_g_m3=(0.0, 2e4),
)
def nitrite_by_chloride_n_g_m3(
    chloride_g_m3: float,
    slope: float,
    intercept_n_g_m3: float,
    divisor: float = 1.0,
    chloride_cap_g_m3: float = 2e4,
) -> float:
    """Nitrite that a rule linear in chloride allows.

    Parameters
    ----------
    chloride_g_m3
        Chloride in the water [g/m3].
    slope
        Nitrite nitrogen for each g of chloride [-].
    intercept_n_g_m3
        Nitrite without chloride [g N/m3].
    divisor
        Ratio of acute to chronic effect, or a factor of safety [-].
    chloride_cap_g_m3
        Chloride beyond which the rule gives no more [g/m3].

    Returns
    -------
    float
        Nitrite, counted as nitrogen [g N/m3].

    Notes
    -----
    (slope min(Cl, cap) + intercept)/divisor. Such rules hold for the species that they were
    measured with; in largemouth bass and other sunfish chloride does not help.

    Examples
    --------
    >>> round(nitrite_by_chloride_n_g_m3(20.0, 1.99, 0.7258, 15.0), 1)
    2.7

    References
    ----------
    colorado_regulation_38
    """
    return (slope * min(chloride_g_m3, chloride_cap_g_m3) + intercept_n_g_m3) / divisor


@formula(chloride_g_m3=(0.0, 200.0))
def nitrite_lc50_fathead_minnow_colorado_38_n_g_m3(chloride_g_m3: float) -> float:
    """Nitrite that kills half of fathead minnows in 96 hours.

    Parameters
    ----------
    chloride_g_m3
        Chloride in the water [g/m3].

    Returns
    -------
    float
        Nitrite, counted as nitrogen [g N/m3].

    Notes
    -----
    1.99 Cl + 0.7258. The rule prints 40.6 at 20 g/m3, the line gives 40.53; it divides by 15
    for a standard. The range of chloride is a guess, the text gives one value of it.

    Examples
    --------
    >>> round(nitrite_lc50_fathead_minnow_colorado_38_n_g_m3(20.0), 1)
    40.5

    References
    ----------
    colorado_regulation_38
    """
    return nitrite_by_chloride_n_g_m3(chloride_g_m3, 1.99, 0.7258, 1.0, 2e4)


@formula(chloride_g_m3=(0.0, 2e4), chloride_cap_g_m3=(0.0, 2e4))
def nitrite_acute_salmonids_colorado_31_n_g_m3(
    chloride_g_m3: float, chloride_cap_g_m3: float = 40.0
) -> float:
    """Acute nitrite standard where salmonids or other sensitive fish live.

    Parameters
    ----------
    chloride_g_m3
        Chloride in the water [g/m3].
    chloride_cap_g_m3
        Chloride beyond which no more is counted [g/m3].

    Returns
    -------
    float
        Nitrite, counted as nitrogen [g N/m3].

    Notes
    -----
    0.10 (0.59 Cl + 3.90), from memory.

    Examples
    --------
    >>> round(nitrite_acute_salmonids_colorado_31_n_g_m3(20.0), 2)
    1.57

    References
    ----------
    colorado_regulation_31
    """
    return nitrite_by_chloride_n_g_m3(chloride_g_m3, 0.59, 3.90, 10.0, chloride_cap_g_m3)


@formula(chloride_g_m3=(0.0, 2e4), chloride_cap_g_m3=(0.0, 2e4))
def nitrite_chronic_salmonids_colorado_31_n_g_m3(
    chloride_g_m3: float, chloride_cap_g_m3: float = 40.0
) -> float:
    """Chronic nitrite standard where salmonids or other sensitive fish live.

    Parameters
    ----------
    chloride_g_m3
        Chloride in the water [g/m3].
    chloride_cap_g_m3
        Chloride beyond which no more is counted [g/m3].

    Returns
    -------
    float
        Nitrite, counted as nitrogen [g N/m3].

    Notes
    -----
    0.10 (0.29 Cl + 0.53), from memory.

    Examples
    --------
    >>> round(nitrite_chronic_salmonids_colorado_31_n_g_m3(20.0), 3)
    0.633

    References
    ----------
    colorado_regulation_31
    """
    return nitrite_by_chloride_n_g_m3(chloride_g_m3, 0.29, 0.53, 10.0, chloride_cap_g_m3)


@formula(nitrite_g_m3=(0.0, 1e4), chloride_g_m3=(0.0, 2e4), ratio=(0.0, 1000.0))
def chloride_to_add_g_m3(nitrite_g_m3: float, chloride_g_m3: float, ratio: float) -> float:
    """Chloride to add for a wanted ratio of chloride to nitrite.

    Parameters
    ----------
    nitrite_g_m3
        Nitrite, in the basis in which the ratio is meant [g/m3].
    chloride_g_m3
        Chloride already in the water [g/m3].
    ratio
        Chloride for each nitrite, by mass; 10 is the usual least for catfish [-].

    Returns
    -------
    float
        Chloride to add, 0 when there is enough [g/m3].

    Notes
    -----
    Whether nitrite is counted as N or as the ion changes the dose 3.3-fold; the source of the
    rule of 10 speaks of nitrite as its kit reads it. Counting the ion is the safer reading.

    Examples
    --------
    >>> chloride_to_add_g_m3(2.0, 5.0, 10.0)
    15.0

    References
    ----------
    srac_462
    """
    return max(0.0, ratio * nitrite_g_m3 - chloride_g_m3)
