"""Sizing of a bead filter from its load, and the bookkeeping of its solids and water."""

from __future__ import annotations

from tailrace.formula import formula


@formula(feed_kg_s=(0.0, 1.0), load_kg_m3_s=(1e-9, 1e-2))
def media_from_feed_m3(feed_kg_s: float, load_kg_m3_s: float) -> float:
    """Bead volume that a feed load rule asks for.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    load_kg_m3_s
        Feed per bead volume and time; 16 kg/m3 a day for grow-out [kg/(m3 s)].

    Returns
    -------
    float
        Packed bead volume [m3].

    Notes
    -----
    Feed over load. The rule holds solids, oxygen and ammonia together for feeds of about 35 %
    protein and warm water; see `rules`.

    Examples
    --------
    >>> round(media_from_feed_m3(2.0 / 86400.0, 16.0 / 86400.0), 3)
    0.125

    References
    ----------
    malone_beecher_2000
    """
    return feed_kg_s / load_kg_m3_s


@formula(
    ammonia_n_g_s=(0.0, 1e3),
    conversion_g_m3_s=(1e-9, 1.0),
    elsewhere_frac=(0.0, 1.0),
)
def media_from_ammonia_m3(
    ammonia_n_g_s: float, conversion_g_m3_s: float, elsewhere_frac: float = 0.3
) -> float:
    """Bead volume that the production of total ammonia asks for.

    Parameters
    ----------
    ammonia_n_g_s
        Total ammonia produced [g N/s].
    conversion_g_m3_s
        Conversion per bead volume at the total ammonia that is allowed [g/(m3 s)].
    elsewhere_frac
        Share nitrified on walls, in plant beds and in the water; 0.3 by the source [-].

    Returns
    -------
    float
        Packed bead volume [m3].

    Notes
    -----
    P (1 - I)/VTR.

    Examples
    --------
    >>> round(media_from_ammonia_m3(58.9 / 86400.0, 250.0 / 86400.0), 4)
    0.1649

    References
    ----------
    malone_beecher_2000
    """
    return ammonia_n_g_s * (1.0 - elsewhere_frac) / conversion_g_m3_s


@formula(
    ammonia_conversion_g_m3_s=(0.0, 1.0),
    nitrite_conversion_g_m3_s=(0.0, 1.0),
    oxygen_use_g_m3_s=(1e-12, 10.0),
    first_step_kg_kg=(0.0, 5.0),
    second_step_kg_kg=(0.0, 5.0),
)
def nitrification_share_frac(
    ammonia_conversion_g_m3_s: float,
    nitrite_conversion_g_m3_s: float,
    oxygen_use_g_m3_s: float,
    first_step_kg_kg: float = 3.43,
    second_step_kg_kg: float = 1.14,
) -> float:
    """Share of a filter's oxygen use that nitrification takes; the rest is decay of solids.

    Parameters
    ----------
    ammonia_conversion_g_m3_s
        Conversion of total ammonia per bead volume [g/(m3 s)].
    nitrite_conversion_g_m3_s
        Conversion of nitrite per bead volume, that made on the way included [g/(m3 s)].
    oxygen_use_g_m3_s
        Oxygen used per bead volume [g/(m3 s)].
    first_step_kg_kg
        Oxygen per ammonia nitrogen to nitrite [kg/kg].
    second_step_kg_kg
        Oxygen per nitrite nitrogen to nitrate [kg/kg].

    Returns
    -------
    float
        Share [-]; falling, it says that solids stay too long in the bead bed.

    Notes
    -----
    (3.43 VTR + 1.14 VNR)/OCF, without cells.

    Examples
    --------
    >>> round(nitrification_share_frac(144e-5, 163.2e-5, 1632e-5), 4)
    0.4166

    References
    ----------
    malone_beecher_2000
    """
    used = first_step_kg_kg * ammonia_conversion_g_m3_s
    used += second_step_kg_kg * nitrite_conversion_g_m3_s
    return used / oxygen_use_g_m3_s


@formula(
    feed_kg_s=(0.0, 1.0),
    solids_kg_kg=(0.0, 1.0),
    capture_frac=(0.0, 1.0),
    interval_s=(0.0, 1e7),
    media_m3=(1e-6, 1e4),
)
def held_solids_kg_m3(
    feed_kg_s: float,
    solids_kg_kg: float,
    capture_frac: float,
    interval_s: float,
    media_m3: float,
) -> float:
    """Solids that a bead bed holds just before a backwash.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    solids_kg_kg
        Dry solids per feed [kg/kg].
    capture_frac
        Share of them that the filter catches in the end [-].
    interval_s
        Time between backwashes [s].
    media_m3
        Packed bead volume [m3].

    Returns
    -------
    float
        Dry solids per bead volume [kg/m3].

    Notes
    -----
    F k c t/V, decay in the bead bed not taken off, nothing left over from before.

    Examples
    --------
    >>> round(held_solids_kg_m3(2.0 / 86400.0, 0.25, 0.8, 86400.0, 0.125), 2)
    3.2

    References
    ----------
    arithmetic
    """
    return feed_kg_s * solids_kg_kg * capture_frac * interval_s / media_m3


@formula(backwashes_per_s=(0.0, 1.0), loss_m3=(0.0, 100.0))
def backwash_water_m3_s(backwashes_per_s: float, loss_m3: float) -> float:
    """Water that backwashes or sludge drains take from the loop.

    Parameters
    ----------
    backwashes_per_s
        How often [1/s].
    loss_m3
        Water let out each time; none where only sludge is drained [m3].

    Returns
    -------
    float
        Water [m3/s].

    Notes
    -----
    Number times volume.

    Examples
    --------
    >>> round(backwash_water_m3_s(1.0 / 86400.0, 0.060) * 7.0 * 86400.0, 2)
    0.42

    References
    ----------
    arithmetic
    """
    return backwashes_per_s * loss_m3


@formula(solids_kg=(0.0, 1e6), water_m3=(1e-9, 1e6))
def sludge_content_kg_m3(solids_kg: float, water_m3: float) -> float:
    """Dry solids in the water let out.

    Parameters
    ----------
    solids_kg
        Dry solids [kg].
    water_m3
        Water they come with [m3].

    Returns
    -------
    float
        Content [kg/m3]; 10 kg/m3 is 1 % solids.

    Notes
    -----
    Mass over volume.

    Examples
    --------
    >>> round(sludge_content_kg_m3(0.4, 0.060), 2)
    6.67

    References
    ----------
    arithmetic
    """
    return solids_kg / water_m3


@formula(solids_kg_s=(0.0, 1e3), settled_kg_m3=(1e-6, 1e3))
def settled_sludge_m3_s(solids_kg_s: float, settled_kg_m3: float) -> float:
    """Volume of settled sludge that a flow of solids makes.

    Parameters
    ----------
    solids_kg_s
        Dry solids [kg/s].
    settled_kg_m3
        Content after settling [kg/m3].

    Returns
    -------
    float
        Sludge [m3/s].

    Notes
    -----
    Mass over content.

    Examples
    --------
    >>> round(settled_sludge_m3_s(0.4 / 86400.0, 15.0) * 86400e3, 1)
    26.7

    References
    ----------
    arithmetic
    """
    return solids_kg_s / settled_kg_m3
