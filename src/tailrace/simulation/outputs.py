"""What a person would measure, worked out from a state.

Concentrations are means over the whole loop, each place by its volume; pH is that of the mixed
water. Oxygen is given for the tank as well, where it can fall first.
"""

from __future__ import annotations

from typing import Final

from tailrace.simulation import layout as lay
from tailrace.simulation.compiled import kernel
from tailrace.simulation.equilibrium import acidity
from tailrace.simulation.filterside import flows
from tailrace.simulation.jumps import sludge_volume_m3
from tailrace.simulation.layout import Array
from tailrace.simulation.processes import Context, place_volume_m3

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
}
NAMES: Final = tuple(QUANTITIES)
COLUMN: Final = {name: position for position, name in enumerate(NAMES)}
CLARITY_M = 4.8  # visible depth = 4.8/(0.35 + 0.75 NTU); judgement, a factor 2 either way
CLARITY_BASE = 0.35
CLARITY_SLOPE = 0.75


@kernel
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
    p, g, d, u = c[0], c[1], c[2], c[3]
    volume = 0.0
    for place in range(lay.PLACES):
        volume += place_volume_m3(place, y, g)
    mean = c[7]
    for i in range(lay.WATER):
        mean[i] = 0.0
        for place in range(lay.PLACES):
            mean[i] += y[place * lay.WATER + i]
        mean[i] /= volume
    found = acidity(
        mean[lay.ALK], mean[lay.DIC], mean[lay.TAN], d.temperature_degc, p.ionic_strength_mol_m3
    )
    turbidity = p.clear_ntu + p.fine_turbidity * mean[lay.FINE]
    turbidity += p.coarse_turbidity * mean[lay.COARSE]
    out[0], out[1], out[2] = mean[lay.TAN], mean[lay.NO2], mean[lay.NO3]
    out[3], out[4], out[5] = mean[lay.OXY], mean[lay.ALK], found.ph
    out[6] = mean[lay.TAN] * found.un_ionised_frac
    out[7], out[8] = mean[lay.COARSE], mean[lay.FINE]
    out[9] = turbidity
    out[10] = CLARITY_M / (CLARITY_BASE + CLARITY_SLOPE * turbidity)
    out[11] = mean[lay.ORG]
    out[12] = y[lay.OXY] / y[lay.TANK_M3]
    out[13] = mean[lay.DIC]
    out[14] = y[lay.BEAD_COARSE] + y[lay.BEAD_FINE]
    out[15] = sludge_volume_m3(y, p)
    out[16] = y[lay.AIR_CHARGE]
    out[17] = flows(y, (p, g, d), u, c[5], c[6]).filter_m3_s
    out[18] = u.backwashes
    out[19] = volume
