"""Rows on the solubility of nitrogen and argon; oxygen and carbon dioxide have their own files."""

from __future__ import annotations

from tailrace.water.gases import (
    nitrogen_partial_pressure_pa_abs,
    nitrogen_saturation_hamme_emerson_2004_mol_m3,
)
from tailrace.water.properties import sea_water_density_millero_poisson_1981_kg_m3
from tests.published.registry import Inputs, maps


@maps("Henry constant of nitrogen", gives="mol/kg/Pa", needs="T")
def _henry_nitrogen(inputs: Inputs) -> float:
    temperature = inputs["T"].to("degC")
    amount = nitrogen_saturation_hamme_emerson_2004_mol_m3(temperature)
    density = sea_water_density_millero_poisson_1981_kg_m3(temperature, 0.0)
    return amount / density / nitrogen_partial_pressure_pa_abs(temperature)
