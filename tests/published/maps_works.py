"""Rows on fittings, the second friction law, one pipe and a pump, and loading of bead filters."""

from __future__ import annotations

from tailrace.beadfilter.loading import (
    backwash_water_m3_s,
    held_solids_kg_m3,
    media_from_ammonia_m3,
    media_from_feed_m3,
    nitrification_share_frac,
    settled_sludge_m3_s,
    sludge_content_kg_m3,
)
from tailrace.beadfilter.rules import Rule, rules
from tailrace.errors import UnitError
from tailrace.hydraulics.fittings import (
    fittings,
    flow_coefficient_from_cv_m2,
    flow_coefficient_from_kv_m2,
    loss_coefficient_from_flow_coefficient,
)
from tailrace.hydraulics.friction import hazen_williams_head_loss_m
from tailrace.hydraulics.network import NetworkFlows, Node, Run, network_flows
from tailrace.hydraulics.particles import overflow_rate_m_s, total_volume_m3
from tailrace.hydraulics.pipes import Pipe, pipe_head_loss_m
from tailrace.hydraulics.pumps import (
    WaterPump,
    electrical_energy_j,
    pump_efficiency_frac,
    pump_from_points,
    pump_head_m,
)
from tailrace.hydraulics.pumps import pumping_energy_j as energy_j
from tailrace.hydraulics.valves import ValveKind, valve_loss_coefficient
from tailrace.pneumatics.standard import gas_flow_m3_s
from tailrace.units import from_unit
from tests.published.maps_machine import PSI_PA
from tests.published.registry import Inputs, maps

_DENSITY = 998.2  # only its product with a kinematic viscosity enters a head

# Words by which rows name a fitting, the more special first; all of a set must be there.
_FITTINGS = (
    ("elbow_45_long_radius", {"45", "elbow", "long"}),
    ("elbow_45_standard", {"45", "elbow"}),
    ("elbow_90_mitred", {"elbow", "mitred"}),
    ("elbow_90_mitred", {"elbow", "mitre"}),
    ("elbow_90_mitred", {"elbow", "square"}),
    ("elbow_90_long_radius", {"90", "elbow", "long"}),
    ("elbow_90_standard", {"90", "elbow"}),
    ("return_bend_close", {"return", "bend"}),
    ("return_bend_close", {"180", "bend"}),
    ("tee_as_elbow", {"tee", "elbow"}),
    ("tee_branching", {"tee", "branching"}),
    ("tee_run", {"tee", "run"}),
    ("tee_run", {"tee", "through"}),
    ("tee_run", {"tee", "straight"}),
    ("coupling", {"coupling"}),
    ("union", {"union"}),
    ("check_valve_swing", {"check", "swing"}),
    ("check_valve_disk", {"check", "disk"}),
    ("check_valve_ball", {"check", "ball"}),
    ("foot_valve", {"foot"}),
    ("angle_valve", {"angle", "valve"}),
    ("y_valve", {"y", "valve"}),
    ("entrance_flush", {"entrance", "sharp"}),
    ("entrance_rounded", {"entrance", "rounded"}),
    ("entrance_projecting", {"entrance", "projecting"}),
    ("exit", {"exit"}),
)
_VALVES = (
    (ValveKind.GATE, {"gate", "valve"}),
    (ValveKind.GLOBE_COMPOSITION_SEAT, {"globe", "composition"}),
    (ValveKind.GLOBE_PLUG_DISK, {"plug", "disk"}),
    (ValveKind.GLOBE, {"globe", "valve"}),
    (ValveKind.DIAPHRAGM, {"diaphragm", "valve"}),
    (ValveKind.BUTTERFLY, {"butterfly", "valve"}),
    (ValveKind.QUARTER_TURN, {"plug", "valve"}),
    (ValveKind.QUARTER_TURN, {"plug", "cock"}),
    (ValveKind.QUARTER_TURN, {"ball", "valve"}),
)


def _words(text: str) -> set[str]:
    return {word.strip("(),") for word in text.lower().replace("-", " ").split()}


def _valve(inputs: Inputs) -> ValveKind | None:
    words = _words(inputs["fitting"].text)
    return next((kind for kind, wanted in _VALVES if wanted <= words), None)


def _fitting(inputs: Inputs) -> str | None:
    words = _words(inputs["fitting"].text)
    return next((key for key, wanted in _FITTINGS if wanted <= words), None)


def _known_fitting(inputs: Inputs) -> bool:
    """A part without an opening is a fitting, or a valve that is open."""
    return _fitting(inputs) is not None or _valve(inputs) is not None


def _known_valve(inputs: Inputs) -> bool:
    return _valve(inputs) is not None


def _opened(inputs: Inputs, share: float) -> float:
    kind = _valve(inputs)
    assert kind is not None
    return valve_loss_coefficient(share, kind)


@maps("loss coefficient K of a fitting", gives="-", needs="fitting", accepts=_known_fitting)
def _loss(inputs: Inputs) -> float:
    key = _fitting(inputs)
    return _opened(inputs, 1.0) if key is None else fittings()[key].loss_coefficient


@maps("loss coefficient K of a fitting", gives="-", needs="fitting opening", accepts=_known_valve)
def _loss_by_opening(inputs: Inputs) -> float:
    return _opened(inputs, inputs["opening"].to("-"))


@maps(
    "loss coefficient K of a fitting",
    gives="-",
    needs="fitting closed_angle",
    accepts=_known_valve,
)
def _loss_by_angle(inputs: Inputs) -> float:
    return _opened(inputs, 1.0 - inputs["closed_angle"].to("deg") / 90.0)


@maps("loss coefficient K from Cv", gives="-", needs="Cv D")
def _from_cv(inputs: Inputs) -> float:
    area = flow_coefficient_from_cv_m2(inputs["Cv"].numbers[0])
    return loss_coefficient_from_flow_coefficient(area, inputs["D"].to("m"))


@maps("loss coefficient K from Kv", gives="-", needs="Kv D")
def _from_kv(inputs: Inputs) -> float:
    area = flow_coefficient_from_kv_m2(inputs["Kv"].numbers[0])
    return loss_coefficient_from_flow_coefficient(area, inputs["D"].to("m"))


@maps("pipe friction head loss, Hazen-Williams", gives="m", needs="Q D L C")
def _hazen_williams(inputs: Inputs) -> float:
    return hazen_williams_head_loss_m(
        inputs["Q"].to("m3/s"), inputs["D"].to("m"), inputs["L"].to("m"), inputs["C"].to("-")
    )


def _pump_of(inputs: Inputs) -> WaterPump:
    flows, heads = inputs["pump_Q"].all_to("m3/s"), inputs["pump_H"].all_to("m")
    return pump_from_points(list(zip(flows, heads, strict=True)))


def _one_pipe(inputs: Inputs) -> NetworkFlows:
    """Pump and pipe as a network of one run, so that the general solver is held to the row."""
    bore, length = inputs["D"].to("m"), inputs["L"].to("m")
    pump = _pump_of(inputs)
    minor = Pipe(bore, 0.0, inputs["K"].to("-"))

    def loss(flow: float) -> float:
        friction = hazen_williams_head_loss_m(flow, bore, length, inputs["C"].to("-"))
        fitted = pipe_head_loss_m(flow, minor, density_kg_m3=_DENSITY, viscosity_pa_s=1e-3)
        return friction + fitted

    found = network_flows(
        [
            Node("sump", inputs["sump_level"].to("m")),
            Node("outlet", inputs["outlet_level"].to("m")),
        ],
        [Run("pipe", "sump", "outlet", loss, lambda q: pump_head_m(q, pump), one_way=True)],
    )
    assert found.solved, found.text
    return found


_ONE_PIPE = "pump_Q pump_H sump_level L D C K outlet_level"


@maps("duty flow, one pipe, Hazen-Williams", gives="m3/s", needs=_ONE_PIPE)
def _duty_flow(inputs: Inputs) -> float:
    return _one_pipe(inputs).flows_m3_s["pipe"]


@maps("pump head at the duty point, one pipe, Hazen-Williams", gives="m", needs=_ONE_PIPE)
def _duty_head(inputs: Inputs) -> float:
    return pump_head_m(_one_pipe(inputs).flows_m3_s["pipe"], _pump_of(inputs))


@maps("pump efficiency", gives="-", needs="Q head power rho")
def _efficiency(inputs: Inputs) -> float:
    return pump_efficiency_frac(
        inputs["Q"].to("m3/s"),
        inputs["head"].to("m"),
        inputs["rho"].to("kg/m3"),
        inputs["power"].to("W"),
    )


@maps("pumping energy", gives="J", needs="volume head efficiency", optional="rho")
def _energy(inputs: Inputs) -> float:
    density = inputs["rho"].to("kg/m3") if "rho" in inputs else 1000.0
    volume, head = inputs["volume"].to("m3"), inputs["head"].to("m")
    return energy_j(volume, head, density, inputs["efficiency"].to("-"))


def _loading_m_s(value: float, unit: str) -> float | None:
    """A flow per surface, as the overflow rate that it is; None where the unit is no such."""
    flow, _, surface = unit.replace("US gal", "gal").rpartition("/")
    try:
        return overflow_rate_m_s(from_unit(value, flow, "_m3_s"), from_unit(1.0, surface, "_m2"))
    except UnitError:
        return None


def _loads(inputs: Inputs) -> bool:
    return all(_loading_m_s(1.0, inputs[end].text) is not None for end in ("from", "to"))


@maps("unit conversion", gives="as the row", needs="value from to", accepts=_loads)
def _loading(inputs: Inputs) -> float:
    loading = _loading_m_s(inputs["value"].to("-"), inputs["from"].text)
    one = _loading_m_s(1.0, inputs["to"].text)
    assert loading is not None
    assert one is not None
    return loading / one


@maps("standard gas flow of an oxygen mass flow", gives="m3/s", needs="oxygen T P")
def _oxygen_flow(inputs: Inputs) -> float:
    pressure = inputs["P"]
    absolute = pressure.numbers[0] * PSI_PA if pressure.unit == "psia" else pressure.to("Pa")
    return gas_flow_m3_s(inputs["oxygen"].to("kg/s"), 31.998, inputs["T"].to("degC"), absolute)


# --- bead filters ---------------------------------------------------------------------------


@maps("bead media volume from feed", gives="m3", needs="feed feed_load")
def _media_from_feed(inputs: Inputs) -> float:
    return media_from_feed_m3(inputs["feed"].to("kg/s"), inputs["feed_load"].to("kg/m3/s"))


@maps(
    "bead media volume from TAN", gives="m3", needs="TAN_production VTR", optional="passive_share"
)
def _media_from_tan(inputs: Inputs) -> float:
    passive = inputs["passive_share"].to("fraction") if "passive_share" in inputs else 0.0
    return media_from_ammonia_m3(
        inputs["TAN_production"].to("g/s"), inputs["VTR"].to("g/m3/s"), passive
    )


@maps(
    "nitrification share of filter oxygen consumption",
    gives="fraction",
    needs="VTR VNR OCF",
    optional="O2_step1 O2_step2",
)
def _share(inputs: Inputs) -> float:
    first = inputs["O2_step1"].to("g/g") if "O2_step1" in inputs else 3.43
    second = inputs["O2_step2"].to("g/g") if "O2_step2" in inputs else 1.14
    rates = [inputs[name].to("g/m3/s") for name in ("VTR", "VNR", "OCF")]
    return nitrification_share_frac(rates[0], rates[1], rates[2], first, second)


@maps(
    "solids held between washes",
    gives="kg/m3",
    needs="feed solids_factor capture interval media",
)
def _held(inputs: Inputs) -> float:
    return held_solids_kg_m3(
        inputs["feed"].to("kg/s"),
        inputs["solids_factor"].to("kg/kg"),
        inputs["capture"].to("fraction"),
        inputs["interval"].to("s"),
        inputs["media"].to("m3"),
    )


@maps("backwash water over a week", gives="m3/s", needs="washes loss_per_wash")
def _wash_water(inputs: Inputs) -> float:
    return backwash_water_m3_s(inputs["washes"].to("1/s"), inputs["loss_per_wash"].to("m3"))


@maps("backwash sludge concentration", gives="kg/m3", needs="solids water")
def _content(inputs: Inputs) -> float:
    return sludge_content_kg_m3(inputs["solids"].to("kg"), inputs["water"].to("m3"))


@maps("sludge volume after settling", gives="m3/s", needs="solids settled_content")
def _settled(inputs: Inputs) -> float:
    return settled_sludge_m3_s(inputs["solids"].to("kg/s"), inputs["settled_content"].to("kg/m3"))


_BY = {
    "feed load rule for a bead filter": ("feed load", "use", ""),
    "TAN conversion range of a bead filter": ("total ammonia conversion", "use", "TAN_limit"),
    "nitrification rate of microbeads, published": (
        "nitrification of microbeads",
        "water",
        "TAN_in",
    ),
    "particle capture by a swirl separator, published": (
        "capture by a swirl separator",
        "particle_size",
        "",
    ),
    "particle capture per pass by a bead filter, published": (
        "capture per pass",
        "particle_size",
        "",
    ),
    "usual interval between washes at design load": ("interval between backwashes", "class", ""),
    "lowest oxygen in bead filter effluent": ("lowest oxygen at the filter outlet", "rule", ""),
}
_UNITS = {"share": "fraction", "kg/(m3 d)": "kg/m3/d", "g N/(m3 d)": "g/m3/d"}


def _found(quantity: str, condition: str) -> Rule | None:
    rows = (row for row in rules() if (row.quantity, row.condition) == (quantity, condition))
    return next(rows, None)


def _answer(rule: Rule | None) -> float | tuple[float, float]:
    assert rule is not None
    return rule.low if rule.low == rule.high else (rule.low, rule.high)


def _register_rules() -> None:
    for asked, (quantity, key, passed_over) in _BY.items():
        unit = next(row.unit for row in rules() if row.quantity == quantity)

        def known(inputs: Inputs, quantity: str = quantity, key: str = key) -> bool:
            return _found(quantity, inputs[key].text) is not None

        def answer(
            inputs: Inputs, quantity: str = quantity, key: str = key
        ) -> float | tuple[float, float]:
            return _answer(_found(quantity, inputs[key].text))

        maps(asked, gives=_UNITS.get(unit, unit), needs=key, optional=passed_over, accepts=known)(
            answer
        )


_register_rules()


@maps(
    "particle capture by a bead filter, published",
    gives="fraction",
    needs="washing particle_size",
    accepts=lambda inputs: inputs["washing"].text == "propeller",
)
def _propeller(inputs: Inputs) -> float | tuple[float, float]:
    return _answer(_found("capture by a propeller-washed filter", inputs["particle_size"].text))


# --- volumes and energy -------------------------------------------------------------------------

_PARTS = "rearing_tank clarifier filter_tank degassing raft sump base_tank tank bed filter settler"


@maps(
    "total water volume",
    gives="m3",
    optional=" ".join(f"{part}s {part}_volume" for part in _PARTS.split()),
    accepts=lambda inputs: any(name.endswith("_volume") for name in inputs),
)
def _total_volume(inputs: Inputs) -> float:
    return total_volume_m3(
        (inputs[f"{part}s"].to("-") if f"{part}s" in inputs else 1.0, given.to("m3"))
        for name, given in inputs.items()
        for part in [name.removesuffix("_volume")]
        if name.endswith("_volume")
    )


@maps("daily electricity", gives="J/d", needs="power hours")
def _electricity(inputs: Inputs) -> float:
    running_s = inputs["hours"].to("s/d")
    return electrical_energy_j(inputs["power"].to("W"), running_s)
