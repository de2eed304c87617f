"""Rows on un-ionised ammonia in fresh water and sea water."""

from __future__ import annotations

from tailrace.water.ammonia import (
    ammonium_pka_emerson_1975,
    un_ionised_ammonia_davies_1962_frac,
    un_ionised_ammonia_frac,
    un_ionised_ammonia_n_g_m3,
)
from tailrace.water.sea_water_ammonia import (
    ammonium_pka_hampson_1977,
    sea_water_un_ionised_ammonia_frac,
)
from tests.published.registry import Inputs, maps

# With the ionic strength given, what makes it up does not enter these formulas.
_COMPOSITION = "background_salt TAN alkalinity PO4_P NO3_N Ca Mg K Na Cl SO4 balance_ion"


def _ph_and_temperature(inputs: Inputs) -> tuple[float, float]:
    return inputs["pH"].to("-"), inputs["T"].to("degC")


@maps("pKa of ammonium", model="zero ionic strength", gives="-", needs="T")
def _pka(inputs: Inputs) -> float:
    return ammonium_pka_emerson_1975(inputs["T"].to("degC"))


@maps(
    "NH3 share of total ammonia",
    model="zero ionic strength",
    gives="fraction",
    needs="T pH",
    optional="TAN",
)
def _share(inputs: Inputs) -> float:
    return un_ionised_ammonia_frac(*_ph_and_temperature(inputs))


@maps("un-ionised ammonia nitrogen", model="zero ionic strength", gives="g/m3", needs="T pH TAN")
def _nitrogen(inputs: Inputs) -> float:
    return un_ionised_ammonia_n_g_m3(inputs["TAN"].to("g/m3"), *_ph_and_temperature(inputs))


@maps(
    "NH3 share of total ammonia",
    model="full ion-pair model",
    gives="fraction",
    needs="T pH ionic_strength",
    optional=_COMPOSITION,
)
def _share_extended(inputs: Inputs) -> float:
    strength = inputs["ionic_strength"].to("mol/m3")
    return un_ionised_ammonia_frac(*_ph_and_temperature(inputs), strength)


@maps(
    "NH3 share of total ammonia",
    model="Davies, no ion pairs",
    gives="fraction",
    needs="T pH ionic_strength",
    optional=_COMPOSITION,
)
def _share_davies(inputs: Inputs) -> float:
    strength = inputs["ionic_strength"].to("mol/m3")
    return un_ionised_ammonia_davies_1962_frac(*_ph_and_temperature(inputs), strength)


@maps(
    "NH3 share of total ammonia, sea water, free pH scale",
    gives="fraction",
    needs="T S pH_free",
)
def _share_sea_water(inputs: Inputs) -> float:
    return sea_water_un_ionised_ammonia_frac(
        inputs["pH_free"].to("-"), inputs["T"].to("degC"), inputs["S"].to("g/kg")
    )


@maps("pKa of ammonium in sea water, Hampson form", gives="-", needs="T S", optional="P")
def _pka_hampson(inputs: Inputs) -> float:
    pressure = inputs["P"].to("Pa") if "P" in inputs else 101325.0
    return ammonium_pka_hampson_1977(inputs["T"].to("degC"), inputs["S"].to("g/kg"), pressure)
