"""Readings of alkalinity and hardness: as calcium carbonate, bicarbonate, or degrees."""

from __future__ import annotations

from typing import Final

from tailrace.formula import formula
from tailrace.water import molar_masses as mass

GRAIN_PER_US_GALLON_G_M3: Final = 64798.91 / 3785.411784  # both exact by definition
GRAIN_PER_IMPERIAL_GALLON_G_M3: Final = 64798.91 / 4546.09  # both exact by definition
CAO_PER_DEGREE_G_M3: Final = 10.0  # a German degree is 10 mg CaO in a litre


@formula(alkalinity_caco3_g_m3=(0.0, 1e5))
def alkalinity_from_caco3_eq_m3(alkalinity_caco3_g_m3: float) -> float:
    """Alkalinity reported as calcium carbonate, in equivalents.

    Parameters
    ----------
    alkalinity_caco3_g_m3
        Alkalinity as CaCO3 [g CaCO3/m3].

    Returns
    -------
    float
        Alkalinity [eq/m3].

    Examples
    --------
    >>> round(alkalinity_from_caco3_eq_m3(100.0), 4)
    1.9983

    References
    ----------
    iupac_2021
    """
    return alkalinity_caco3_g_m3 / mass.CACO3_G_EQ


@formula(alkalinity_eq_m3=(0.0, 1e5))
def alkalinity_as_caco3_g_m3(alkalinity_eq_m3: float) -> float:
    """Alkalinity in equivalents, as calcium carbonate.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3].

    Returns
    -------
    float
        Alkalinity as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(alkalinity_as_caco3_g_m3(2.0), 2)
    100.09

    References
    ----------
    iupac_2021
    """
    return alkalinity_eq_m3 * mass.CACO3_G_EQ


@formula(alkalinity_as_hco3_g_m3=(0.0, 1e5))
def alkalinity_from_hco3_eq_m3(alkalinity_as_hco3_g_m3: float) -> float:
    """Alkalinity reported as bicarbonate, in equivalents.

    Parameters
    ----------
    alkalinity_as_hco3_g_m3
        Alkalinity as HCO3 [g/m3].

    Returns
    -------
    float
        Alkalinity [eq/m3].

    Examples
    --------
    >>> round(alkalinity_from_hco3_eq_m3(122.0), 4)
    1.9995

    References
    ----------
    iupac_2021
    """
    return alkalinity_as_hco3_g_m3 / mass.HCO3_G_MOL


@formula(alkalinity_eq_m3=(0.0, 1e5))
def alkalinity_as_hco3_g_m3(alkalinity_eq_m3: float) -> float:
    """Alkalinity in equivalents, as bicarbonate.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3].

    Returns
    -------
    float
        Alkalinity as HCO3 [g/m3].

    Examples
    --------
    >>> round(alkalinity_as_hco3_g_m3(2.0), 2)
    122.03

    References
    ----------
    iupac_2021
    """
    return alkalinity_eq_m3 * mass.HCO3_G_MOL


@formula(alkalinity_dkh=(0.0, 1e5))
def alkalinity_from_dkh_eq_m3(alkalinity_dkh: float) -> float:
    """Alkalinity in German degrees of carbonate hardness, in equivalents.

    Parameters
    ----------
    alkalinity_dkh
        Alkalinity in German degrees [dKH].

    Returns
    -------
    float
        Alkalinity [eq/m3].

    Examples
    --------
    >>> round(alkalinity_from_dkh_eq_m3(1.0), 4)
    0.3567

    References
    ----------
    hardness_degrees, iupac_2021
    """
    return alkalinity_dkh * 2.0 * CAO_PER_DEGREE_G_M3 / mass.CAO_G_MOL


@formula(alkalinity_eq_m3=(0.0, 1e5))
def alkalinity_dkh(alkalinity_eq_m3: float) -> float:
    """Alkalinity in equivalents, in German degrees of carbonate hardness.

    Parameters
    ----------
    alkalinity_eq_m3
        Alkalinity [eq/m3].

    Returns
    -------
    float
        Alkalinity in German degrees [dKH].

    Examples
    --------
    >>> round(alkalinity_dkh(2.0), 3)
    5.608

    References
    ----------
    hardness_degrees, iupac_2021
    """
    return alkalinity_eq_m3 * mass.CAO_G_MOL / (2.0 * CAO_PER_DEGREE_G_M3)


@formula(hardness_dgh=(0.0, 1e5))
def hardness_from_dgh_caco3_g_m3(hardness_dgh: float) -> float:
    """Hardness in German degrees, as calcium carbonate.

    Parameters
    ----------
    hardness_dgh
        Hardness in German degrees [dGH].

    Returns
    -------
    float
        Hardness as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(hardness_from_dgh_caco3_g_m3(1.0), 3)
    17.848

    References
    ----------
    hardness_degrees, iupac_2021
    """
    return hardness_dgh * CAO_PER_DEGREE_G_M3 * mass.CACO3_G_MOL / mass.CAO_G_MOL


@formula(hardness_caco3_g_m3=(0.0, 1e5))
def hardness_dgh(hardness_caco3_g_m3: float) -> float:
    """Hardness as calcium carbonate, in German degrees.

    Parameters
    ----------
    hardness_caco3_g_m3
        Hardness as CaCO3 [g CaCO3/m3].

    Returns
    -------
    float
        Hardness in German degrees [dGH].

    Examples
    --------
    >>> round(hardness_dgh(180.0), 2)
    10.09

    References
    ----------
    hardness_degrees, iupac_2021
    """
    return hardness_caco3_g_m3 * mass.CAO_G_MOL / (CAO_PER_DEGREE_G_M3 * mass.CACO3_G_MOL)


@formula(hardness_gpg=(0.0, 1e5))
def hardness_from_gpg_caco3_g_m3(hardness_gpg: float) -> float:
    """Hardness in grains per US gallon, as calcium carbonate.

    Parameters
    ----------
    hardness_gpg
        Hardness in grains of CaCO3 per US gallon [grain/gal].

    Returns
    -------
    float
        Hardness as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(hardness_from_gpg_caco3_g_m3(1.0), 3)
    17.118

    References
    ----------
    hardness_degrees
    """
    return hardness_gpg * GRAIN_PER_US_GALLON_G_M3


@formula(hardness_clark=(0.0, 1e5))
def hardness_from_clark_caco3_g_m3(hardness_clark: float) -> float:
    """Hardness in Clark (English) degrees, as calcium carbonate.

    Parameters
    ----------
    hardness_clark
        Hardness in grains of CaCO3 per imperial gallon [degree Clark].

    Returns
    -------
    float
        Hardness as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(hardness_from_clark_caco3_g_m3(1.0), 3)
    14.254

    References
    ----------
    hardness_degrees
    """
    return hardness_clark * GRAIN_PER_IMPERIAL_GALLON_G_M3


@formula(hardness_mol_m3=(0.0, 1e5))
def hardness_from_amount_caco3_g_m3(hardness_mol_m3: float) -> float:
    """Hardness as amount of calcium and magnesium, as calcium carbonate.

    Parameters
    ----------
    hardness_mol_m3
        Calcium and magnesium together; 1 mmol/L is 1 mol/m3 [mol/m3].

    Returns
    -------
    float
        Hardness as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(hardness_from_amount_caco3_g_m3(1.0), 3)
    100.086

    References
    ----------
    iupac_2021
    """
    return hardness_mol_m3 * mass.CACO3_G_MOL


@formula(hardness_caco3_g_m3=(0.0, 1e5))
def hardness_mol_m3(hardness_caco3_g_m3: float) -> float:
    """Hardness as calcium carbonate, as amount of calcium and magnesium.

    Parameters
    ----------
    hardness_caco3_g_m3
        Hardness as CaCO3 [g CaCO3/m3].

    Returns
    -------
    float
        Calcium and magnesium together [mol/m3].

    Examples
    --------
    >>> round(hardness_mol_m3(100.0), 4)
    0.9991

    References
    ----------
    iupac_2021
    """
    return hardness_caco3_g_m3 / mass.CACO3_G_MOL


@formula(calcium_g_m3=(0.0, 1e5), magnesium_g_m3=(0.0, 1e5))
def hardness_from_ions_caco3_g_m3(calcium_g_m3: float, magnesium_g_m3: float) -> float:
    """Total hardness from calcium and magnesium.

    Parameters
    ----------
    calcium_g_m3
        Calcium [g/m3].
    magnesium_g_m3
        Magnesium [g/m3].

    Returns
    -------
    float
        Hardness as CaCO3 [g CaCO3/m3].

    Examples
    --------
    >>> round(hardness_from_ions_caco3_g_m3(40.0, 12.0), 1)
    149.3

    References
    ----------
    iupac_2021
    """
    amount = calcium_g_m3 / mass.CALCIUM_G_MOL + magnesium_g_m3 / mass.MAGNESIUM_G_MOL
    return amount * mass.CACO3_G_MOL
