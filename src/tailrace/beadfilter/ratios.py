"""Small relations for daily use: air per backwash and margin from two float readings, ratios."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.hydraulics.pipes import STANDARD_GRAVITY


@formula(
    fill_s=(0.0, 1e8),
    start_standard_flow_m3_s=(0.0, 1.0),
    end_standard_flow_m3_s=(0.0, 1.0),
)
def air_per_backwash_from_floats_m3(
    fill_s: float, start_standard_flow_m3_s: float, end_standard_flow_m3_s: float
) -> float:
    """Air per backwash, counted in the standard state, from the flows at the two ends of a charge.

    Parameters
    ----------
    fill_s
        Time the air filled [s].
    start_standard_flow_m3_s
        Standard flow (70 degF, 1 atm) just after a backwash, from the float and its correction
        [m3/s].
    end_standard_flow_m3_s
        Standard flow just before the next [m3/s].

    Returns
    -------
    float
        Standard air [m3].

    Notes
    -----
    V = t (q_s - q_e)/ln(q_s/q_e): the pressure at the face rises in step with the air, so the
    flow decays exponentially and its mean is the logarithmic one. Needs an untouched needle and
    no leak. The arithmetic mean is about 1 % high.

    Examples
    --------
    >>> round(air_per_backwash_from_floats_m3(1000.0, 2e-6, 1e-6) * 1e3, 3)
    1.443

    References
    ----------
    arithmetic
    """
    if start_standard_flow_m3_s <= 0.0 or end_standard_flow_m3_s <= 0.0:
        return 0.0
    ratio = end_standard_flow_m3_s / start_standard_flow_m3_s
    if abs(ratio - 1.0) < 1e-6:
        return fill_s * 0.5 * (start_standard_flow_m3_s + end_standard_flow_m3_s)
    return fill_s * (end_standard_flow_m3_s - start_standard_flow_m3_s) / math.log(ratio)


@formula(
    start_float_m3_s=(0.0, 1.0),
    end_float_m3_s=(0.0, 1.0),
    fall_depth_m=(0.0, 10.0),
    water_density_kg_m3=(900.0, 1300.0),
)
def margin_from_floats_pa(
    start_float_m3_s: float,
    end_float_m3_s: float,
    fall_depth_m: float,
    water_density_kg_m3: float,
) -> float:
    """Margin of the air pump just after a backwash, from the fall of the float.

    Parameters
    ----------
    start_float_m3_s
        Reading just after a backwash [m3/s].
    end_float_m3_s
        Reading just before the next, needle untouched [m3/s].
    fall_depth_m
        How far the face goes down between the two [m].
    water_density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Pump pressure at no flow less check valve less face pressure, just after a backwash [Pa];
        not a number when the float does not fall.

    Notes
    -----
    M = rho g d/(1 - r_e/r_s): flow is proportional to the margin, and the face's fall takes
    rho g d of it. The scale error of the meter cancels. About 2 % high, as quadratic losses and
    the float's own correction are left out. Two readings that differ little say nothing: at a
    reading error of 0.02 SCFH the result is useless.

    Examples
    --------
    >>> round(margin_from_floats_pa(0.175, 0.116, 0.2, 996.5))
    5797

    References
    ----------
    hydrostatics
    """
    if start_float_m3_s <= end_float_m3_s:
        return math.nan
    column = water_density_kg_m3 * STANDARD_GRAVITY * fall_depth_m
    return column / (1.0 - end_float_m3_s / start_float_m3_s)


@formula(
    backwashes=(0.0, 1e6),
    air_per_backwash_m3=(0.0, 100.0),
    air_supplied_m3=(1e-9, 1e6),
)
def air_balance_ratio(
    backwashes: float, air_per_backwash_m3: float, air_supplied_m3: float
) -> float:
    """Ratio of the air that backwashes took to the air that the meter let through.

    Parameters
    ----------
    backwashes
        Backwashes counted over whole charges [-].
    air_per_backwash_m3
        Standard air (70 degF, 1 atm) each takes [m3].
    air_supplied_m3
        Standard air through the meter in the same time [m3].

    Returns
    -------
    float
        Ratio [-]. Near 1 with a low float: supply or back pressure. Far below 1 with a normal
        float: a leak after the float, or a trigger that dribbles.

    Notes
    -----
    R = N V/integral(q dt). Its error is about 5 % after the machine was calibrated and 15 to
    20 % before; call a leak only beyond two of these.

    Examples
    --------
    >>> round(air_balance_ratio(6.0, 0.018, 0.12), 3)
    0.9

    References
    ----------
    arithmetic
    """
    return backwashes * air_per_backwash_m3 / air_supplied_m3


@formula(packed_m3=(0.0, 1e4), bead_diameter_m=(1e-5, 0.1), void_frac=(0.0, 0.99))
def bead_area_m2(packed_m3: float, bead_diameter_m: float, void_frac: float) -> float:
    """Surface of the smooth spheres in a packed volume.

    Parameters
    ----------
    packed_m3
        Volume of the packed beads with their pores [m3].
    bead_diameter_m
        Diameter of a bead [m].
    void_frac
        Share of pores [-].

    Returns
    -------
    float
        Surface [m2].

    Notes
    -----
    A = 6 V (1 - e)/d. Shaped beads have more; film does not use all of it.

    Examples
    --------
    >>> round(bead_area_m2(1.0, 0.001, 0.344))
    3936

    References
    ----------
    arithmetic
    """
    return 6.0 * packed_m3 * (1.0 - void_frac) / bead_diameter_m


@formula(
    flow_m3_s=(0.0, 10.0),
    inlet_g_m3=(0.0, 1e4),
    outlet_g_m3=(0.0, 1e4),
    media_m3=(1e-6, 1e4),
)
def conversion_g_m3_s(
    flow_m3_s: float, inlet_g_m3: float, outlet_g_m3: float, media_m3: float
) -> float:
    """Conversion in a filter per volume of media.

    Parameters
    ----------
    flow_m3_s
        Flow through the filter [m3/s].
    inlet_g_m3
        Concentration at the inlet [g/m3].
    outlet_g_m3
        Concentration at the outlet [g/m3].
    media_m3
        Volume of the packed media [m3].

    Returns
    -------
    float
        Mass converted per media volume and time [g/(m3 s)]; negative where the water gains.

    Notes
    -----
    Q (C_i - C_e)/V, for total ammonia and oxygen alike. Nitrite conversion is this for nitrite
    plus that for total ammonia, which becomes nitrite on the way.

    Examples
    --------
    >>> round(conversion_g_m3_s(200e-3 / 60.0, 0.8, 0.65, 0.3) * 86400.0)
    144

    References
    ----------
    malone_beecher_2000
    """
    return flow_m3_s * (inlet_g_m3 - outlet_g_m3) / media_m3
