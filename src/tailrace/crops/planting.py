"""Area, feed and harvest of a plant bed, each one line of arithmetic with its units kept.

Which feed an area stands is a rule of thumb with a name: see `tailrace.crops.facts`.
"""

from __future__ import annotations

from tailrace.formula import formula


@formula(harvest_per_s=(0.0, 10.0), growth_time_s=(3600.0, 1e8), planting_per_m2=(0.1, 1e4))
def growing_area_m2(harvest_per_s: float, growth_time_s: float, planting_per_m2: float) -> float:
    """Area for a steady harvest of plants that stand for a time.

    Parameters
    ----------
    harvest_per_s
        Plants harvested in a unit of time [1/s].
    growth_time_s
        Time from planting out to harvest [s].
    planting_per_m2
        Plants on an area [1/m2].

    Returns
    -------
    float or ndarray
        Area [m2].

    Examples
    --------
    >>> week = 7.0 * 86400.0
    >>> round(growing_area_m2(25.0 / week, 4.0 * week, 25.0), 6)
    4.0

    References
    ----------
    somerville_2014
    """
    return harvest_per_s * growth_time_s / planting_per_m2


@formula(area_m2=(0.0, 1e7), feed_kg_m2_s=(0.0, 1e-5))
def feed_for_area_kg_s(area_m2: float, feed_kg_m2_s: float) -> float:
    """Feed that a plant area stands by a feed-per-area rule.

    Parameters
    ----------
    area_m2
        Plant area [m2].
    feed_kg_m2_s
        Feed per plant area of the rule, as fed [kg/(m2 s)].

    Returns
    -------
    float or ndarray
        Feed, as fed [kg/s].

    Examples
    --------
    >>> round(feed_for_area_kg_s(4.0, 0.050 / 86400.0) * 86400.0, 6)
    0.2

    References
    ----------
    somerville_2014
    """
    return area_m2 * feed_kg_m2_s


@formula(feed_kg_s=(0.0, 1.0), feed_kg_m2_s=(1e-9, 1e-5))
def area_for_feed_m2(feed_kg_s: float, feed_kg_m2_s: float) -> float:
    """Plant area that a feed asks for by a feed-per-area rule.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    feed_kg_m2_s
        Feed per plant area of the rule, as fed [kg/(m2 s)].

    Returns
    -------
    float or ndarray
        Plant area [m2].

    Examples
    --------
    >>> round(area_for_feed_m2(9.216 / 86400.0, 0.060 / 86400.0), 1)
    153.6

    References
    ----------
    rakocy_2007
    """
    return feed_kg_s / feed_kg_m2_s


@formula(feed_kg_s=(0.0, 1.0), area_m2=(1e-3, 1e7))
def feed_per_area_kg_m2_s(feed_kg_s: float, area_m2: float) -> float:
    """Feed per plant area of a loop as it is.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    area_m2
        Plant area [m2].

    Returns
    -------
    float or ndarray
        Feed per plant area, as fed [kg/(m2 s)].

    Examples
    --------
    >>> feed = 1.7 * 4160.0 / (365.0 * 86400.0)
    >>> round(1000.0 * 86400.0 * feed_per_area_kg_m2_s(feed, 214.0), 1)
    90.5

    References
    ----------
    arithmetic
    """
    return feed_kg_s / area_m2


@formula(yield_kg_m2_s=(0.0, 1e-4), area_m2=(0.0, 1e7))
def crop_yield_kg_s(yield_kg_m2_s: float, area_m2: float) -> float:
    """Harvest of an area in a unit of time.

    Parameters
    ----------
    yield_kg_m2_s
        Fresh mass harvested from an area in a unit of time [kg/(m2 s)].
    area_m2
        Area of the crop [m2].

    Returns
    -------
    float or ndarray
        Fresh mass [kg/s].

    Examples
    --------
    >>> year = 365.25 * 86400.0
    >>> round(crop_yield_kg_s(25.0 / year, 214.0) * year)
    5350

    References
    ----------
    arithmetic
    """
    return yield_kg_m2_s * area_m2
