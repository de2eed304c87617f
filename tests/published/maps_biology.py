"""Rows on growth and inhibition of nitrifiers."""

from __future__ import annotations

from tailrace.biology.factors import alkalinity_monod_frac, arrhenius_factor, theta_factor
from tailrace.biology.inhibition import (
    free_ammonia_anthonisen_1976_g_m3,
    free_nitrous_acid_anthonisen_1976_g_m3,
    inhibition_onsets,
)
from tailrace.biology.nitrifiers import (
    ammonia_half_saturation_usepa_1975_n_g_m3,
    ammonia_oxidiser_growth_usepa_1975_per_s,
    nitrite_half_saturation_usepa_1975_n_g_m3,
)
from tailrace.biology.observed import Observation, observations
from tailrace.biology.parameters import KineticParameter, kinetic_parameters
from tailrace.water.molar_masses import CACO3_G_EQ
from tests.published.registry import Inputs, maps

_GAS_CONSTANT = 8.314462618


@maps("temperature factor on growth, Arrhenius form", gives="-", needs="T Tref Ea", optional="R")
def _arrhenius(inputs: Inputs) -> float:
    # Only Ea/R enters; a row that rounds R rounds the ratio.
    printed = inputs["R"].numbers[0] if "R" in inputs else _GAS_CONSTANT
    energy = inputs["Ea"].to("J/mol") * _GAS_CONSTANT / printed
    return arrhenius_factor(inputs["T"].to("degC"), inputs["Tref"].to("degC"), energy)


@maps("temperature factor on growth, theta form", gives="-", needs="T theta", optional="Tref")
def _theta(inputs: Inputs) -> float:
    reference = inputs["Tref"].to("degC") if "Tref" in inputs else 20.0
    return theta_factor(inputs["T"].to("degC"), inputs["theta"].to("-"), reference)


@maps("Nitrosomonas growth rate, USEPA 1975", gives="1/s", needs="T NH4_N DO pH")
def _growth(inputs: Inputs) -> float:
    return ammonia_oxidiser_growth_usepa_1975_per_s(
        inputs["T"].to("degC"),
        inputs["NH4_N"].to("g/m3"),
        inputs["DO"].to("g/m3"),
        inputs["pH"].to("-"),
    )


@maps("ammonia half-saturation, USEPA 1975", gives="g/m3", needs="T")
def _half(inputs: Inputs) -> float:
    return ammonia_half_saturation_usepa_1975_n_g_m3(inputs["T"].to("degC"))


@maps("nitrite half-saturation, USEPA 1975", gives="g/m3", needs="T")
def _nitrite_half(inputs: Inputs) -> float:
    return nitrite_half_saturation_usepa_1975_n_g_m3(inputs["T"].to("degC"))


@maps("free ammonia (as NH3), Anthonisen", gives="g/m3", needs="TAN pH T")
def _free_ammonia(inputs: Inputs) -> float:
    return free_ammonia_anthonisen_1976_g_m3(
        inputs["TAN"].to("g/m3"), inputs["pH"].to("-"), inputs["T"].to("degC")
    )


@maps("free nitrous acid (as HNO2), Anthonisen", gives="g/m3", needs="NO2_N pH T")
def _free_nitrous_acid(inputs: Inputs) -> float:
    return free_nitrous_acid_anthonisen_1976_g_m3(
        inputs["NO2_N"].to("g/m3"), inputs["pH"].to("-"), inputs["T"].to("degC")
    )


def _onset(inputs: Inputs) -> tuple[float, float] | None:
    wanted = (inputs["inhibitor"].text, inputs["organism"].text)
    found = (o for o in inhibition_onsets() if (o.inhibitor, o.organism) == wanted)
    onset = next(found, None)
    return None if onset is None else (onset.low_g_m3, onset.high_g_m3)


@maps(
    "onset of inhibition, Anthonisen",
    gives="g/m3",
    needs="inhibitor organism",
    accepts=lambda inputs: _onset(inputs) is not None,
)
def _inhibition(inputs: Inputs) -> tuple[float, float]:
    found = _onset(inputs)
    assert found is not None
    return found


def _parameter(inputs: Inputs) -> KineticParameter | None:
    wanted = [inputs[name].text for name in ("model", "organism", "parameter")]
    warm = inputs["T"].to("degC") if "T" in inputs else 20.0
    return next(
        (
            row
            for row in kinetic_parameters()
            if [row.model, row.organism, row.parameter] == wanted and row.temperature_degc == warm
        ),
        None,
    )


def _tabled(inputs: Inputs) -> float:
    found = _parameter(inputs)
    assert found is not None
    return found.value


for _quantity in ("nitrifier kinetic parameter", "heterotroph kinetic parameter"):
    maps(
        _quantity,
        gives="as the row",  # the table keeps the unit of its source, per day
        needs="model organism parameter",
        optional="T",
        accepts=lambda inputs: _parameter(inputs) is not None,
    )(_tabled)


@maps("alkalinity Monod factor", gives="-", needs="alkalinity K_alk")
def _alkalinity(inputs: Inputs) -> float:
    given = inputs["alkalinity"]
    per_eq = CACO3_G_EQ if "CaCO3" in given.unit else 1.0
    alkalinity = given.to("g/m3" if "CaCO3" in given.unit else "mol/m3") / per_eq
    return alkalinity_monod_frac(alkalinity, inputs["K_alk"].to("mol/m3"))


def _observed(quantity: str, condition: str) -> Observation | None:
    return next(
        (o for o in observations() if (o.quantity, o.condition) == (quantity, condition)), None
    )


def _range(found: Observation | None) -> float | tuple[float, float]:
    assert found is not None
    return found.low if found.low == found.high else (found.low, found.high)


_CARBON = "fall in TAN removal with organic carbon"
_NITRIFICATION = "fall in nitrification rate with organic carbon"
_RIPE = "time for new media to reach full capacity"


@maps(
    "fall in TAN removal with organic carbon, published",
    gives="fraction",
    needs="C_to_N",
    accepts=lambda inputs: _observed(_CARBON, f"C_to_N {inputs['C_to_N'].text}") is not None,
)
def _carbon(inputs: Inputs) -> float | tuple[float, float]:
    return _range(_observed(_CARBON, f"C_to_N {inputs['C_to_N'].text}"))


@maps(
    "fall in nitrification rate with organic carbon, published",
    gives="fraction",
    needs="COD_to_N",
    optional="TAN",
    accepts=lambda inputs: (
        _observed(_NITRIFICATION, f"COD_to_N {inputs['COD_to_N'].text}") is not None
    ),
)
def _slowed(inputs: Inputs) -> float | tuple[float, float]:
    return _range(_observed(_NITRIFICATION, f"COD_to_N {inputs['COD_to_N'].text}"))


@maps(
    "time for new biofilter media to reach full capacity",
    gives="week",
    needs="media T",
    accepts=lambda inputs: _observed(_RIPE, inputs["T"].text) is not None,
)
def _ripe(inputs: Inputs) -> float | tuple[float, float]:
    return _range(_observed(_RIPE, inputs["T"].text))
