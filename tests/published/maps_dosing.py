"""Rows on bases, acids, salts, dechlorination and what they do to a water."""

from __future__ import annotations

from collections.abc import Callable

from tailrace.errors import NotKnownError
from tailrace.water.chemicals import Product, product
from tailrace.water.dechlorination import (
    Dechlorinator,
    ammonia_from_chloramine_n_g_m3,
    dechlorinator,
    dechlorinator_g,
    dechlorinator_per_chlorine_kg_kg,
)
from tailrace.water.dosing import (
    dose_for_alkalinity_g_m3,
    dose_for_hardness_g_m3,
    dose_for_part_g_m3,
    dosed,
)
from tailrace.water.molar_masses import CACO3_G_EQ
from tailrace.water.nitrite import chloride_to_add_g_m3
from tailrace.water.speciation import Speciation, speciate
from tailrace.water.species import Ions
from tests.published.maps_carbonate import state_of
from tests.published.registry import Inputs, maps

_MASSES = "TAN PO4_P NO3_N Ca Mg K Na Cl SO4"
_REST = f"{_MASSES} balance_ion ionic_strength purity"
_HYDRATES = {"pentahydrate": 5.0, "(anhydrous)": 0.0, "anhydrous": 0.0}
_MODELS = {"Davies, no ion pairs": Ions.SEPARATE, "full ion-pair model": Ions.PAIRED}


def _product(inputs: Inputs, name: str) -> Product:
    share = "strength" if "strength" in inputs else "purity"
    purity = inputs[share].to("fraction") if share in inputs else 1.0
    return product(inputs[name].text, purity_frac=purity)


def _known(name: str) -> Callable[[Inputs], bool]:
    """Whether the table has the chemical that a row names, so that others stay unmapped."""

    def accepts(inputs: Inputs) -> bool:
        try:
            product(inputs[name].text)
        except NotKnownError:
            return False
        return True

    return accepts


# --- what a dose does to a water ------------------------------------------------------------


def _dosed(inputs: Inputs, ions: Ions) -> Speciation:
    before = state_of(inputs, ions).water
    dose = inputs["dose"].to("g/m3")
    return speciate(dosed(before, _product(inputs, "chemical"), dose), ions)


def _register(model: str, ions: Ions) -> None:
    known = "T pH alkalinity chemical dose"
    maps(
        "pH after dosing",
        model=model,
        gives="-",
        needs=known,
        optional=_REST,
        accepts=_known("chemical"),
    )(lambda inputs: _dosed(inputs, ions).ph)


for _model, _ions in _MODELS.items():
    _register(_model, _ions)


@maps(
    "alkalinity after dosing",
    gives="g/m3",
    needs="T pH alkalinity chemical dose",
    optional=_REST,
    accepts=_known("chemical"),
)
def _alkalinity(inputs: Inputs) -> float:
    return _dosed(inputs, Ions.SEPARATE).water.alkalinity_eq_m3 * CACO3_G_EQ


# --- amounts --------------------------------------------------------------------------------


@maps(
    "alkalinity supplied per gram of base",
    gives="fraction",
    needs="base",
    optional="purity",
    accepts=_known("base"),
)
def _supplied(inputs: Inputs) -> float:
    return _product(inputs, "base").alkalinity_caco3_kg_kg


@maps(
    "base to raise alkalinity",
    gives="g",
    needs="base volume rise",
    optional="purity",
    accepts=_known("base"),
)
def _base(inputs: Inputs) -> float:
    rise = inputs["rise"].to("g/m3") / CACO3_G_EQ
    return dose_for_alkalinity_g_m3(_product(inputs, "base"), rise) * inputs["volume"].to("m3")


@maps(
    "acid that removes alkalinity",
    gives="m3",
    needs="acid strength density volume fall",
    accepts=_known("acid"),
)
def _acid(inputs: Inputs) -> float:
    fall = inputs["fall"].to("g/m3") / CACO3_G_EQ
    grams = dose_for_alkalinity_g_m3(_product(inputs, "acid"), -fall) * inputs["volume"].to("m3")
    return grams / inputs["density"].to("g/m3")


@maps(
    "acid that removes alkalinity",
    gives="g",
    needs="acid volume fall",
    optional="purity",
    accepts=_known("acid"),
)
def _acid_by_weight(inputs: Inputs) -> float:
    fall = inputs["fall"].to("g/m3") / CACO3_G_EQ
    return dose_for_alkalinity_g_m3(_product(inputs, "acid"), -fall) * inputs["volume"].to("m3")


@maps(
    "salt to raise hardness",
    gives="g",
    needs="salt volume rise",
    optional="purity",
    accepts=_known("salt"),
)
def _hardness(inputs: Inputs) -> float:
    dose = dose_for_hardness_g_m3(_product(inputs, "salt"), inputs["rise"].to("g/m3"))
    return dose * inputs["volume"].to("m3")


@maps(
    "salt per gram of chloride",
    gives="fraction",
    needs="salt",
    optional="purity",
    # sodium chloride itself is with the reported bases
    accepts=lambda inputs: inputs["salt"].text != "NaCl" and _known("salt")(inputs),
)
def _per_chloride(inputs: Inputs) -> float:
    return dose_for_part_g_m3(_product(inputs, "salt"), "chloride", 1.0)


@maps(
    "salt per acre-foot per mg/L chloride",
    gives="kg",
    needs="salt",
    optional="purity",
    accepts=_known("salt"),
)
def _per_acre_foot(inputs: Inputs) -> float:
    acre_foot_m3 = 43560.0 * 0.3048**3
    dose = dose_for_part_g_m3(_product(inputs, "salt"), "chloride", 1.0)
    return dose * acre_foot_m3 / 1000.0


@maps(
    "salt to reach a chloride to nitrite ratio",
    gives="g",
    needs="volume nitrite chloride_present ratio salt",
    optional="purity",
    accepts=_known("salt"),
)
def _for_ratio(inputs: Inputs) -> float:
    chloride = chloride_to_add_g_m3(
        inputs["nitrite"].to("g/m3"),
        inputs["chloride_present"].to("g/m3"),
        inputs["ratio"].to("-"),
    )
    dose = dose_for_part_g_m3(_product(inputs, "salt"), "chloride", chloride)
    return dose * inputs["volume"].to("m3")


# --- chlorine and chloramine ------------------------------------------------------------------


def _agent_and_water(inputs: Inputs) -> tuple[Dechlorinator, float | None]:
    """The agent, and its water of crystallisation where that is said in words."""
    name = inputs["agent"].text
    reaction = inputs["product"].text if "product" in inputs else ""
    for words, waters in _HYDRATES.items():
        if name.endswith(words):
            return dechlorinator(name.removesuffix(words).rstrip(" ,"), reaction), waters
    return dechlorinator(name, reaction), None


def _known_agent(inputs: Inputs) -> bool:
    try:
        _agent_and_water(inputs)
    except NotKnownError:
        return False
    return True


def _agent(inputs: Inputs) -> float:
    agent, water = _agent_and_water(inputs)
    purity = inputs["purity"].to("fraction") if "purity" in inputs else 1.0
    return dechlorinator_per_chlorine_kg_kg(agent, hydrate_mol=water, purity_frac=purity)


@maps(
    "dechlorination dose per mg of chlorine",
    gives="fraction",
    needs="agent",
    optional="product purity",
    accepts=_known_agent,
)
def _per_chlorine(inputs: Inputs) -> float:
    return _agent(inputs)


@maps(
    "dechlorination dose",
    gives="g",
    needs="volume chlorine agent",
    optional="product purity safety",
    accepts=_known_agent,
)
def _dechlorination(inputs: Inputs) -> float:
    return dechlorinator_g(
        inputs["chlorine"].to("g/m3"),
        inputs["volume"].to("m3"),
        _agent(inputs),
        inputs["safety"].to("-") if "safety" in inputs else 1.0,
    )


@maps(
    "ammonia-nitrogen set free from monochloramine",
    gives="g/m3",
    needs="monochloramine",
    optional="free_ammonia",
)
def _freed(inputs: Inputs) -> float:
    extra = inputs["free_ammonia"].to("g/m3") if "free_ammonia" in inputs else 0.0
    return ammonia_from_chloramine_n_g_m3(inputs["monochloramine"].to("g/m3"), extra)
