"""Rows on plants: light, water use, nutrients, planting and feed-per-area rules."""

from __future__ import annotations

from dataclasses import dataclass

from tailrace.crops.evapotranspiration import (
    crop_water_use_m3_s,
    mean_saturation_vapour_pa_abs,
    psychrometric_constant_pa_k,
    reference_evapotranspiration_m_s,
    saturation_vapour_allen_1998_pa_abs,
    vapour_from_humidities_pa_abs,
    vapour_from_wet_bulb_pa_abs,
    vapour_slope_pa_k,
    wind_at_two_metres_m_s,
)
from tailrace.crops.facts import crop_facts, crops, feed_rule, feed_rules
from tailrace.crops.light import daily_light_mol_m2
from tailrace.crops.planting import (
    area_for_feed_m2,
    crop_yield_kg_s,
    feed_for_area_kg_s,
    feed_per_area_kg_m2_s,
    growing_area_m2,
)
from tailrace.crops.solution import ELEMENTS_G_MOL, element_in_solution_g_m3, salts
from tailrace.crops.sunshine import (
    clear_sky_radiation_w_m2,
    daylight_s,
    extraterrestrial_radiation_w_m2,
    net_heat_radiation_w_m2,
    net_solar_radiation_w_m2,
    solar_radiation_from_temperatures_w_m2,
    solar_radiation_w_m2,
)
from tailrace.crops.uptake import area_for_uptake_m2, nutrient_in_harvest_g
from tailrace.husbandry import feed_for_gain_kg_s
from tailrace.water.air import pressure_at_altitude_allen_1998_pa_abs
from tests.published.registry import Inputs, maps

_WEEK_S = 7.0 * 86400.0
_FLUX = "J/m2/s"
_SALTS = {
    name.replace("(", "").replace(")2", "_2").replace(")", ""): name
    for name in salts()  # a row writes Ca(NO3)2 as CaNO3_2
} | {"NH4_2SO4": "(NH4)2SO4", "NH4_2HPO4": "(NH4)2HPO4"}
_WEATHER = "latitude altitude J Tmax Tmin RHmax RHmin u10 sunshine"
_SHARES = "as bs albedo"


@dataclass(frozen=True, slots=True)
class _Day:
    """The steps of the method for one day, from the inputs of a row."""

    highest: float
    lowest: float
    vapour: float
    above: float
    solar: float
    net: float
    pressure: float


def _share(inputs: Inputs, name: str, usual: float) -> float:
    return inputs[name].to("fraction") if name in inputs else usual


def _day(inputs: Inputs) -> _Day:
    where = inputs["latitude"].to("deg"), inputs["J"].numbers[0]
    highest, lowest = inputs["Tmax"].to("degC"), inputs["Tmin"].to("degC")
    altitude = inputs["altitude"].to("m")
    vapour = vapour_from_humidities_pa_abs(
        highest, lowest, inputs["RHmax"].to("fraction"), inputs["RHmin"].to("fraction")
    )
    above = extraterrestrial_radiation_w_m2(*where)
    solar = solar_radiation_w_m2(
        above,
        inputs["sunshine"].to("s"),
        daylight_s(*where),
        _share(inputs, "as", 0.25),
        _share(inputs, "bs", 0.50),
    )
    clear = clear_sky_radiation_w_m2(above, altitude)
    kept = net_solar_radiation_w_m2(solar, _share(inputs, "albedo", 0.23))
    lost = net_heat_radiation_w_m2(highest, lowest, vapour, solar, clear)
    pressure = pressure_at_altitude_allen_1998_pa_abs(altitude)
    return _Day(highest, lowest, vapour, above, solar, kept - lost, pressure)


@maps("reference evapotranspiration, FAO-56", gives="m/s", needs=_WEATHER, optional=_SHARES)
def _reference(inputs: Inputs) -> float:
    day = _day(inputs)
    return reference_evapotranspiration_m_s(
        0.5 * (day.highest + day.lowest),
        wind_at_two_metres_m_s(inputs["u10"].to("m/s"), 10.0),
        mean_saturation_vapour_pa_abs(day.highest, day.lowest),
        day.vapour,
        day.net,
        day.pressure,
    )


@maps("net radiation, FAO-56", gives=_FLUX, needs=_WEATHER, optional=_SHARES)
def _net(inputs: Inputs) -> float:
    return _day(inputs).net


@maps("solar radiation, FAO-56", gives=_FLUX, needs=_WEATHER, optional=_SHARES)
def _solar(inputs: Inputs) -> float:
    return _day(inputs).solar


@maps("solar radiation from temperatures, FAO-56", gives=_FLUX, needs="Ra Tmax Tmin k")
def _from_temperatures(inputs: Inputs) -> float:
    return solar_radiation_from_temperatures_w_m2(
        inputs["Ra"].to(_FLUX),
        inputs["Tmax"].to("degC"),
        inputs["Tmin"].to("degC"),
        inputs["k"].numbers[0],
    )


@maps("extraterrestrial radiation", gives=_FLUX, needs="latitude J")
def _above(inputs: Inputs) -> float:
    return extraterrestrial_radiation_w_m2(inputs["latitude"].to("deg"), inputs["J"].numbers[0])


@maps("daylight hours", gives="s", needs="latitude J")
def _daylight(inputs: Inputs) -> float:
    return daylight_s(inputs["latitude"].to("deg"), inputs["J"].numbers[0])


@maps("wind speed at 2 m", gives="m/s", needs="u10")
def _wind(inputs: Inputs) -> float:
    return wind_at_two_metres_m_s(inputs["u10"].to("m/s"), 10.0)


@maps("actual vapour pressure from humidity", gives="Pa", needs="Tmin Tmax RHmax RHmin")
def _vapour(inputs: Inputs) -> float:
    return vapour_from_humidities_pa_abs(
        inputs["Tmax"].to("degC"),
        inputs["Tmin"].to("degC"),
        inputs["RHmax"].to("fraction"),
        inputs["RHmin"].to("fraction"),
    )


@maps("actual vapour pressure from wet and dry bulb", gives="Pa", needs="Twet Tdry altitude")
def _wet_bulb(inputs: Inputs) -> float:
    pressure = pressure_at_altitude_allen_1998_pa_abs(inputs["altitude"].to("m"))
    return vapour_from_wet_bulb_pa_abs(
        inputs["Twet"].to("degC"), inputs["Tdry"].to("degC"), pressure
    )


@maps("mean saturation vapour pressure", gives="Pa", needs="Tmax Tmin")
def _mean_saturation(inputs: Inputs) -> float:
    return mean_saturation_vapour_pa_abs(inputs["Tmax"].to("degC"), inputs["Tmin"].to("degC"))


@maps("saturation vapour pressure, FAO-56", gives="Pa", needs="T")
def _saturation(inputs: Inputs) -> float:
    return saturation_vapour_allen_1998_pa_abs(inputs["T"].to("degC"))


@maps("slope of saturation vapour pressure, FAO-56", gives="Pa/K", needs="T")
def _slope(inputs: Inputs) -> float:
    return vapour_slope_pa_k(inputs["T"].to("degC"))


@maps("psychrometric constant, FAO-56", gives="as the row", needs="altitude")
def _psychrometric(inputs: Inputs) -> float:
    pressure = pressure_at_altitude_allen_1998_pa_abs(inputs["altitude"].to("m"))
    return psychrometric_constant_pa_k(pressure) / 1000.0  # kPa/degC


@maps("crop water use", gives="m3/s", needs="ETo Kc area")
def _water(inputs: Inputs) -> float:
    return crop_water_use_m3_s(
        inputs["ETo"].to("m/s"), inputs["Kc"].numbers[0], inputs["area"].to("m2")
    )


@maps("daily light integral", gives="mol/m2/d", needs="PPFD photoperiod")
def _light(inputs: Inputs) -> float:
    return daily_light_mol_m2(inputs["PPFD"].to("mol/m2/s"), inputs["photoperiod"].to("s"))


@maps(
    "nutrient solution concentration",
    gives="g/m3",
    needs="element",
    optional=" ".join(_SALTS),
    accepts=lambda inputs: inputs["element"].text in ELEMENTS_G_MOL,
)
def _solution(inputs: Inputs) -> float:
    recipe = {_SALTS[name]: given.to("mol/m3") for name, given in inputs.items() if name in _SALTS}
    return element_in_solution_g_m3(inputs["element"].text, recipe)


@maps("nitrogen removed by harvest", gives="g", needs="fresh dry_matter N_dry")
def _removed(inputs: Inputs) -> float:
    return nutrient_in_harvest_g(
        inputs["fresh"].to("kg"),
        inputs["dry_matter"].to("fraction"),
        inputs["N_dry"].to("fraction"),
    )


@maps("plant area that removes nitrogen", gives="m2", needs="N_available uptake")
def _removing(inputs: Inputs) -> float:
    return area_for_uptake_m2(inputs["N_available"].to("g/s"), inputs["uptake"].to("g/m2/s"))


@maps("annual yield from area", gives="kg/s", needs="yield area")
def _yield(inputs: Inputs) -> float:
    return crop_yield_kg_s(inputs["yield"].to("kg/m2/s"), inputs["area"].to("m2"))


@maps("basil yield, published", gives="kg/m2/s", needs="method")
def _basil(inputs: Inputs) -> float:
    return crop_facts("basil", "yield", stage=inputs["method"].text)[0].low


@maps("lettuce yield per area and year", gives="kg/m2/s", needs="way")
def _lettuce(inputs: Inputs) -> float:
    return crop_facts("lettuce", "yield", stage=inputs["way"].text)[0].low


@maps("growing area for a weekly harvest", gives="m2", needs="heads_per_week growth density")
def _area(inputs: Inputs) -> float:
    return growing_area_m2(
        inputs["heads_per_week"].numbers[0] / _WEEK_S,
        inputs["growth"].to("s"),
        inputs["density"].to("1/m2"),
    )


@maps("daily feed from plant area", gives="kg/s", needs="area feed_rate_ratio")
def _feed(inputs: Inputs) -> float:
    return feed_for_area_kg_s(inputs["area"].to("m2"), inputs["feed_rate_ratio"].to("kg/m2/s"))


@maps("plant area from daily feed", gives="m2", needs="feed feed_rate_ratio")
def _area_for_feed(inputs: Inputs) -> float:
    return area_for_feed_m2(inputs["feed"].to("kg/s"), inputs["feed_rate_ratio"].to("kg/m2/s"))


@maps(
    "mean feed per plant area from annual production",
    gives="kg/m2/s",
    needs="production FCR area",
)
def _mean_feed(inputs: Inputs) -> float:
    feed = feed_for_gain_kg_s(inputs["production"].to("kg/s"), inputs["FCR"].numbers[0])
    return feed_per_area_kg_m2_s(feed, inputs["area"].to("m2"))


def _crop(inputs: Inputs) -> str:
    named = {"leafy": "leafy_greens", "leafy vegetables": "leafy_greens", "NFT": "nft"}
    words = inputs["crop"].text
    return named.get(words, words.replace(" ", "_"))


def _is_rule(inputs: Inputs) -> bool:
    named = (inputs["source_rule"].text, _crop(inputs))
    return named in {(rule.rule, rule.crop) for rule in feed_rules()}


@maps(
    "feed rate ratio range",
    gives="kg/m2/s",
    needs="source_rule crop",
    optional="feed_protein",
    accepts=_is_rule,
)
def _rule(inputs: Inputs) -> tuple[float, float]:
    rule = feed_rule(inputs["source_rule"].text, _crop(inputs))
    return rule.low_kg_m2_s, rule.high_kg_m2_s


@maps(
    "NFT feed rate ratio as a share of the raft ratio",
    gives="fraction",
    needs="source_rule",
    accepts=lambda inputs: inputs["source_rule"].text == "Rakocy 2007",
)
def _nft(inputs: Inputs) -> float:
    share = feed_rule(inputs["source_rule"].text, "nft").share_of_raft_frac
    assert share is not None
    return share


@maps(
    "planting density",
    gives="1/m2",
    needs="source_rule crop",
    accepts=lambda inputs: (
        inputs["source_rule"].text == "FAO 589"
        and _crop(inputs) in set(crops()) | {crop.group for crop in crops().values()}
    ),
)
def _planting(inputs: Inputs) -> tuple[float, float]:
    found = crop_facts(_crop(inputs), "planting")[0]
    return found.low, found.high
