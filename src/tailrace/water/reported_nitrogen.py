"""Readings of ammonia, nitrite and nitrate: as nitrogen, or as the ion."""

from __future__ import annotations

from tailrace.formula import formula
from tailrace.water import molar_masses as mass


@formula(ammonia_as_nh3_g_m3=(0.0, 1e5))
def nitrogen_from_nh3_n_g_m3(ammonia_as_nh3_g_m3: float) -> float:
    """Ammonia reported as NH3, counted as nitrogen.

    Parameters
    ----------
    ammonia_as_nh3_g_m3
        Concentration reported as NH3 [g/m3].

    Returns
    -------
    float
        Concentration as nitrogen [g N/m3].

    Examples
    --------
    >>> round(nitrogen_from_nh3_n_g_m3(1.0), 4)
    0.8224

    References
    ----------
    iupac_2021
    """
    return ammonia_as_nh3_g_m3 * mass.NITROGEN_G_MOL / mass.NH3_G_MOL


@formula(nitrogen_n_g_m3=(0.0, 1e5))
def ammonia_as_nh3_g_m3(nitrogen_n_g_m3: float) -> float:
    """Ammonia nitrogen, as a kit that reports NH3 shows it.

    Parameters
    ----------
    nitrogen_n_g_m3
        Concentration as nitrogen [g N/m3].

    Returns
    -------
    float
        Concentration as NH3 [g/m3].

    Examples
    --------
    >>> round(ammonia_as_nh3_g_m3(1.0), 4)
    1.2159

    References
    ----------
    iupac_2021
    """
    return nitrogen_n_g_m3 * mass.NH3_G_MOL / mass.NITROGEN_G_MOL


@formula(ammonium_as_nh4_g_m3=(0.0, 1e5))
def nitrogen_from_nh4_n_g_m3(ammonium_as_nh4_g_m3: float) -> float:
    """Ammonium reported as NH4, counted as nitrogen.

    Parameters
    ----------
    ammonium_as_nh4_g_m3
        Concentration reported as NH4 [g/m3].

    Returns
    -------
    float
        Concentration as nitrogen [g N/m3].

    Examples
    --------
    >>> round(nitrogen_from_nh4_n_g_m3(1.0), 4)
    0.7765

    References
    ----------
    iupac_2021
    """
    return ammonium_as_nh4_g_m3 * mass.NITROGEN_G_MOL / mass.NH4_G_MOL


@formula(nitrogen_n_g_m3=(0.0, 1e5))
def ammonium_as_nh4_g_m3(nitrogen_n_g_m3: float) -> float:
    """Ammonium nitrogen, as a kit that reports NH4 shows it.

    Parameters
    ----------
    nitrogen_n_g_m3
        Concentration as nitrogen [g N/m3].

    Returns
    -------
    float
        Concentration as NH4 [g/m3].

    Examples
    --------
    >>> round(ammonium_as_nh4_g_m3(1.0), 4)
    1.2879

    References
    ----------
    iupac_2021
    """
    return nitrogen_n_g_m3 * mass.NH4_G_MOL / mass.NITROGEN_G_MOL


@formula(nitrite_as_no2_g_m3=(0.0, 1e5))
def nitrogen_from_no2_n_g_m3(nitrite_as_no2_g_m3: float) -> float:
    """Nitrite reported as NO2, counted as nitrogen.

    Parameters
    ----------
    nitrite_as_no2_g_m3
        Concentration reported as NO2 [g/m3].

    Returns
    -------
    float
        Concentration as nitrogen [g N/m3].

    Examples
    --------
    >>> round(nitrogen_from_no2_n_g_m3(1.0), 4)
    0.3045

    References
    ----------
    iupac_2021
    """
    return nitrite_as_no2_g_m3 * mass.NITROGEN_G_MOL / mass.NO2_G_MOL


@formula(nitrogen_n_g_m3=(0.0, 1e5))
def nitrite_as_no2_g_m3(nitrogen_n_g_m3: float) -> float:
    """Nitrite nitrogen, as a kit that reports NO2 shows it.

    Parameters
    ----------
    nitrogen_n_g_m3
        Concentration as nitrogen [g N/m3].

    Returns
    -------
    float
        Concentration as NO2 [g/m3].

    Examples
    --------
    >>> round(nitrite_as_no2_g_m3(1.0), 4)
    3.2844

    References
    ----------
    iupac_2021
    """
    return nitrogen_n_g_m3 * mass.NO2_G_MOL / mass.NITROGEN_G_MOL


@formula(nitrate_as_no3_g_m3=(0.0, 1e5))
def nitrogen_from_no3_n_g_m3(nitrate_as_no3_g_m3: float) -> float:
    """Nitrate reported as NO3, counted as nitrogen.

    Parameters
    ----------
    nitrate_as_no3_g_m3
        Concentration reported as NO3 [g/m3].

    Returns
    -------
    float
        Concentration as nitrogen [g N/m3].

    Examples
    --------
    >>> round(nitrogen_from_no3_n_g_m3(1.0), 4)
    0.2259

    References
    ----------
    iupac_2021
    """
    return nitrate_as_no3_g_m3 * mass.NITROGEN_G_MOL / mass.NO3_G_MOL


@formula(nitrogen_n_g_m3=(0.0, 1e5))
def nitrate_as_no3_g_m3(nitrogen_n_g_m3: float) -> float:
    """Nitrate nitrogen, as a kit that reports NO3 shows it.

    Parameters
    ----------
    nitrogen_n_g_m3
        Concentration as nitrogen [g N/m3].

    Returns
    -------
    float
        Concentration as NO3 [g/m3].

    Examples
    --------
    >>> round(nitrate_as_no3_g_m3(1.0), 4)
    4.4266

    References
    ----------
    iupac_2021
    """
    return nitrogen_n_g_m3 * mass.NO3_G_MOL / mass.NITROGEN_G_MOL
