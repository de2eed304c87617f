"""How much water or filter a load asks for, each by a steady balance of one substance.

Work out each substance by itself and take the largest flow: the one that asks for it is what
limits the loop.
"""

from __future__ import annotations

import math

from tailrace.formula import formula

_FLOW = (0.0, 1e3)
_LEVEL = (0.0, 1e5)


@formula(use_g_s=(0.0, 1e5), inlet_g_m3=_LEVEL, outlet_g_m3=_LEVEL)
def flow_to_supply_m3_s(use_g_s: float, inlet_g_m3: float, outlet_g_m3: float) -> float:
    """Water flow that brings what is used, such as oxygen.

    Parameters
    ----------
    use_g_s
        Mass used in the tank in a unit of time [g/s].
    inlet_g_m3
        Concentration of the water that comes in [g/m3].
    outlet_g_m3
        Concentration to be kept in the tank and its outlet [g/m3].

    Returns
    -------
    float or ndarray
        Water flow [m3/s].

    Notes
    -----
    ``Q = P/(Cin - Cout)``, steady and mixed; NaN where the water that comes in does not hold
    more than the tank, as no flow is enough then.

    Examples
    --------
    >>> flow = flow_to_supply_m3_s(40e3 / 86400.0, 15.0, 5.0)
    >>> round(flow * 60e3, 2)
    2777.78

    References
    ----------
    losordo_westers_1994
    """
    if inlet_g_m3 <= outlet_g_m3:
        return math.nan
    return use_g_s / (inlet_g_m3 - outlet_g_m3)


@formula(production_g_s=(0.0, 1e5), outlet_g_m3=_LEVEL, inlet_g_m3=_LEVEL)
def flow_to_carry_off_m3_s(production_g_s: float, outlet_g_m3: float, inlet_g_m3: float) -> float:
    """Water flow that carries off what is made, such as carbon dioxide, ammonia or nitrate.

    Parameters
    ----------
    production_g_s
        Mass made in the tank in a unit of time [g/s].
    outlet_g_m3
        Concentration not to be passed in the tank and its outlet [g/m3].
    inlet_g_m3
        Concentration of the water that comes in [g/m3].

    Returns
    -------
    float or ndarray
        Water flow [m3/s].

    Notes
    -----
    ``Q = P/(Cout - Cin)``, steady and mixed; NaN where the water that comes in already holds as
    much as the limit, as no flow is enough then.

    Examples
    --------
    >>> round(flow_to_carry_off_m3_s(55e3 / 86400.0, 20.0, 8.0) * 60e3, 2)
    3182.87

    References
    ----------
    losordo_hobbs_2000
    """
    if outlet_g_m3 <= inlet_g_m3:
        return math.nan
    return production_g_s / (outlet_g_m3 - inlet_g_m3)


@formula(production_g_s=(0.0, 1e5), concentration_g_m3=(1e-6, 1e5), removed_frac=(1e-4, 1.0))
def flow_through_treatment_m3_s(
    production_g_s: float, concentration_g_m3: float, removed_frac: float
) -> float:
    """Water flow to pass through a treatment that takes a share at each pass.

    Parameters
    ----------
    production_g_s
        Mass made in the tank in a unit of time [g/s].
    concentration_g_m3
        Concentration not to be passed in the tank [g/m3].
    removed_frac
        Share that the treatment takes out at each pass [-].

    Returns
    -------
    float or ndarray
        Water flow [m3/s].

    Notes
    -----
    ``Q = P/(C e)``, steady, mixed, no new water.

    Examples
    --------
    >>> round(flow_through_treatment_m3_s(3220.0 / 86400.0, 1.0, 0.35) * 60e3, 2)
    6388.89

    References
    ----------
    losordo_hobbs_2000
    """
    return production_g_s / (concentration_g_m3 * removed_frac)


@formula(
    exchange_m3_s=_FLOW, limit_g_m3=_LEVEL, source_g_m3=_LEVEL, made_per_feed_kg_kg=(1e-6, 2.0)
)
def feed_at_limit_kg_s(
    exchange_m3_s: float, limit_g_m3: float, source_g_m3: float, made_per_feed_kg_kg: float
) -> float:
    """Feed that a water exchange supports without passing a limit.

    Parameters
    ----------
    exchange_m3_s
        New water in a unit of time [m3/s].
    limit_g_m3
        Concentration not to be passed [g/m3].
    source_g_m3
        Concentration of the new water [g/m3].
    made_per_feed_kg_kg
        Mass made of a feed, as fed [kg/kg].

    Returns
    -------
    float or ndarray
        Feed, as fed [kg/s].

    Notes
    -----
    ``F = Q (C - Cs)/y``, steady; for nitrate it leaves out plants and denitrification, which
    allow more. NaN where the new water already passes the limit.

    Examples
    --------
    >>> feed = feed_at_limit_kg_s(0.5 / 86400.0, 75.0, 0.0, 0.032)
    >>> round(feed * 86400.0, 4)
    1.1719

    References
    ----------
    losordo_hobbs_2000
    """
    if limit_g_m3 < source_g_m3:
        return math.nan
    return exchange_m3_s * (limit_g_m3 - source_g_m3) / (1000.0 * made_per_feed_kg_kg)


@formula(load_g_s=(0.0, 1e5), removal_g_m2_s=(1e-9, 1e-2))
def media_surface_m2(load_g_s: float, removal_g_m2_s: float) -> float:
    """Surface of filter media that a load asks for.

    Parameters
    ----------
    load_g_s
        Mass to be taken out in a unit of time, counted as the rate is [g/s].
    removal_g_m2_s
        Mass that a surface takes out in a unit of time [g/(m2 s)].

    Returns
    -------
    float or ndarray
        Surface [m2].

    Examples
    --------
    >>> round(media_surface_m2(7.5 / 86400.0, 0.57 / 86400.0), 2)
    13.16

    References
    ----------
    somerville_2014
    """
    return load_g_s / removal_g_m2_s


@formula(surface_m2=(0.0, 1e7), specific_surface_per_m=(1.0, 1e4))
def media_volume_m3(surface_m2: float, specific_surface_per_m: float) -> float:
    """Volume of filter media that has a surface.

    Parameters
    ----------
    surface_m2
        Surface wanted [m2].
    specific_surface_per_m
        Surface in a volume of media, m2 in m3 [1/m].

    Returns
    -------
    float or ndarray
        Volume of media as filled in [m3].

    Examples
    --------
    >>> round(1000.0 * media_volume_m3(13.1, 300.0), 1)
    43.7

    References
    ----------
    somerville_2014
    """
    return surface_m2 / specific_surface_per_m


@formula(volume_m3=(0.0, 1e6), replaced_per_s=(0.0, 1e-2))
def make_up_flow_m3_s(volume_m3: float, replaced_per_s: float) -> float:
    """Flow of new water that replaces a share of its volume.

    Parameters
    ----------
    volume_m3
        Water in the loop [m3].
    replaced_per_s
        Share replaced in a unit of time [1/s].

    Returns
    -------
    float or ndarray
        New water [m3/s].

    Examples
    --------
    >>> round(make_up_flow_m3_s(110.0, 0.015 / 86400.0) * 86400.0, 3)
    1.65

    References
    ----------
    arithmetic
    """
    return volume_m3 * replaced_per_s
