"""Light as plants count it: photons of 400 to 700 nm, and their sum over a day."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(solar_w_m2=(0.0, 1400.0), useful_frac=(0.3, 0.6), photons_mol_j=(3e-6, 6e-6))
def photon_flux_mol_m2_s(
    solar_w_m2: float, useful_frac: float = 0.45, photons_mol_j: float = 4.57e-6
) -> float:
    """Photons that plants can use, from sunshine in watts.

    Parameters
    ----------
    solar_w_m2
        Radiation of all wavelengths on the crop [W/m2].
    useful_frac
        Share of its energy between 400 and 700 nm [-].
    photons_mol_j
        Photons in the energy of that share [mol/J].

    Returns
    -------
    float or ndarray
        Flow of photons [mol/(m2 s)].

    Notes
    -----
    ``Rs x 0.45 x 4.57 umol/J``, daylight; 2.06 umol/J of all sunshine. The share is 0.42 under a
    clear sky and 0.50 under cloud. Not for lamps, whose colours differ.

    Examples
    --------
    >>> round(1e6 * photon_flux_mol_m2_s(500.0))
    1028

    References
    ----------
    thimijan_heins_1983
    """
    return solar_w_m2 * useful_frac * photons_mol_j


@formula(flux_mol_m2_s=(0.0, 0.003), lit_s=(0.0, 86400.0))
def daily_light_mol_m2(flux_mol_m2_s: float, lit_s: float) -> float:
    """Light of a day, the daily light integral.

    Parameters
    ----------
    flux_mol_m2_s
        Mean flow of photons while it is light [mol/(m2 s)].
    lit_s
        Time with light in the day [s].

    Returns
    -------
    float or ndarray
        Photons in the day [mol/m2].

    Examples
    --------
    >>> round(daily_light_mol_m2(200e-6, 16.0 * 3600.0), 2)
    11.52

    References
    ----------
    arithmetic
    """
    return flux_mol_m2_s * lit_s


@formula(wanted_mol_m2=(0.0, 100.0), sun_mol_m2=(0.0, 100.0), lamp_mol_m2_s=(1e-6, 0.003))
def lamp_time_s(wanted_mol_m2: float, sun_mol_m2: float, lamp_mol_m2_s: float) -> float:
    """Time that lamps must burn to fill up the light of a day.

    Parameters
    ----------
    wanted_mol_m2
        Light wanted in the day [mol/m2].
    sun_mol_m2
        Light that the sun gives inside [mol/m2].
    lamp_mol_m2_s
        Flow of photons from the lamps on the crop [mol/(m2 s)].

    Returns
    -------
    float or ndarray
        Time; none where the sun is enough, NaN where a day is too short [s].

    Examples
    --------
    >>> round(lamp_time_s(17.0, 8.0, 200e-6) / 3600.0, 1)
    12.5

    References
    ----------
    arithmetic
    """
    needed = max(wanted_mol_m2 - sun_mol_m2, 0.0) / lamp_mol_m2_s
    return needed if needed <= 86400.0 else math.nan
