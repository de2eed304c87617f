"""Rows on transfer of oxygen and stripping of carbon dioxide."""

from __future__ import annotations

from tailrace.pneumatics.standard import STANDARD_GRAVITY, STANDARD_PA_ABS
from tailrace.pneumatics.stripping import published_removals, stripper_outlet_air_frac
from tailrace.pneumatics.transfer import (
    alpha_frac,
    field_transfer_frac,
    mid_depth_saturation_g_m3,
    standard_aeration_efficiency_kg_j,
    standard_transfer_g_s,
    transfer_coefficient_at_per_s,
    transfer_coefficient_per_s,
)
from tailrace.water.carbon_dioxide import carbon_dioxide_at_air_equilibrium_mol_m3
from tailrace.water.molar_masses import CO2_G_MOL
from tailrace.water.oxygen import oxygen_saturation_g_m3
from tests.published.registry import Inputs, maps


def _or(inputs: Inputs, name: str, unit: str, default: float) -> float:
    return inputs[name].to(unit) if name in inputs else default


def _saturation(inputs: Inputs) -> float:
    if "Cs" in inputs:
        return inputs["Cs"].to("g/m3")
    return oxygen_saturation_g_m3(
        inputs["T"].to("degC"),
        _or(inputs, "S", "g/kg", 0.0),
        _or(inputs, "P", "Pa", STANDARD_PA_ABS),
    )


@maps(
    "field oxygen transfer rate",
    gives="g/s",
    needs="SOTR alpha T DO",
    optional="beta theta P S Cs Cs20",
)
def _field(inputs: Inputs) -> float:
    share = field_transfer_frac(
        inputs["T"].to("degC"),
        _saturation(inputs),
        inputs["DO"].to("g/m3"),
        inputs["alpha"].to("-"),
        _or(inputs, "beta", "-", 1.0),
        _or(inputs, "theta", "-", 1.024),
        _or(inputs, "Cs20", "g/m3", oxygen_saturation_g_m3(20.0)),
    )
    return share * inputs["SOTR"].to("g/s")


@maps("alpha from two kLa values", gives="-", needs="kLa20_clean kLa20_process")
def _alpha(inputs: Inputs) -> float:
    return alpha_frac(inputs["kLa20_process"].to("1/s"), inputs["kLa20_clean"].to("1/s"))


@maps(
    "mid-depth saturation for diffused air",
    gives="g/m3",
    needs="Cs depth feet_per_atm oxygen_left",
)
def _mid_depth(inputs: Inputs) -> float:
    # The row gives the water as the height that makes an atmosphere; that fixes its density.
    column = inputs["feet_per_atm"].to("ft") * 0.3048
    density = STANDARD_PA_ABS / (STANDARD_GRAVITY * column)
    return mid_depth_saturation_g_m3(
        inputs["Cs"].to("g/m3"),
        inputs["depth"].to("m"),
        STANDARD_PA_ABS,
        inputs["oxygen_left"].to("fraction"),
        density,
    )


@maps("kLa from two readings", gives="1/s", needs="C1 C2 time Cs")
def _transfer(inputs: Inputs) -> float:
    start, end, top = (inputs[name].to("g/m3") for name in ("C1", "C2", "Cs"))
    return transfer_coefficient_per_s(start, end, top, inputs["time"].to("s"))


@maps("kLa at another temperature", gives="1/s", needs="kLa20 T", optional="theta")
def _at(inputs: Inputs) -> float:
    theta = _or(inputs, "theta", "-", 1.024)
    return transfer_coefficient_at_per_s(inputs["kLa20"].to("1/s"), inputs["T"].to("degC"), theta)


@maps("kLa at 20 degC", gives="1/s", needs="kLa T", optional="theta")
def _at_20(inputs: Inputs) -> float:
    factor = transfer_coefficient_at_per_s(
        1.0, inputs["T"].to("degC"), _or(inputs, "theta", "-", 1.024)
    )
    return inputs["kLa"].to("1/s") / factor


@maps("SOTR from kLa", gives="g/s", needs="kLa20 volume", optional="Cs20")
def _standard(inputs: Inputs) -> float:
    top = _or(inputs, "Cs20", "g/m3", oxygen_saturation_g_m3(20.0))
    return standard_transfer_g_s(inputs["kLa20"].to("1/s"), inputs["volume"].to("m3"), top)


@maps("standard aeration efficiency", gives="kg/J", needs="SOTR power")
def _efficiency(inputs: Inputs) -> float:
    return standard_aeration_efficiency_kg_j(inputs["SOTR"].to("g/s"), inputs["power"].to("W"))


def _outlet_air(inputs: Inputs) -> float:
    return stripper_outlet_air_frac(
        inputs["CO2_removed"].to("g/m3"),
        inputs["gas_to_liquid"].to("-"),
        inputs["T"].to("degC"),
        _or(inputs, "P", "Pa", STANDARD_PA_ABS),
        _or(inputs, "CO2_inlet", "fraction", 420e-6),
    )


_NEEDS, _OPTIONAL = "gas_to_liquid CO2_removed T", "CO2_inlet P"


@maps("carbon dioxide in stripper outlet air", gives="fraction", needs=_NEEDS, optional=_OPTIONAL)
def _stripper(inputs: Inputs) -> float:
    return _outlet_air(inputs)


@maps(
    "lowest water carbon dioxide at equilibrium with stripper outlet air",
    gives="g/m3",
    needs=_NEEDS,
    optional=_OPTIONAL,
)
def _lowest(inputs: Inputs) -> float:
    amount = carbon_dioxide_at_air_equilibrium_mol_m3(
        inputs["T"].to("degC"), _or(inputs, "P", "Pa", STANDARD_PA_ABS), _outlet_air(inputs)
    )
    return amount * CO2_G_MOL


def _in_table(inputs: Inputs) -> bool:
    return any(_is(row.study, row.gas_to_liquid, inputs) for row in published_removals())


def _is(study: str, ratio: float, inputs: Inputs) -> bool:
    return (study, ratio) == (inputs["study"].text, inputs["gas_to_liquid"].to("-"))


@maps(
    "CO2 removal per pass, published",
    gives="fraction",
    needs="study gas_to_liquid",
    accepts=_in_table,
)
def _published(inputs: Inputs) -> tuple[float, float]:
    return next(
        (row.low_frac, row.high_frac)
        for row in published_removals()
        if _is(row.study, row.gas_to_liquid, inputs)
    )
