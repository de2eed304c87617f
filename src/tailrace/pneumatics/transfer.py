"""Oxygen transfer: from a re-aeration test to standard conditions, and from those to the field.

Saturation concentrations are arguments; `tailrace.water.oxygen` gives them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import curve_fit

from tailrace.errors import InputError
from tailrace.formula import formula
from tailrace.pneumatics.standard import STANDARD_GRAVITY

_STANDARD_SATURATION = 9.092  # g/m3, fresh water, 20 degC, 1 atm
_OXYGEN_IN_AIR = 0.2095  # mole share, dry


@formula(
    start_g_m3=(0.0, 60.0),
    end_g_m3=(0.0, 60.0),
    saturation_g_m3=(0.0, 60.0),
    duration_s=(1e-3, 1e8),
)
def transfer_coefficient_per_s(
    start_g_m3: float, end_g_m3: float, saturation_g_m3: float, duration_s: float
) -> float:
    """Transfer coefficient kLa from two readings while water takes up or gives off a gas.

    Parameters
    ----------
    start_g_m3
        Concentration at the start [g/m3].
    end_g_m3
        Concentration at the end [g/m3].
    saturation_g_m3
        Concentration that it tends to [g/m3].
    duration_s
        Time between them [s].

    Returns
    -------
    float
        Transfer coefficient [1/s]; not a number when the readings lie on both sides of, or on,
        saturation.

    Notes
    -----
    kLa = ln((Cs - C1)/(Cs - C2))/t. Nothing else uses or makes the gas meanwhile. Keep C2 well
    away from saturation: there a small error of a reading is a large one of kLa.

    Examples
    --------
    >>> round(transfer_coefficient_per_s(2.0, 6.0, 8.26, 600.0) * 3600.0, 2)
    6.11

    References
    ----------
    asce_2_06
    """
    start, end = saturation_g_m3 - start_g_m3, saturation_g_m3 - end_g_m3
    if start * end <= 0.0:
        return math.nan
    return math.log(start / end) / duration_s


@dataclass(frozen=True, slots=True)
class Reaeration:
    """Result of a re-aeration test.

    Parameters
    ----------
    transfer_per_s
        Transfer coefficient kLa.
    saturation_g_m3
        Concentration that the water tends to.
    start_g_m3
        Concentration at time zero.
    transfer_error_per_s
        Standard error of the transfer coefficient.
    """

    transfer_per_s: float
    saturation_g_m3: float
    start_g_m3: float
    transfer_error_per_s: float


def reaeration(times_s: Sequence[float], readings_g_m3: Sequence[float]) -> Reaeration:
    """Fit a re-aeration test: water freed of oxygen and then aerated, read again and again.

    Parameters
    ----------
    times_s
        Times of the readings [s].
    readings_g_m3
        Dissolved oxygen [g/m3].

    Returns
    -------
    Reaeration
        Transfer coefficient, saturation and start, found together.

    Raises
    ------
    InputError
        There are fewer than five readings, lengths differ, a number is missing, or the readings
        do not rise towards a saturation.

    Notes
    -----
    C = Cs - (Cs - C0) exp(-kLa t), non-linear least squares for all three, as the standard asks,
    which does not give readings near saturation a false weight as the logarithm does.

    Examples
    --------
    >>> import math
    >>> times = [60.0 * i for i in range(20)]
    >>> found = reaeration(times, [8.6 - 8.0 * math.exp(-0.004 * t) for t in times])
    >>> round(found.transfer_per_s, 6), round(found.saturation_g_m3, 3)
    (0.004, 8.6)

    References
    ----------
    asce_2_06
    """
    times, readings = np.asarray(times_s, dtype=float), np.asarray(readings_g_m3, dtype=float)
    whole = times.shape == readings.shape and times.size >= 5 and times.ndim == 1
    if not (whole and np.isfinite(times).all() and np.isfinite(readings).all()):
        message = (
            f"a re-aeration test needs at least five times and as many readings, all numbers; got "
            f"{times.size} times and {readings.size} readings."
        )
        raise InputError(message)
    span = float(np.ptp(times))
    guess = (3.0 / span if span > 0.0 else 1.0, float(readings[-1]), float(readings[0]))

    def course(time: np.ndarray, rate: float, top: float, start: float) -> np.ndarray:
        return np.asarray(top - (top - start) * np.exp(-rate * (time - times[0])))

    try:
        (rate, top, start), spread = curve_fit(course, times, readings, p0=guess, maxfev=5000)
    except RuntimeError as failed:
        message = "the readings do not follow a rise towards saturation; no fit was found."
        raise InputError(message) from failed
    error = float(np.sqrt(spread[0, 0]))
    if not (rate > 0.0 and top > start and error < rate):
        message = (
            "the readings do not show a rise towards saturation that can be told from scatter. "
            "Start lower, read more often, and go on until the rise has slowed."
        )
        raise InputError(message)
    return Reaeration(float(rate), float(top), float(start), error)


@formula(
    transfer_20_per_s=(0.0, 10.0),
    temperature_degc=(0.0, 45.0),
    theta=(1.0, 1.1),
)
def transfer_coefficient_at_per_s(
    transfer_20_per_s: float, temperature_degc: float, theta: float = 1.024
) -> float:
    """Transfer coefficient kLa at another temperature.

    Parameters
    ----------
    transfer_20_per_s
        Transfer coefficient at 20 degC [1/s].
    temperature_degc
        Temperature [degC].
    theta
        Factor per degree [-].

    Returns
    -------
    float
        Transfer coefficient [1/s].

    Notes
    -----
    kLa(T) = kLa(20) theta^(T - 20), theta 1.024 by agreement (1.015 to 1.04 reported).

    Examples
    --------
    >>> round(transfer_coefficient_at_per_s(3.0 / 3600.0, 28.0) * 3600.0, 3)
    3.627

    References
    ----------
    asce_2_06
    """
    factor: float = theta ** (temperature_degc - 20.0)
    return transfer_20_per_s * factor


@formula(
    transfer_20_per_s=(0.0, 10.0),
    volume_m3=(0.0, 1e5),
    saturation_20_g_m3=(5.0, 20.0),
)
def standard_transfer_g_s(
    transfer_20_per_s: float, volume_m3: float, saturation_20_g_m3: float = _STANDARD_SATURATION
) -> float:
    """Oxygen transfer rate of an aerator at standard conditions, from its transfer coefficient.

    Parameters
    ----------
    transfer_20_per_s
        Transfer coefficient at 20 degC in clean water [1/s].
    volume_m3
        Water in the test tank [m3].
    saturation_20_g_m3
        Saturation at 20 degC and 1 atm, as found in the test for diffusers at depth [g/m3].

    Returns
    -------
    float
        Oxygen transferred into clean water without oxygen at 20 degC and 1 atm [g/s].

    Notes
    -----
    SOTR = kLa20 Cs20 V.

    Examples
    --------
    >>> round(standard_transfer_g_s(3.0 / 3600.0, 2.0) * 3.6, 4)
    0.0546

    References
    ----------
    asce_2_06
    """
    return transfer_20_per_s * saturation_20_g_m3 * volume_m3


@formula(
    temperature_degc=(0.0, 45.0),
    saturation_g_m3=(0.0, 60.0),
    oxygen_g_m3=(0.0, 60.0),
    alpha_frac=(0.0, 1.5),
    beta_frac=(0.5, 1.1),
    theta=(1.0, 1.1),
    saturation_20_g_m3=(5.0, 20.0),
)
def field_transfer_frac(
    temperature_degc: float,
    saturation_g_m3: float,
    oxygen_g_m3: float,
    alpha_frac: float = 0.85,
    beta_frac: float = 0.98,
    theta: float = 1.024,
    saturation_20_g_m3: float = _STANDARD_SATURATION,
) -> float:
    """Share of an aerator's standard transfer rate that is left at work.

    Parameters
    ----------
    temperature_degc
        Temperature of the water [degC].
    saturation_g_m3
        Saturation of clean water at that temperature, salinity and pressure [g/m3].
    oxygen_g_m3
        Dissolved oxygen that is kept [g/m3].
    alpha_frac
        Transfer coefficient in this water over clean water; the default is common practice
        without a source [-].
    beta_frac
        Saturation in this water over clean water [-].
    theta
        Factor per degree [-].
    saturation_20_g_m3
        Saturation at standard conditions [g/m3].

    Returns
    -------
    float
        Field over standard transfer rate [-]; negative where the aerator strips oxygen.

    Notes
    -----
    OTR/SOTR = alpha theta^(T - 20) (beta Cs - C)/Cs20. What is left of a rating printed for
    oxygen-free water is often a third or less.

    Examples
    --------
    >>> round(field_transfer_frac(28.0, 7.827, 5.0), 4)
    0.3018

    References
    ----------
    asce_2_06
    """
    factor: float = theta ** (temperature_degc - 20.0)
    drive = (beta_frac * saturation_g_m3 - oxygen_g_m3) / saturation_20_g_m3
    return alpha_frac * factor * drive


@formula(process_per_s=(0.0, 10.0), clean_per_s=(1e-9, 10.0))
def alpha_frac(process_per_s: float, clean_per_s: float) -> float:
    """Alpha: how much of an aerator's transfer coefficient dirty water leaves.

    Parameters
    ----------
    process_per_s
        Transfer coefficient at 20 degC in the water of the loop [1/s].
    clean_per_s
        Transfer coefficient at 20 degC in clean water [1/s].

    Returns
    -------
    float
        Alpha [-].

    Notes
    -----
    Definition.

    Examples
    --------
    >>> round(alpha_frac(2.25, 2.46), 3)
    0.915

    References
    ----------
    asce_2_06
    """
    return process_per_s / clean_per_s


@formula(standard_transfer_g_s=(0.0, 1e5), electrical_w=(1e-3, 1e7))
def standard_aeration_efficiency_kg_j(standard_transfer_g_s: float, electrical_w: float) -> float:
    """Oxygen per energy at standard conditions: the standard aeration efficiency.

    Parameters
    ----------
    standard_transfer_g_s
        Standard oxygen transfer rate [g/s].
    electrical_w
        Electrical power [W].

    Returns
    -------
    float
        Standard aeration efficiency [kg/J]; 3.6e6 times it is in kg/kWh.

    Notes
    -----
    SAE = SOTR/P.

    Examples
    --------
    >>> round(standard_aeration_efficiency_kg_j(0.25, 550.0) * 3.6e6, 3)
    1.636

    References
    ----------
    asce_2_06
    """
    return standard_transfer_g_s * 1e-3 / electrical_w


@formula(
    surface_saturation_g_m3=(0.0, 60.0),
    depth_m=(0.0, 30.0),
    air_pa_abs=(3e4, 1.2e5),
    oxygen_left_frac=(0.0, 1.0),
    density_kg_m3=(900.0, 1300.0),
)
def mid_depth_saturation_g_m3(
    surface_saturation_g_m3: float,
    depth_m: float,
    air_pa_abs: float,
    oxygen_left_frac: float,
    density_kg_m3: float = 998.0,
) -> float:
    """Saturation that a diffuser at depth works against, as the mean of its bottom and surface.

    Parameters
    ----------
    surface_saturation_g_m3
        Saturation at the surface [g/m3].
    depth_m
        Depth of the diffuser [m].
    air_pa_abs
        Pressure of the open air [Pa].
    oxygen_left_frac
        Oxygen share of the gas that leaves the surface over that of air; see
        `oxygen_left_frac` [-].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Saturation [g/m3].

    Notes
    -----
    Cs/2 ((P + rho g d)/P + O_left). The vapour pressure is left out of the ratio (0.2 % at 3 m).

    Examples
    --------
    >>> round(mid_depth_saturation_g_m3(8.34, 4.572, 101325.0, 0.9, 999.0), 2)
    9.77

    References
    ----------
    metcalf_eddy_2003
    """
    bottom = 1.0 + density_kg_m3 * STANDARD_GRAVITY * depth_m / air_pa_abs
    return surface_saturation_g_m3 / 2.0 * (bottom + oxygen_left_frac)


@formula(transferred_frac=(0.0, 1.0))
def oxygen_left_frac(transferred_frac: float) -> float:
    """Oxygen share of air that has passed a diffuser, over that of fresh air.

    Parameters
    ----------
    transferred_frac
        Share of the oxygen that the water took up [-].

    Returns
    -------
    float
        Oxygen share over that of air [-].

    Notes
    -----
    (1 - E)/(1 - 0.2095 E): what is left of the oxygen over what is left of the air.

    Examples
    --------
    >>> round(oxygen_left_frac(0.1), 3)
    0.919

    References
    ----------
    arithmetic
    """
    return (1.0 - transferred_frac) / (1.0 - _OXYGEN_IN_AIR * transferred_frac)


@formula(
    depth_m=(0.0, 30.0),
    diffuser_pa=(0.0, 1e5),
    line_pa=(0.0, 1e6),
    density_kg_m3=(900.0, 1300.0),
)
def diffuser_pa_gauge(
    depth_m: float, diffuser_pa: float, line_pa: float = 0.0, density_kg_m3: float = 998.0
) -> float:
    """Pressure that an air pump must give to a diffuser at depth.

    Parameters
    ----------
    depth_m
        Water over the diffuser [m].
    diffuser_pa
        Pressure that the diffuser itself takes: 2 to 5 kPa when clean, more when it fouls
        (common practice, no source) [Pa].
    line_pa
        Pressure that line and fittings take [Pa].
    density_kg_m3
        Density of the water [kg/m3].

    Returns
    -------
    float
        Pressure above the local air [Pa].

    Notes
    -----
    rho g d + diffuser + line.

    Examples
    --------
    >>> round(diffuser_pa_gauge(1.0, 3000.0, 500.0))
    13287

    References
    ----------
    hydrostatics
    """
    return density_kg_m3 * STANDARD_GRAVITY * depth_m + diffuser_pa + line_pa
