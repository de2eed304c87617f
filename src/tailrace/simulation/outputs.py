"""What a person would measure, worked out from a state.

Concentrations are means over the whole loop, each place by its volume; pH is that of the mixed
water. Oxygen is given for the tank with the least as well.
"""

from __future__ import annotations

import math
from typing import Final

from tailrace.simulation import layout as lay
from tailrace.simulation.compiled import kernel
from tailrace.simulation.equilibrium import acidity
from tailrace.simulation.filterside import Context, flows, held_g
from tailrace.simulation.jumps import sludge_volume_m3
from tailrace.simulation.layout import FIRST, PLACE, WATER, Array

# Output and its unit, in order.
QUANTITIES: Final = {
    "total_ammonia": "g N/m3",
    "nitrite": "g N/m3",
    "nitrate": "g N/m3",
    "oxygen": "g/m3",
    "alkalinity": "eq/m3",
    "ph": "-",
    "un_ionised_ammonia": "g N/m3",
    "coarse_solids": "g/m3",
    "fine_solids": "g/m3",
    "turbidity": "NTU",
    "clarity": "m",
    "dissolved_organics": "g/m3",
    "tank_oxygen": "g/m3",
    "dic": "mol/m3",
    "deposit_on_beads": "g",
    "sludge": "m3",
    "air_charge": "-",
    "filter_flow": "m3/s",
    "backwashes": "-",
    "water": "m3",
    "water_temperature": "degC",
    "phosphate": "g P/m3",
    "potassium": "g/m3",
    "calcium": "g/m3",
    "magnesium": "g/m3",
    "iron": "g/m3",
    "sodium": "g/m3",
    "sulphate": "g/m3",
    "chloride": "g/m3",
    "conductivity": "S/m",
    "colour": "g Pt/m3",
    "nitrogen_gas": "g N/m3",
    "chlorine": "g Cl2/m3",
}
NAMES: Final = tuple(QUANTITIES)
COLUMN: Final = {name: position for position, name in enumerate(NAMES)}
CLARITY_M = 4.8  # visible depth = 4.8/(0.35 + 0.75 NTU); judgement, a factor 2 either way
CLARITY_BASE = 0.35
CLARITY_SLOPE = 0.75
# Molar conductivity at infinite dilution and 25 degC [S m2 for each eq or mol], from memory.
_LAMBDA = 1e-4


@kernel
def conductivity_s_m(mean: Array) -> float:
    """Conductivity at 25 degC of a water, from its ions.

    Parameters
    ----------
    mean
        Concentrations by `layout` offsets.

    Returns
    -------
    float
        Sum of the limiting molar conductivities, lowered for the ionic strength.

    Notes
    -----
    Kohlrausch's law with one slope for all ions; within some 10 % below 0.2 S/m. Alkalinity
    counts as bicarbonate.
    """
    total = 73.5 * mean[lay.TAN] * lay.EQ_PER_N + 44.5 * max(mean[lay.ALK], 0.0)
    total += 71.5 * (mean[lay.NO2] + mean[lay.NO3]) * lay.EQ_PER_N
    total += 73.5 * mean[lay.POT] / lay.POTASSIUM + 50.1 * mean[lay.SOD] / lay.SODIUM
    total += 119.0 * mean[lay.CAL] / lay.CALCIUM + 106.0 * mean[lay.MAG] / lay.MAGNESIUM
    total += 160.0 * mean[lay.SULF] / lay.SULPHATE + 76.3 * mean[lay.CHLO] / lay.CHLORIDE
    total += 33.0 * mean[lay.PHOS] * lay.EQ_PER_P
    limit = _LAMBDA * max(total, 0.0)
    return float(limit * (1.0 - 0.35 * math.sqrt(limit) / (1.0 + 2.0 * math.sqrt(limit))))


def write_outputs(y: Array, c: Context, out: Array) -> None:
    """Write what would be measured.

    Parameters
    ----------
    y
        State.
    c
        Context.
    out
        One value for each of `QUANTITIES`, written to.
    """
    p, g, u, own = c[0], c[1], c[3], c[5]
    mean = own[g.mean_at : g.mean_at + WATER]
    volume = _mean(y, g.places, mean)
    found = acidity(mean[lay.ALK], mean[lay.DIC], mean[lay.TAN], mean[lay.PHOS], 7.0, c[2])
    turbidity = p.clear_ntu + p.fine_turbidity * mean[lay.FINE]
    turbidity += p.coarse_turbidity * mean[lay.COARSE]
    out[0], out[1], out[2] = mean[lay.TAN], mean[lay.NO2], mean[lay.NO3]
    out[3], out[4], out[5] = mean[lay.OXY], mean[lay.ALK], found.ph
    out[6] = mean[lay.TAN] * found.un_ionised_frac
    out[7], out[8] = mean[lay.COARSE], mean[lay.FINE]
    out[9] = turbidity
    out[10] = CLARITY_M / (CLARITY_BASE + CLARITY_SLOPE * turbidity)
    out[11], out[12], out[13] = mean[lay.ORG], _least_oxygen(y, c), mean[lay.DIC]
    out[16] = y[g.filters_at + lay.AIR_CHARGE] if g.filters > 0 else 0.0
    out[14] = out[15] = out[17] = out[18] = 0.0
    for f in range(g.filters):
        at = g.filters_at + f * lay.FILTER
        out[14] += held_g(y, at, 0) + held_g(y, at, 1)
        out[15] += sludge_volume_m3(y, p, at)
        out[17] += flows(y, c, f).filter_m3_s
        out[18] += u[1 + f].backwashes
    out[19], out[20] = volume, y[lay.TEMPERATURE]
    for i in range(8):
        out[21 + i] = mean[lay.PHOS + i]
    out[29], out[30] = conductivity_s_m(mean), mean[lay.COLOUR]
    out[31], out[32] = mean[lay.N2GAS], mean[lay.CHLORINE]


@kernel
def _mean(y: Array, places: int, mean: Array) -> float:
    """Concentrations of the whole water; returns its volume."""
    volume = 0.0
    for i in range(WATER):
        mean[i] = 0.0
    for place in range(places):
        base = FIRST + place * PLACE
        volume += y[base + lay.VOLUME]
        for i in range(WATER):
            mean[i] += y[base + i]
    for i in range(WATER):
        mean[i] /= volume
    return volume


@kernel
def _least_oxygen(y: Array, c: Context) -> float:
    g, parts = c[1], c[4]
    least = math.inf
    for place in range(g.places):
        volume = y[FIRST + place * PLACE + lay.VOLUME]
        if parts[place].holds_fish > 0 and volume > 1e-6 * parts[place].usual_m3:
            least = min(least, y[FIRST + place * PLACE + lay.OXY] / volume)
    return float(least)
