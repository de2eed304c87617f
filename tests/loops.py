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
from tailrace.site.records import Site, Sump
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
