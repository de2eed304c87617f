"""What feed becomes: ammonia, solids, oxygen used and carbon dioxide made by the fish.

Feed is as fed, in kg; a ration a day is divided by 86400 s before it comes here. What is not
eaten is not in these formulas: take it off the feed first.
"""

from __future__ import annotations

from tailrace.formula import formula


@formula(
    feed_kg_s=(0.0, 1.0), feed_protein_frac=(0.1, 0.7), nitrogen_to_protein_kg_kg=(0.02, 0.16)
)
def excreted_total_ammonia_n_g_s(
    feed_kg_s: float, feed_protein_frac: float, nitrogen_to_protein_kg_kg: float = 0.092
) -> float:
    """Total ammonia that fish excrete, from the feed they eat.

    Parameters
    ----------
    feed_kg_s
        Feed eaten, as fed [kg/s].
    feed_protein_frac
        Crude protein in the feed [-].
    nitrogen_to_protein_kg_kg
        Ammonia nitrogen excreted per protein eaten [kg/kg].

    Returns
    -------
    float or ndarray
        Total ammonia excreted, as N [g N/s].

    Notes
    -----
    ``1000 F PC 0.092``. The factor is usually explained as 0.16 N in protein, 0.80 taken up,
    0.80 excreted and 0.90 of that as ammonia. A mean over a day at a steady ration; it leaves
    out the lag after a meal and what fish excrete when they are not fed.

    Examples
    --------
    >>> round(excreted_total_ammonia_n_g_s(100.0 / 86400.0, 0.35) * 86400.0)
    3220

    References
    ----------
    timmons_ebeling
    """
    return 1000.0 * feed_kg_s * feed_protein_frac * nitrogen_to_protein_kg_kg


@formula(
    feed_kg_s=(0.0, 1.0),
    feed_protein_frac=(0.1, 0.7),
    nitrogen_in_protein_frac=(0.14, 0.19),
    excreted_frac=(0.0, 1.0),
)
def excreted_ammonia_by_share_n_g_s(
    feed_kg_s: float,
    feed_protein_frac: float,
    nitrogen_in_protein_frac: float = 0.16,
    excreted_frac: float = 0.61,
) -> float:
    """Total ammonia that fish excrete, as a share of the nitrogen fed.

    Parameters
    ----------
    feed_kg_s
        Feed eaten, as fed [kg/s].
    feed_protein_frac
        Crude protein in the feed [-].
    nitrogen_in_protein_frac
        Nitrogen in protein [-].
    excreted_frac
        Share of the nitrogen fed that is excreted as ammonia [-].

    Returns
    -------
    float or ndarray
        Total ammonia excreted, as N [g N/s].

    Notes
    -----
    ``1000 F PC 0.16 share``. With 0.61 it gives 0.0976 per protein, 6 % above the factor 0.092
    of `excreted_total_ammonia_n_g_s`: the two sources differ by that much.

    Examples
    --------
    >>> round(excreted_ammonia_by_share_n_g_s(0.2 / 86400.0, 0.32) * 86400.0, 3)
    6.246

    References
    ----------
    somerville_2014
    """
    return 1000.0 * feed_kg_s * feed_protein_frac * nitrogen_in_protein_frac * excreted_frac


@formula(
    feed_protein_frac=(0.1, 0.7),
    feed_conversion_kg_kg=(0.5, 10.0),
    nitrogen_in_protein_frac=(0.14, 0.19),
    body_nitrogen_kg_kg=(0.01, 0.05),
)
def released_nitrogen_kg_kg(
    feed_protein_frac: float,
    feed_conversion_kg_kg: float,
    nitrogen_in_protein_frac: float = 0.16,
    body_nitrogen_kg_kg: float = 0.0272,
) -> float:
    """Nitrogen that the fish do not keep, in any form, per feed eaten.

    Parameters
    ----------
    feed_protein_frac
        Crude protein in the feed [-].
    feed_conversion_kg_kg
        Feed eaten per gain of wet fish [kg/kg].
    nitrogen_in_protein_frac
        Nitrogen in protein [-].
    body_nitrogen_kg_kg
        Nitrogen in the wet gain [kg/kg].

    Returns
    -------
    float or ndarray
        Nitrogen released per feed [kg/kg].

    Notes
    -----
    Mass balance ``0.16 PC - body N / FCR``: ammonia, urea and what is in the faeces together.
    Negative when the inputs claim more growth than the protein allows.

    Examples
    --------
    >>> round(1000.0 * released_nitrogen_kg_kg(0.36, 1.4), 2)
    38.17

    References
    ----------
    judgement
    """
    return feed_protein_frac * nitrogen_in_protein_frac - (
        body_nitrogen_kg_kg / feed_conversion_kg_kg
    )


@formula(feed_kg_s=(0.0, 1.0), solids_kg_kg=(0.0, 0.6))
def feed_solids_kg_s(feed_kg_s: float, solids_kg_kg: float = 0.25) -> float:
    """Dry solids that feed leaves in the water.

    Parameters
    ----------
    feed_kg_s
        Feed eaten, as fed [kg/s].
    solids_kg_kg
        Dry solids per feed [kg/kg].

    Returns
    -------
    float or ndarray
        Dry solids [kg/s].

    Notes
    -----
    ``0.25 F``; the literature runs from 0.2 to 0.4. Feed that is not eaten adds nearly its whole
    dry mass on top.

    Examples
    --------
    >>> round(feed_solids_kg_s(10.0 / 86400.0) * 86400.0, 6)
    2.5

    References
    ----------
    timmons_ebeling
    """
    return feed_kg_s * solids_kg_kg


@formula(feed_kg_s=(0.0, 1.0), oxygen_kg_kg=(0.0, 1.0))
def fish_oxygen_use_kg_s(feed_kg_s: float, oxygen_kg_kg: float = 0.30) -> float:
    """Oxygen that the fish themselves use, from the feed they eat.

    Parameters
    ----------
    feed_kg_s
        Feed eaten, as fed [kg/s].
    oxygen_kg_kg
        Oxygen used by the fish per feed [kg/kg].

    Returns
    -------
    float or ndarray
        Oxygen used [kg/s].

    Notes
    -----
    ``0.30 F``, chosen within the usual 0.2 to 0.5. A mean over the day: after a meal it is
    higher, and it does not stop with the feed. Bacteria on beads, rafts and in the sludge come
    on top, so this alone must not size an air supply.

    Examples
    --------
    >>> round(fish_oxygen_use_kg_s(10.0 / 86400.0) * 86400.0, 6)
    3.0

    References
    ----------
    timmons_ebeling
    """
    return feed_kg_s * oxygen_kg_kg


@formula(oxygen_use_kg_s=(0.0, 1.0), respiratory_quotient=(0.6, 1.2))
def respired_carbon_dioxide_kg_s(
    oxygen_use_kg_s: float, respiratory_quotient: float = 1.0
) -> float:
    """Carbon dioxide made for oxygen used.

    Parameters
    ----------
    oxygen_use_kg_s
        Oxygen used [kg/s].
    respiratory_quotient
        Moles of carbon dioxide per mole of oxygen [-].

    Returns
    -------
    float or ndarray
        Carbon dioxide made [kg/s].

    Notes
    -----
    ``1.375 RQ O2``; 1.375 is the ratio of the molar masses (44.01/32.00). RQ is 0.7 on fat,
    0.8 to 0.9 on protein and 1.0 on starch; 1.0 errs towards more carbon dioxide.

    Examples
    --------
    >>> round(respired_carbon_dioxide_kg_s(5.0 / 86400.0) * 86400.0, 3)
    6.875

    References
    ----------
    timmons_ebeling
    """
    return 1.375 * respiratory_quotient * oxygen_use_kg_s


@formula(feed_kg_s=(0.0, 1.0), feed_protein_frac=(0.1, 0.7))
def protein_fed_kg_s(feed_kg_s: float, feed_protein_frac: float) -> float:
    """Crude protein in the feed.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    feed_protein_frac
        Crude protein in the feed [-].

    Returns
    -------
    float or ndarray
        Crude protein [kg/s].

    Examples
    --------
    >>> round(protein_fed_kg_s(0.2 / 86400.0, 0.32) * 86400.0, 3)
    0.064

    References
    ----------
    arithmetic
    """
    return feed_kg_s * feed_protein_frac


@formula(feed_kg_s=(0.0, 1.0), feed_protein_frac=(0.1, 0.7), nitrogen_in_protein_frac=(0.14, 0.19))
def nitrogen_fed_n_g_s(
    feed_kg_s: float, feed_protein_frac: float, nitrogen_in_protein_frac: float = 0.16
) -> float:
    """Nitrogen in the feed.

    Parameters
    ----------
    feed_kg_s
        Feed, as fed [kg/s].
    feed_protein_frac
        Crude protein in the feed [-].
    nitrogen_in_protein_frac
        Nitrogen in protein [-].

    Returns
    -------
    float or ndarray
        Nitrogen fed [g N/s].

    Notes
    -----
    Laboratories find crude protein from nitrogen by the factor 6.25, which is 0.16 turned over.

    Examples
    --------
    >>> round(nitrogen_fed_n_g_s(0.2 / 86400.0, 0.32) * 86400.0, 2)
    10.24

    References
    ----------
    somerville_2014
    """
    return 1000.0 * feed_kg_s * feed_protein_frac * nitrogen_in_protein_frac


@formula(fish_count=(0.0, 1e7), fish_mass_kg=(1e-5, 20.0), excretion_per_s=(0.0, 1e-7))
def excretion_by_biomass_g_s(
    fish_count: float, fish_mass_kg: float, excretion_per_s: float
) -> float:
    """Mass that fish give off, from their own mass.

    Parameters
    ----------
    fish_count
        Number of fish [-].
    fish_mass_kg
        Mean mass of one fish [kg].
    excretion_per_s
        Mass given off per fish mass and time, kg per kg and second [1/s].

    Returns
    -------
    float or ndarray
        Mass given off, counted as the rate is [g/s].

    Notes
    -----
    For fish that are not fed, or where the feed is not known; the rate falls with size and
    rises with warmth and feed, so it is good only near the fish that it was measured on.

    Examples
    --------
    >>> excreted = excretion_by_biomass_g_s(1000.0, 0.075, 25e-3 / 100.0 / 86400.0)
    >>> round(excreted * 86400.0, 2)
    18.75

    References
    ----------
    ammonia_loading_note
    """
    return 1000.0 * fish_count * fish_mass_kg * excretion_per_s
