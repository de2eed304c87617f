"""Rows on oxygen, air pressure and vapour pressure."""

from __future__ import annotations

from tailrace.water.air import (
    oxygen_partial_pressure_pa_abs,
    pressure_at_altitude_allen_1998_pa_abs,
    pressure_at_altitude_pa_abs,
    vapour_pressure_benson_krause_1984_pa_abs,
    vapour_pressure_pa_abs,
)
from tailrace.water.molar_masses import O2_G_MOL
from tailrace.water.oxygen import (
    oxygen_deficit_g_m3,
    oxygen_from_saturation_g_m3,
    oxygen_saturation_frac,
    oxygen_saturation_g_m3,
)
from tailrace.water.properties import sea_water_density_millero_poisson_1981_kg_m3
from tests.published.registry import Inputs, maps

_WATER = "S P altitude"


def _salinity(inputs: Inputs) -> float:
    return inputs["S"].to("g/kg") if "S" in inputs else 0.0


def _pressure(inputs: Inputs) -> float:
    if "altitude" in inputs:
        return pressure_at_altitude_pa_abs(inputs["altitude"].to("m"))
    return inputs["P"].to("Pa") if "P" in inputs else 101325.0


def _state(inputs: Inputs) -> tuple[float, float, float]:
    return inputs["T"].to("degC"), _salinity(inputs), _pressure(inputs)


@maps("dissolved oxygen at saturation", gives="g/m3", needs="T", optional=_WATER)
def _saturation(inputs: Inputs) -> float:
    return oxygen_saturation_g_m3(*_state(inputs))


@maps(
    "dissolved oxygen at saturation, per kg of water", gives="mol/kg", needs="T", optional=_WATER
)
def _saturation_per_kg(inputs: Inputs) -> float:
    temperature, salinity, pressure = _state(inputs)
    density = sea_water_density_millero_poisson_1981_kg_m3(temperature, salinity)
    return oxygen_saturation_g_m3(temperature, salinity, pressure) / O2_G_MOL / density


@maps("oxygen percent saturation", gives="fraction", needs="T DO", optional=_WATER)
def _share(inputs: Inputs) -> float:
    return oxygen_saturation_frac(inputs["DO"].to("g/m3"), *_state(inputs))


@maps(
    "dissolved oxygen from percent saturation", gives="g/m3", needs="T saturation", optional=_WATER
)
def _from_share(inputs: Inputs) -> float:
    return oxygen_from_saturation_g_m3(inputs["saturation"].to("fraction"), *_state(inputs))


@maps("oxygen deficit", gives="g/m3", needs="T DO", optional=_WATER)
def _deficit(inputs: Inputs) -> float:
    return oxygen_deficit_g_m3(inputs["DO"].to("g/m3"), *_state(inputs))


@maps("oxygen partial pressure in air-saturated water", gives="Pa", needs="T", optional=_WATER)
def _partial_pressure(inputs: Inputs) -> float:
    return oxygen_partial_pressure_pa_abs(inputs["T"].to("degC"), _pressure(inputs))


@maps("Henry constant of oxygen", gives="mol/m3/Pa", needs="T")
def _henry(inputs: Inputs) -> float:
    temperature = inputs["T"].to("degC")
    amount = oxygen_saturation_g_m3(temperature) / O2_G_MOL
    return amount / oxygen_partial_pressure_pa_abs(temperature)


@maps("air pressure at altitude, ICAO standard atmosphere", gives="Pa", needs="altitude")
def _pressure_at_altitude(inputs: Inputs) -> float:
    return pressure_at_altitude_pa_abs(inputs["altitude"].to("m"))


@maps("air pressure at altitude, FAO-56 equation 7", gives="Pa", needs="altitude")
def _pressure_allen(inputs: Inputs) -> float:
    return pressure_at_altitude_allen_1998_pa_abs(inputs["altitude"].to("m"))


@maps("water vapour pressure", gives="Pa", needs="T")
def _vapour(inputs: Inputs) -> float:
    return vapour_pressure_benson_krause_1984_pa_abs(inputs["T"].to("degC"))


@maps("water vapour pressure", model="Magnus form", gives="Pa", needs="T")
def _vapour_magnus(inputs: Inputs) -> float:
    return vapour_pressure_pa_abs(inputs["T"].to("degC"))
