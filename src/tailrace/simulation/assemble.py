"""From a site to a loop: arrays of what is built, parameters that the site knows, first states."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from tailrace.beadfilter.machine import Day, Machine, Mode, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.errors import InputError
from tailrace.simulation import layout as lay
from tailrace.simulation.built import Built
from tailrace.simulation.circuits import Circuits, circuits
from tailrace.simulation.fittings import CONTROL, Record
from tailrace.simulation.layout import Array
from tailrace.simulation.parameters import Parameters
from tailrace.simulation.plan import built
from tailrace.simulation.stoichiometry import FEED_P
from tailrace.site.records import Site
from tailrace.water.air import pressure_at_altitude_pa_abs
from tailrace.water.carbonate import dic_from_alkalinity_and_ph_mol_m3
from tailrace.water.gases import nitrogen_saturation_hamme_emerson_2004_mol_m3
from tailrace.water.molar_masses import NITROGEN_G_MOL
from tailrace.water.oxygen import oxygen_saturation_g_m3

_UNKNOWN_PH: Final = 7.5
_CACO3_G_EQ: Final = 50.04
_CALCIUM_FRAC: Final = 0.75  # of the hardness, in equivalents, judgement


@dataclass(frozen=True, slots=True, eq=False)
class Loop:
    """A loop ready to be simulated; never changed by a simulation.

    Parameters
    ----------
    name
        Short name of its site.
    machines, mode, day
        The filters, their equations and the day for which they are tabulated.
    setting, further_settings
        Bypass and needle of the first filter and of the others at the start.
    parameters
        Every number that is not geometry.
    built
        Places, filters, surfaces and pipes as arrays.
    """

    name: str
    machines: tuple[Machine, ...]
    mode: Mode
    day: Day
    setting: Setting
    parameters: Parameters
    built: Built
    further_settings: tuple[Setting, ...] = ()

    @property
    def machine(self) -> Machine:
        """The first filter."""
        return self.machines[0]

    @property
    def settings(self) -> tuple[Setting, ...]:
        """Bypass and needle of each filter at the start."""
        return (self.setting, *self.further_settings)

    @property
    def volume_m3(self) -> float:
        """Water of the whole loop at its usual level."""
        return float(self.built.geometry["water_m3"][0])

    def tables(self, settings: tuple[tuple[Setting, ...], ...]) -> tuple[Circuits, ...]:
        """Tables of each filter.

        Parameters
        ----------
        settings
            Settings of each filter, each once.

        Returns
        -------
        tuple of Circuits
            One for each filter.
        """
        pairs = zip(self.machines, settings, strict=True)
        return tuple(circuits(m, each, self.day, mode=self.mode) for m, each in pairs)

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
        One number for each of the layout's states, read-only.
    control
        Records of kind `fittings.CONTROL`: what is set and switched, the loop's first, then one
        for each filter; read-only.
    settings
        Bypass and needle of each filter.
    """

    at_s: float
    amounts: Array
    control: Record
    settings: tuple[Setting, ...]


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
    Without pipes in the site, water runs from the tanks through settling stages, plant beds and
    degassing stages to the sump; filters draw from the sump, return to the tanks by their
    volume, and bypass to the sump. The sump's level takes up what evaporates and what is added.

    Raises
    ------
    InputError
        Pipes name a place that is not there, or water has nowhere to go.
    """
    water = (
        site.water_temperature_degc if water_temperature_degc is None else water_temperature_degc
    )
    air = site.air_temperature_degc if air_temperature_degc is None else air_temperature_degc
    day = Day(water, air, pressure_at_altitude_pa_abs(site.altitude_m))
    settings = [
        Setting(
            f.start.bypass_open_frac,
            needle_gap_for_float_m(
                f.machine, f.start.bypass_open_frac, f.start.air_float_m3_s, day, mode=mode
            ),
        )
        for f in site.filters
    ]
    return Loop(
        name=site.name,
        machines=tuple(f.machine for f in site.filters),
        mode=mode,
        day=day,
        setting=settings[0],
        parameters=replace(_known(site, water), **changes),
        built=built(site, day),
        further_settings=tuple(settings[1:]),
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
        make_up_dic_mol_m3=max(0.0, float(dic)),
        make_up_nitrate_n_g_m3=source.nitrate_n_g_m3 or 0.0,
        **_minerals(source.hardness_caco3_g_m3),
    )


def _minerals(hardness_caco3_g_m3: float | None) -> dict[str, float]:
    """Calcium and magnesium of a hardness; the usual ones where it is not known."""
    if hardness_caco3_g_m3 is None:
        return {}
    eq = hardness_caco3_g_m3 / _CACO3_G_EQ
    return {
        "make_up_calcium_g_m3": 0.5 * lay.CALCIUM * eq * _CALCIUM_FRAC,
        "make_up_magnesium_g_m3": 0.5 * lay.MAGNESIUM * eq * (1.0 - _CALCIUM_FRAC),
    }


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
        Records of kind `fittings.CONTROL`: the loop, then each filter.
    """
    control = np.zeros(1 + len(loop.machines), dtype=CONTROL)
    switches = ("water_pump_on", "air_pump_on", "aeration_on", "power_on", "evaporation_factor")
    for name in switches:
        control[name] = 1.0
    control["temperature_degc"] = loop.day.water_temperature_degc
    control["air_degc"] = loop.day.air_temperature_degc
    control["backwash_s"] = control["drain_s"] = at_s
    control["step_s"] = 60.0
    return control


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
    phosphate_p_g_m3
        Phosphorus.
    """

    total_ammonia_n_g_m3: float = 1.0
    nitrite_n_g_m3: float = 0.5
    nitrate_n_g_m3: float = 40.0
    alkalinity_eq_m3: float = 0.6
    ph: float = 7.0
    phosphate_p_g_m3: float = 0.0

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
    layout, parts = loop.built.layout, loop.built.parts
    amounts = np.zeros(layout.size)
    held = _water(loop, water)
    for number in range(len(layout.places)):
        volume = float(parts["usual_m3"][number])
        at = lay.FIRST + lay.PLACE * number
        amounts[at : at + lay.WATER] = held * volume
        amounts[at + lay.VOLUME] = volume
    amounts[lay.TEMPERATURE] = loop.day.water_temperature_degc
    _fill_held(amounts, loop, ripe=ripe, fed=fed)
    return frozen_state(at_s, amounts, first_control(loop, at_s), loop.settings)


def _water(loop: Loop, given: StartWater) -> Array:
    degc, p = loop.day.water_temperature_degc, loop.parameters
    dic = dic_from_alkalinity_and_ph_mol_m3.unchecked()(
        given.alkalinity_eq_m3,
        given.ph,
        given.total_ammonia_n_g_m3,
        degc,
        p.ionic_strength_mol_m3,
        given.phosphate_p_g_m3,
    )
    pressure = loop.day.barometric_pa_abs
    gas = nitrogen_saturation_hamme_emerson_2004_mol_m3(degc, 0.0, pressure)
    water = np.zeros(lay.WATER)
    water[lay.TAN], water[lay.NO2] = given.total_ammonia_n_g_m3, given.nitrite_n_g_m3
    water[lay.NO3], water[lay.ALK] = given.nitrate_n_g_m3, given.alkalinity_eq_m3
    water[lay.OXY] = 0.9 * oxygen_saturation_g_m3(degc, 0.0, pressure)
    water[lay.DIC], water[lay.PHOS] = max(1e-3, float(dic)), given.phosphate_p_g_m3
    water[lay.ORG], water[lay.COARSE], water[lay.FINE] = 2.0, 0.5, 2.0
    water[lay.N2GAS] = 2.0 * NITROGEN_G_MOL * gas
    for species, name in _MADE_UP.items():
        water[species] = getattr(p, f"make_up_{name}_g_m3")
    return water


_MADE_UP: Final = {
    lay.POT: "potassium",
    lay.CAL: "calcium",
    lay.MAG: "magnesium",
    lay.IRON: "iron",
    lay.SOD: "sodium",
    lay.SULF: "sulphate",
    lay.CHLO: "chloride",
}


def _fill_held(amounts: Array, loop: Loop, *, ripe: bool, fed: bool) -> None:
    layout, parts, p = loop.built.layout, loop.built.parts, loop.parameters
    places, filters = len(layout.places), len(layout.filters)
    films = [
        (layout.filters_at + lay.FILTER * f, _RIPE_BEADS, float(parts["bead_m2"][places + f]))
        for f in range(filters)
    ] + [
        (
            layout.surfaces_at + lay.SURFACE * s,
            _RIPE_WALLS,
            float(parts["film_m2"][places + filters + s]),
        )
        for s in range(len(layout.surfaces))
    ]
    for first, per_area, area in films:
        film = [share * area for share in per_area]
        if not ripe:
            film = [_SEED_AOB_G, _SEED_NOB_G, 0.01]
        amounts[first : first + 3] = film
    for number in range(len(layout.fish)) if fed else ():
        row = parts[layout.places.index(layout.fish[number])]
        gut = layout.fish_at + lay.FISH * number
        amounts[gut + lay.GUT_FEED] = float(row["ration_g_s"]) * p.gut_s
        amounts[gut + lay.GUT_N] = float(row["ration_n_g_s"]) * p.gut_s
        amounts[gut + lay.GUT_P] = FEED_P * float(row["ration_g_s"]) * p.gut_s


def frozen_state(
    at_s: float, amounts: Array, control: Record, settings: tuple[Setting, ...]
) -> State:
    """Make a state that holds its own read-only copies.

    Parameters
    ----------
    at_s
        Time.
    amounts, control
        As in `State`.
    settings
        Bypass and needle of each filter.

    Returns
    -------
    State
        The state.
    """
    own, switches = amounts.copy(), control.copy()
    own.setflags(write=False)
    switches.setflags(write=False)
    return State(at_s, own, switches, settings)
