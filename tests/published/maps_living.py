"""Rows on weighings, rations, stock, balances for sizing, and what sources print about fish."""

from __future__ import annotations

from tailrace.husbandry import (
    Printed,
    condition_kg_m3,
    excretion_by_biomass_g_s,
    fed_kg,
    feed_at_limit_kg_s,
    feed_for_gain_kg_s,
    flow_through_treatment_m3_s,
    flow_to_carry_off_m3_s,
    flow_to_supply_m3_s,
    gain_kg,
    growth_time_s,
    harvested_kg_s,
    harvests_per_s,
    make_up_flow_m3_s,
    mass_by_specific_growth_kg,
    media_surface_m2,
    media_volume_m3,
    nitrogen_fed_n_g_s,
    printed,
    protein_fed_kg_s,
    rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s,
    salmon_oxygen_uptake_liao_1971_per_s,
    specific_growth_per_s,
    stock_density_kg_m3,
    tabled_ration_per_s,
    tank_density_kg_m3,
    tank_volume_m3,
    trout_oxygen_uptake_liao_1971_per_s,
)
from tailrace.husbandry.printed import Kind, all_printed
from tailrace.water.reported import reported_factor
from tests.published.registry import Inputs, maps

_DAY_S = 86400.0
_TGC = 1e-3 / _DAY_S  # 100 g^(1/3)/(degC d) in kg^(1/3)/(degC s)
_RULES = {"FAO 589": "somerville_2014"}
_LIAO = {
    "trout": trout_oxygen_uptake_liao_1971_per_s,
    "rainbow trout": trout_oxygen_uptake_liao_1971_per_s,
    "salmon": salmon_oxygen_uptake_liao_1971_per_s,
}


def _key(inputs: Inputs) -> str:
    words = inputs["species"].text
    named = {"tilapia": "nile_tilapia", "general design": "any_fish", "trout": "rainbow_trout"}
    return named.get(words, words.lower().replace(" ", "_"))


def _rows(inputs: Inputs, quantity: str, kind: Kind) -> tuple[Printed, ...]:
    if _key(inputs) not in {row.species for row in all_printed()}:
        return ()
    rule = inputs["source_rule"].text if "source_rule" in inputs else ""
    source = _RULES.get(rule, rule) or None
    return printed(_key(inputs), quantity, kind=kind, source=source)


def _ends(row: Printed) -> float | tuple[float, float]:
    return row.low if row.low == row.high else (row.low, row.high)


# --- what feed is and becomes -------------------------------------------------------------


@maps("protein fed", gives="kg/s", needs="feed protein")
def _protein(inputs: Inputs) -> float:
    return protein_fed_kg_s(inputs["feed"].to("kg/s"), inputs["protein"].to("fraction"))


@maps("nitrogen fed", gives="g/s", needs="feed protein N_in_protein")
def _nitrogen(inputs: Inputs) -> float:
    return nitrogen_fed_n_g_s(
        inputs["feed"].to("kg/s"),
        inputs["protein"].to("fraction"),
        inputs["N_in_protein"].to("fraction"),
    )


@maps("ammonia (as NH3) from ammonia-nitrogen", gives="g/s", needs="ammonia_N", optional="factor")
def _as_ammonia(inputs: Inputs) -> float:
    return inputs["ammonia_N"].to("g/s") / reported_factor("un_ionised_ammonia", "NH3")


@maps("ammonia load from fish biomass", gives="g/s", needs="fish weight excretion")
def _by_biomass(inputs: Inputs) -> float:
    return excretion_by_biomass_g_s(
        inputs["fish"].numbers[0], inputs["weight"].to("kg"), inputs["excretion"].to("1/s")
    )


@maps("feed over a period", gives="kg", needs="feed days")
def _over(inputs: Inputs) -> float:
    return fed_kg(inputs["feed"].to("kg/s"), inputs["days"].numbers[0] * _DAY_S)


@maps("average daily feed from annual feed", gives="kg/d", needs="annual_feed")
def _daily(inputs: Inputs) -> float:
    return fed_kg(inputs["annual_feed"].to("kg/s"), _DAY_S)


@maps("weight gain from feed", gives="kg", needs="feed gain_per_feed")
def _gain(inputs: Inputs) -> float:
    return gain_kg(inputs["feed"].to("kg"), 1.0 / inputs["gain_per_feed"].to("kg/kg"))


@maps("annual feed", gives="kg/s", needs="production FCR")
def _annual_feed(inputs: Inputs) -> float:
    return feed_for_gain_kg_s(inputs["production"].to("kg/s"), inputs["FCR"].to("kg/kg"))


@maps("tabled ration by size", gives="1/s", needs="species weight")
def _tabled(inputs: Inputs) -> float:
    return tabled_ration_per_s(_key(inputs), inputs["weight"].to("kg"))


# --- stock and harvest --------------------------------------------------------------------


@maps("harvest density of fish", gives="kg/m3", needs="stocking survival harvest_weight")
def _density(inputs: Inputs) -> float:
    return stock_density_kg_m3(
        inputs["stocking"].to("1/m3"),
        inputs["survival"].to("fraction"),
        inputs["harvest_weight"].to("kg"),
    )


@maps(
    "annual fish production, tanks harvested in turn",
    gives="kg/s",
    needs="density tank_volume harvest_interval",
)
def _in_turn(inputs: Inputs) -> float:
    harvest = inputs["density"].to("kg/m3") * inputs["tank_volume"].to("m3")
    return harvested_kg_s(harvest, harvests_per_s(inputs["harvest_interval"].to("s")))


@maps("tank volume from harvest and density", gives="m3", needs="harvest density")
def _volume(inputs: Inputs) -> float:
    return tank_volume_m3(inputs["harvest"].to("kg"), inputs["density"].to("kg/m3"))


@maps("harvests per year", gives="1/s", needs="harvest_interval")
def _harvests(inputs: Inputs) -> float:
    return harvests_per_s(inputs["harvest_interval"].to("s"))


@maps("annual production from harvests", gives="kg/s", needs="harvest harvests")
def _production(inputs: Inputs) -> float:
    return harvested_kg_s(inputs["harvest"].to("kg"), inputs["harvests"].to("1/s"))


# --- balances -----------------------------------------------------------------------------


@maps("biofilter surface required", gives="m2", needs="ammonia removal")
def _surface(inputs: Inputs) -> float:
    return media_surface_m2(inputs["ammonia"].to("g/s"), inputs["removal"].to("g/m2/s"))


@maps("biofilter media volume required", gives="m3", needs="surface specific_surface")
def _media(inputs: Inputs) -> float:
    return media_volume_m3(inputs["surface"].to("m2"), inputs["specific_surface"].to("m2/m3"))


@maps("daily make-up water", gives="m3/s", needs="volume replacement")
def _make_up(inputs: Inputs) -> float:
    return make_up_flow_m3_s(inputs["volume"].to("m3"), inputs["replacement"].to("1/s"))


@maps("water flow to supply oxygen", gives="m3/s", needs="oxygen_demand DO_in DO_out")
def _supply(inputs: Inputs) -> float:
    return flow_to_supply_m3_s(
        inputs["oxygen_demand"].to("g/s"), inputs["DO_in"].to("g/m3"), inputs["DO_out"].to("g/m3")
    )


@maps("water flow to hold TAN", gives="m3/s", needs="TAN_production TAN removal_per_pass")
def _hold(inputs: Inputs) -> float:
    return flow_through_treatment_m3_s(
        inputs["TAN_production"].to("g/s"),
        inputs["TAN"].to("g/m3"),
        inputs["removal_per_pass"].to("fraction"),
    )


@maps("water flow to hold carbon dioxide", gives="m3/s", needs="CO2_production CO2_tank CO2_in")
def _carry(inputs: Inputs) -> float:
    return flow_to_carry_off_m3_s(
        inputs["CO2_production"].to("g/s"),
        inputs["CO2_tank"].to("g/m3"),
        inputs["CO2_in"].to("g/m3"),
    )


@maps(
    "new water to hold nitrate",
    gives="m3/s",
    needs="NO3_N_production NO3_N_limit NO3_N_source",
)
def _nitrate(inputs: Inputs) -> float:
    return flow_to_carry_off_m3_s(
        inputs["NO3_N_production"].to("g/s"),
        inputs["NO3_N_limit"].to("g/m3"),
        inputs["NO3_N_source"].to("g/m3"),
    )


@maps(
    "feed supported by water exchange at a nitrate limit",
    gives="kg/s",
    needs="exchange NO3_N_limit NO3_N_source NO3_N_per_feed",
)
def _supported(inputs: Inputs) -> float:
    return feed_at_limit_kg_s(
        inputs["exchange"].to("m3/s"),
        inputs["NO3_N_limit"].to("g/m3"),
        inputs["NO3_N_source"].to("g/m3"),
        inputs["NO3_N_per_feed"].to("kg/kg"),
    )


# --- growth and breathing -----------------------------------------------------------------


@maps("specific growth rate", gives="1/s", needs="W1 W2 days")
def _specific(inputs: Inputs) -> float:
    return specific_growth_per_s(
        inputs["W1"].to("kg"), inputs["W2"].to("kg"), inputs["days"].numbers[0] * _DAY_S
    )


@maps("final weight from specific growth rate", gives="kg", needs="W1 SGR days")
def _grown(inputs: Inputs) -> float:
    return mass_by_specific_growth_kg(
        inputs["W1"].to("kg"), inputs["SGR"].to("1/s"), inputs["days"].numbers[0] * _DAY_S
    )


@maps("time to reach a weight from thermal growth coefficient", gives="s", needs="W1 W2 TGC T")
def _time(inputs: Inputs) -> float:
    return growth_time_s(
        inputs["W1"].to("kg"),
        inputs["W2"].to("kg"),
        inputs["TGC"].numbers[0] * _TGC,
        inputs["T"].to("degC"),
    )


@maps("Fulton condition factor", gives="as the row", needs="W L")
def _condition(inputs: Inputs) -> float:
    return condition_kg_m3(inputs["W"].to("kg"), inputs["L"].to("m")) / 10.0


@maps(
    "oxygen uptake, Liao 1971",
    gives="1/s",
    needs="species T W",
    accepts=lambda inputs: inputs["species"].text in _LIAO,
)
def _liao(inputs: Inputs) -> float:
    uptake = _LIAO[inputs["species"].text]
    return uptake(inputs["W"].to("kg"), inputs["T"].to("degC"))


@maps("oxygen uptake of rainbow trout, Muller-Feuga", gives="kg/kg/s", needs="T W")
def _muller_feuga(inputs: Inputs) -> float:
    return rainbow_trout_oxygen_uptake_muller_feuga_1978_per_s(
        inputs["W"].to("kg"), inputs["T"].to("degC")
    )


# --- printed ranges -----------------------------------------------------------------------


@maps(
    "temperature limit",
    gives="degC",
    needs="species limit",
    accepts=lambda inputs: (
        inputs["limit"].text == "lowest tolerated"
        and bool(_rows(inputs, "water_temperature", "tolerated"))
    ),
)
def _tolerated(inputs: Inputs) -> float:
    return _rows(inputs, "water_temperature", "tolerated")[0].low


@maps("fish density from biomass and volume", gives="kg/m3", needs="biomass volume")
def _tank_density(inputs: Inputs) -> float:
    return tank_density_kg_m3(inputs["biomass"].to("kg"), inputs["volume"].to("m3"))


@maps(
    "stocking density range",
    gives="kg/m3",
    needs="source_rule",
    optional="scale",
    accepts=lambda inputs: bool(_stocking(inputs)),
)
def _stocking_range(inputs: Inputs) -> float | tuple[float, float]:
    return _ends(_stocking(inputs)[0])


def _stocking(inputs: Inputs) -> list[Printed]:
    source = _RULES.get(inputs["source_rule"].text, inputs["source_rule"].text)
    scale = inputs["scale"].text if "scale" in inputs else ""
    return [
        row for row in printed("any_fish", "stock_density", source=source) if scale in row.note
    ]


@maps(
    "optimum temperature range",
    gives="degC",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "water_temperature", "optimum")),
)
def _optimum(inputs: Inputs) -> float | tuple[float, float]:
    return _ends(_rows(inputs, "water_temperature", "optimum")[0])


@maps(
    "TAN limit",
    gives="g/m3",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "total_ammonia", "limit")),
)
def _total_ammonia(inputs: Inputs) -> float:
    return _rows(inputs, "total_ammonia", "limit")[0].high


@maps(
    "nitrite limit",
    gives="g/m3",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "nitrite", "limit")),
)
def _nitrite(inputs: Inputs) -> float:
    return _rows(inputs, "nitrite", "limit")[0].high


@maps(
    "lowest dissolved oxygen",
    gives="g/m3",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "oxygen", "limit")),
)
def _oxygen(inputs: Inputs) -> float:
    return _rows(inputs, "oxygen", "limit")[0].low


@maps(
    "feed crude protein range",
    gives="fraction",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "feed_protein", "optimum")),
)
def _feed_protein(inputs: Inputs) -> float | tuple[float, float]:
    return _ends(_rows(inputs, "feed_protein", "optimum")[0])


@maps(
    "dissolved CO2 limit",
    gives="g/m3",
    needs="species",
    optional="source_rule",
    accepts=lambda inputs: bool(_rows(inputs, "carbon_dioxide", "limit")),
)
def _carbon_dioxide(inputs: Inputs) -> float | tuple[float, float]:
    return _ends(_rows(inputs, "carbon_dioxide", "limit")[0])
