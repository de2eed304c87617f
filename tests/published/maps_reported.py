"""Rows that turn one way of reporting a reading into another.

Each way is known by how it is brought to what is kept inside and how it is got back; a row
goes from the one to the other through that.
"""

from __future__ import annotations

from collections.abc import Callable

from tailrace.water import reported_hardness as hard
from tailrace.water import reported_minerals as mineral
from tailrace.water import reported_nitrogen as nitrogen
from tests.published.registry import Inputs, maps

Conversion = Callable[[float], float]


def _as_kept(value: float) -> float:
    return value


def _back(into: Conversion) -> Conversion:
    return lambda value: value / into(1.0)


_NITROGEN_KEPT = (_as_kept, _as_kept)
_FAMILIES: tuple[dict[str, tuple[Conversion, Conversion]], ...] = (
    {
        "TAN": _NITROGEN_KEPT,
        "NH3-N": _NITROGEN_KEPT,
        "NH4-N": _NITROGEN_KEPT,
        "NH3": (nitrogen.nitrogen_from_nh3_n_g_m3, nitrogen.ammonia_as_nh3_g_m3),
        "NH4+": (nitrogen.nitrogen_from_nh4_n_g_m3, nitrogen.ammonium_as_nh4_g_m3),
    },
    {
        "NO2-N": _NITROGEN_KEPT,
        "NO2-": (nitrogen.nitrogen_from_no2_n_g_m3, nitrogen.nitrite_as_no2_g_m3),
    },
    {
        "NO3-N": _NITROGEN_KEPT,
        "NO3-": (nitrogen.nitrogen_from_no3_n_g_m3, nitrogen.nitrate_as_no3_g_m3),
    },
    {
        "P": (_as_kept, _as_kept),
        "PO4-P": (_as_kept, _as_kept),
        "PO4(3-)": (mineral.phosphorus_from_po4_p_g_m3, mineral.phosphate_as_po4_g_m3),
        "P2O5": (
            mineral.phosphorus_from_p2o5_p_g_m3,
            _back(mineral.phosphorus_from_p2o5_p_g_m3),
        ),
    },
    {
        "K": (_as_kept, _as_kept),
        "K2O": (mineral.potassium_from_k2o_g_m3, _back(mineral.potassium_from_k2o_g_m3)),
    },
    {
        "Cl": (_as_kept, _as_kept),
        "Cl-": (_as_kept, _as_kept),
        "NaCl": (mineral.chloride_from_nacl_g_m3, mineral.sodium_chloride_g_m3),
    },
    {
        "meq/L": (_as_kept, _as_kept),
        "dKH": (hard.alkalinity_from_dkh_eq_m3, hard.alkalinity_dkh),
        "mg/L CaCO3": (hard.alkalinity_from_caco3_eq_m3, hard.alkalinity_as_caco3_g_m3),
        "mg/L HCO3": (hard.alkalinity_from_hco3_eq_m3, hard.alkalinity_as_hco3_g_m3),
        "mg/L HCO3-": (hard.alkalinity_from_hco3_eq_m3, hard.alkalinity_as_hco3_g_m3),
    },
    {
        "mg/L": (_as_kept, _as_kept),
        "mg/L CaCO3": (_as_kept, _as_kept),
        "dGH": (hard.hardness_from_dgh_caco3_g_m3, hard.hardness_dgh),
        "mmol/L": (hard.hardness_from_amount_caco3_g_m3, hard.hardness_mol_m3),
        "grain/US gal": (
            hard.hardness_from_gpg_caco3_g_m3,
            _back(hard.hardness_from_gpg_caco3_g_m3),
        ),
        "Clark degree": (
            hard.hardness_from_clark_caco3_g_m3,
            _back(hard.hardness_from_clark_caco3_g_m3),
        ),
        "mg/L Ca": (
            lambda value: hard.hardness_from_ions_caco3_g_m3(value, 0.0),
            _back(lambda value: hard.hardness_from_ions_caco3_g_m3(value, 0.0)),
        ),
        "mg/L Mg": (
            lambda value: hard.hardness_from_ions_caco3_g_m3(0.0, value),
            _back(lambda value: hard.hardness_from_ions_caco3_g_m3(0.0, value)),
        ),
    },
)


def _steps(inputs: Inputs) -> tuple[Conversion, Conversion] | None:
    start, end = inputs["from"].text, inputs["to"].text
    for family in _FAMILIES:
        if start in family and end in family:
            return family[start][0], family[end][1]
    return None


def is_basis(inputs: Inputs) -> bool:
    """Whether a conversion is between bases, and so for this module."""
    return _steps(inputs) is not None


@maps("unit conversion", gives="as the row", needs="value from to", accepts=is_basis)
def _converted(inputs: Inputs) -> float:
    steps = _steps(inputs)
    assert steps is not None
    into, out_of = steps
    return out_of(into(inputs["value"].to("-")))


@maps("total hardness from calcium and magnesium", gives="g/m3", needs="Ca Mg")
def _hardness(inputs: Inputs) -> float:
    return hard.hardness_from_ions_caco3_g_m3(inputs["Ca"].to("g/m3"), inputs["Mg"].to("g/m3"))


@maps(
    "salt per gram of chloride",
    gives="as the row",
    needs="salt purity",
    accepts=lambda inputs: inputs["salt"].text == "NaCl",
)
def _salt(inputs: Inputs) -> float:
    return mineral.sodium_chloride_g_m3(1.0) / inputs["purity"].to("fraction")
