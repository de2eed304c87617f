"""Computed ranges of water quantities that were never measured.

Steady balances of a ripe loop at the feed that is given, with the priors of ``parameters.csv``.
They are wide on purpose: they say what to expect and why a test is worth its minutes.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from tailrace.beadfilter.ratios import bead_area_m2
from tailrace.estimation.priors import draw
from tailrace.estimation.standing import Standing
from tailrace.husbandry.feed import excreted_total_ammonia_n_g_s, fish_oxygen_use_kg_s
from tailrace.quantities import Amount, from_draws
from tailrace.site import BedKind
from tailrace.water.air import pressure_at_altitude_pa_abs
from tailrace.water.carbon_dioxide import (
    carbon_dioxide_at_air_equilibrium_mol_m3,
    ph_from_alkalinity_and_carbon_dioxide,
)
from tailrace.water.oxygen import oxygen_saturation_g_m3

DRAWS = 400
SEED = 1
DAY_S = 86400.0
NITRIFICATION_OXYGEN_G_G = 4.57  # both steps, without cells (stoichiometry)
SOLIDS_OXYGEN_KG_KG = 0.15  # bacteria on solids and organics, per kg of feed (judgement)
NITRATE_DAYS = 60.0
_NAMES = (
    "aeration",
    "alkalinity_left",
    "carbon_dioxide_excess",
    "excretion",
    "feed_place",
    "gravel_conductance",
    "nitrate_left",
    "nitrite_ratio",
    "raft_conductance",
    "ripe_conductance",
)

Draws = dict[str, NDArray[np.float64]]


def computed_ranges(now: Standing) -> dict[str, Amount]:
    """Return the computed range of each water quantity.

    Parameters
    ----------
    now
        How things stand.

    Returns
    -------
    dict
        Subject to `Amount`.
    """
    table = draw(_NAMES, count=DRAWS, seed=SEED)
    feed_kg = _feed_kg(now, table)
    nitrogen_g = _excreted_n_g(now, feed_kg) * table["excretion"]  # a day
    total = nitrogen_g / _conductance_m3_day(now, table)
    alkalinity = _alkalinity(now, table)
    return {
        "total_ammonia": from_draws("total_ammonia", total.tolist()),
        "nitrite": from_draws("nitrite", (total * table["nitrite_ratio"]).tolist()),
        "nitrate": from_draws("nitrate", _nitrate(now, nitrogen_g, table).tolist()),
        "oxygen": from_draws("oxygen", _oxygen(now, feed_kg, nitrogen_g, table).tolist()),
        "alkalinity": from_draws("alkalinity", alkalinity.tolist()),
        "ph": from_draws("ph", _ph(now, alkalinity, table)),
        "water_temperature": Amount(
            "water_temperature",
            now.site.water_temperature_degc,
            now.site.water_temperature_degc - 4.0,
            now.site.water_temperature_degc + 4.0,
        ),
    }


def _feed_kg(now: Standing, table: Draws) -> NDArray[np.float64]:
    fed = now.feeding
    return np.asarray(fed.low_kg + table["feed_place"] * (fed.high_kg - fed.low_kg))


def _excreted_n_g(now: Standing, feed_kg: NDArray[np.float64]) -> NDArray[np.float64]:
    ration = now.site.ration_kg
    protein = sum(lot.ration_kg * lot.feed_protein_frac for lot in now.site.stock) / ration
    return np.asarray(feed_kg * excreted_total_ammonia_n_g_s(1.0, protein))


def _conductance_m3_day(now: Standing, table: Draws) -> NDArray[np.float64]:
    bed = now.site.filter.machine.bed
    beads_m2 = bead_area_m2(bed.volume_m3, bed.bead_diameter_m, bed.void_frac)
    total = beads_m2 * table["ripe_conductance"]
    for plants in now.site.beds:
        raft = plants.kind is BedKind.RAFT
        total = (
            total + plants.area_m2 * table["raft_conductance" if raft else "gravel_conductance"]
        )
    return np.asarray(total)


def _nitrate(now: Standing, nitrogen_g: NDArray[np.float64], table: Draws) -> NDArray[np.float64]:
    start = now.site.source_water.nitrate_n_g_m3 or 0.0
    began = now.site.started_at
    days = NITRATE_DAYS
    if began is not None:
        days = min(days, max(0.0, (now.at - began).total_seconds() / DAY_S))
    return np.asarray(start + table["nitrate_left"] * nitrogen_g * days / now.site.volume_m3)


def _oxygen(
    now: Standing, feed_kg: NDArray[np.float64], nitrogen_g: NDArray[np.float64], table: Draws
) -> NDArray[np.float64]:
    pressure = pressure_at_altitude_pa_abs(now.site.altitude_m)
    full = oxygen_saturation_g_m3(now.site.water_temperature_degc, 0.0, pressure)
    used_g = (
        1e3 * feed_kg * (fish_oxygen_use_kg_s(1.0) + SOLIDS_OXYGEN_KG_KG)
        + NITRIFICATION_OXYGEN_G_G * nitrogen_g
    )
    return np.maximum(0.0, full - used_g / (table["aeration"] * now.site.volume_m3))


def _alkalinity(now: Standing, table: Draws) -> NDArray[np.float64]:
    """Anything from nearly used up to what the source water brings."""
    top = now.site.source_water.alkalinity_eq_m3 or 2.0
    return np.asarray(top * table["alkalinity_left"])


def _ph(now: Standing, alkalinity: NDArray[np.float64], table: Draws) -> list[float]:
    temperature = now.site.water_temperature_degc
    air = carbon_dioxide_at_air_equilibrium_mol_m3(temperature)
    return [
        ph_from_alkalinity_and_carbon_dioxide(
            float(eq), air * float(excess), temperature, outside="nan"
        )
        for eq, excess in zip(alkalinity, table["carbon_dioxide_excess"], strict=True)
    ]
