"""Rows on the carbonate system: without ion pairs by the short form, with them by speciation."""

from __future__ import annotations

from tailrace.water.acid_constants import (
    carbonic_acid_pk2_plummer_busenberg_1982,
    phosphoric_acid_pk1,
    phosphoric_acid_pk2,
    phosphoric_acid_pk3,
    water_pkw,
)
from tailrace.water.calcite import calcite_pksp_plummer_busenberg_1982, calcite_saturation_index
from tailrace.water.carbonate import (
    carbon_dioxide_mol_m3,
    dic_from_alkalinity_and_ph_mol_m3,
    ph_from_alkalinity_and_dic,
)
from tailrace.water.chemistry import Water, balanced
from tailrace.water.molar_masses import CACO3_G_EQ, CO2_G_MOL
from tailrace.water.speciation import (
    Speciation,
    at_calcite_and_carbon_dioxide,
    speciate,
    speciate_at_carbon_dioxide,
    speciate_at_ph,
)
from tailrace.water.species import Ions
from tests.published.registry import Inputs, maps

_MASSES = "TAN PO4_P NO3_N Ca Mg K Na Cl SO4"
_REST = f"{_MASSES} balance_ion ionic_strength"
_NONE = "Davies, no ion pairs"
_FULL = "full ion-pair model"
_MODELS = {_NONE: Ions.SEPARATE, _FULL: Ions.PAIRED}


def alkalinity(inputs: Inputs) -> float:
    """Alkalinity in eq/m3, as CaCO3 or in equivalents; a kilogram is taken as a litre."""
    given = inputs["alkalinity"]
    if "CaCO3" in given.unit:
        return given.to("g/m3") / CACO3_G_EQ
    return given.to("mol/kg" if "kg" in given.unit else "mol/L") * 1000.0


def _dic(inputs: Inputs) -> float:
    return inputs["DIC"].to("mol/kg" if "kg" in inputs["DIC"].unit else "mol/L") * 1000.0


def _mass(inputs: Inputs, name: str) -> float:
    return inputs[name].to("g/m3") if name in inputs else 0.0


def water_of(inputs: Inputs) -> Water:
    """The water of a row, neutral by sodium or chloride."""
    return balanced(
        Water(
            temperature_degc=inputs["T"].to("degC"),
            alkalinity_eq_m3=alkalinity(inputs),
            dic_mol_m3=_dic(inputs) if "DIC" in inputs else 0.0,
            total_ammonia_n_g_m3=_mass(inputs, "TAN"),
            phosphate_p_g_m3=_mass(inputs, "PO4_P"),
            nitrate_n_g_m3=_mass(inputs, "NO3_N"),
            calcium_g_m3=_mass(inputs, "Ca"),
            magnesium_g_m3=_mass(inputs, "Mg"),
            potassium_g_m3=_mass(inputs, "K"),
            sodium_g_m3=_mass(inputs, "Na"),
            chloride_g_m3=_mass(inputs, "Cl"),
            sulfate_g_m3=_mass(inputs, "SO4"),
        )
    )


def state_of(inputs: Inputs, ions: Ions) -> Speciation:
    """The state of the water of a row, from its pH or its inorganic carbon."""
    if "pH" in inputs:
        return speciate_at_ph(water_of(inputs), inputs["pH"].to("-"), ions)
    return speciate(water_of(inputs), ions)


# --- constants ----------------------------------------------------------------------------


@maps("pK2 of carbonic acid", model="zero ionic strength", gives="-", needs="T")
def _pk2(inputs: Inputs) -> float:
    return carbonic_acid_pk2_plummer_busenberg_1982(inputs["T"].to("degC"))


@maps("pKw of water", model="zero ionic strength", gives="-", needs="T")
def _pkw(inputs: Inputs) -> float:
    return water_pkw(inputs["T"].to("degC"))


@maps("pKsp of calcite", model="zero ionic strength", gives="-", needs="T")
def _pksp(inputs: Inputs) -> float:
    return calcite_pksp_plummer_busenberg_1982(inputs["T"].to("degC"))


@maps("pK1 of phosphoric acid", model="zero ionic strength", gives="-", needs="T")
def _pk1_phosphoric(inputs: Inputs) -> float:
    return phosphoric_acid_pk1(inputs["T"].to("degC"))


@maps("pK2 of phosphoric acid", model="zero ionic strength", gives="-", needs="T")
def _pk2_phosphoric(inputs: Inputs) -> float:
    return phosphoric_acid_pk2(inputs["T"].to("degC"))


@maps("pK3 of phosphoric acid", model="zero ionic strength", gives="-", needs="T")
def _pk3_phosphoric(inputs: Inputs) -> float:
    return phosphoric_acid_pk3(inputs["T"].to("degC"))


# --- without ion pairs: the short form ------------------------------------------------------


def _strength(inputs: Inputs) -> float:
    if "ionic_strength" in inputs:
        return inputs["ionic_strength"].to("mol/m3")
    if "S" in inputs:  # a row at salinity 0 with activities off
        return 0.0
    return state_of(inputs, Ions.SEPARATE).ionic_strength_mol_m3


def _short_dic(inputs: Inputs) -> float:
    return dic_from_alkalinity_and_ph_mol_m3(
        alkalinity(inputs),
        inputs["pH"].to("-"),
        _mass(inputs, "TAN"),
        inputs["T"].to("degC"),
        _strength(inputs),
        _mass(inputs, "PO4_P"),
    )


def _short_ph(inputs: Inputs) -> float:
    return ph_from_alkalinity_and_dic(
        alkalinity(inputs),
        _dic(inputs),
        _mass(inputs, "TAN"),
        inputs["T"].to("degC"),
        _strength(inputs),
        _mass(inputs, "PO4_P"),
    )


def _short_co2(inputs: Inputs) -> float:
    ph = inputs["pH"].to("-") if "pH" in inputs else _short_ph(inputs)
    dic = _dic(inputs) if "DIC" in inputs else _short_dic(inputs)
    return carbon_dioxide_mol_m3(dic, ph, inputs["T"].to("degC"), _strength(inputs))


@maps(
    "DIC from pH and alkalinity",
    model=_NONE,
    gives="mol/m3",
    needs="T pH alkalinity",
    optional=_REST,
)
def _dic_none(inputs: Inputs) -> float:
    return _short_dic(inputs)


def _at_zero_salinity(inputs: Inputs) -> bool:
    return inputs["S"].to("g/kg") == 0.0


@maps(
    "DIC from pH and alkalinity",
    model="zero ionic strength",
    gives="mol/kg",
    needs="T pH alkalinity S",
    accepts=_at_zero_salinity,
)
def _dic_zero(inputs: Inputs) -> float:
    return _short_dic(inputs) / 1000.0


@maps(
    "dissolved CO2 from pH and alkalinity",
    model="zero ionic strength",
    gives="mol/kg",
    needs="T pH alkalinity S",
    accepts=_at_zero_salinity,
)
@maps(
    "dissolved CO2 from alkalinity and DIC",
    model="zero ionic strength",
    gives="mol/kg",
    needs="T DIC alkalinity S",
    accepts=_at_zero_salinity,
)
def _co2_zero(inputs: Inputs) -> float:
    return _short_co2(inputs) / 1000.0


@maps(
    "dissolved CO2 from pH and alkalinity",
    model=_NONE,
    gives="g/m3",
    needs="T pH alkalinity",
    optional=_REST,
)
@maps(
    "dissolved CO2 from alkalinity and DIC",
    model=_NONE,
    gives="g/m3",
    needs="T DIC alkalinity",
    optional=_REST,
)
def _co2_none(inputs: Inputs) -> float:
    return _short_co2(inputs) * CO2_G_MOL


@maps(
    "pH from alkalinity and DIC", model=_NONE, gives="-", needs="T alkalinity DIC", optional=_REST
)
@maps(
    "pH from alkalinity and DIC",
    model="zero ionic strength",
    gives="-",
    needs="T alkalinity DIC S",
    accepts=_at_zero_salinity,
)
def _ph_none(inputs: Inputs) -> float:
    return _short_ph(inputs)


@maps(
    "calcite saturation index", model=_NONE, gives="-", needs="T pH alkalinity Ca", optional=_REST
)
def _si_none(inputs: Inputs) -> float:
    return calcite_saturation_index(
        inputs["Ca"].to("g/m3"),
        _short_dic(inputs),
        inputs["pH"].to("-"),
        inputs["T"].to("degC"),
        _strength(inputs),
    )


# --- with ion pairs -------------------------------------------------------------------------


def _paired(inputs: Inputs) -> Speciation:
    return state_of(inputs, Ions.PAIRED)


@maps(
    "DIC from pH and alkalinity",
    model=_FULL,
    gives="mol/m3",
    needs="T pH alkalinity",
    optional=_REST,
)
def _dic_full(inputs: Inputs) -> float:
    return _paired(inputs).water.dic_mol_m3


@maps(
    "dissolved CO2 from pH and alkalinity",
    model=_FULL,
    gives="g/m3",
    needs="T pH alkalinity",
    optional=_REST,
)
@maps(
    "dissolved CO2 from alkalinity and DIC",
    model=_FULL,
    gives="g/m3",
    needs="T DIC alkalinity",
    optional=_REST,
)
def _co2_full(inputs: Inputs) -> float:
    return _paired(inputs).carbon_dioxide_mol_m3 * CO2_G_MOL


@maps(
    "pH from alkalinity and DIC", model=_FULL, gives="-", needs="T alkalinity DIC", optional=_REST
)
def _ph_full(inputs: Inputs) -> float:
    return _paired(inputs).ph


@maps(
    "calcite saturation index", model=_FULL, gives="-", needs="T pH alkalinity Ca", optional=_REST
)
def _si_full(inputs: Inputs) -> float:
    return _paired(inputs).calcite_saturation_index


@maps("pH of pure water at calcite and CO2 equilibrium", model=_FULL, gives="-", needs="T pCO2")
def _ph_calcite(inputs: Inputs) -> float:
    return at_calcite_and_carbon_dioxide(inputs["T"].to("degC"), inputs["pCO2"].to("Pa")).ph


@maps(
    "alkalinity of pure water at calcite and CO2 equilibrium",
    model=_FULL,
    gives="g/m3",
    needs="T pCO2",
)
def _alkalinity_calcite(inputs: Inputs) -> float:
    found = at_calcite_and_carbon_dioxide(inputs["T"].to("degC"), inputs["pCO2"].to("Pa"))
    return found.water.alkalinity_eq_m3 * CACO3_G_EQ


# --- carbon dioxide driven out or taken up, in either model ---------------------------------


def _stripped(inputs: Inputs, ions: Ions) -> Speciation:
    return speciate_at_carbon_dioxide(water_of(inputs), inputs["pCO2"].to("Pa"), ions)


def _less_carbon(inputs: Inputs, ions: Ions) -> Speciation:
    before = state_of(inputs, ions).water
    removed = inputs["CO2_removed"].to("g/m3") / CO2_G_MOL
    return speciate(before.changed(dic_mol_m3=before.dic_mol_m3 - removed), ions)


def _register(model: str, ions: Ions) -> None:
    strip = "after CO2 stripping to a partial pressure"
    known = "T pH alkalinity pCO2"
    maps(f"pH {strip}", model=model, gives="-", needs=known, optional=_REST)(
        lambda inputs: _stripped(inputs, ions).ph
    )
    maps(f"DIC {strip}", model=model, gives="mol/m3", needs=known, optional=_REST)(
        lambda inputs: _stripped(inputs, ions).water.dic_mol_m3
    )
    known = "T pH alkalinity CO2_removed"
    maps("pH after CO2 removal", model=model, gives="-", needs=known, optional=_REST)(
        lambda inputs: _less_carbon(inputs, ions).ph
    )
    maps(
        "dissolved CO2 after CO2 removal", model=model, gives="g/m3", needs=known, optional=_REST
    )(lambda inputs: _less_carbon(inputs, ions).carbon_dioxide_mol_m3 * CO2_G_MOL)


for _model, _ions in _MODELS.items():
    _register(_model, _ions)
