"""Rows on what feed becomes, on growth and on the limits of fish."""

from __future__ import annotations

from tailrace.husbandry import (
    Level,
    Side,
    excreted_ammonia_by_share_n_g_s,
    excreted_total_ammonia_n_g_s,
    feed_conversion_kg_kg,
    feed_ration_kg_s,
    feed_solids_kg_s,
    fish_biomass_kg,
    fish_oxygen_use_kg_s,
    grown_mass_kg,
    limit,
    nile_tilapia_oxygen_uptake_per_s,
    released_nitrogen_kg_kg,
    respired_carbon_dioxide_kg_s,
    thermal_growth_kg13_per_degc_s,
)
from tailrace.water.reported import reported_factor
from tests.published.registry import Inputs, maps

_DAY_S = 86400.0
_TGC = 1e-3 / _DAY_S  # 100 g^(1/3)/(degC d) in kg^(1/3)/(degC s)
_KEYS = {"tilapia": "nile_tilapia", "Nile tilapia": "nile_tilapia", "yellow perch": "yellow_perch"}
_TEMPERATURE: dict[str, tuple[Side, Level]] = {
    "highest tolerated": ("high", "danger"),
    "no feeding below": ("low", "act"),
    "death below": ("low", "danger"),
    "no growth below": ("low", "act"),
    "stress in tanks above": ("high", "good"),
    "stress above": ("high", "act"),
}


def _days(inputs: Inputs) -> float:
    return inputs["days"].numbers[0] * _DAY_S


def _ours(inputs: Inputs) -> bool:
    return inputs["species"].text in _KEYS


def _limit(inputs: Inputs, quantity: str, side: Side, level: Level) -> float:
    found = limit(_KEYS[inputs["species"].text], quantity, side, level)
    assert found is not None, "the table has no such cell"
    return found.value


@maps("TAN production from feed", gives="g/s", needs="feed protein TAN_factor")
def _ammonia(inputs: Inputs) -> float:
    return excreted_total_ammonia_n_g_s(
        inputs["feed"].to("kg/s"),
        inputs["protein"].to("fraction"),
        inputs["TAN_factor"].to("fraction"),
    )


@maps(
    "ammonia-nitrogen from feed", gives="g/s", needs="feed protein N_in_protein wasted_as_ammonia"
)
def _ammonia_by_share(inputs: Inputs) -> float:
    return excreted_ammonia_by_share_n_g_s(
        inputs["feed"].to("kg/s"),
        inputs["protein"].to("fraction"),
        nitrogen_in_protein_frac=inputs["N_in_protein"].to("fraction"),
        excreted_frac=inputs["wasted_as_ammonia"].to("fraction"),
    )


@maps("nitrogen released per kg of feed", gives="kg/kg", needs="protein N_in_protein FCR body_N")
def _released(inputs: Inputs) -> float:
    return released_nitrogen_kg_kg(
        inputs["protein"].to("fraction"),
        inputs["FCR"].to("kg/kg"),
        nitrogen_in_protein_frac=inputs["N_in_protein"].to("fraction"),
        body_nitrogen_kg_kg=inputs["body_N"].to("kg/kg"),
    )


@maps("dry solids from feed", gives="kg/s", needs="feed solids_factor")
def _solids(inputs: Inputs) -> float:
    return feed_solids_kg_s(inputs["feed"].to("kg/s"), inputs["solids_factor"].to("kg/kg"))


@maps(
    "oxygen demand of fish per kg of feed",
    gives="kg/kg",
    needs="scope",
    accepts=lambda inputs: inputs["scope"].text == "fish only",
)
def _oxygen(_: Inputs) -> float:
    return fish_oxygen_use_kg_s(1.0)


@maps(
    "carbon dioxide from feed",
    gives="kg/s",
    needs="feed O2_factor CO2_per_O2",
    accepts=lambda inputs: inputs["CO2_per_O2"].numbers == (1.375,),  # RQ 1, the default
)
def _carbon_dioxide(inputs: Inputs) -> float:
    oxygen = fish_oxygen_use_kg_s(inputs["feed"].to("kg/s"), inputs["O2_factor"].to("kg/kg"))
    return respired_carbon_dioxide_kg_s(oxygen)


@maps("daily feed from fish number", gives="kg/s", needs="fish weight ration")
def _ration(inputs: Inputs) -> float:
    return feed_ration_kg_s(
        inputs["fish"].numbers[0], inputs["weight"].to("kg"), inputs["ration"].to("1/s")
    )


@maps("fish biomass from daily feed", gives="kg", needs="feed ration")
def _biomass(inputs: Inputs) -> float:
    return fish_biomass_kg(inputs["feed"].to("kg/s"), inputs["ration"].to("1/s"))


@maps("feed conversion ratio", gives="kg/kg", needs="feed gain")
def _conversion(inputs: Inputs) -> float:
    return feed_conversion_kg_kg(inputs["feed"].to("kg"), inputs["gain"].to("kg"))


@maps("thermal growth coefficient", gives="as the row", needs="W1 W2 T days")
def _growth(inputs: Inputs) -> float:
    found = thermal_growth_kg13_per_degc_s(
        inputs["W1"].to("kg"),
        inputs["W2"].to("kg"),
        water_temperature_degc=inputs["T"].to("degC"),
        duration_s=_days(inputs),
    )
    return found / _TGC


@maps("final weight from thermal growth coefficient", gives="kg", needs="W1 TGC T days")
def _grown(inputs: Inputs) -> float:
    return grown_mass_kg(
        inputs["W1"].to("kg"),
        inputs["TGC"].numbers[0] * _TGC,
        water_temperature_degc=inputs["T"].to("degC"),
        duration_s=_days(inputs),
    )


@maps("oxygen uptake of Nile tilapia, polynomial", gives="kg/kg/s", needs="W T")
def _uptake(inputs: Inputs) -> float:
    return nile_tilapia_oxygen_uptake_per_s(inputs["W"].to("kg"), inputs["T"].to("degC"))


@maps(
    "temperature limit",
    gives="degC",
    needs="species limit",
    accepts=lambda inputs: _ours(inputs) and inputs["limit"].text in _TEMPERATURE,
)
def _temperature(inputs: Inputs) -> float:
    return _limit(inputs, "water_temperature", *_TEMPERATURE[inputs["limit"].text])


@maps("comfortable temperature range", gives="degC", needs="species", accepts=_ours)
def _comfort(inputs: Inputs) -> tuple[float, float]:
    low, high = (_limit(inputs, "water_temperature", side, "good") for side in ("low", "high"))
    return low, high


@maps("pH range survived", gives="as the row", needs="species", accepts=_ours)
def _ph(inputs: Inputs) -> tuple[float, float]:
    return _limit(inputs, "ph", "low", "danger"), _limit(inputs, "ph", "high", "danger")


@maps("dissolved oxygen that most fish require", gives="g/m3", needs="species", accepts=_ours)
def _oxygen_range(inputs: Inputs) -> tuple[float, float]:
    return _limit(inputs, "oxygen", "low", "act"), _limit(inputs, "oxygen", "low", "good")


@maps("un-ionised ammonia without loss of growth", gives="g/m3", needs="species T", accepts=_ours)
def _no_loss(inputs: Inputs) -> float:
    return _limit(inputs, "un_ionised_ammonia", "high", "good")


@maps("un-ionised ammonia commonly accepted", gives="g/m3", needs="species", accepts=_ours)
def _accepted(inputs: Inputs) -> float:
    found = _limit(inputs, "un_ionised_ammonia", "high", "good")
    return found / reported_factor("un_ionised_ammonia", "NH3")


@maps("nitrite held to be toxic above", gives="g/m3", needs="species", accepts=_ours)
def _nitrite(inputs: Inputs) -> float:
    return _limit(inputs, "nitrite", "high", "good") / reported_factor("nitrite", "NO2")


@maps("nitrate not to be exceeded", gives="g/m3", needs="species", accepts=_ours)
def _nitrate(inputs: Inputs) -> float:
    return _limit(inputs, "nitrate", "high", "act")
