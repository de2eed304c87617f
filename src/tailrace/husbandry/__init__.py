"""Fish, feed and what they ask of the water: plain functions and tables with sources."""

from tailrace.husbandry.feed import (
    excreted_ammonia_by_share_n_g_s,
    excreted_total_ammonia_n_g_s,
    feed_solids_kg_s,
    fish_oxygen_use_kg_s,
    released_nitrogen_kg_kg,
    respired_carbon_dioxide_kg_s,
)
from tailrace.husbandry.growth import (
    feed_conversion_kg_kg,
    feed_ration_kg_s,
    fish_biomass_kg,
    grown_mass_kg,
    nile_tilapia_oxygen_uptake_per_s,
    thermal_growth_kg13_per_degc_s,
)
from tailrace.husbandry.limits import Level, Limit, Side, Species, limit, limits, species

__all__ = [
    "Level",
    "Limit",
    "Side",
    "Species",
    "excreted_ammonia_by_share_n_g_s",
    "excreted_total_ammonia_n_g_s",
    "feed_conversion_kg_kg",
    "feed_ration_kg_s",
    "feed_solids_kg_s",
    "fish_biomass_kg",
    "fish_oxygen_use_kg_s",
    "grown_mass_kg",
    "limit",
    "limits",
    "nile_tilapia_oxygen_uptake_per_s",
    "released_nitrogen_kg_kg",
    "respired_carbon_dioxide_kg_s",
    "species",
    "thermal_growth_kg13_per_degc_s",
]
