"""Water that a crop under glass gives to the air, from the weather inside.

`tailrace.crops.evapotranspiration` is for open ground, where wind and sky are those of a field.
Under glass the air hardly moves and the leaves themselves decide: the crop is one big leaf with
the resistance of its stomata and of the still air around it, both taken from its leaf area.
"""

from __future__ import annotations

import math

from tailrace.crops.evapotranspiration import (
    psychrometric_constant_pa_k,
    saturation_vapour_allen_1998_pa_abs,
    vapour_slope_pa_k,
)
from tailrace.formula import formula

_TEMPERATURE = (0.0, 50.0)
_CONDUCTANCE = (1e-5, 0.1)
_LEAF_AREA = (0.05, 10.0)
_LIGHT = (0.0, 1000.0)
_AIR_GAS_J_KG_K = 287.05  # gas constant of dry air
_AIR_HEAT_J_KG_K = 1013.0  # heat capacity of moist air
_LATENT_J_KG = 2.45e6  # heat of evaporation, as fixed by the field method
_WATER_KG_M3 = 1000.0
_PPM_PA = 0.101325  # pressure of one part in a million at one atmosphere


@formula(leaf_area_index=(0.0, 10.0), extinction=(0.2, 1.0))
def light_caught_frac(leaf_area_index: float, extinction: float = 0.7) -> float:
    """Share of the radiation from above that the leaves of a stand catch.

    Parameters
    ----------
    leaf_area_index
        One side of all leaves over the ground below [-].
    extinction
        How fast the light falls with the leaf area above [-].

    Returns
    -------
    float or ndarray
        Share caught [-].

    Notes
    -----
    ``1 - exp(-k L)``, the law of Beer for leaves. k is 0.6 to 0.8 for vegetables with flat
    leaves and lower in the near infrared.

    Examples
    --------
    >>> round(light_caught_frac(3.0), 2)
    0.88

    References
    ----------
    monsi_saeki_1953
    """
    return 1.0 - math.exp(-extinction * leaf_area_index)


@formula(
    radiation_w_m2=_LIGHT,
    leaf_area_index=_LEAF_AREA,
    leaf_degc=_TEMPERATURE,
    vapour_deficit_pa=(0.0, 6000.0),
    carbon_dioxide_pa_abs=(20.0, 200.0),
)
def tomato_stomata_stanghellini_1987_m_s(
    radiation_w_m2: float,
    leaf_area_index: float,
    leaf_degc: float,
    vapour_deficit_pa: float,
    carbon_dioxide_pa_abs: float = 40.0,
) -> float:
    """Conductance of the stomata of tomato leaves for vapour.

    Parameters
    ----------
    radiation_w_m2
        Radiation that the whole stand takes up [W/m2].
    leaf_area_index
        One side of all leaves over the ground below [-].
    leaf_degc
        Leaf temperature [degC].
    vapour_deficit_pa
        How far the vapour pressure of the air is below saturation [Pa].
    carbon_dioxide_pa_abs
        Carbon dioxide in the air, as a partial pressure [Pa].

    Returns
    -------
    float or ndarray
        Conductance of a leaf area, both sides together counted once [m/s].

    Notes
    -----
    The inverse of ``82 (R + 4.3)/(R + 0.54) (1 + 0.022593 (t - 24.5)^2)
    min(1.49, 1 + 6.08e-7 (C - 200)^2) 4/(1 + 255 exp(-0.5427 D))^0.25`` s/m, with R =
    ``radiation/(2 L)`` in W/m2, C in ppm, left out below 3 W/m2, and D in hPa. For tomato in
    one trial; others differ.

    Examples
    --------
    >>> round(1.0 / tomato_stomata_stanghellini_1987_m_s(300.0, 3.0, 24.5, 800.0))
    250

    References
    ----------
    stanghellini_1987
    """
    of_a_side_w_m2 = radiation_w_m2 / (2.0 * leaf_area_index)
    light = (of_a_side_w_m2 + 4.3) / (of_a_side_w_m2 + 0.54)
    warmth = 1.0 + 2.2593e-2 * (leaf_degc - 24.51) ** 2
    ppm = carbon_dioxide_pa_abs / _PPM_PA
    gas = min(1.0 + 6.08e-7 * (ppm - 200.0) ** 2, 1.49) if radiation_w_m2 >= 3.0 else 1.0
    dryness = 4.0 / math.pow(1.0 + 255.0 * math.exp(-0.5427 * vapour_deficit_pa / 100.0), 0.25)
    return 1.0 / (82.0 * light * warmth * gas * dryness)


@formula(photons_mol_m2_s=(0.0, 2e-3))
def lettuce_stomata_graamans_2017_m_s(photons_mol_m2_s: float) -> float:
    """Conductance of the stomata of lettuce leaves for vapour.

    Parameters
    ----------
    photons_mol_m2_s
        Flow of photons that plants can use onto the stand [mol/(m2 s)].

    Returns
    -------
    float or ndarray
        Conductance of a leaf area [m/s].

    Notes
    -----
    The inverse of ``60 (1500 + F)/(200 + F)`` s/m, F in micromoles. Used by its authors from 140
    to 600 micromoles in closed rooms under lamps.

    Examples
    --------
    >>> round(1.0 / lettuce_stomata_graamans_2017_m_s(600e-6))
    158

    References
    ----------
    graamans_2017
    """
    flow = photons_mol_m2_s * 1e6
    return (200.0 + flow) / (60.0 * (1500.0 + flow))


@formula(
    net_radiation_w_m2=(-100.0, 1000.0),
    temperature_degc=_TEMPERATURE,
    vapour_pa_abs=(0.0, 13000.0),
    leaf_area_index=_LEAF_AREA,
    stomata_m_s=_CONDUCTANCE,
    boundary_m_s=(1e-4, 0.1),
    air_pressure_pa_abs=(5e4, 1.1e5),
)
def greenhouse_transpiration_m_s(
    net_radiation_w_m2: float,
    temperature_degc: float,
    vapour_pa_abs: float,
    leaf_area_index: float,
    stomata_m_s: float,
    boundary_m_s: float,
    air_pressure_pa_abs: float = 101325.0,
) -> float:
    """Water that a crop under glass gives to the air, by Penman-Monteith on its leaf area.

    Parameters
    ----------
    net_radiation_w_m2
        Radiation that the crop takes up, less what it sends out [W/m2].
    temperature_degc
        Air temperature among the plants [degC].
    vapour_pa_abs
        Vapour pressure of that air [Pa].
    leaf_area_index
        One side of all leaves over the ground below [-].
    stomata_m_s
        Conductance of the stomata, for a leaf area [m/s].
    boundary_m_s
        Conductance of the still air on a side of a leaf; 1/100 to 1/300 where air is moved
        gently [m/s].
    air_pressure_pa_abs
        Air pressure [Pa].

    Returns
    -------
    float or ndarray
        Depth of water over the ground in a unit of time; 1 mm a day is 1.157e-8 [m/s].

    Notes
    -----
    ``(s Rn + 2 L rho cp D gb)/(s + g (1 + gb/gs))`` over the heat of evaporation; s is the slope
    of the saturation curve, g the psychrometric constant, D the vapour deficit, L the leaf area
    index counted on both sides. Straight between leaf and air: with leaves more than 5 K off the
    air it errs by some per cent. Never below zero: dew is left out.

    Examples
    --------
    >>> used = greenhouse_transpiration_m_s(150.0, 24.0, 2000.0, 3.0, 1.0 / 250.0, 1.0 / 200.0)
    >>> round(used * 1000.0 * 3600.0, 2)
    0.28

    References
    ----------
    stanghellini_1987
    """
    slope = vapour_slope_pa_k(temperature_degc)
    gamma = psychrometric_constant_pa_k(air_pressure_pa_abs)
    deficit = saturation_vapour_allen_1998_pa_abs(temperature_degc) - vapour_pa_abs
    air = air_pressure_pa_abs / (_AIR_GAS_J_KG_K * (temperature_degc + 273.15))
    drying = 2.0 * leaf_area_index * air * _AIR_HEAT_J_KG_K * deficit * boundary_m_s
    heat = (slope * net_radiation_w_m2 + drying) / (
        slope + gamma * (1.0 + boundary_m_s / stomata_m_s)
    )
    return max(heat, 0.0) / _LATENT_J_KG / _WATER_KG_M3
