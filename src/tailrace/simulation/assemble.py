"""From a site to a loop: arrays of what is built, parameters that the site knows, first states."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from tailrace.beadfilter.machine import Day, Machine, Mode, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.beadfilter.sludge import drained_frac
from tailrace.errors import InputError
from tailrace.hydraulics.pipes import STANDARD_GRAVITY
from tailrace.simulation import layout as lay
from tailrace.simulation.circuits import (
    Circuits,
    beads_area_m2,
    bed_plan_m2,
    circuits,
    deposit_top_g,
    pressure_top_pa,
)
from tailrace.simulation.fittings import CONTROL, GEOMETRY, Record, one
from tailrace.simulation.jumps import DRAINED_MOST
from tailrace.simulation.layout import Array
from tailrace.simulation.parameters import Parameters
from tailrace.simulation.stoichiometry import PROTEIN_N
from tailrace.site.records import BedKind, Site
from tailrace.water.air import pressure_at_altitude_pa_abs
from tailrace.water.carbonate import dic_from_alkalinity_and_ph_mol_m3
from tailrace.water.oxygen import oxygen_saturation_g_m3
from tailrace.water.properties import density_kg_m3

WALL_PER_RAFT: Final = 22.0 / 7.0  # film area of raft, roots, tank and pipes per raft area
WALL_PER_GRAVEL: Final = 11.4  # per plan area of a gravel bed; so its uptake is 4 m/day
WALL_WITHOUT_BED_M2: Final = 5.0  # for some 2 m3
_SETTLING_WITHOUT_BED: Final = 0.1  # of that of a raft of 7 m2, for some 2 m3
_UNKNOWN_PH: Final = 7.5
_DRAINED_POINTS: Final = 401


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A loop ready to be simulated; never changed by a simulation.

    Parameters
    ----------
    name
        Short name of its site.
    machine, mode, day
        The filter, its equations and the day for which it is tabulated.
    setting
        Bypass and needle at the start.
    parameters
        Every number that is not geometry.
    geometry
        One record of kind `fittings.GEOMETRY`, read-only.
    """

    name: str
    machine: Machine
    mode: Mode
    day: Day
    setting: Setting
    parameters: Parameters
    geometry: Record

    @property
    def volume_m3(self) -> float:
        """Water of the whole loop at its usual level."""
        g = self.geometry[0]
        return float(g["tank_m3"] + g["sump_m3"] + g["bed_m3"])

    def tables(self, settings: tuple[Setting, ...] = ()) -> Circuits:
        """Tables of the filter: its first setting, then others.

        Parameters
        ----------
        settings
            Further settings.

        Returns
        -------
        Circuits
            Tables, each setting once.
        """
        each = tuple(dict.fromkeys((self.setting, *settings)))
        return circuits(self.machine, each, self.day, mode=self.mode)

    def with_parameters(self, **changes: float) -> Loop:
        """Return the loop with other parameters.

        Parameters
        ----------
        **changes
            Fields of `Parameters`.

        Returns
        -------
        Loop
            A new loop.
        """
        return replace(self, parameters=replace(self.parameters, **changes))


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Where a loop stands at a moment.

    Parameters
    ----------
    at_s
        Time.
    amounts
        One number for each of `layout.STATES`, read-only.
    control
        One record of kind `fittings.CONTROL`: what is set and switched, read-only.
    setting
        Bypass and needle.
    """

    at_s: float
    amounts: Array
    control: Record
    setting: Setting


def assemble(
    site: Site,
    *,
    water_temperature_degc: float | None = None,
    air_temperature_degc: float | None = None,
    mode: Mode = Mode.REFINED,
    **changes: float,
) -> Loop:
    """Make a loop of a site.

    Parameters
    ----------
    site
        The site.
    water_temperature_degc, air_temperature_degc
        Temperatures; those of the site when left out [degC].
    mode
        Base or refined equations of the filter.
    **changes
        Fields of `Parameters` that take the place of defaults.

    Returns
    -------
    Loop
        The loop.

    Notes
    -----
    All tanks are one mixed volume, all plant beds another. Water runs from tank to plant bed to
    sump; the filter returns to the tank and the bypass to the sump. The tank's water level
    takes up what evaporates and what is added.
    """
    machine = site.filter.machine
    water = (
        site.water_temperature_degc if water_temperature_degc is None else water_temperature_degc
    )
    air = site.air_temperature_degc if air_temperature_degc is None else air_temperature_degc
    day = Day(water, air, pressure_at_altitude_pa_abs(site.altitude_m))
    start = site.filter.start
    gap = needle_gap_for_float_m(
        machine, start.bypass_open_frac, start.air_float_m3_s, day, mode=mode
    )
    return Loop(
        name=site.name,
        machine=machine,
        mode=mode,
        day=day,
        setting=Setting(start.bypass_open_frac, gap),
        parameters=replace(_known(site, water), **changes),
        geometry=_geometry(site, day),
    )


def _known(site: Site, degc: float) -> Parameters:
    """Parameters that the site's file tells."""
    source = site.source_water
    base = Parameters()
    alkalinity = source.alkalinity_eq_m3
    alkalinity = base.make_up_alkalinity_eq_m3 if alkalinity is None else alkalinity
    ph = _UNKNOWN_PH if source.ph is None else source.ph
    dic = dic_from_alkalinity_and_ph_mol_m3.unchecked()(alkalinity, ph, 0.0, degc, 2.0)
    return replace(
        base,
        evaporation_m3_s=0.5 * (site.evaporation_low_m3_s + site.evaporation_high_m3_s),
        make_up_alkalinity_eq_m3=alkalinity,
        make_up_dic_mol_m3=max(float(dic), 0.0),
        make_up_nitrate_n_g_m3=source.nitrate_n_g_m3 or 0.0,
    )


def _surfaces(site: Site) -> tuple[float, float, float]:
    """Film area, place of it, and settling area."""
    if not site.beds:
        share = site.tanks[0].volume_m3 / 2.0 if site.tanks else 1.0
        return WALL_WITHOUT_BED_M2 * share, lay.TANK, 7.0 * _SETTLING_WITHOUT_BED * share
    per_area = {BedKind.RAFT: WALL_PER_RAFT, BedKind.GRAVEL: WALL_PER_GRAVEL}
    area = sum(per_area[bed.kind] * bed.area_m2 for bed in site.beds)
    return area, lay.BED, sum(bed.area_m2 for bed in site.beds)


def _geometry(site: Site, day: Day) -> Record:
    machine = site.filter.machine
    bed, chamber = machine.bed, machine.chamber
    wall, place, settling = _surfaces(site)
    nitrogen = sum(lot.ration_kg * lot.feed_protein_frac for lot in site.stock) * PROTEIN_N
    weight = density_kg_m3(day.water_temperature_degc) * STANDARD_GRAVITY
    record = one(
        GEOMETRY,
        tank_m3=sum(tank.volume_m3 for tank in site.tanks),
        sump_m3=site.sump.volume_m3,
        bed_m3=sum(b.volume_m3 for b in site.beds),
        bed_plan_m2=sum(b.area_m2 for b in site.beds),
        crop_m2=sum(b.area_m2 * b.planted_frac for b in site.beds),
        wall_m2=wall,
        wall_place=place,
        wall_settling_m2=settling,
        bypass_to_tank_frac=0.0,
        ration_g_s=1000.0 * site.ration_kg / 86400.0,
        ration_n_g_s=1000.0 * nitrogen / 86400.0,
        bead_m2=beads_area_m2(bed),
        bead_m3=bed.volume_m3,
        bead_plan_m2=bed_plan_m2(bed),
        bead_depth_m=bed.volume_m3 / bed_plan_m2(bed),
        void_frac=bed.void_frac,
        deposit_density_kg_m3=bed.deposit_density_kg_m3,
        chamber_m3=chamber.volume_m3,
        chamber_pa=weight * chamber.trigger_depth_m,
        residual_fill_frac=chamber.residual_fill_frac,
        cone_m3=chamber.cone_volume_m3,
        trigger_flow_m3_s=chamber.trigger_flow_m3_s,
        barometric_pa_abs=day.barometric_pa_abs,
        deposit_top_g=deposit_top_g(bed),
        pressure_top_pa=pressure_top_pa(machine),
    )
    record.setflags(write=False)
    return record


def drained_table() -> Array:
    """Share of the sludge's dry mass that is out, over the volume drawn.

    Returns
    -------
    ndarray
        Two rows: young sludge, and old sludge whose core drains first; evenly spaced up to
        `jumps.DRAINED_MOST` sludge volumes.
    """
    drawn = np.linspace(0.0, DRAINED_MOST, _DRAINED_POINTS)
    return np.array([[drained_frac(v, 1.0, shape=s) for v in drawn] for s in (6.0, 2.0)])


def first_control(loop: Loop, at_s: float) -> Record:
    """Everything on, nothing fed, the last backwash and drain just now.

    Parameters
    ----------
    loop
        The loop.
    at_s
        Time.

    Returns
    -------
    ndarray
        One record of kind `fittings.CONTROL`.
    """
    switches: dict[str, float] = dict.fromkeys(
        ("water_pump_on", "air_pump_on", "aeration_on", "power_on"), 1.0
    )
    return one(
        CONTROL,
        **switches,
        temperature_degc=loop.day.water_temperature_degc,
        backwash_s=at_s,
        drain_s=at_s,
        step_s=60.0,
    )


# Ripe film per area of beads and of other surfaces, g VSS/m2: ammonia oxidisers, nitrite
# oxidisers, heterotrophs. Judgement, from a prototype's settled runs; forgotten in weeks.
_RIPE_BEADS: Final = (15.0 / 35.0, 5.0 / 35.0, 60.0 / 35.0)
_RIPE_WALLS: Final = (8.0 / 22.0, 3.0 / 22.0, 25.0 / 22.0)
_SEED_AOB_G: Final = 1.5e-4
_SEED_NOB_G: Final = 1.0e-4


@dataclass(frozen=True, slots=True)
class StartWater:
    """The water of a loop at the start, the same in all places.

    Parameters
    ----------
    total_ammonia_n_g_m3, nitrite_n_g_m3, nitrate_n_g_m3
        Nitrogen.
    alkalinity_eq_m3
        Alkalinity; may be below zero in sour water.
    ph
        pH, from 3 to 11.
    """

    total_ammonia_n_g_m3: float = 1.0
    nitrite_n_g_m3: float = 0.5
    nitrate_n_g_m3: float = 40.0
    alkalinity_eq_m3: float = 0.6
    ph: float = 7.0

    def __post_init__(self) -> None:
        for name in ("total_ammonia_n_g_m3", "nitrite_n_g_m3", "nitrate_n_g_m3"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0.0):
                message = f"{name} is {value:g} g N/m3; it must be zero or more."
                raise InputError(message)
        if not (math.isfinite(self.alkalinity_eq_m3) and 3.0 <= self.ph <= 11.0):
            message = (
                f"alkalinity is {self.alkalinity_eq_m3:g} eq/m3 and pH {self.ph:g}; "
                "give a finite alkalinity and a pH from 3 to 11."
            )
            raise InputError(message)


USUAL_WATER: Final = StartWater()


def start_state(
    loop: Loop,
    *,
    water: StartWater = USUAL_WATER,
    at_s: float = 0.0,
    ripe: bool = True,
    fed: bool = True,
) -> State:
    """Make a state to start from, the same water in all places.

    Parameters
    ----------
    loop
        The loop.
    water
        The water.
    at_s
        Time.
    ripe
        Film as of a ripe filter, else hardly any.
    fed
        Fish that have been fed their ration, else with empty guts.

    Returns
    -------
    State
        The state; oxygen at nine tenths of saturation.
    """
    amounts = np.zeros(lay.SIZE)
    held = _water(loop, water)
    g = loop.geometry[0]
    volumes = (float(g["tank_m3"]), float(g["sump_m3"]), float(g["bed_m3"]))
    for place, volume in enumerate(volumes):
        amounts[place * lay.WATER : (place + 1) * lay.WATER] = held * volume
    _fill_held(amounts, loop, ripe=ripe, fed=fed)
    return frozen_state(at_s, amounts, first_control(loop, at_s), loop.setting)


def _water(loop: Loop, given: StartWater) -> Array:
    degc = loop.day.water_temperature_degc
    dic = dic_from_alkalinity_and_ph_mol_m3.unchecked()(
        given.alkalinity_eq_m3,
        given.ph,
        given.total_ammonia_n_g_m3,
        degc,
        loop.parameters.ionic_strength_mol_m3,
    )
    oxygen = 0.9 * oxygen_saturation_g_m3(degc, 0.0, loop.day.barometric_pa_abs)
    water = np.zeros(lay.WATER)
    water[lay.TAN], water[lay.NO2] = given.total_ammonia_n_g_m3, given.nitrite_n_g_m3
    water[lay.NO3], water[lay.ALK] = given.nitrate_n_g_m3, given.alkalinity_eq_m3
    water[lay.OXY], water[lay.DIC] = oxygen, max(float(dic), 1e-3)
    water[lay.ORG], water[lay.COARSE], water[lay.FINE] = 2.0, 0.5, 2.0
    return water


def _fill_held(amounts: Array, loop: Loop, *, ripe: bool, fed: bool) -> None:
    g, p = loop.geometry[0], loop.parameters
    beads, walls = float(g["bead_m2"]), float(g["wall_m2"])
    films = ((lay.BEAD_AOB, _RIPE_BEADS, beads), (lay.WALL_AOB, _RIPE_WALLS, walls))
    for first, per_area, area in films:
        film = [share * area for share in per_area]
        if not ripe:
            film = [_SEED_AOB_G, _SEED_NOB_G, 0.01]
        amounts[first : first + 3] = film
    amounts[lay.TANK_M3] = float(g["tank_m3"])
    if fed:
        amounts[lay.GUT_FEED] = float(g["ration_g_s"]) * p.gut_s
        amounts[lay.GUT_N] = float(g["ration_n_g_s"]) * p.gut_s


def frozen_state(at_s: float, amounts: Array, control: Record, setting: Setting) -> State:
    """Make a state that holds its own read-only copies.

    Parameters
    ----------
    at_s
        Time.
    amounts, control
        As in `State`.
    setting
        Bypass and needle.

    Returns
    -------
    State
        The state.
    """
    own, switches = amounts.copy(), control.copy()
    own.setflags(write=False)
    switches.setflags(write=False)
    return State(at_s, own, switches, setting)
