"""Rows on limits of ammonia and of nitrite under chloride."""

from __future__ import annotations

from tailrace.water import criteria
from tailrace.water.nitrite import (
    CHANNEL_CATFISH_INSURANCE_CHLORIDE_G_M3,
    chloride_to_add_g_m3,
    nitrite_acute_salmonids_colorado_31_n_g_m3,
    nitrite_by_chloride_n_g_m3,
    nitrite_chronic_salmonids_colorado_31_n_g_m3,
    nitrite_lc50_fathead_minnow_colorado_38_n_g_m3,
)
from tests.published.registry import Inputs, maps


def _state(inputs: Inputs) -> tuple[float, float]:
    return inputs["pH"].to("-"), inputs["T"].to("degC")


def _absent(inputs: Inputs, name: str) -> bool:
    return name in inputs and inputs[name].text == "absent"


@maps(
    "ammonia acute criterion CMC, USEPA 2013",
    gives="g/m3",
    needs="pH T oncorhynchus",
    optional="mussels",
)
def _acute_2013(inputs: Inputs) -> float:
    trout = inputs["oncorhynchus"].text == "present"
    if _absent(inputs, "mussels"):
        if trout:
            return criteria.ammonia_acute_oncorhynchus_no_mussels_usepa_2013_n_g_m3(
                *_state(inputs)
            )
        return criteria.ammonia_acute_no_mussels_usepa_2013_n_g_m3(*_state(inputs))
    if trout:
        return criteria.ammonia_acute_oncorhynchus_usepa_2013_n_g_m3(*_state(inputs))
    return criteria.ammonia_acute_usepa_2013_n_g_m3(*_state(inputs))


@maps(
    "ammonia chronic criterion CCC, USEPA 2013",
    gives="g/m3",
    needs="pH T",
    optional="mussels early_life_stages",
)
def _chronic_2013(inputs: Inputs) -> float:
    if not _absent(inputs, "mussels"):
        return criteria.ammonia_chronic_usepa_2013_n_g_m3(*_state(inputs))
    if _absent(inputs, "early_life_stages"):
        return criteria.ammonia_chronic_no_mussels_no_early_stages_usepa_2013_n_g_m3(
            *_state(inputs)
        )
    return criteria.ammonia_chronic_no_mussels_usepa_2013_n_g_m3(*_state(inputs))


@maps("ammonia highest 4-day mean, USEPA 2013", gives="g/m3", needs="pH T")
def _four_days_2013(inputs: Inputs) -> float:
    return criteria.ammonia_four_day_usepa_2013_n_g_m3(*_state(inputs))


@maps("ammonia acute criterion, USEPA 1999", gives="g/m3", needs="pH salmonids", optional="T")
def _acute_1999(inputs: Inputs) -> float:
    if inputs["salmonids"].text == "present":
        return criteria.ammonia_acute_salmonids_usepa_1999_n_g_m3(inputs["pH"].to("-"))
    return criteria.ammonia_acute_usepa_1999_n_g_m3(inputs["pH"].to("-"))


@maps("ammonia chronic criterion, USEPA 1999", gives="g/m3", needs="pH T early_life_stages")
def _chronic_1999(inputs: Inputs) -> float:
    if inputs["early_life_stages"].text == "present":
        return criteria.ammonia_chronic_usepa_1999_n_g_m3(*_state(inputs))
    return criteria.ammonia_chronic_no_early_stages_usepa_1999_n_g_m3(*_state(inputs))


def _line(inputs: Inputs) -> tuple[float, float, float]:
    return inputs["chloride"].to("g/m3"), inputs["slope"].to("-"), inputs["intercept"].to("-")


@maps(
    "nitrite chronic standard, fathead minnow line",
    gives="g/m3",
    needs="chloride slope intercept acute_chronic_ratio",
)
def _nitrite_chronic(inputs: Inputs) -> float:
    ratio = inputs["acute_chronic_ratio"].to("-")
    return nitrite_by_chloride_n_g_m3(*_line(inputs), ratio)


@maps("nitrite 96-h LC50, fathead minnow line", gives="g/m3", needs="chloride slope intercept")
def _nitrite_lc50(inputs: Inputs) -> float:
    chloride, slope, intercept = _line(inputs)
    if (slope, intercept) == (1.99, 0.7258):
        return nitrite_lc50_fathead_minnow_colorado_38_n_g_m3(chloride)
    return nitrite_by_chloride_n_g_m3(chloride, slope, intercept)


def _chloride_and_cap(inputs: Inputs) -> tuple[float, float]:
    cap = inputs["chloride_cap"].to("g/m3") if "chloride_cap" in inputs else 40.0
    return inputs["chloride"].to("g/m3"), cap


@maps(
    "nitrite acute standard, Colorado Regulation 31, salmonids present",
    gives="g/m3",
    needs="chloride",
    optional="chloride_cap",
)
def _nitrite_acute_31(inputs: Inputs) -> float:
    return nitrite_acute_salmonids_colorado_31_n_g_m3(*_chloride_and_cap(inputs))


@maps(
    "nitrite chronic standard, Colorado Regulation 31, salmonids present",
    gives="g/m3",
    needs="chloride",
    optional="chloride_cap",
)
def _nitrite_chronic_31(inputs: Inputs) -> float:
    return nitrite_chronic_salmonids_colorado_31_n_g_m3(*_chloride_and_cap(inputs))


@maps(
    "chloride target as nitrite insurance",
    gives="g/m3",
    needs="species",
    accepts=lambda inputs: inputs["species"].text == "channel catfish",
)
def _insurance(inputs: Inputs) -> float:  # noqa: ARG001  # a printed figure of one species
    return CHANNEL_CATFISH_INSURANCE_CHLORIDE_G_M3


@maps(
    "chloride to add for a chloride to nitrite ratio",
    gives="g/m3",
    needs="nitrite chloride_present ratio",
)
def _chloride(inputs: Inputs) -> float:
    return chloride_to_add_g_m3(
        inputs["nitrite"].to("g/m3"),
        inputs["chloride_present"].to("g/m3"),
        inputs["ratio"].to("-"),
    )
