"""Readings of chloride, phosphate and potassium: as the element, the salt or the oxide."""

from __future__ import annotations

from tailrace.formula import formula
from tailrace.water import molar_masses as mass


@formula(sodium_chloride_g_m3=(0.0, 1e5))
def chloride_from_nacl_g_m3(sodium_chloride_g_m3: float) -> float:
    """Chloride of a reading given as sodium chloride.

    Parameters
    ----------
    sodium_chloride_g_m3
        Reading as NaCl [g/m3].

    Returns
    -------
    float
        Chloride [g/m3].

    Examples
    --------
    >>> round(chloride_from_nacl_g_m3(100.0), 2)
    60.66

    References
    ----------
    iupac_2021
    """
    return sodium_chloride_g_m3 * mass.CHLORINE_G_MOL / mass.NACL_G_MOL


@formula(chloride_g_m3=(0.0, 1e5))
def sodium_chloride_g_m3(chloride_g_m3: float) -> float:
    """Sodium chloride that holds a concentration of chloride.

    Parameters
    ----------
    chloride_g_m3
        Chloride [g/m3].

    Returns
    -------
    float
        Sodium chloride [g/m3].

    Examples
    --------
    >>> round(sodium_chloride_g_m3(1.0), 4)
    1.6485

    References
    ----------
    iupac_2021
    """
    return chloride_g_m3 * mass.NACL_G_MOL / mass.CHLORINE_G_MOL


@formula(phosphate_as_po4_g_m3=(0.0, 1e5))
def phosphorus_from_po4_p_g_m3(phosphate_as_po4_g_m3: float) -> float:
    """Phosphate reported as PO4, counted as phosphorus.

    Parameters
    ----------
    phosphate_as_po4_g_m3
        Phosphate as PO4 [g/m3].

    Returns
    -------
    float
        Phosphate as phosphorus [g P/m3].

    Examples
    --------
    >>> round(phosphorus_from_po4_p_g_m3(30.0), 4)
    9.7844

    References
    ----------
    iupac_2021
    """
    return phosphate_as_po4_g_m3 * mass.PHOSPHORUS_G_MOL / mass.PO4_G_MOL


@formula(phosphorus_p_g_m3=(0.0, 1e5))
def phosphate_as_po4_g_m3(phosphorus_p_g_m3: float) -> float:
    """Phosphate phosphorus, as a kit that reports PO4 shows it.

    Parameters
    ----------
    phosphorus_p_g_m3
        Phosphate as phosphorus [g P/m3].

    Returns
    -------
    float
        Phosphate as PO4 [g/m3].

    Examples
    --------
    >>> round(phosphate_as_po4_g_m3(1.0), 4)
    3.0661

    References
    ----------
    iupac_2021
    """
    return phosphorus_p_g_m3 * mass.PO4_G_MOL / mass.PHOSPHORUS_G_MOL


@formula(phosphate_as_p2o5_g_m3=(0.0, 1e5))
def phosphorus_from_p2o5_p_g_m3(phosphate_as_p2o5_g_m3: float) -> float:
    """Phosphate given as P2O5, as on fertiliser labels, counted as phosphorus.

    Parameters
    ----------
    phosphate_as_p2o5_g_m3
        Phosphate as P2O5 [g/m3].

    Returns
    -------
    float
        Phosphate as phosphorus [g P/m3].

    Examples
    --------
    >>> round(phosphorus_from_p2o5_p_g_m3(1.0), 4)
    0.4364

    References
    ----------
    iupac_2021
    """
    return 2.0 * phosphate_as_p2o5_g_m3 * mass.PHOSPHORUS_G_MOL / mass.P2O5_G_MOL


@formula(potassium_as_k2o_g_m3=(0.0, 1e5))
def potassium_from_k2o_g_m3(potassium_as_k2o_g_m3: float) -> float:
    """Potassium given as K2O, as on fertiliser labels, counted as potassium.

    Parameters
    ----------
    potassium_as_k2o_g_m3
        Potassium as K2O [g/m3].

    Returns
    -------
    float
        Potassium [g/m3].

    Examples
    --------
    >>> round(potassium_from_k2o_g_m3(1.0), 4)
    0.8302

    References
    ----------
    iupac_2021
    """
    return 2.0 * potassium_as_k2o_g_m3 * mass.POTASSIUM_G_MOL / mass.K2O_G_MOL
