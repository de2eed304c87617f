"""Every number of the loop that is not geometry, named once with its default and unit.

One record serves the simulation, the table of priors, reports and files. Rates are at 20 degC.
Where the source is 'judgement' nothing published stands behind the value; docs/theory/loop.md
lists sources and validity.
"""

from __future__ import annotations

from dataclasses import astuple, dataclass, fields
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tailrace.errors import InputError

DAY_S: Final = 86400.0
_UM = 1e-6


@dataclass(frozen=True, slots=True)
class Parameters:
    """The parameters of one loop, or of one member of an ensemble.

    Parameters
    ----------
    aob_growth_per_s, nob_growth_per_s, heterotroph_growth_per_s
        Greatest growth rate of ammonia oxidisers, nitrite oxidisers and heterotrophs.
    aob_yield_kg_kg, nob_yield_kg_kg, heterotroph_yield_kg_kg
        Film grown (VSS) per nitrogen oxidised, or per oxygen demand of organics taken up.
    aob_decay_per_s, nob_decay_per_s, heterotroph_decay_per_s
        Decay of film.
    aob_half_n_g_m3, nob_half_n_g_m3, heterotroph_half_cod_g_m3
        Half saturation for total ammonia, nitrite and dissolved organics.
    aob_oxygen_half_g_m3, nob_oxygen_half_g_m3, heterotroph_oxygen_half_g_m3
        Half saturation for oxygen.
    alkalinity_half_eq_m3
        Half saturation of nitrification for alkalinity.
    ammonia_inhibition_n_g_m3
        Un-ionised ammonia that halves nitrite oxidation.
    nitrite_from_film_frac
        Share of the nitrite made in a film that its nitrite oxidisers meet before the water.
    bead_film_m_s, wall_film_m_s, bead_organics_m_s, wall_organics_m_s
        Conductance of the film on beads and on other surfaces, for nitrogen and for organics.
    bead_area_factor, wall_area_factor
        Multipliers of the two film areas.
    bead_film_cap_g_m2, wall_film_cap_g_m2
        Film per area at which half of the film growth of a day is shed.
    smothering_frac
        Filled share of the pores at which half of the bead film is covered.
    smothering_heterotrophs_g_m2
        Heterotrophs per bead area that cover half of it.
    solids_yield_kg_kg, coarse_frac
        Dry solids per feed eaten, and their coarse share.
    coarse_capture_per_m, fine_capture_per_m
        Filter coefficient of the clean bead bed at 6.2 mm/s.
    hydrolysis_per_s, degradable_frac, sludge_decay_frac
        Decay of degradable solids, the degradable share, and decay in sludge over that.
    crumbling_frac
        Coarse solids that crumble for each that decays, in the bead bed.
    detachment_per_s
        Fine solids torn off a full bead bed at 6.2 mm/s.
    breakup_per_s
        Coarse solids in the water that break into fine ones.
    coarse_settling_m_s, fine_settling_m_s
        Settling onto the plan area of the plant bed.
    dislodged_frac, sticking_s
        Share of the captured solids that a backwash dislodges, and the time without one in
        which that share falls to 1/e.
    decaking_frac
        Share of the caking that the tumbling of a backwash breaks up.
    breaking_frac
        Dislodged coarse solids that break into fine ones.
    scrub_least_frac, scrub_more_frac, scrub_time_s
        Film lost by a backwash: least, more after a long interval, and the time it takes.
    restirred_frac
        Sludge stirred up by a backwash.
    coarse_puff_frac, fine_puff_frac
        Share of the stirred solids that goes straight to the tank.
    chamber_coarse_settling_m_s, chamber_fine_settling_m_s, chamber_depth_m
        Settling of stirred solids in the air chamber and its depth.
    chamber_water_m3, chamber_mixing_m3_s
        Water in the chamber, and its exchange with the bead bed beside what air displaces.
    channelling_after_s, channelling_time_s
        Time without backwash after which the bead bed channels, and how fast.
    fresh_sludge_kg_m3, packed_sludge_kg_m3, packing_s
        Dry mass per volume of fresh and packed sludge, and the time packing takes.
    excretion_kg_kg
        Nitrogen excreted as ammonia per protein eaten.
    respiration_kg_kg, respired_carbon_dioxide_kg_kg
        Oxygen used and carbon dioxide made by the fish, per feed eaten.
    gut_s
        Mean time that feed stays in the fish.
    basal_frac
        Share of excretion and respiration at the usual ration that goes on without feed.
    crop_uptake_n_g_m2_s, crop_half_n_g_m3
        Nitrogen taken up by a full canopy, and its half saturation.
    crop_ammonium_preference
        Weight of nitrate against ammonium in that uptake.
    aeration_per_s
        Gas exchange for oxygen at 20 degC while aeration works.
    still_aeration_frac
        Share of it that goes on without power.
    carbon_dioxide_exchange_frac
        Exchange of carbon dioxide over that of oxygen.
    ionic_strength_mol_m3
        Ionic strength of the water.
    leaching_frac, leaching_per_s
        Share of settling solids that leaches fast, and how fast.
    phosphorus_excreted_frac
        Share of the feed's phosphorus that fish give off dissolved.
    feed_potassium_frac, feed_sodium_frac, feed_chloride_frac, feed_sulphate_frac
        Minerals given off dissolved per feed eaten.
    feed_calcium_frac, feed_magnesium_frac
        Likewise.
    feed_colour_kg_kg, colour_loss_per_s
        Colour (as platinum) made per feed, and its bleaching.
    crop_phosphorus_kg_kg, crop_potassium_kg_kg, crop_calcium_kg_kg
        Taken up per nitrogen taken up, where the water has enough.
    crop_magnesium_kg_kg, crop_iron_kg_kg, crop_sulphate_kg_kg
        Likewise.
    crop_half_frac
        Half saturation of these, over that for nitrogen.
    crop_daylight_frac, sunrise_s
        Share of the uptake that follows the light, and the time of sunrise on the clock.
    nitrogen_exchange_frac
        Exchange of nitrogen gas over that of oxygen.
    calcite_per_s, calcite_threshold
        Growth of calcite over its saturation, and the saturation index at which it starts.
    chlorine_loss_per_s, chlorine_kill_m3_g_s
        Loss of chlorine to organics, and film killed by it.
    heat_exchange_w_m2_k, latent_frac
        Heat exchange with the air per open water surface, evaporation apart; and the share of
        what evaporates that takes its heat from the water (leaves take theirs from the sun).
    evaporation_m3_s
        Water lost to air and crop.
    make_up_alkalinity_eq_m3, make_up_dic_mol_m3, make_up_nitrate_n_g_m3
        What the added water holds.
    make_up_calcium_g_m3, make_up_magnesium_g_m3, make_up_sodium_g_m3, make_up_chloride_g_m3
        Its ions.
    make_up_sulphate_g_m3, make_up_potassium_g_m3, make_up_iron_g_m3
        Its ions, and iron.
    make_up_phosphate_p_g_m3, make_up_tan_n_g_m3, make_up_chlorine_g_m3
        Its phosphate, total ammonia and chlorine.
    make_up_oxygen_frac, make_up_nitrogen_gas_frac
        Oxygen and nitrogen gas in it over what air would leave there.
    load_factor, aob_factor, nob_factor, stripping_factor
        Multipliers of the feed, of the two oxidation rates, and of carbon dioxide exchange.
    alkalinity_drift_eq_m3_s
        Alkalinity gained by what the model leaves out.
    air_per_backwash_factor
        Multiplier of the air that a backwash takes.
    back_pressure_pa
        Pressure at the face beyond that computed.
    clear_ntu, fine_turbidity, coarse_turbidity
        Turbidity of clear water [NTU], and of fine and coarse solids [NTU per g/m3].
    """

    aob_growth_per_s: float = 0.50 / DAY_S
    nob_growth_per_s: float = 0.50 / DAY_S
    heterotroph_growth_per_s: float = 3.0 / DAY_S
    aob_yield_kg_kg: float = 0.15
    nob_yield_kg_kg: float = 0.06
    heterotroph_yield_kg_kg: float = 0.45
    aob_decay_per_s: float = 0.05 / DAY_S
    nob_decay_per_s: float = 0.05 / DAY_S
    heterotroph_decay_per_s: float = 0.25 / DAY_S
    aob_half_n_g_m3: float = 0.7
    nob_half_n_g_m3: float = 0.4
    heterotroph_half_cod_g_m3: float = 10.0
    aob_oxygen_half_g_m3: float = 0.5
    nob_oxygen_half_g_m3: float = 0.9
    heterotroph_oxygen_half_g_m3: float = 0.2
    alkalinity_half_eq_m3: float = 0.2
    ammonia_inhibition_n_g_m3: float = 1.0
    nitrite_from_film_frac: float = 0.5
    bead_film_m_s: float = 0.86 / DAY_S
    wall_film_m_s: float = 0.35 / DAY_S
    bead_organics_m_s: float = 0.50 / DAY_S
    wall_organics_m_s: float = 0.20 / DAY_S
    bead_area_factor: float = 1.0
    wall_area_factor: float = 1.0
    bead_film_cap_g_m2: float = 150.0 / 35.0
    wall_film_cap_g_m2: float = 60.0 / 22.0
    smothering_frac: float = 0.15
    smothering_heterotrophs_g_m2: float = 60.0 / 35.0
    solids_yield_kg_kg: float = 0.25
    coarse_frac: float = 0.7
    coarse_capture_per_m: float = 10.0
    fine_capture_per_m: float = 0.8
    hydrolysis_per_s: float = 0.18 / DAY_S
    degradable_frac: float = 0.6
    sludge_decay_frac: float = 0.5
    crumbling_frac: float = 0.5
    detachment_per_s: float = 0.6 / DAY_S
    breakup_per_s: float = 1.5 / DAY_S
    coarse_settling_m_s: float = 20.0 / 7.0 / DAY_S
    fine_settling_m_s: float = 3.0 / 7.0 / DAY_S
    dislodged_frac: float = 0.80
    sticking_s: float = 3.0 * DAY_S
    decaking_frac: float = 0.9
    breaking_frac: float = 0.08
    scrub_least_frac: float = 0.002
    scrub_more_frac: float = 0.02
    scrub_time_s: float = 7200.0
    restirred_frac: float = 0.004
    coarse_puff_frac: float = 0.024
    fine_puff_frac: float = 0.08
    chamber_coarse_settling_m_s: float = 4e-3
    chamber_fine_settling_m_s: float = 40.0 * _UM
    chamber_depth_m: float = 0.30
    chamber_water_m3: float = 0.030
    chamber_mixing_m3_s: float = 0.144 / DAY_S
    channelling_after_s: float = 1.5 * DAY_S
    channelling_time_s: float = 6.0 * DAY_S
    fresh_sludge_kg_m3: float = 12.0
    packed_sludge_kg_m3: float = 40.0
    packing_s: float = DAY_S
    excretion_kg_kg: float = 0.092
    respiration_kg_kg: float = 0.30
    respired_carbon_dioxide_kg_kg: float = 0.41
    gut_s: float = 0.4 * DAY_S
    basal_frac: float = 0.15
    crop_uptake_n_g_m2_s: float = 0.75 / DAY_S
    crop_half_n_g_m3: float = 3.0
    crop_ammonium_preference: float = 0.2
    aeration_per_s: float = 36.0 / DAY_S
    still_aeration_frac: float = 0.1
    carbon_dioxide_exchange_frac: float = 0.35
    ionic_strength_mol_m3: float = 8.0
    leaching_frac: float = 0.3
    leaching_per_s: float = 0.7 / DAY_S
    phosphorus_excreted_frac: float = 0.25
    feed_potassium_frac: float = 0.003
    feed_sodium_frac: float = 0.002
    feed_chloride_frac: float = 0.0035
    feed_sulphate_frac: float = 0.003
    feed_calcium_frac: float = 0.003
    feed_magnesium_frac: float = 0.0006
    feed_colour_kg_kg: float = 0.005
    colour_loss_per_s: float = 0.02 / DAY_S
    crop_phosphorus_kg_kg: float = 0.15
    crop_potassium_kg_kg: float = 1.4
    crop_calcium_kg_kg: float = 0.3
    crop_magnesium_kg_kg: float = 0.1
    crop_iron_kg_kg: float = 0.003
    crop_sulphate_kg_kg: float = 0.2
    crop_half_frac: float = 0.5
    crop_daylight_frac: float = 0.0
    sunrise_s: float = 0.25 * DAY_S
    nitrogen_exchange_frac: float = 0.9
    calcite_per_s: float = 0.5 / DAY_S
    calcite_threshold: float = 0.7
    chlorine_loss_per_s: float = 12.0 / DAY_S
    chlorine_kill_m3_g_s: float = 4.0 / DAY_S
    heat_exchange_w_m2_k: float = 10.0
    latent_frac: float = 0.3
    evaporation_m3_s: float = 0.0
    make_up_alkalinity_eq_m3: float = 1.0
    make_up_dic_mol_m3: float = 1.1
    make_up_nitrate_n_g_m3: float = 0.0
    make_up_calcium_g_m3: float = 15.0
    make_up_magnesium_g_m3: float = 3.0
    make_up_sodium_g_m3: float = 5.0
    make_up_chloride_g_m3: float = 8.0
    make_up_sulphate_g_m3: float = 8.0
    make_up_potassium_g_m3: float = 1.0
    make_up_iron_g_m3: float = 0.0
    make_up_phosphate_p_g_m3: float = 0.0
    make_up_tan_n_g_m3: float = 0.0
    make_up_chlorine_g_m3: float = 0.0
    make_up_oxygen_frac: float = 1.0
    make_up_nitrogen_gas_frac: float = 1.0
    load_factor: float = 1.0
    aob_factor: float = 1.0
    nob_factor: float = 1.0
    stripping_factor: float = 1.0
    alkalinity_drift_eq_m3_s: float = 0.0
    air_per_backwash_factor: float = 1.0
    back_pressure_pa: float = 0.0
    clear_ntu: float = 0.3
    fine_turbidity: float = 1.1
    coarse_turbidity: float = 0.4


NAMES: Final = tuple(field.name for field in fields(Parameters))
DTYPE: Final = np.dtype([(name, np.float64) for name in NAMES], align=True)
_SIGNED: Final = frozenset({"alkalinity_drift_eq_m3_s", "back_pressure_pa", "calcite_threshold"})
_MAY_BE_BELOW_ZERO: Final = _SIGNED | {"make_up_alkalinity_eq_m3"}


def parameter_table(parameters: Parameters, members: int = 1) -> NDArray[Any]:
    """Parameters of the members of an ensemble as one structured array, all alike at first.

    Parameters
    ----------
    parameters
        What each member starts from.
    members
        Number of members.

    Returns
    -------
    ndarray
        One row for each member; a column is reached by its name, as in ``table["gut_s"]``.

    Raises
    ------
    InputError
        A parameter is not a number, or below zero where it cannot be.
    """
    table = np.full(members, np.array(astuple(parameters), dtype=DTYPE))
    check_table(table)
    return table


def check_table(table: NDArray[Any]) -> None:
    """Refuse parameters that are not numbers, or below zero where they cannot be.

    Parameters
    ----------
    table
        As from `parameter_table`.

    Raises
    ------
    InputError
        Names the parameter, the member and the value.
    """
    for name in NAMES:
        low = -np.inf if name in _MAY_BE_BELOW_ZERO else 0.0
        wrong = ~(np.isfinite(table[name]) & (table[name] >= low))
        if wrong.any():
            member = int(np.argmax(wrong))
            message = (
                f"parameter {name} of member {member} is {table[name][member]:g}; it must be a "
                "finite number" + ("" if low < 0.0 else ", zero or more") + "."
            )
            raise InputError(message)
