"""Rows on activity of ions and on carbon dioxide without a carbonate solver."""

from __future__ import annotations

from tailrace.water.activity import log_activity_coefficient_davies_1962
from tailrace.water.carbon_dioxide import (
    carbon_dioxide_at_air_equilibrium_mol_m3,
    carbon_dioxide_pkh_plummer_busenberg_1982,
    carbonic_acid_pk1_plummer_busenberg_1982,
)
from tailrace.water.molar_masses import CO2_G_MOL
from tests.published.registry import Inputs, maps


@maps(
    "activity coefficient of an ion",
    model="Davies",
    gives="-",
    needs="ionic_strength charge T",
)
def _activity(inputs: Inputs) -> float:
    logarithm = log_activity_coefficient_davies_1962(
        inputs["charge"].to("-"), inputs["ionic_strength"].to("mol/m3"), inputs["T"].to("degC")
    )
    return float(10.0**logarithm)


@maps("pK1 of carbonic acid", model="zero ionic strength", gives="-", needs="T")
def _pk1(inputs: Inputs) -> float:
    return carbonic_acid_pk1_plummer_busenberg_1982(inputs["T"].to("degC"))


@maps("pKH of CO2 (mol/kg/atm)", model="zero ionic strength", gives="-", needs="T")
def _pkh(inputs: Inputs) -> float:
    return carbon_dioxide_pkh_plummer_busenberg_1982(inputs["T"].to("degC"))


@maps("Henry constant of carbon dioxide", gives="mol/kg/atm", needs="T")
def _henry(inputs: Inputs) -> float:
    return float(10.0 ** -carbon_dioxide_pkh_plummer_busenberg_1982(inputs["T"].to("degC")))


@maps(
    "carbon dioxide in water at equilibrium with moist air",
    gives="g/m3",
    needs="T CO2_dry_air",
    optional="P",
)
def _at_air(inputs: Inputs) -> float:
    pressure = inputs["P"].to("Pa") if "P" in inputs else 101325.0
    share = inputs["CO2_dry_air"].to("fraction")
    amount = carbon_dioxide_at_air_equilibrium_mol_m3(inputs["T"].to("degC"), pressure, share)
    return amount * CO2_G_MOL
