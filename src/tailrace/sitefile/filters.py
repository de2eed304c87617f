"""Answers of one filter to the machine and its settings."""

from __future__ import annotations

from typing import Final

from tailrace.beadfilter.machine import BeadBed, Chamber, Machine
from tailrace.hydraulics.pipes import Pipe
from tailrace.hydraulics.pumps import WaterPump
from tailrace.hydraulics.valves import ValveKind
from tailrace.pneumatics.air_pump import AirPump
from tailrace.pneumatics.needle import Needle
from tailrace.pneumatics.rotameter import Rotameter
from tailrace.site.records import Filter, Measured, Start
from tailrace.sitefile.answers import Answers, Notes, Said

_HOSE_FLOW_M3_S: Final = 3e-3 / 60.0  # flow at which the loss of the air hose is given


def filter_of(answers: Answers, notes: Notes) -> Filter:
    """Return the filter that the answers describe.

    Parameters
    ----------
    answers
        Answers of ``[[filters]]``, without a fault.
    notes
        Takes what is assumed.

    Returns
    -------
    Filter
        The filter.
    """
    start, machine = answers.inner["start"], _machine(answers)
    for text in _standing(machine):
        notes.assumed.append(Said(answers.line, text))
    return Filter(
        name=answers.values["name"],
        machine=machine,
        bypass_turns=answers.inner["bypass"].get("turns"),
        start=Start(start.values["bypass"], start.values["air_float"]),
        measured=_measured(answers.inner["measured"], start, notes),
    )


def _standing(machine: Machine) -> tuple[str, ...]:
    """Return what is taken for every filter, because a keeper can hardly know it."""
    chamber, exponent = machine.chamber, machine.rotameter.density_exponent_frac
    return (
        "water pump and air pump are taken as new",
        f"letting the air out is taken as {chamber.drop_s:g} s, and the bead bed forms again "
        f"in {chamber.settling_s:g} s",
        f"the air meter's reading is taken to go with density to the power {exponent:g}",
    )


def _machine(answers: Answers) -> Machine:
    inner, pump = answers.inner, answers.inner["water_pump"].values
    air = inner["air_pump"].values
    return Machine(
        pump=WaterPump(pump["head"], pump["flow"]),
        suction=_pipe(inner["suction"]),
        inlet=_pipe(inner["inlet"]),
        return_line=_pipe(inner["return"]),
        bypass=_pipe(inner["bypass"]),
        outlet_height_m=inner["return"].values["outlet_height"],
        bypass_outlet_height_m=inner["bypass"].values["outlet_height"],
        bypass_valve=ValveKind(inner["bypass"].values["valve"]),
        bed=_bead_bed(answers),
        chamber=_chamber(inner["chamber"]),
        air_pump=AirPump(air["pressure"], air["flow"]),
        needle=_needle(inner["air_meter"]),
        rotameter=_rotameter(inner["air_meter"]),
        check_valve_pa=air["check_valve"],
        air_line_pa_s2_m6=air["hose_loss"] / _HOSE_FLOW_M3_S**2,
    )


def _pipe(answers: Answers) -> Pipe:
    values = answers.values
    return Pipe(values["bore"], values["length"], values["fittings"], values["roughness"])


def _bead_bed(answers: Answers) -> BeadBed:
    values = answers.values
    return BeadBed(
        volume_m3=values["bead_volume"],
        diameter_m=values["hull_diameter"],
        bead_diameter_m=values["bead_diameter"],
        void_frac=values["void_share"],
        deposit_density_kg_m3=values["deposit_density"],
    )


def _chamber(answers: Answers) -> Chamber:
    values, depth = answers.values, answers.values["depth"]
    return Chamber(
        roof_height_m=values["roof_height"],
        area_m2=values["area"] if "area" in values else values["volume"] / depth,
        trigger_depth_m=depth,
        residual_fill_frac=values["residual_fill"],
        cone_volume_m3=values["cone_volume"],
    )


def _needle(answers: Answers) -> Needle:
    return Needle(answers.values["needle_diameter"], answers.values["needle_length"])


def _rotameter(answers: Answers) -> Rotameter:
    values = answers.values
    return Rotameter(
        full_scale_m3_s=values["full_scale"],
        base_temperature_degc=values["base_temperature"],
        after_needle=values["needle"] == "before",
        scale_correction_frac=values["scale_correction"],
        read_at=values["read_at"],
    )


def _measured(answers: Answers, start: Answers, notes: Notes) -> Measured:
    flows = (answers.get("return_flow"), answers.get("bypass_flow"))
    opening = answers.get("bypass")
    if opening is None and flows != (None, None):
        opening = start.values["bypass"]
        text = "bypass when the flows were measured is not given; taken as the one at the start"
        notes.assumed.append(Said(answers.line, f"{text}, {100 * opening:.3g} %"))
    return Measured(*flows, opening, answers.get("dip_pressure"))
