"""What happens at once: a backwash, and what a keeper does.

Every jump moves amounts between states and ledgers, so the balances hold through it.
"""

from __future__ import annotations

import math
from enum import IntEnum

from tailrace.simulation import layout as lay
from tailrace.simulation.compiled import kernel
from tailrace.simulation.equilibrium import derive
from tailrace.simulation.filterside import interpolated
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import Array
from tailrace.simulation.processes import (
    Context,
    book_feed,
    book_make_up,
    book_water,
    place_volume_m3,
)
from tailrace.simulation.stoichiometry import Process

_WATER = lay.WATER
_SHED = int(Process.AOB_SHEDDING)
_UNEATEN_SOLIDS = 0.95  # dry solids per uneaten feed
_RESTIRRED_MOST = 0.3
_RESTIRRED_COARSE = 0.7
_OLD_SLUDGE_S = 2.0 * 86400.0
DRAINED_MOST = 4.0  # the table of drained shares ends at this many sludge volumes
_MOST_OF_TANK = 0.9


class Act(IntEnum):
    """Kinds of event; the numbers that go with each are named in `events`."""

    FEED = 0
    DRAIN = 1
    CHANGE = 2
    TOP_UP = 3
    DOSE = 4
    SETTING = 5
    WATER_PUMP = 6
    AIR_PUMP = 7
    AERATION = 8
    POWER = 9
    RATION = 10
    HELD_ALKALINITY = 11
    TEMPERATURE = 12


_FEED, _DRAIN, _CHANGE, _TOP_UP = int(Act.FEED), int(Act.DRAIN), int(Act.CHANGE), int(Act.TOP_UP)
_DOSE, _SETTING = int(Act.DOSE), int(Act.SETTING)
_WATER_PUMP, _AIR_PUMP = int(Act.WATER_PUMP), int(Act.AIR_PUMP)
_AERATION, _POWER = int(Act.AERATION), int(Act.POWER)
_RATION, _HELD, _TEMPERATURE = int(Act.RATION), int(Act.HELD_ALKALINITY), int(Act.TEMPERATURE)


@kernel
def sludge_volume_m3(y: Array, p: Record) -> float:
    """Volume of the sludge in the cone.

    Parameters
    ----------
    y
        State.
    p
        Parameters.

    Returns
    -------
    float
        Volume [m3].
    """
    fresh = max(y[lay.SLUDGE_FRESH], 0.0) * 1e-3 / p.fresh_sludge_kg_m3
    return float(fresh + max(y[lay.SLUDGE_PACKED], 0.0) * 1e-3 / p.packed_sludge_kg_m3)


@kernel
def _scrub(y: Array, c: Context, since_s: float) -> float:
    """Shed film from the beads; returns the solids made of it."""
    p, matrix = c[0], c[4]
    late = 1.0 - math.exp(-since_s / p.scrub_time_s)
    share = min(0.5, p.scrub_least_frac + p.scrub_more_frac * late)
    solids = 0.0
    for i in range(3):
        lost = share * (2.0 if i == 2 else 1.0) * max(y[lay.BEAD_AOB + i], 0.0)
        row = matrix[_SHED + i]
        y[lay.BEAD_AOB + i] -= lost
        solids += lost * row[lay.FINE]
        y[lay.TAN] += lost * row[lay.TAN]
        y[lay.DIC] += lost * row[lay.DIC]
        y[lay.ALK] += lost * row[lay.ALK]
    return solids


@kernel
def _restir(y: Array, c: Context) -> tuple[float, float]:
    """Stir up sludge; returns the coarse and fine solids of it."""
    p, g = c[0], c[1]
    total = y[lay.SLUDGE_FRESH] + y[lay.SLUDGE_PACKED]
    if total <= 0.0:
        return 0.0, 0.0
    over = sludge_volume_m3(y, p) / g.cone_m3
    first = p.restirred_frac * max(y[lay.SLUDGE_FRESH], 0.0)
    share = min(_RESTIRRED_MOST, p.restirred_frac * over * over * over * over)
    fresh = min(first + share * y[lay.SLUDGE_FRESH], y[lay.SLUDGE_FRESH])
    packed = share * y[lay.SLUDGE_PACKED]
    y[lay.SLUDGE_FRESH] -= fresh
    y[lay.SLUDGE_PACKED] -= packed
    coarse = _RESTIRRED_COARSE * share * total
    return coarse, fresh + packed - coarse


@kernel
def backwash(t: float, y: Array, c: Context) -> None:
    """One backwash: the air leaves, the beads tumble and shed.

    Parameters
    ----------
    t
        Time [s].
    y
        State, changed.
    c
        Context; its control record is told the time.
    """
    p, u = c[0], c[3]
    since = max(t - u.backwash_s, 0.0)
    loose = p.dislodged_frac * math.exp(-since / p.sticking_s)
    torn, fines = loose * y[lay.BEAD_COARSE], loose * y[lay.BEAD_FINE]
    y[lay.BEAD_COARSE] -= torn
    y[lay.BEAD_FINE] -= fines
    stirred_coarse, stirred_fine = _restir(y, c)
    coarse = torn * (1.0 - p.breaking_frac) + stirred_coarse
    fine = fines + torn * p.breaking_frac + _scrub(y, c, since) + stirred_fine
    y[lay.COARSE] += p.coarse_puff_frac * coarse
    y[lay.FINE] += p.fine_puff_frac * fine
    coarse *= 1.0 - p.coarse_puff_frac
    # Coarse solids settle within a minute: split them now between sludge and way back up.
    settling = p.chamber_coarse_settling_m_s / p.chamber_depth_m
    rising = p.chamber_mixing_m3_s / p.chamber_water_m3
    sunk = coarse * settling / (settling + rising)
    y[lay.SLUDGE_FRESH] += sunk
    y[lay.BEAD_COARSE] += coarse - sunk
    y[lay.CHAMBER_FINE] += fine * (1.0 - p.fine_puff_frac)
    y[lay.AIR_CHARGE] -= 1.0
    u.backwash_s = t
    u.backwashes += 1.0


@kernel
def _feed(y: Array, p: Record, feed_g: float, nitrogen_frac: float, uneaten_frac: float) -> None:
    feed = feed_g * p.load_factor
    left = feed * uneaten_frac
    book_feed(y, feed - left, (feed - left) * nitrogen_frac)
    solids = _UNEATEN_SOLIDS * left
    leached = max(0.0, nitrogen_frac * left - lay.SOLIDS_N * solids)
    y[lay.COARSE] += p.coarse_frac * solids
    y[lay.FINE] += (1.0 - p.coarse_frac) * solids
    y[lay.TAN] += leached
    y[lay.ALK] += lay.EQ_PER_N * leached
    # Feed and solids have the same carbon per oxygen demand, so the rest is dissolved organics.
    y[lay.ORG] += lay.FEED_COD * left - lay.SOLIDS_COD * solids
    y[lay.FED] -= leached + lay.SOLIDS_N * solids
    y[lay.FED + 1] -= lay.FEED_C * left
    y[lay.FED + 2] -= lay.FEED_COD * left


@kernel
def _take_water(y: Array, c: Context, ledger: int, volume: float) -> float:
    """Take water out of the tank; returns what could be taken."""
    water = y[lay.TANK_M3]
    taken = min(volume, _MOST_OF_TANK * water)
    for i in range(_WATER):
        concentration = y[i] / water
        c[7][i] = concentration
        y[i] -= concentration * taken
    book_water(y, ledger, c[7], taken)
    y[lay.TANK_M3] -= taken
    return float(taken)


@kernel
def _drain(t: float, y: Array, c: Context, volume: float) -> float:
    """Drain sludge; returns the dry mass that went out."""
    p, u, shares = c[0], c[3], c[8]
    held = sludge_volume_m3(y, p)
    gone = 0.0
    if held > 0.0:
        shape = 1 if t - u.drain_s > _OLD_SLUDGE_S else 0
        place = volume / held / DRAINED_MOST * (shares.shape[1] - 1)
        share = interpolated(shares[shape], place)
        for pool in (lay.SLUDGE_FRESH, lay.SLUDGE_PACKED):
            out = share * max(y[pool], 0.0)
            y[pool] -= out
            gone += out
            for element in range(4):
                y[lay.DRAIN + element] += lay.CONTENT[pool, element] * out
    y[lay.DRAIN_M3] += _take_water(y, c, lay.DRAIN, volume)
    u.drain_s = t
    return gone


@kernel
def _change(y: Array, c: Context, share: float) -> None:
    g = c[1]  # the keeper fills up as much as was taken, place by place
    for place in range(lay.PLACES):
        volume = place_volume_m3(place, y, g)
        if volume <= 0.0:
            continue
        out = share * volume
        for i in range(_WATER):
            c[7][i] = y[place * _WATER + i] / volume
            y[place * _WATER + i] -= c[7][i] * out
        book_water(y, lay.CHANGE, c[7], out)
        book_make_up(y, place * _WATER, lay.CHANGE, c, out)


@kernel
def _switch(u: Record, kind: int, on: float) -> None:
    if kind == _WATER_PUMP:
        u.water_pump_on = on
    elif kind == _AIR_PUMP:
        u.air_pump_on = on
    elif kind == _AERATION:
        u.aeration_on = on
    elif kind == _POWER:
        u.power_on = on


@kernel
def _set(c: Context, kind: int, first: float, second: float) -> None:
    u = c[3]
    if kind == _SETTING:
        u.setting = first
    elif kind == _RATION:
        u.feed_g_s = first
        u.feed_n_frac = second
    elif kind == _HELD:
        u.held_alkalinity_eq_m3 = first
    elif kind == _TEMPERATURE:
        u.temperature_degc = first
        derive(c[0], c[1].barometric_pa_abs, first, c[9])
    else:
        _switch(u, kind, first)


@kernel
def act(t: float, y: Array, c: Context, kind: int, numbers: Array) -> float:
    """Do what an event says.

    Parameters
    ----------
    t
        Time [s].
    y
        State, changed.
    c
        Context; its control record may change.
    kind
        Its `Act`.
    numbers
        What goes with it.

    Returns
    -------
    float
        Dry mass drained [g]; 0 for other events.
    """
    if kind == _FEED:
        _feed(y, c[0], numbers[0], numbers[1], numbers[2])
    elif kind == _DRAIN:
        return _drain(t, y, c, numbers[0])
    elif kind == _CHANGE:
        _change(y, c, numbers[0])
    elif kind == _TOP_UP:
        book_make_up(y, 0, lay.TOP_UP, c, numbers[0])
        y[lay.TANK_M3] += numbers[0]
        y[lay.TOP_UP_M3] -= numbers[0]
    elif kind == _DOSE:
        y[lay.ALK] += numbers[0]
        y[lay.DIC] += numbers[1]
        y[lay.DOSE_EQ] += numbers[0]
        y[lay.DOSE_C] -= numbers[1] * lay.CONTENT[lay.DIC, 1]
    else:
        _set(c, kind, numbers[0], numbers[1])
    return 0.0
