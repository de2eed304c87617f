"""What a keeper does, as frozen records, and a schedule of them in order of time."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, ClassVar, Final

import numpy as np
from numpy.typing import NDArray

from tailrace.beadfilter.machine import Setting
from tailrace.errors import InputError
from tailrace.simulation import layout as lay
from tailrace.simulation.built import Built
from tailrace.simulation.jumps import Act
from tailrace.simulation.layout import Array
from tailrace.simulation.stoichiometry import PROTEIN_N

NUMBERS: Final = 3  # numbers that go with an event


class Device(Enum):
    """What can be switched."""

    WATER_PUMP = "water pump"
    AIR_PUMP = "air pump of the filter"
    AERATION = "aeration"
    POWER = "power"


class Base(Enum):
    """Bases that can be dosed, with charge and inorganic carbon in a gram of it."""

    SODIUM_BICARBONATE = "sodium bicarbonate"
    POTASSIUM_BICARBONATE = "potassium bicarbonate"

    @property
    def eq_per_g(self) -> float:
        """Alkalinity, and as much inorganic carbon, in a gram of the pure base [eq/g]."""
        molar = 84.007 if self is Base.SODIUM_BICARBONATE else 100.115
        return 1.0 / molar

    @property
    def cation(self) -> int:
        """Its sodium or potassium, by `layout` offset."""
        return lay.SOD if self is Base.SODIUM_BICARBONATE else lay.POT


@dataclass(frozen=True, slots=True)
class Feeding:
    """Feed given at once.

    Parameters
    ----------
    at_s
        Time.
    feed_kg
        Feed as fed.
    protein_frac
        Crude protein in it.
    uneaten_frac
        Share that is not eaten.
    """

    at_s: float
    feed_kg: float
    protein_frac: float
    uneaten_frac: float = 0.0


@dataclass(frozen=True, slots=True)
class Ration:
    """Feed spread evenly over the day from now on; takes the place of the last ration.

    Parameters
    ----------
    at_s
        Time.
    feed_kg_s
        Feed as fed; zero ends it.
    protein_frac
        Crude protein in it.
    """

    at_s: float
    feed_kg_s: float
    protein_frac: float


@dataclass(frozen=True, slots=True)
class SludgeDrain:
    """Sludge drained.

    Parameters
    ----------
    at_s
        Time.
    draw_m3
        Volume drawn.
    of_filter
        Number of the filter.
    """

    at_s: float
    draw_m3: float
    of_filter: int = 0


@dataclass(frozen=True, slots=True)
class WaterChange:
    """Part of the loop's water replaced by make-up water.

    Parameters
    ----------
    at_s
        Time.
    changed_frac
        Share of the water.
    """

    at_s: float
    changed_frac: float


@dataclass(frozen=True, slots=True)
class TopUp:
    """Make-up water added.

    Parameters
    ----------
    at_s
        Time.
    added_m3
        Volume.
    """

    at_s: float
    added_m3: float


@dataclass(frozen=True, slots=True)
class Dose:
    """Base dosed.

    Parameters
    ----------
    at_s
        Time.
    mass_kg
        Mass of the pure base.
    base
        Which base.
    """

    at_s: float
    mass_kg: float
    base: Base = Base.SODIUM_BICARBONATE


@dataclass(frozen=True, slots=True)
class HeldAlkalinity:
    """Alkalinity held up by small doses of bicarbonate from now on.

    Parameters
    ----------
    at_s
        Time.
    alkalinity_eq_m3
        Alkalinity towards which half of what lacks is dosed each eight hours; zero ends it.
    """

    at_s: float
    alkalinity_eq_m3: float


@dataclass(frozen=True, slots=True)
class SettingChanged:
    """Bypass or needle set anew.

    Parameters
    ----------
    at_s
        Time.
    setting
        Both, as they stand from now on.
    of_filter
        Number of the filter.
    """

    at_s: float
    setting: Setting
    of_filter: int = 0


@dataclass(frozen=True, slots=True)
class Switched:
    """Something switched on or off.

    Parameters
    ----------
    at_s
        Time.
    device
        What.
    on
        True for on.
    of_filter
        Number of the filter whose pump it is; None for every one.
    """

    at_s: float
    device: Device
    on: bool
    of_filter: int | None = None


@dataclass(frozen=True, slots=True)
class TemperatureChanged:
    """The water's temperature from now on.

    Parameters
    ----------
    at_s
        Time.
    water_temperature_degc
        Temperature.
    """

    at_s: float
    water_temperature_degc: float


@dataclass(frozen=True, slots=True)
class EvaporationChanged:
    """Evaporation from now on, as in another season.

    Parameters
    ----------
    at_s
        Time.
    evaporation_factor
        Over that of the parameters.
    """

    at_s: float
    evaporation_factor: float


@dataclass(frozen=True, slots=True)
class Weather:
    """The air and the sun from now on; the water's temperature follows by a heat balance.

    Parameters
    ----------
    at_s
        Time.
    air_temperature_degc
        Mean of the day.
    air_swing_k
        Half of the difference between day and night.
    sun_w_m2
        Sun that the water takes up, mean of the day over its open surface.
    """

    at_s: float
    air_temperature_degc: float
    air_swing_k: float = 0.0
    sun_w_m2: float = 0.0


@dataclass(frozen=True, slots=True)
class Heater:
    """A heater from now on; it acts while the heat balance is on.

    Parameters
    ----------
    at_s
        Time.
    power_w
        Full power; zero ends it.
    water_temperature_degc
        Temperature that it holds.
    """

    at_s: float
    power_w: float
    water_temperature_degc: float


@dataclass(frozen=True, slots=True)
class Emptied:
    """Water let out of one place.

    Parameters
    ----------
    at_s
        Time.
    place
        Name of the place.
    emptied_frac
        Share of its water.
    """

    at_s: float
    place: str
    emptied_frac: float


Event = (
    Feeding
    | Ration
    | SludgeDrain
    | WaterChange
    | TopUp
    | Dose
    | HeldAlkalinity
    | SettingChanged
    | Switched
    | TemperatureChanged
    | EvaporationChanged
    | Weather
    | Heater
    | Emptied
)
_DEVICE_ACTS: Final = {
    Device.WATER_PUMP: Act.WATER_PUMP,
    Device.AIR_PUMP: Act.AIR_PUMP,
    Device.AERATION: Act.AERATION,
    Device.POWER: Act.POWER,
}
# Fields with the range that can be, and the words for a value outside.
_RANGES: Final[dict[str, tuple[float, float, str]]] = {
    "at_s": (-math.inf, math.inf, "a time in seconds"),
    "feed_kg": (0.0, 1e4, "zero or more, in kg. Was it given in grams?"),
    "feed_kg_s": (0.0, 1.0, "zero or more, in kg/s. Was a day's ration given?"),
    "protein_frac": (0.0, 1.0, "0 to 1. Was it given in percent?"),
    "uneaten_frac": (0.0, 1.0, "0 to 1. Was it given in percent?"),
    "draw_m3": (0.0, 10.0, "zero or more, in m3. Was it given in litres?"),
    "changed_frac": (0.0, 0.95, "0 to 0.95. Was it given in percent?"),
    "added_m3": (0.0, 1e4, "zero or more, in m3. Was it given in litres?"),
    "mass_kg": (0.0, 1e3, "zero or more, in kg. Was it given in grams?"),
    "alkalinity_eq_m3": (0.0, 50.0, "0 to 50, in eq/m3. Was it given in mg/L?"),
    "evaporation_factor": (0.0, 100.0, "zero or more, over the usual"),
    "air_temperature_degc": (-40.0, 60.0, "-40 to 60 degC. Was it given in Fahrenheit?"),
    "air_swing_k": (0.0, 30.0, "0 to 30 K"),
    "sun_w_m2": (0.0, 600.0, "0 to 600 W/m2, a mean of the day"),
    "power_w": (0.0, 1e6, "zero or more, in W"),
    "emptied_frac": (0.0, 1.0, "0 to 1. Was it given in percent?"),
    "water_temperature_degc": (0.0, 45.0, "0 to 45 degC. Was it given in Fahrenheit?"),
}


def _check(event: Event) -> None:
    for name, (low, high, allowed) in _RANGES.items():
        value = getattr(event, name, None)
        if value is not None and not low <= value <= high:
            message = (
                f"{type(event).__name__} at {event.at_s:g} s: {name} is {value:g}; "
                f"it must be {allowed}"
            )
            raise InputError(message)
    if not math.isfinite(event.at_s):
        message = f"{type(event).__name__}: its time is {event.at_s:g} s; give a finite time."
        raise InputError(message)


@dataclass(frozen=True, slots=True)
class Schedule:
    """Events in order of time.

    Parameters
    ----------
    events
        In any order; those at one moment happen in the order given.
    """

    events: tuple[Event, ...] = ()
    _sorted: tuple[Event, ...] = field(init=False, repr=False, compare=False, default=())

    EMPTY: ClassVar[Schedule]

    def __post_init__(self) -> None:
        for event in self.events:
            _check(event)
        ordered = tuple(sorted(self.events, key=lambda event: event.at_s))
        object.__setattr__(self, "_sorted", ordered)

    def __iter__(self) -> Iterator[Event]:
        return iter(self._sorted)

    def __len__(self) -> int:
        return len(self._sorted)

    @property
    def settings(self) -> tuple[tuple[int, Setting], ...]:
        """Filters and settings that it uses, each once, in order."""
        used = [(e.of_filter, e.setting) for e in self._sorted if isinstance(e, SettingChanged)]
        return tuple(dict.fromkeys(used))

    def plus(self, events: Iterable[Event]) -> Schedule:
        """Return this schedule with more events."""
        return Schedule((*self.events, *events))


Schedule.EMPTY = Schedule()

_Numbers = tuple[Act, tuple[float, ...]]
_ENTRIES: Final[dict[type, Callable[[Any], _Numbers]]] = {
    Feeding: lambda e: (
        Act.FEED,
        (1000.0 * e.feed_kg, PROTEIN_N * e.protein_frac, e.uneaten_frac),
    ),
    Ration: lambda e: (Act.RATION, (1000.0 * e.feed_kg_s, PROTEIN_N * e.protein_frac)),
    SludgeDrain: lambda e: (Act.DRAIN, (e.draw_m3, float(e.of_filter))),
    WaterChange: lambda e: (Act.CHANGE, (e.changed_frac,)),
    TopUp: lambda e: (Act.TOP_UP, (e.added_m3,)),
    Dose: lambda e: (Act.DOSE, (1000.0 * e.mass_kg * e.base.eq_per_g, float(e.base.cation))),
    HeldAlkalinity: lambda e: (Act.HELD_ALKALINITY, (e.alkalinity_eq_m3,)),
    Switched: lambda e: (
        _DEVICE_ACTS[e.device],
        (float(e.on), -1.0 if e.of_filter is None else float(e.of_filter)),
    ),
    EvaporationChanged: lambda e: (Act.EVAPORATION, (e.evaporation_factor,)),
    Weather: lambda e: (Act.AIR, (e.air_temperature_degc, e.air_swing_k, e.sun_w_m2)),
    Heater: lambda e: (Act.HEATER, (e.power_w, e.water_temperature_degc)),
    TemperatureChanged: lambda e: (Act.TEMPERATURE, (e.water_temperature_degc,)),
}

EventArrays = tuple[Array, NDArray[np.int64], Array]


Settings = tuple[tuple[Setting, ...], ...]


def settings_of(known: Settings, schedules: Sequence[Schedule]) -> Settings:
    """List the settings of each filter: those known, then others that schedules use.

    Parameters
    ----------
    known
        Settings of each filter.
    schedules
        Schedules.

    Returns
    -------
    tuple
        Settings of each filter, each once; those known keep their place.

    Raises
    ------
    InputError
        A schedule sets a filter that is not there.
    """
    new = [pair for schedule in schedules for pair in schedule.settings]
    for number, _ in new:
        if not 0 <= number < len(known):
            message = f"filter {number} is set; the loop has filters 0 to {len(known) - 1}."
            raise InputError(message)
    return tuple(
        tuple(dict.fromkeys((*each, *(s for n, s in new if n == number))))
        for number, each in enumerate(known)
    )


def event_arrays(
    schedules: Sequence[Schedule],
    settings: Settings,
    built: Built,
    *,
    span_s: tuple[float, float],
) -> EventArrays:
    """Events of a span as the engine reads them.

    Parameters
    ----------
    schedules
        One for all members, or one for each.
    settings
        Settings of each filter, in the order of the tables.
    built
        The loop.
    span_s
        From, until; an event at its start belongs to it, one at its end does not.

    Returns
    -------
    tuple of ndarray
        Times, kinds and the numbers that go with each: a row for each schedule, filled up with
        times that never come.
    """
    rows = [[e for e in schedule if span_s[0] <= e.at_s < span_s[1]] for schedule in schedules]
    longest = max(len(row) for row in rows)
    times = np.full((len(rows), longest), np.inf)
    kinds = np.zeros((len(rows), longest), dtype=np.int64)
    numbers = np.zeros((len(rows), longest, NUMBERS))
    for i, row in enumerate(rows):
        for k, event in enumerate(row):
            kind, values = _entry(event, settings, built)
            times[i, k], kinds[i, k] = event.at_s, kind
            numbers[i, k, : len(values)] = values
    return times, kinds, numbers


def _entry(event: Event, settings: Settings, built: Built) -> _Numbers:
    if isinstance(event, SettingChanged):
        number = event.of_filter
        return Act.SETTING, (float(settings[number].index(event.setting)), float(number))
    if isinstance(event, Emptied):
        return Act.EMPTY_PLACE, (event.emptied_frac, float(built.place(event.place)))
    filters = len(built.layout.filters)
    if not (getattr(event, "of_filter", None) or 0) < filters:
        message = (
            f"{type(event).__name__} at {event.at_s:g} s: there is no filter {event.of_filter}."  # type: ignore[union-attr]  # asked for above
        )
        raise InputError(message)
    return _ENTRIES[type(event)](event)
