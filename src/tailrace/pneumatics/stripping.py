"""Stripping of carbon dioxide and other gases: balances of the air, and removal per pass.

Removal per pass is an input wherever it decides, because published figures at one and the same
ratio of air to water run from a third to nearly nine tenths: ``stripping.csv`` lists them.
Equilibrium concentrations are arguments; `tailrace.water` gives them. In bicarbonate water the
carbon dioxide taken out is partly made again from bicarbonate within a minute, so removal of
carbon dioxide as measured right after a column overstates what the loop gains.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.formula import formula
from tailrace.pneumatics.standard import GAS_CONSTANT_J_MOL_K, STANDARD_PA_ABS, ZERO_CELSIUS_K

_CARBON_DIOXIDE_G_MOL = 44.009
_AMBIENT = 420e-6


@dataclass(frozen=True, slots=True)
class PublishedRemoval:
    """Carbon dioxide removal per pass that a study reports.

    Parameters
    ----------
    study
        Authors and year.
    gas_to_liquid
        Volume of air per volume of water.
    low_frac, high_frac
        Range of the removal per pass.
    source
        Key of the source.
    note
        What was tested.
    """

    study: str
    gas_to_liquid: float
    low_frac: float
    high_frac: float
    source: str
    note: str


@cache
def published_removals() -> tuple[PublishedRemoval, ...]:
    """Return the published removals of carbon dioxide per pass.

    Returns
    -------
    tuple of PublishedRemoval
        In the order of the table.

    Examples
    --------
    >>> low = min(row.low_frac for row in published_removals() if row.gas_to_liquid == 5.0)
    >>> high = max(row.high_frac for row in published_removals() if row.gas_to_liquid == 5.0)
    >>> low, high
    (0.32, 0.88)
    """
    table = files("tailrace.pneumatics").joinpath("stripping.csv")
    with table.open(encoding="utf-8") as stream:
        return tuple(
            PublishedRemoval(
                row["study"],
                float(row["gas_to_liquid"]),
                float(row["low_frac"]),
                float(row["high_frac"]),
                row["source"],
                row["note"],
            )
            for row in csv.DictReader(stream)
        )


@formula(
    removed_g_m3=(0.0, 1000.0),
    gas_to_liquid=(0.01, 1000.0),
    temperature_degc=(0.0, 45.0),
    pressure_pa_abs=(3e4, 1.2e5),
    inlet_air_frac=(0.0, 1.0),
    molar_mass_g_mol=(2.0, 200.0),
)
def stripper_outlet_air_frac(
    removed_g_m3: float,
    gas_to_liquid: float,
    temperature_degc: float,
    pressure_pa_abs: float = STANDARD_PA_ABS,
    inlet_air_frac: float = _AMBIENT,
    molar_mass_g_mol: float = _CARBON_DIOXIDE_G_MOL,
) -> float:
    """Mole share of a stripped gas in the air that leaves a stripper.

    Parameters
    ----------
    removed_g_m3
        Gas that each volume of water gives off [g/m3].
    gas_to_liquid
        Volume of air per volume of water, at the temperature and pressure given [-].
    temperature_degc
        Temperature [degC].
    pressure_pa_abs
        Air pressure [Pa].
    inlet_air_frac
        Mole share in the air that enters [-].
    molar_mass_g_mol
        Molar mass of the gas; carbon dioxide unless given [g/mol].

    Returns
    -------
    float
        Mole share [-]; 1e6 times it is in ppm by volume.

    Notes
    -----
    y = y_0 + (removed/M)/(G P/(R T)): balance of the gas, dry air, the stripped gas itself not
    counted in the air. Carbon dioxide above 5000 ppm is harmful where people work: lead the air
    outdoors (local rules hold).

    Examples
    --------
    >>> round(stripper_outlet_air_frac(6.0, 5.0, 20.0) * 1e6)
    1076

    References
    ----------
    ideal_gas
    """
    air = gas_to_liquid * pressure_pa_abs
    air /= GAS_CONSTANT_J_MOL_K * (temperature_degc + ZERO_CELSIUS_K)
    return inlet_air_frac + removed_g_m3 / molar_mass_g_mol / air


@formula(inlet_g_m3=(0.0, 1e4), removal_frac=(0.0, 1.0))
def removed_per_pass_g_m3(inlet_g_m3: float, removal_frac: float) -> float:
    """Gas that water gives off in one pass of a stripper of known removal.

    Parameters
    ----------
    inlet_g_m3
        Concentration at the inlet [g/m3].
    removal_frac
        Removal per pass, as studies print it: share of the inlet concentration [-].

    Returns
    -------
    float
        Gas given off [g/m3].

    Notes
    -----
    Definition. Compare the outlet with equilibrium: no stripper goes below it.

    Examples
    --------
    >>> removed_per_pass_g_m3(20.0, 0.35)
    7.0

    References
    ----------
    arithmetic
    """
    return removal_frac * inlet_g_m3


@formula(
    inlet_g_m3=(0.0, 1e4),
    equilibrium_g_m3=(0.0, 1e4),
    transfer_units=(0.0, 50.0),
)
def exchanged_g_m3(inlet_g_m3: float, equilibrium_g_m3: float, transfer_units: float) -> float:
    """Concentration that water leaves a stripper or degasser with.

    Parameters
    ----------
    inlet_g_m3
        Concentration at the inlet [g/m3].
    equilibrium_g_m3
        Concentration in equilibrium with the air in it [g/m3].
    transfer_units
        Transfer coefficient times time in it [-].

    Returns
    -------
    float
        Concentration at the outlet [g/m3].

    Notes
    -----
    C = C* + (C_0 - C*) exp(-N). For a packed column N = K (theta^(T-20)) height, with K of the
    packing and the hydraulic load. Holds for oxygen and nitrogen, up or down, in ample air; for
    carbon dioxide C* rises on the way and the chemistry lags, so N is only effective.

    Examples
    --------
    >>> round(exchanged_g_m3(20.0, 15.0, 1.5), 2)
    16.12

    References
    ----------
    colt_bouck_1984
    """
    return equilibrium_g_m3 + (inlet_g_m3 - equilibrium_g_m3) * math.exp(-transfer_units)


@formula(inlet_g_m3=(0.0, 1e4), outlet_g_m3=(0.0, 1e4), equilibrium_g_m3=(0.0, 1e4))
def transfer_units(inlet_g_m3: float, outlet_g_m3: float, equilibrium_g_m3: float) -> float:
    """Transfer units of a stripper or degasser from concentrations before and after.

    Parameters
    ----------
    inlet_g_m3
        Concentration at the inlet [g/m3].
    outlet_g_m3
        Concentration at the outlet [g/m3].
    equilibrium_g_m3
        Concentration in equilibrium with the air in it [g/m3].

    Returns
    -------
    float
        Transfer units [-]; not a number when inlet and outlet lie on both sides of equilibrium.

    Notes
    -----
    N = ln((C_0 - C*)/(C - C*)), the inverse of `exchanged_g_m3`.

    Examples
    --------
    >>> round(transfer_units(20.0, 16.116, 15.0), 2)
    1.5

    References
    ----------
    colt_bouck_1984
    """
    before, after = inlet_g_m3 - equilibrium_g_m3, outlet_g_m3 - equilibrium_g_m3
    if before * after <= 0.0:
        return math.nan
    return math.log(before / after)
