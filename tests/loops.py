"""The fixture loop: the invented site on which the prototype was tabulated."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

from tailrace.beadfilter.machine import Setting
from tailrace.simulation import (
    Device,
    HeldAlkalinity,
    Loop,
    Ration,
    Schedule,
    SludgeDrain,
    Switched,
    assemble,
)
from tailrace.site.records import Bed, BedKind, Pipe, Site, Stage, StageKind, Sump, Tank
from tailrace.sitefile import read_site

FIXTURE = Path(__file__).parent / "fixtures" / "prototype" / "site.toml"
DAY_S = 86400.0
CAUTION_ALKALINITY_EQ_M3 = 0.6


@cache
def site() -> Site:
    """The fixture site."""
    return read_site(FIXTURE.read_bytes(), FIXTURE.name).site


@cache
def loop() -> Loop:
    """The fixture loop."""
    return assemble(site())


@cache
def fish_only() -> Loop:
    """The fixture loop without its plant bed."""
    return assemble(replace(site(), beds=(), tanks=(replace(site().tanks[0], volume_m3=3.4),)))


@cache
def stiff() -> Loop:
    """The fixture loop with a sump of 20 L and twenty times the aeration."""
    small = assemble(replace(site(), sump=Sump(0.02)))
    return small.with_parameters(aeration_per_s=20.0 * small.parameters.aeration_per_s)


@cache
def classroom() -> Loop:
    """A tank of 60 L with a sump of 30 L behind the fixture's filter: a quick, stiff loop."""
    small = replace(site(), beds=(), tanks=(Tank("tank", 0.06),), sump=Sump(0.03))
    return assemble(replace(small, stock=(replace(site().stock[0], ration_kg=0.01),)))


def farm_site() -> Site:
    """An invented farm of 200 m3: twenty places, two filters side by side and one in series."""
    tanks = tuple(Tank(f"tank {number}", 14.0) for number in range(1, 10))
    kinds = (BedKind.RAFT, BedKind.RAFT, BedKind.RAFT, BedKind.GRAVEL, BedKind.TRICKLING)
    beds = tuple(
        Bed(f"bed {number}", kind, 60.0, 0.02 if kind is BedKind.TRICKLING else 0.25, 0.8)
        for number, kind in enumerate(kinds, 1)
    )
    stages = (
        Stage("settling 1", StageKind.SETTLING, 2.0, 3.0),
        Stage("settling 2", StageKind.SETTLING, 2.0, 3.0),
        Stage("polishing", StageKind.SETTLING, 1.0, 0.0),
        Stage("degassing", StageKind.DEGASSING, 1.5, 20.0),
        Stage("side tank", StageKind.SETTLING, 3.0, 2.0),
    )
    ways = [Pipe(tank.name, f"settling {1 + number % 2}") for number, tank in enumerate(tanks)]
    for stage in ("settling 1", "settling 2"):
        ways += [Pipe(stage, bed.name, 0.2) for bed in beds]
    ways += [Pipe(bed.name, "degassing") for bed in beds]
    ways += [Pipe("degassing", "sump"), Pipe("polishing", "tank 1"), Pipe("side tank", "sump")]
    ways += [Pipe("tank 9", "side tank", 1.0, 1e-4)]
    one = site().filters[0]
    filters = (
        replace(one, name="filter A"),
        replace(one, name="filter B", returns_to=("polishing",)),
        replace(one, name="filter C", draws_from="polishing", returns_to=("tank 1", "tank 2")),
    )
    stock = (replace(site().stock[0], ration_kg=1.2),)
    return replace(
        site(), tanks=tanks, beds=beds, stages=stages, pipes=tuple(ways), filters=filters,
        stock=stock, sump=Sump(8.0),
    )  # fmt: skip


@cache
def farm() -> Loop:
    """The invented farm."""
    return assemble(farm_site())


def usual(feed_g_day: float, days: int, *, held: float = CAUTION_ALKALINITY_EQ_M3) -> Schedule:
    """Steady feed, alkalinity held, sludge drained daily."""
    drains = (SludgeDrain(day * DAY_S, 7.5e-3) for day in range(1, days))
    return Schedule(
        (
            Ration(0.0, feed_g_day / 1000.0 / DAY_S, 0.35),
            HeldAlkalinity(0.0, held),
            *drains,
        )
    )


def without_air() -> Switched:
    """The filter's air pump off, so that no backwash comes."""
    return Switched(0.0, Device.AIR_PUMP, on=False)


def at_bypass(open_frac: float, of: Loop) -> Setting:
    """The loop's needle at another bypass opening."""
    return Setting(open_frac, of.setting.needle_gap_m)
