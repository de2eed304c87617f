"""The site as built: tanks, filters, plant beds, stock, source water and the keeper's measures.

Everything is SI with degC and g/m3. The file form and its checks are in `tailrace.sitefile`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import Enum

from tailrace.beadfilter.machine import Machine


class UnitFamily(Enum):
    """Units in which a person sees this site."""

    US = "us"
    METRIC = "metric"


class BedKind(Enum):
    """Kind of plant bed."""

    RAFT = "raft"
    GRAVEL = "gravel"
    TRICKLING = "trickling"


class Treatment(Enum):
    """Disinfectant left in the source water."""

    CHLORINE = "chlorine"
    CHLORAMINE = "chloramine"
    NONE = "none"
    NOT_KNOWN = "not known"

    @property
    def taken_as(self) -> Treatment:
        """What it is treated as: a disinfectant not known is taken as chloramine."""
        return Treatment.CHLORAMINE if self is Treatment.NOT_KNOWN else self


@dataclass(frozen=True, slots=True)
class Tank:
    """A fish tank.

    Parameters
    ----------
    name
        Name used as a place in the log.
    volume_m3
        Water volume.
    """

    name: str
    volume_m3: float


@dataclass(frozen=True, slots=True)
class Sump:
    """The sump from which the water pump draws.

    Parameters
    ----------
    volume_m3
        Water volume at its usual level.
    """

    volume_m3: float


@dataclass(frozen=True, slots=True)
class Bed:
    """A plant bed.

    Parameters
    ----------
    name
        Name used as a place in the log.
    kind
        Raft or gravel.
    area_m2
        Plan area.
    water_depth_m
        Depth of water (of the water's share of the pores, for gravel).
    planted_frac
        Share of the area under crop at the start.
    """

    name: str
    kind: BedKind
    area_m2: float
    water_depth_m: float
    planted_frac: float

    @property
    def volume_m3(self) -> float:
        """Water volume."""
        return self.area_m2 * self.water_depth_m


class StageKind(Enum):
    """Kind of stage that water runs through beside tanks and plant beds."""

    SETTLING = "settling"
    DEGASSING = "degassing"


@dataclass(frozen=True, slots=True)
class Stage:
    """A stage between tanks and sump.

    Parameters
    ----------
    name
        Name used as a place in the log.
    kind
        What it is for.
    volume_m3
        Water in it.
    area_m2
        Plan area on which solids settle, or the surface that carries film.
    """

    name: str
    kind: StageKind
    volume_m3: float
    area_m2: float


@dataclass(frozen=True, slots=True)
class Pipe:
    """A way of the water from one place to another.

    Parameters
    ----------
    from_place, to_place
        Names of tanks, plant beds or stages, or ``sump``.
    share_frac
        Share of what leaves the first place by gravity.
    pumped_m3_s
        Flow of a pump of its own; 0 when water runs by gravity.
    """

    from_place: str
    to_place: str
    share_frac: float = 1.0
    pumped_m3_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured on a filter when it was set up; None where it was not.

    Parameters
    ----------
    return_flow_m3_s, bypass_flow_m3_s
        Flows timed with a bucket.
    bypass_open_frac
        Opening at which they were timed.
    dip_pressure_pa_gauge
        Pressure at which the air stops, the hose held in water (dip test).
    """

    return_flow_m3_s: float | None = None
    bypass_flow_m3_s: float | None = None
    bypass_open_frac: float | None = None
    dip_pressure_pa_gauge: float | None = None


@dataclass(frozen=True, slots=True)
class Start:
    """How a filter was set when the site began; later settings come from the log.

    Parameters
    ----------
    bypass_open_frac
        Opening of the bypass as share of its handle's travel.
    air_float_m3_s
        Float reading just after a backwash, on the meter's own scale.
    """

    bypass_open_frac: float
    air_float_m3_s: float


@dataclass(frozen=True, slots=True)
class Filter:
    """A bead filter as it stands in this site.

    Parameters
    ----------
    name
        Name used as a place in the log.
    machine
        The filter as built, in the terms of `tailrace.beadfilter`.
    bypass_turns
        Turns of the bypass handle from shut to open; None for a quarter-turn valve.
    start
        Settings at the start.
    measured
        Facts measured at set-up.
    draws_from
        Name of the place from which its pump draws; the sump when empty.
    returns_to
        Names of the places to which it returns; the tanks when empty.
    """

    name: str
    machine: Machine
    bypass_turns: float | None
    start: Start
    measured: Measured = Measured()
    draws_from: str = ""
    returns_to: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Stock:
    """One lot of fish at the start.

    Parameters
    ----------
    lot
        Name of the lot.
    species
        Key in the species table of `tailrace.husbandry`.
    count
        Number of fish.
    mean_mass_kg
        Mean mass of one fish.
    ration_kg
        Usual feed a day for the lot, as fed.
    feed_protein_frac
        Crude protein in the feed.
    """

    lot: str
    species: str
    count: int
    mean_mass_kg: float
    ration_kg: float
    feed_protein_frac: float


@dataclass(frozen=True, slots=True)
class SourceWater:
    """The water that is added.

    Parameters
    ----------
    kind
        ``mains``, ``well`` or ``rain``.
    treatment
        Disinfectant.
    temperature_degc, ph, alkalinity_eq_m3, hardness_caco3_g_m3, nitrate_n_g_m3
        What it is like; None where not known.
    """

    kind: str
    treatment: Treatment
    temperature_degc: float | None = None
    ph: float | None = None
    alkalinity_eq_m3: float | None = None
    hardness_caco3_g_m3: float | None = None
    nitrate_n_g_m3: float | None = None


@dataclass(frozen=True, slots=True)
class Measure:
    """A measure of the keeper's own, such as a scoop of feed.

    Parameters
    ----------
    word
        The word used in the log, such as ``scoop``.
    amount
        How much one holds, in the unit of `suffix`.
    suffix
        Unit suffix: ``_kg`` or ``_m3``.
    of
        What it measures, such as ``feed``; empty when anything.
    """

    word: str
    amount: float
    suffix: str
    of: str = ""


@dataclass(frozen=True, slots=True)
class Site:
    """One system.

    Parameters
    ----------
    name
        Short name used in commands.
    title
        Name for people.
    zone
        Time zone, a key of the IANA time zone database.
    units
        Units in which a person sees it.
    started_at
        When the description begins to hold, aware UTC; None when not given.
    altitude_m
        Height above sea level.
    water_temperature_degc, air_temperature_degc
        Usual temperature of the water, and of the air at the filter.
    evaporation_low_m3_s, evaporation_high_m3_s
        Water lost to the air and to the plants, as a range.
    source_water
        The water that is added.
    tanks, sump, beds, filters, stock
        What it is made of. One tank and one filter until more are supported.
    measures
        The keeper's own measures.
    invented
        True for a demonstration site that does not exist.
    stages
        Settling and degassing stages.
    pipes
        Ways of the water, beside filters; by the usual order when empty.
    """

    name: str
    title: str
    zone: str
    units: UnitFamily
    started_at: datetime | None
    altitude_m: float
    water_temperature_degc: float
    air_temperature_degc: float
    evaporation_low_m3_s: float
    evaporation_high_m3_s: float
    source_water: SourceWater
    tanks: tuple[Tank, ...]
    sump: Sump
    beds: tuple[Bed, ...]
    filters: tuple[Filter, ...]
    stock: tuple[Stock, ...]
    measures: tuple[Measure, ...] = ()
    invented: bool = False
    stages: tuple[Stage, ...] = ()
    pipes: tuple[Pipe, ...] = ()

    @property
    def filter(self) -> Filter:
        """The only filter."""
        return self.filters[0]

    @property
    def volume_m3(self) -> float:
        """Water volume of the whole loop."""
        return (
            sum(tank.volume_m3 for tank in self.tanks)
            + self.sump.volume_m3
            + sum(bed.volume_m3 for bed in self.beds)
            + sum(stage.volume_m3 for stage in self.stages)
        )

    @property
    def ration_kg(self) -> float:
        """Usual feed a day for all lots, as fed."""
        return sum(lot.ration_kg for lot in self.stock)
