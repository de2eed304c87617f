"""What happens at once: a backwash, and what a keeper does.

Every jump moves amounts between states and ledgers, so the balances hold through it.
"""

from __future__ import annotations

import math
from enum import IntEnum

from tailrace.simulation import layout as lay
from tailrace.simulation import stoichiometry as sto
from tailrace.simulation.apart import derive_at
from tailrace.simulation.compiled import kernel
from tailrace.simulation.filterside import Context, held_g, interpolated
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import (
    ELEMENT_COUNT,
    FILTER,
    FIRST,
    LAYER,
    LAYERS,
    PLACE,
    SOLIDS_CONTENT,
    WATER,
    Array,
)
from tailrace.simulation.paths import book_bicarbonate, book_feed, book_make_up, book_water
from tailrace.simulation.processes import look
from tailrace.simulation.stoichiometry import Process

_CONC = sto.COEFFICIENTS
_SHED = int(Process.AOB_SHEDDING)
_UNEATEN_SOLIDS = 0.95  # dry solids per uneaten feed
_RESTIRRED_MOST = 0.3
_RESTIRRED_COARSE = 0.7
_OLD_SLUDGE_S = 2.0 * 86400.0
DRAINED_MOST = 4.0  # the table of drained shares ends at this many sludge volumes
DRAINED_POINTS = 401
_MOST_OF_PLACE = 0.9


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
    EVAPORATION = 13
    AIR = 14
    HEATER = 15
    EMPTY_PLACE = 16


_FEED, _DRAIN, _CHANGE, _TOP_UP = int(Act.FEED), int(Act.DRAIN), int(Act.CHANGE), int(Act.TOP_UP)
_DOSE, _SETTING = int(Act.DOSE), int(Act.SETTING)
_WATER_PUMP, _AIR_PUMP = int(Act.WATER_PUMP), int(Act.AIR_PUMP)
_AERATION, _POWER = int(Act.AERATION), int(Act.POWER)
_RATION, _HELD, _TEMPERATURE = int(Act.RATION), int(Act.HELD_ALKALINITY), int(Act.TEMPERATURE)
_EVAPORATION, _AIR, _HEATER = int(Act.EVAPORATION), int(Act.AIR), int(Act.HEATER)
_EMPTY = int(Act.EMPTY_PLACE)


@kernel
def sludge_volume_m3(y: Array, p: Record, at: int) -> float:
    """Volume of the sludge in a filter's cone.

    Parameters
    ----------
    y
        State.
    p
        Parameters.
    at
        The filter's block.

    Returns
    -------
    float
        Volume [m3].
    """
    loose = max(y[at + lay.FRESH] + y[at + lay.LEACHING], 0.0) * 1e-3 / p.fresh_sludge_kg_m3
    return float(loose + max(y[at + lay.PACKED], 0.0) * 1e-3 / p.packed_sludge_kg_m3)


@kernel
def _scrub(y: Array, c: Context, f: int, since_s: float) -> float:
    """Shed film from the beads; returns the solids made of it."""
    p, g, parts, own = c[0], c[1], c[4], c[5]
    at = g.filters_at + f * FILTER
    base = FIRST + parts[g.places + f].to_place * PLACE
    late = 1.0 - math.exp(-since_s / p.scrub_time_s)
    share = min(0.5, p.scrub_least_frac + p.scrub_more_frac * late)
    solids = 0.0
    for i in range(3):
        lost = share * (2.0 if i == 2 else 1.0) * max(y[at + i], 0.0)
        for k in range(sto.ROW_START[_SHED + i], sto.ROW_START[_SHED + i + 1]):
            column, moved = sto.ROW_COLUMN[k], lost * own[k]
            if column == lay.FINE:
                solids += moved
            elif column < WATER:
                y[base + column] += moved
        y[at + i] -= lost
    return solids


@kernel
def _restir(y: Array, p: Record, at: int, cone_m3: float) -> tuple[float, float]:
    """Stir up sludge; returns the coarse and fine solids of it."""
    total = y[at + lay.FRESH] + y[at + lay.PACKED]
    if total <= 0.0:
        return 0.0, 0.0
    over = sludge_volume_m3(y, p, at) / cone_m3
    first = p.restirred_frac * max(y[at + lay.FRESH], 0.0)
    share = min(_RESTIRRED_MOST, p.restirred_frac * over * over * over * over)
    fresh = min(first + share * y[at + lay.FRESH], y[at + lay.FRESH])
    packed = share * y[at + lay.PACKED]
    y[at + lay.FRESH] -= fresh
    y[at + lay.PACKED] -= packed
    coarse = _RESTIRRED_COARSE * share * total
    return coarse, fresh + packed - coarse


@kernel
def _mix_layers(y: Array, at: int, kept: float) -> None:
    """Leave a share of the deposit, evenly, for the beads tumble."""
    for size in range(2):
        each = kept * held_g(y, at, size) / LAYERS
        for layer in range(LAYERS):
            y[at + LAYER + 2 * layer + size] = each


@kernel
def backwash(t: float, y: Array, c: Context, f: int) -> None:
    """One backwash: the air leaves, the beads tumble and shed.

    Parameters
    ----------
    t
        Time [s].
    y
        State, changed.
    c
        Context; the filter's control record is told the time.
    f
        Which filter.
    """
    p, g, parts = c[0], c[1], c[4]
    u, part, at = c[3][1 + f], parts[g.places + f], g.filters_at + f * FILTER
    base = FIRST + part.to_place * PLACE
    since = max(t - u.backwash_s, 0.0)
    loose = p.dislodged_frac * math.exp(-max(y[at + lay.CAKING], 0.0))
    torn, fines = loose * held_g(y, at, 0), loose * held_g(y, at, 1)
    _mix_layers(y, at, 1.0 - loose)
    y[at + lay.CAKING] *= 1.0 - p.decaking_frac
    y[at + lay.CHANNELS] = 0.0
    stirred_coarse, stirred_fine = _restir(y, p, at, part.cone_m3)
    coarse = torn * (1.0 - p.breaking_frac) + stirred_coarse
    fine = fines + torn * p.breaking_frac + _scrub(y, c, f, since) + stirred_fine
    y[base + lay.COARSE] += p.coarse_puff_frac * coarse
    y[base + lay.FINE] += p.fine_puff_frac * fine
    coarse *= 1.0 - p.coarse_puff_frac
    # Coarse solids settle within a minute: split them now between sludge and way back up.
    settling = p.chamber_coarse_settling_m_s / p.chamber_depth_m
    rising = p.chamber_mixing_m3_s / p.chamber_water_m3
    sunk = coarse * settling / (settling + rising)
    y[at + lay.FRESH] += (1.0 - p.leaching_frac) * sunk
    y[at + lay.LEACHING] += p.leaching_frac * sunk
    y[at + LAYER] += coarse - sunk
    y[at + lay.CHAMBER_FINE] += fine * (1.0 - p.fine_puff_frac)
    y[at + lay.AIR_CHARGE] -= 1.0
    u.backwash_s = t
    u.backwashes += 1.0


@kernel
def _meal(y: Array, c: Context, feed_g: float, nitrogen_frac: float, uneaten_frac: float) -> None:
    """Share a meal among the tanks as the ration is."""
    p, g, parts = c[0], c[1], c[4]
    gut = g.fish_at
    for place in range(g.places):
        if parts[place].holds_fish > 0:
            feed = feed_g * p.load_factor * parts[place].ration_frac
            _feed(y, c, (FIRST + place * PLACE, gut), feed, nitrogen_frac, uneaten_frac)
            gut += lay.FISH


@kernel
def _feed(y: Array, c: Context, where: tuple[int, int], feed: float, nitrogen_frac: float,
          uneaten_frac: float) -> None:  # fmt: skip
    p, (base, gut) = c[0], where
    left = feed * uneaten_frac
    book_feed(y, gut, feed - left, (feed - left) * nitrogen_frac)
    solids = _UNEATEN_SOLIDS * left
    leached = max(0.0, nitrogen_frac * left - lay.SOLIDS_N * solids)
    y[base + lay.COARSE] += p.coarse_frac * solids
    y[base + lay.FINE] += (1.0 - p.coarse_frac) * solids
    y[base + lay.TAN] += leached
    y[base + lay.ALK] += lay.EQ_PER_N * leached
    # Feed and solids have the same carbon per oxygen demand, so the rest is dissolved organics.
    y[base + lay.ORG] += lay.FEED_COD * left - lay.SOLIDS_COD * solids
    y[lay.FED + lay.N] -= leached + lay.SOLIDS_N * solids
    y[lay.FED + lay.C] -= lay.FEED_C * left
    y[lay.FED + lay.P] -= lay.SOLIDS_P * solids
    y[lay.FED + lay.COD] -= lay.FEED_COD * left


@kernel
def _take_water(y: Array, c: Context, place: int, ledger: int, volume: float) -> float:
    """Take water out of a place; returns what could be taken."""
    own, base = c[5], FIRST + place * PLACE
    taken = min(volume, _MOST_OF_PLACE * max(y[base + lay.VOLUME], 0.0))
    look(y, c)
    for i in range(WATER):
        y[base + i] -= own[_CONC + place * WATER + i] * taken
    book_water(y, ledger, own, _CONC + place * WATER, taken)
    y[base + lay.VOLUME] -= taken
    return float(taken)


@kernel
def _drain(t: float, y: Array, c: Context, f: int, volume: float) -> float:
    """Drain sludge; returns the dry mass that went out."""
    p, g, parts, tables = c[0], c[1], c[4], c[6]
    u, at = c[3][1 + f], g.filters_at + f * FILTER
    held = sludge_volume_m3(y, p, at)
    ledger = g.moving + lay.DRAIN
    gone = 0.0
    if held > 0.0:
        shape = 1 if t - u.drain_s > _OLD_SLUDGE_S else 0
        place = volume / held / DRAINED_MOST * (DRAINED_POINTS - 1)
        first = g.drained_at + shape * DRAINED_POINTS
        share = interpolated(tables, first, DRAINED_POINTS, place)
        for pool in range(lay.LEACHING, lay.PACKED + 1):
            out = share * max(y[at + pool], 0.0)
            y[at + pool] -= out
            gone += out
            for element in range(ELEMENT_COUNT):
                y[ledger + element] += SOLIDS_CONTENT[element] * out
    source = int(parts[g.places + f].from_place)
    y[g.moving + lay.DRAIN_M3] += _take_water(y, c, source, ledger, volume)
    u.drain_s = t
    return gone


@kernel
def _change(y: Array, c: Context, share: float) -> None:
    g = c[1]  # the keeper fills up as much as was taken, place by place
    ledger = g.moving + lay.CHANGE
    for place in range(g.places):
        base = FIRST + place * PLACE
        taken = _take_water(y, c, place, ledger, share * max(y[base + lay.VOLUME], 0.0))
        book_make_up(y, base, ledger, c, taken)


@kernel
def _switch(c: Context, kind: int, on: float, f: int) -> None:
    u = c[3]
    for row in range(1, u.size):
        if f >= 0 and row != 1 + f:
            continue
        if kind == _WATER_PUMP:
            u[row].water_pump_on = on
        elif kind == _AIR_PUMP:
            u[row].air_pump_on = on
    if kind == _AERATION:
        u[0].aeration_on = on
    elif kind == _POWER:
        u[0].power_on = on


@kernel
def _weather(u: Record, kind: int, numbers: Array) -> None:
    if kind == _EVAPORATION:
        u.evaporation_factor = numbers[0]
    elif kind == _AIR:
        u.heat_on = 1.0
        u.air_degc = numbers[0]
        u.air_swing_k = numbers[1]
        u.sun_w_m2 = numbers[2]
    elif kind == _HEATER:
        u.heater_w = numbers[0]
        u.heater_degc = numbers[1]


@kernel
def _set(y: Array, c: Context, kind: int, numbers: Array) -> None:
    u = c[3]
    first = numbers[0]
    if kind == _SETTING:
        u[1 + int(numbers[1])].setting = first
    elif kind == _RATION:
        u[0].feed_g_s = first
        u[0].feed_n_frac = numbers[1]
    elif kind == _HELD:
        u[0].held_alkalinity_eq_m3 = first
    elif kind == _TEMPERATURE:
        u[0].temperature_degc = first
        y[lay.TEMPERATURE] = first
        derive_at(first, c)
    elif kind >= _EVAPORATION:
        _weather(u[0], kind, numbers)
    else:
        _switch(c, kind, first, int(numbers[1]))


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
        Context; its control records may change.
    kind
        Its `Act`.
    numbers
        What goes with it.

    Returns
    -------
    float
        Dry mass drained [g]; 0 for other events.
    """
    g = c[1]
    if kind == _FEED:
        _meal(y, c, numbers[0], numbers[1], numbers[2])
    elif kind == _DRAIN:
        return _drain(t, y, c, int(numbers[1]), numbers[0])
    elif kind == _CHANGE:
        _change(y, c, numbers[0])
    elif kind == _TOP_UP:
        book_make_up(y, FIRST + g.level * PLACE, g.moving + lay.TOP_UP, c, numbers[0])
        y[g.moving + lay.TOP_UP_M3] -= numbers[0]
    elif kind == _DOSE:
        book_bicarbonate(y, FIRST, numbers[0], int(numbers[1]))
    elif kind == _EMPTY:
        place = int(numbers[1])
        water = numbers[0] * max(y[FIRST + place * PLACE + lay.VOLUME], 0.0)
        taken = _take_water(y, c, place, g.moving + lay.DRAIN, water)
        y[g.moving + lay.DRAIN_M3] += taken
    else:
        _set(y, c, kind, numbers)
    return 0.0
