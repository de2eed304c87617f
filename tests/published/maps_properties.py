"""Rows on density, viscosity and permittivity."""

from __future__ import annotations

from tailrace.water.activity import relative_permittivity
from tailrace.water.properties import (
    density_kg_m3,
    kinematic_viscosity_m2_s,
    sea_water_density_millero_poisson_1981_kg_m3,
    viscosity_pa_s,
)
from tests.published.registry import Inputs, maps


@maps("density of water", gives="kg/m3", needs="T")
def _density(inputs: Inputs) -> float:
    return density_kg_m3(inputs["T"].to("degC"))


@maps("density of sea water", gives="kg/m3", needs="T S")
def _sea_water_density(inputs: Inputs) -> float:
    temperature, salinity = inputs["T"].to("degC"), inputs["S"].to("g/kg")
    return sea_water_density_millero_poisson_1981_kg_m3(temperature, salinity)


@maps("dynamic viscosity of water", gives="Pa.s", needs="T")
def _viscosity(inputs: Inputs) -> float:
    return viscosity_pa_s(inputs["T"].to("degC"))


@maps("kinematic viscosity of water", gives="m2/s", needs="T")
def _kinematic(inputs: Inputs) -> float:
    return kinematic_viscosity_m2_s(inputs["T"].to("degC"))


@maps("relative permittivity of water", gives="-", needs="T")
def _permittivity(inputs: Inputs) -> float:
    return relative_permittivity(inputs["T"].to("degC"))
