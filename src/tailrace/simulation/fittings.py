"""Records that the kernels read: what is built, what the temperature makes of it, what is set.

Each is one row of a structured array, so that a kernel reads ``geometry.bead_m2`` by name.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

# One row of a structured array, or the array; the fields have no static types.
Record = Any


def _dtype(*names: str) -> np.dtype[Any]:
    return np.dtype([(name, np.float64) for name in names], align=True)


# What is built: volumes, areas and the air chamber; the same for all members.
GEOMETRY: Final = _dtype(
    *("tank_m3", "sump_m3", "bed_m3", "bed_plan_m2", "crop_m2", "wall_m2", "wall_place"),
    *("wall_settling_m2", "bypass_to_tank_frac", "ration_g_s", "ration_n_g_s"),
    *("bead_m2", "bead_m3", "bead_depth_m", "bead_plan_m2", "void_frac", "deposit_density_kg_m3"),
    *("chamber_m3", "chamber_pa", "residual_fill_frac", "cone_m3", "trigger_flow_m3_s"),
    *("barometric_pa_abs", "deposit_top_g", "pressure_top_pa"),
)
# What follows from parameters and temperature; made anew when the temperature changes.
DERIVED: Final = _dtype(
    *("temperature_degc", "aob_per_s", "nob_per_s", "heterotroph_per_s", "aob_decay_per_s"),
    *("nob_decay_per_s", "heterotroph_decay_per_s", "hydrolysis_per_s", "oxygen_g_m3"),
    *("carbon_dioxide_mol_m3", "dry_pa_abs", "standard_per_pa"),
)
# What is set or switched, and when the last backwash and drain were.
CONTROL: Final = _dtype(
    *("setting", "water_pump_on", "air_pump_on", "aeration_on", "power_on", "feed_g_s"),
    *("feed_n_frac", "held_alkalinity_eq_m3", "temperature_degc", "backwash_s", "drain_s"),
    *("step_s", "backwashes"),
)


def one(dtype: np.dtype[Any], **values: float) -> Record:
    """One record of a kind, zero where nothing is given.

    Parameters
    ----------
    dtype
        One of the three kinds above.
    **values
        Fields.

    Returns
    -------
    ndarray
        Structured array of one row.
    """
    record = np.zeros(1, dtype=dtype)
    for name, value in values.items():
        record[name] = value
    return record
