"""Records that the kernels read: what is built, what the temperature makes of it, what is set.

Each is a row of a structured array, so that a kernel reads ``g.filters_at`` by name. What a loop
has many of (places, filters, surfaces, pipes) are rows of one array of `PART`, in this order.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np

# One row of a structured array, or the array; the fields have no static types.
Record = Any


def _dtype(*names: str, whole: tuple[str, ...] = ()) -> np.dtype[Any]:
    numbers = [(name, np.float64) for name in names]
    return np.dtype([*numbers, *((name, np.int64) for name in whole)], align=True)


# Counts and positions of a loop; the same for all members.
GEOMETRY: Final = _dtype(
    *("barometric_pa_abs", "water_m3", "open_water_m2"),
    whole=(
        *("places", "filters", "surfaces", "fish", "pipes", "level"),
        *("filters_at", "surfaces_at", "fish_at", "moving", "size"),
        *("acid_at", "flow_at", "through_at", "rate_at", "mean_at", "drained_at", "stride"),
    ),
)
# Rows: places, then filters, surfaces, pipes; a row uses the fields of its kind.
PART: Final = _dtype(
    # place: usual and greatest water, crop, exchange of gases over that of the loop, share of
    # evaporation, feed of the fish in it as share of the loop's
    *("usual_m3", "most_m3", "crop_m2", "oxygen_factor", "stripping_factor"),
    *("evaporation_frac", "ration_frac", "ration_g_s", "ration_n_g_s"),
    # filter
    *("bead_m2", "bead_m3", "bead_depth_m", "bead_plan_m2", "void_frac", "deposit_density_kg_m3"),
    *("chamber_m3", "chamber_pa", "residual_fill_frac", "cone_m3", "trigger_flow_m3_s"),
    *("deposit_top_g", "pressure_top_pa"),
    # surface
    *("film_m2", "settling_m2", "air_frac"),
    # pipe: share of what it starts from, or a pumped flow
    *("share_frac", "pumped_m3_s"),
    whole=("next", "holds_fish", "from_place", "to_place", "kind", "table_at"),
)
GRAVITY, PUMPED, RETURN, BYPASS = range(4)  # kinds of pipe
# What follows from parameters and temperature; made anew when the temperature changes.
DERIVED: Final = _dtype(
    *("temperature_degc", "aob_per_s", "nob_per_s", "heterotroph_per_s", "aob_decay_per_s"),
    *("nob_decay_per_s", "heterotroph_decay_per_s", "hydrolysis_per_s", "leaching_per_s"),
    *("oxygen_g_m3", "carbon_dioxide_mol_m3", "nitrogen_g_m3", "dry_pa_abs", "standard_per_pa"),
    *("log_one", "k1", "k2", "kw", "ka", "kp1", "kp2", "kp3"),
)
# What is set or switched, and when the last backwash and drain were. The first row of a member
# is the loop's, one row for each filter follows.
CONTROL: Final = _dtype(
    *("aeration_on", "power_on", "feed_g_s", "feed_n_frac", "held_alkalinity_eq_m3"),
    *("heat_on", "air_degc", "air_swing_k", "sun_w_m2", "heater_w", "heater_degc"),
    *("evaporation_factor", "temperature_degc", "step_s"),
    *("setting", "water_pump_on", "air_pump_on", "backwash_s", "drain_s", "backwashes"),
)


def one(dtype: np.dtype[Any], **values: float) -> Record:
    """One record of a kind, zero where nothing is given.

    Parameters
    ----------
    dtype
        One of the kinds above.
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
