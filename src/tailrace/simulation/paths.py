"""The water's paths through the loop, and what comes from outside and goes there."""

from __future__ import annotations

import math

from tailrace.simulation import layout as lay
from tailrace.simulation.compiled import kernel
from tailrace.simulation.filterside import Context
from tailrace.simulation.fittings import BYPASS, GRAVITY, PUMPED, RETURN
from tailrace.simulation.layout import (
    ELEMENT_COUNT,
    FIRST,
    PLACE,
    SPECIES_CONTENT,
    WATER,
    Array,
)
from tailrace.simulation.stoichiometry import COEFFICIENTS, FEED_P

_CONC = COEFFICIENTS
_BUFFER_PER_S = 2.0 / 86400.0
_LOW_FRAC = 0.5  # of the usual water, below which water is taken to be made up
_LEVEL_PER_S = 24.0 / 86400.0
_WEIR_S = 3600.0  # time in which a place goes back to its usual level
_DAY_S = 86400.0
_LATENT_J_M3 = 2.45e9  # heat of evaporation of water near 20 degC, per volume
_HEAT_J_M3_K = 4.18e6
_LOW_WATER = 0.1


@kernel
def _carry(dy: Array, own: Array, start: int, end: int, flow: float) -> None:
    """Move water with all that it holds from one place to another."""
    here, there = FIRST + start * PLACE, FIRST + end * PLACE
    for i in range(WATER):
        moved = flow * own[_CONC + start * WATER + i]
        dy[here + i] -= moved
        dy[there + i] += moved
    dy[here + lay.VOLUME] -= flow
    dy[there + lay.VOLUME] += flow


@kernel
def _filtered(dy: Array, c: Context, f: int, to: int, share: float) -> None:
    """Hand a share of what leaves a filter to a place; solids were moved by the filter."""
    g, parts, own = c[1], c[4], c[5]
    source = int(parts[g.places + f].from_place)
    flow = share * own[g.flow_at + 2 * f]
    here, there, outlet = FIRST + source * PLACE, FIRST + to * PLACE, g.size + f * WATER
    for i in range(WATER):
        moved = flow * own[_CONC + source * WATER + i]
        if i == lay.COARSE or i == lay.FINE:  # noqa: PLR1714  # a kernel: no containers
            moved = 0.0
        dy[here + i] -= moved
        dy[there + i] += moved + share * dy[outlet + i]
    dy[here + lay.VOLUME] -= flow
    dy[there + lay.VOLUME] += flow


@kernel
def circulate(y: Array, dy: Array, c: Context) -> None:
    """Move water along the pipes.

    Parameters
    ----------
    y
        State.
    dy
        Rates, added to.
    c
        Context.

    Notes
    -----
    Pumped flows come first. Then each place in the order of the fall passes on what it gains,
    and goes back to its usual level within an hour; the lowest place, from which the pumps draw,
    takes up the difference.
    """
    g, parts = c[1], c[4]
    first = g.places + g.filters + g.surfaces
    for k in range(first, first + g.pipes):
        _pump(y, dy, c, k)
    for i in range(g.places):
        start = int(parts[i].next)
        volume = FIRST + start * PLACE + lay.VOLUME
        spare = dy[volume] + (y[volume] - parts[start].usual_m3) / _WEIR_S
        if start != g.level and spare > 0.0:
            for k in range(first, first + g.pipes):
                pipe = parts[k]
                if pipe.kind == GRAVITY and pipe.from_place == start:
                    _carry(dy, c[5], start, int(pipe.to_place), spare * pipe.share_frac)


@kernel
def _pump(y: Array, dy: Array, c: Context, k: int) -> None:
    """Move what a pump drives through a pipe."""
    g, u, parts, own = c[1], c[3], c[4], c[5]
    pipe = parts[k]
    start, to = int(pipe.from_place), int(pipe.to_place)
    if pipe.kind == RETURN:
        _filtered(dy, c, start, to, pipe.share_frac)
    elif pipe.kind == BYPASS:
        source = int(parts[g.places + start].from_place)
        _carry(dy, own, source, to, pipe.share_frac * own[g.flow_at + 2 * start + 1])
    elif pipe.kind == PUMPED:
        wet = y[FIRST + start * PLACE + lay.VOLUME] / (_LOW_WATER * parts[start].usual_m3)
        _carry(dy, own, start, to, pipe.pumped_m3_s * u[0].power_on * min(1.0, max(0.0, wet)))


@kernel
def book_water(change: Array, ledger: int, own: Array, at: int, volume: float) -> None:
    """Book the elements that a volume of water carries out of the loop.

    Parameters
    ----------
    change
        Ledgers, added to.
    ledger
        Position of the ledger's nitrogen; the other elements follow.
    own, at
        Concentrations of the water, by `layout` offsets, and where they start.
    volume
        Volume that leaves [m3].
    """
    for i in range(WATER):
        for element in range(ELEMENT_COUNT):
            change[ledger + element] += SPECIES_CONTENT[i, element] * own[at + i] * volume


@kernel
def book_make_up(change: Array, base: int, ledger: int, c: Context, volume: float) -> None:
    """Add make-up water's chemistry to a place and book it.

    Parameters
    ----------
    change
        State or rates, added to.
    base
        Position of the place's first state.
    ledger
        Position of the ledger's nitrogen.
    c
        Context.
    volume
        Volume that comes in [m3].
    """
    p, g, d, own = c[0], c[1], c[2], c[5]
    held = g.mean_at
    for i in range(WATER):
        own[held + i] = 0.0
    own[held + lay.TAN] = p.make_up_tan_n_g_m3
    own[held + lay.NO3] = p.make_up_nitrate_n_g_m3
    own[held + lay.OXY] = p.make_up_oxygen_frac * d.oxygen_g_m3
    own[held + lay.DIC] = p.make_up_dic_mol_m3
    own[held + lay.ALK] = p.make_up_alkalinity_eq_m3
    own[held + lay.N2GAS] = p.make_up_nitrogen_gas_frac * d.nitrogen_g_m3
    own[held + lay.PHOS] = p.make_up_phosphate_p_g_m3
    own[held + lay.POT] = p.make_up_potassium_g_m3
    own[held + lay.CAL] = p.make_up_calcium_g_m3
    own[held + lay.MAG] = p.make_up_magnesium_g_m3
    own[held + lay.IRON] = p.make_up_iron_g_m3
    own[held + lay.SOD] = p.make_up_sodium_g_m3
    own[held + lay.SULF] = p.make_up_sulphate_g_m3
    own[held + lay.CHLO] = p.make_up_chloride_g_m3
    own[held + lay.CHLORINE] = p.make_up_chlorine_g_m3
    for i in range(WATER):
        change[base + i] += own[held + i] * volume
    change[base + lay.VOLUME] += volume
    book_water(change, ledger, own, held, -volume)


@kernel
def book_feed(change: Array, gut: int, feed_g: float, nitrogen_g: float) -> None:
    """Put feed into the fish and book it.

    Parameters
    ----------
    change
        State or rates, added to.
    gut
        Block of the fish.
    feed_g
        Feed eaten.
    nitrogen_g
        Nitrogen in it.
    """
    change[gut + lay.GUT_FEED] += feed_g
    change[gut + lay.GUT_N] += nitrogen_g
    change[gut + lay.GUT_P] += FEED_P * feed_g
    change[lay.FED + lay.N] -= nitrogen_g
    change[lay.FED + lay.C] -= lay.FEED_C * feed_g
    change[lay.FED + lay.P] -= FEED_P * feed_g
    change[lay.FED + lay.COD] -= lay.FEED_COD * feed_g


@kernel
def _weather(t: float, y: Array, dy: Array, c: Context) -> None:
    """Water temperature from a heat balance of the whole loop."""
    p, g, u = c[0], c[1], c[3][0]
    water = 0.0
    for place in range(g.places):
        water += max(y[FIRST + place * PLACE + lay.VOLUME], 0.0)
    turn = 2.0 * math.pi * (t - p.sunrise_s) / _DAY_S
    air = u.air_degc + u.air_swing_k * math.sin(turn - 0.5)
    sun = u.sun_w_m2 * math.pi * max(0.0, math.sin(turn))
    gained = (p.heat_exchange_w_m2_k * (air - y[lay.TEMPERATURE]) + sun) * g.open_water_m2
    gained -= p.latent_frac * p.evaporation_m3_s * u.evaporation_factor * _LATENT_J_M3
    lacking = min(1.0, max(0.0, u.heater_degc - y[lay.TEMPERATURE]))
    gained += u.heater_w * u.power_on * lacking
    dy[lay.TEMPERATURE] += gained / (_HEAT_J_M3_K * max(water, 1e-3))


@kernel
def outside(t: float, y: Array, dy: Array, c: Context) -> None:
    """Evaporation, water made up or overflowing, steady feed, held alkalinity, drift, weather.

    Parameters
    ----------
    t
        Time [s].
    y
        State.
    dy
        Rates, added to.
    c
        Context.
    """
    p, g, u, parts, own = c[0], c[1], c[3][0], c[4], c[5]
    if u.heat_on > 0.0:
        _weather(t, y, dy, c)
    level = FIRST + g.level * PLACE
    water = y[level + lay.VOLUME]
    made_up = _LEVEL_PER_S * max(0.0, _LOW_FRAC * parts[g.level].usual_m3 - water)
    spilt = _LEVEL_PER_S * max(0.0, water - parts[g.level].most_m3)
    dy[lay.MAKE_UP_M3] -= made_up
    if made_up > 0.0:
        book_make_up(dy, level, lay.MAKE_UP, c, made_up)
    if spilt > 0.0:
        here = _CONC + g.level * WATER
        for i in range(WATER):
            dy[level + i] -= own[here + i] * spilt
        book_water(dy, lay.OVERFLOW, own, here, spilt)
        dy[level + lay.VOLUME] -= spilt
        dy[lay.OVERFLOW_M3] += spilt
    feed = u.feed_g_s * p.load_factor
    drift = 0.0
    gut = g.fish_at
    for place in range(g.places):
        base, part = FIRST + place * PLACE, parts[place]
        volume = y[base + lay.VOLUME]
        wet = min(1.0, max(0.0, volume / (_LOW_WATER * part.usual_m3)))
        lost = p.evaporation_m3_s * u.evaporation_factor * part.evaporation_frac * wet
        dy[base + lay.VOLUME] -= lost
        dy[lay.EVAPORATED_M3] += lost
        gained = p.alkalinity_drift_eq_m3_s * volume
        dy[base + lay.ALK] += gained
        drift += gained
        if part.holds_fish > 0:
            book_feed(dy, gut, feed * part.ration_frac, feed * u.feed_n_frac * part.ration_frac)
            gut += lay.FISH
    dy[lay.DOSE + lay.CHARGE] += drift
    lacking = max(0.0, u.held_alkalinity_eq_m3 - own[_CONC + lay.ALK])
    if lacking > 0.0:
        book_bicarbonate(dy, FIRST, _BUFFER_PER_S * g.water_m3 * lacking, lay.SOD)


@kernel
def book_bicarbonate(change: Array, base: int, eq: float, cation: int) -> None:
    """Add a bicarbonate to a place and book it.

    Parameters
    ----------
    change
        State or rates, added to.
    base
        Position of the place's first state.
    eq
        Charge.
    cation
        Sodium or potassium, by its `layout` offset.
    """
    change[base + lay.ALK] += eq
    change[base + lay.DIC] += eq
    change[base + cation] += eq / SPECIES_CONTENT[cation, lay.CHARGE]
    change[lay.DOSE + lay.C] -= eq * SPECIES_CONTENT[lay.DIC, lay.C]
