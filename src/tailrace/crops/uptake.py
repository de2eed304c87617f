"""What a crop takes out of the water: by its harvest, by its growth, by the water it drinks."""

from __future__ import annotations

from tailrace.formula import formula


@formula(fresh_kg=(0.0, 1e7), dry_frac=(0.01, 0.5), content_frac=(0.0, 0.2))
def nutrient_in_harvest_g(fresh_kg: float, dry_frac: float, content_frac: float) -> float:
    """Nutrient carried off with a harvest.

    Parameters
    ----------
    fresh_kg
        Fresh mass harvested, with what is thrown away [kg].
    dry_frac
        Dry mass in the fresh [-].
    content_frac
        Nutrient in the dry mass [-].

    Returns
    -------
    float or ndarray
        Nutrient, as the element [g].

    Examples
    --------
    >>> round(nutrient_in_harvest_g(10.0, 0.05, 0.045), 2)
    22.5

    References
    ----------
    arithmetic
    """
    return 1000.0 * fresh_kg * dry_frac * content_frac


@formula(yield_kg_m2_s=(0.0, 1e-4), dry_frac=(0.01, 0.5), content_frac=(0.0, 0.2))
def nutrient_uptake_g_m2_s(yield_kg_m2_s: float, dry_frac: float, content_frac: float) -> float:
    """Nutrient that an area of crop takes up, from its growth.

    Parameters
    ----------
    yield_kg_m2_s
        Growth of fresh mass on an area in a unit of time [kg/(m2 s)].
    dry_frac
        Dry mass in the fresh [-].
    content_frac
        Nutrient in the dry mass [-].

    Returns
    -------
    float or ndarray
        Nutrient, as the element [g/(m2 s)].

    Notes
    -----
    Roots and what is cut away belong to the growth. A mean over the crop; a young stand takes
    up far less and a closed one more.

    Examples
    --------
    >>> uptake = nutrient_uptake_g_m2_s(5.0 / (30.0 * 86400.0), 0.05, 0.045)
    >>> round(uptake * 86400.0, 3)
    0.375

    References
    ----------
    arithmetic
    """
    return 1000.0 * yield_kg_m2_s * dry_frac * content_frac


@formula(available_g_s=(0.0, 1e3), uptake_g_m2_s=(1e-9, 1e-3))
def area_for_uptake_m2(available_g_s: float, uptake_g_m2_s: float) -> float:
    """Plant area that takes up all of a nutrient that is set free.

    Parameters
    ----------
    available_g_s
        Nutrient set free in a unit of time, as the element [g/s].
    uptake_g_m2_s
        Nutrient that an area takes up in a unit of time, as the element [g/(m2 s)].

    Returns
    -------
    float or ndarray
        Plant area [m2].

    Examples
    --------
    >>> round(area_for_uptake_m2(20.0 / 86400.0, 1.0 / 86400.0), 6)
    20.0

    References
    ----------
    arithmetic
    """
    return available_g_s / uptake_g_m2_s


@formula(water_m3_s=(0.0, 10.0), uptake_g_m3=(0.0, 2000.0))
def nutrient_with_water_g_s(water_m3_s: float, uptake_g_m3: float) -> float:
    """Nutrient that a crop takes up with the water it drinks.

    Parameters
    ----------
    water_m3_s
        Water that the crop takes up [m3/s].
    uptake_g_m3
        Nutrient taken up for the water taken up, as the element [g/m3].

    Returns
    -------
    float or ndarray
        Nutrient, as the element [g/s].

    Notes
    -----
    The uptake concentration is a ratio found in trials, not the concentration of the water: a
    crop takes nitrate and potassium up faster than water and calcium more slowly.

    Examples
    --------
    >>> round(nutrient_with_water_g_s(0.020 / 86400.0, 150.0) * 86400.0, 3)
    3.0

    References
    ----------
    arithmetic
    """
    return water_m3_s * uptake_g_m3
