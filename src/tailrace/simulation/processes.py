"""The right-hand side: how fast every amount changes.

Each transfer is worked out once, taken off here and added there. `derivative` lists the parts;
the film and the filter have modules of their own.
"""

from __future__ import annotations

import math
from typing import Any

from tailrace.simulation import layout as lay
from tailrace.simulation import stoichiometry as sto
from tailrace.simulation.compiled import kernel
from tailrace.simulation.equilibrium import acidity
from tailrace.simulation.film import Bathing, acid_factors, film_rates
from tailrace.simulation.filterside import (
    Flows,
    bead_area_m2,
    bead_rates,
    channelled_frac,
    denitrified_n_g_s,
    flows,
    move_solids,
    put_film,
)
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import Array
from tailrace.simulation.stoichiometry import Process

# (parameters, geometry, derived, control, process matrix, water tables, air tables, scratch,
# drained shares)
Context = Any

_WATER = lay.WATER
_CONC = 0  # scratch: concentrations of all places
_REACHED = lay.PLACES * _WATER  # scratch: share of the bead bed that water reaches
_ACID = _REACHED + 1  # scratch: pH, carbon dioxide and un-ionised share of each place
_RATES = _ACID + 3 * lay.PLACES  # scratch: rates by process
PROCESSES = len(Process)
SCRATCH = _RATES + PROCESSES
_WIDTH = sto.WIDTH
_HALF_OXYGEN_FISH = 0.1
_BUFFER_PER_S = 2.0 / 86400.0
_LOW_FRAC, _HIGH_FRAC = 0.5, 1.5  # of the tank's usual water: made up below, overflowing above
_LEVEL_PER_S = 24.0 / 86400.0
_CAP_PER_S = 0.5 / 86400.0

_CRUMBLE = int(Process.COARSE_CRUMBLING)
_COARSE_DECAY = int(Process.COARSE_HYDROLYSIS)
_FINE_DECAY = int(Process.FINE_HYDROLYSIS)
_DENITRIFY = int(Process.DENITRIFICATION)
_SHED = int(Process.AOB_SHEDDING)
_DIGEST = int(Process.DIGESTION)
_EXCRETE = int(Process.EXCRETION)
_RESPIRE = int(Process.RESPIRATION)
_BASAL = int(Process.BASAL_EXCRETION)
_NH4_UPTAKE = int(Process.AMMONIUM_UPTAKE)
_NO3_UPTAKE = int(Process.NITRATE_UPTAKE)
_O2_IN = int(Process.OXYGEN_EXCHANGE)
_CO2_OUT = int(Process.CARBON_DIOXIDE_EXCHANGE)
_PRESERVED = 0.4  # share of the organics of decaying sludge that is used inside the sludge


@kernel
def place_volume_m3(place: int, y: Array, g: Record) -> float:
    """Water in a place.

    Parameters
    ----------
    place
        Its number in `layout`.
    y
        State.
    g
        Geometry.

    Returns
    -------
    float
        Volume [m3]; 0 where the site has no such place.
    """
    if place == lay.TANK:
        return float(y[lay.TANK_M3])
    return float(g.sump_m3 if place == lay.SUMP else g.bed_m3)


@kernel
def _look(t: float, y: Array, c: Context) -> None:
    """Fill the scratch with concentrations, acidity and the reached share."""
    p, g, d, u, scratch = c[0], c[1], c[2], c[3], c[7]
    scratch[_REACHED] = channelled_frac(t - u.backwash_s, p)
    for place in range(lay.PLACES):
        volume = place_volume_m3(place, y, g)
        base = place * _WATER
        for i in range(_WATER):
            scratch[_CONC + base + i] = y[base + i] / volume if volume > 0.0 else 0.0
        if volume > 0.0:
            found = acidity(
                scratch[base + lay.ALK],
                scratch[base + lay.DIC],
                scratch[base + lay.TAN],
                d.temperature_degc,
                p.ionic_strength_mol_m3,
            )
            scratch[_ACID + 3 * place] = found.ph
            scratch[_ACID + 3 * place + 1] = found.carbon_dioxide_mol_m3
            scratch[_ACID + 3 * place + 2] = found.un_ionised_frac


@kernel
def _spread(dy: Array, c: Context, place: int, film: int, coarse: int, fine: int) -> None:
    """Add what the rates in the scratch do: to a place's water, a film, solids and ledgers."""
    matrix, scratch = c[4], c[7]
    base = place * _WATER
    for process in range(PROCESSES):
        rate = scratch[_RATES + process]
        if rate == 0.0:
            continue
        row = matrix[process]
        for i in range(lay.COARSE):
            dy[base + i] += rate * row[i]
        dy[coarse] += rate * row[lay.COARSE]
        dy[fine] += rate * row[lay.FINE]
        if film >= 0:
            for i in range(3):
                dy[film + i] += rate * row[sto.AOB + i]
        for i in range(sto.LEDGER_COUNT):
            dy[lay.LEDGERS + i] += rate * row[sto.FIRST_LEDGER + i]
        dy[lay.GUT_FEED] += rate * row[sto.IN_GUT]
        dy[lay.GUT_N] += rate * row[sto.IN_GUT_N]
        scratch[_RATES + process] = 0.0


@kernel
def _bathing(
    place: int, c: Context, area_m2: float, film_m_s: float, organics_m_s: float, freed: float
) -> Bathing:
    p, scratch = c[0], c[7]
    base = place * _WATER
    tan = scratch[base + lay.TAN]
    ph = scratch[_ACID + 3 * place]
    acid, buffered = acid_factors(ph, scratch[base + lay.ALK], p.alkalinity_half_eq_m3)
    return Bathing(
        tan,
        scratch[base + lay.NO2],
        scratch[base + lay.ORG],
        freed,
        max(tan, 0.0) * scratch[_ACID + 3 * place + 2],
        acid,
        buffered,
        film_m_s * area_m2,
        organics_m_s * area_m2,
        math.inf,
    )


@kernel
def _shed(y: Array, first: int, cap_g: float, rates: Array) -> None:
    total = max(y[first], 0.0) + max(y[first + 1], 0.0) + max(y[first + 2], 0.0)
    share = total / cap_g if cap_g > 0.0 else 0.0
    for i in range(3):
        rates[_SHED + i] = _CAP_PER_S * share * share * share * max(y[first + i], 0.0)


@kernel
def _beads(y: Array, dy: Array, c: Context, f: Flows) -> None:
    p, g, d, scratch = c[0], c[1], c[2], c[7]
    rates = scratch[_RATES : _RATES + PROCESSES]
    coarse = d.hydrolysis_per_s * max(y[lay.BEAD_COARSE], 0.0)
    fine = d.hydrolysis_per_s * max(y[lay.BEAD_FINE], 0.0)
    crumbled = p.crumbling_frac * coarse
    freed = lay.SOLIDS_COD * (coarse + fine)
    area = bead_area_m2(y, p, g, scratch[_REACHED])
    # Organics are met by heterotrophs on the whole bead, nitrifiers only where uncovered.
    whole = g.bead_m2 * p.bead_area_factor
    bath = _bathing(
        lay.SUMP, c, area, p.bead_film_m_s, p.bead_organics_m_s * whole / max(area, 1e-9), freed
    )
    sump = lay.SUMP * _WATER
    water = Bathing(
        bath.tan_n_g_m3,
        bath.nitrite_n_g_m3,
        bath.organics_g_m3,
        bath.organics_g_s,
        bath.ammonia_n_g_m3,
        bath.acid_factor,
        bath.alkalinity_factor,
        bath.film_m3_s,
        bath.organics_m3_s,
        2.0 * f.filter_m3_s,
    )
    oxygen = bead_rates(y, (p, d), c[4], water, scratch[sump + lay.OXY], rates)
    _shed(y, lay.BEAD_AOB, p.bead_film_cap_g_m2 * whole, rates)
    rates[_COARSE_DECAY] = coarse
    rates[_FINE_DECAY] = fine
    rates[_CRUMBLE] = crumbled
    rates[_DENITRIFY] = denitrified_n_g_s(freed, oxygen, scratch[sump + lay.NO3])
    _spread(dy, c, lay.TANK, lay.BEAD_AOB, lay.BEAD_COARSE, lay.BEAD_FINE)
    lost = 0.5 * crumbled if f.filter_m3_s > 0.0 else 0.0
    dy[lay.BEAD_FINE] -= lost
    dy[lay.FINE] += lost


@kernel
def _walls(y: Array, dy: Array, c: Context) -> None:
    p, g, d, scratch = c[0], c[1], c[2], c[7]
    rates = scratch[_RATES : _RATES + PROCESSES]
    place = int(g.wall_place)
    base = place * _WATER
    area = g.wall_m2 * p.wall_area_factor
    water = _bathing(place, c, area, p.wall_film_m_s, p.wall_organics_m_s, 0.0)
    film = (y[lay.WALL_AOB], y[lay.WALL_NOB], y[lay.WALL_HET])
    put_film(y, lay.WALL_AOB, d, film_rates(p, d, water, film, scratch[base + lay.OXY]), rates)
    _shed(y, lay.WALL_AOB, p.wall_film_cap_g_m2 * area, rates)
    rates[_FINE_DECAY] = d.hydrolysis_per_s * max(y[lay.DEPOSIT], 0.0)
    _spread(dy, c, place, lay.WALL_AOB, lay.DEPOSIT, lay.DEPOSIT)
    coarse = p.coarse_settling_m_s * g.wall_settling_m2 * max(scratch[base + lay.COARSE], 0.0)
    fine = p.fine_settling_m_s * g.wall_settling_m2 * max(scratch[base + lay.FINE], 0.0)
    dy[base + lay.COARSE] -= coarse
    dy[base + lay.FINE] -= fine
    dy[lay.DEPOSIT] += coarse + fine


@kernel
def _fish(y: Array, c: Context) -> None:
    p, g, scratch = c[0], c[1], c[7]
    left = max(y[lay.GUT_FEED], 0.0) / p.gut_s
    resting = p.basal_frac * p.load_factor
    oxygen = max(scratch[lay.OXY], 0.0)
    breath = left * (1.0 - p.basal_frac) + resting * g.ration_g_s
    scratch[_RATES + _DIGEST] = left
    scratch[_RATES + _EXCRETE] = max(y[lay.GUT_N], 0.0) / p.gut_s
    scratch[_RATES + _RESPIRE] = (
        p.respiration_kg_kg * breath * oxygen / (_HALF_OXYGEN_FISH + oxygen)
    )
    excreted = p.excretion_kg_kg / sto.PROTEIN_N
    scratch[_RATES + _BASAL] = excreted * resting * g.ration_n_g_s


@kernel
def _crop(c: Context, base: int) -> None:
    p, g, scratch = c[0], c[1], c[7]
    tan = max(scratch[base + lay.TAN], 0.0)
    nitrate = max(scratch[base + lay.NO3], 0.0)
    both = tan + nitrate
    if both <= 0.0 or g.crop_m2 <= 0.0:
        return
    taken = p.crop_uptake_n_g_m2_s * g.crop_m2 * both / (p.crop_half_n_g_m3 + both)
    share = tan / (tan + p.crop_ammonium_preference * nitrate)
    # Never the last trace at full speed: each form is taken by Monod's law of its own.
    scratch[_RATES + _NH4_UPTAKE] = taken * share * tan / (0.02 + tan)
    scratch[_RATES + _NO3_UPTAKE] = taken * (1.0 - share) * nitrate / (0.02 + nitrate)


@kernel
def _waters(y: Array, dy: Array, c: Context) -> None:
    """Gas exchange and break-up in each place, fish in the tank, crop in the plant bed."""
    p, g, d, u, scratch = c[0], c[1], c[2], c[3], c[7]
    working = u.aeration_on * u.power_on
    exchange = p.aeration_per_s * (working + (1.0 - working) * p.still_aeration_frac)
    carbon = exchange * p.carbon_dioxide_exchange_frac * p.stripping_factor
    for place in range(lay.PLACES):
        volume = place_volume_m3(place, y, g)
        if volume <= 0.0:
            continue
        base = place * _WATER
        over = scratch[_ACID + 3 * place + 1] - d.carbon_dioxide_mol_m3
        scratch[_RATES + _O2_IN] = exchange * (d.oxygen_g_m3 * volume - y[base + lay.OXY])
        scratch[_RATES + _CO2_OUT] = carbon * over * volume
        scratch[_RATES + _CRUMBLE] = p.breakup_per_s * max(y[base + lay.COARSE], 0.0)
        if place == lay.TANK:
            _fish(y, c)
        elif place == lay.BED:
            _crop(c, base)
        _spread(dy, c, place, -1, base + lay.COARSE, base + lay.FINE)


@kernel
def _sludge(y: Array, dy: Array, c: Context) -> None:
    p, d, scratch = c[0], c[2], c[7]
    packing = max(y[lay.SLUDGE_FRESH], 0.0) / p.packing_s
    dy[lay.SLUDGE_FRESH] -= packing
    dy[lay.SLUDGE_PACKED] += packing
    nitrate = max(scratch[lay.SUMP * _WATER + lay.NO3], 0.0)
    for pool in (lay.SLUDGE_FRESH, lay.SLUDGE_PACKED):
        decayed = p.sludge_decay_frac * d.hydrolysis_per_s * max(y[pool], 0.0)
        scratch[_RATES + _FINE_DECAY] = decayed
        scratch[_RATES + _DENITRIFY] = (
            _PRESERVED * lay.SOLIDS_COD * decayed / sto.DENITRIFIED_COD * nitrate / (2.0 + nitrate)
        )
        _spread(dy, c, lay.TANK, -1, pool, pool)


@kernel
def _stream(dy: Array, scratch: Array, start: int, end: int, flow: float, last: int) -> None:
    for i in range(last):
        moved = flow * scratch[start * _WATER + i]
        dy[start * _WATER + i] -= moved
        dy[end * _WATER + i] += moved


@kernel
def _circulate(dy: Array, c: Context, f: Flows) -> None:
    g, scratch = c[1], c[7]
    aside = f.bypass_m3_s * g.bypass_to_tank_frac
    _stream(dy, scratch, lay.SUMP, lay.TANK, f.filter_m3_s, lay.COARSE)  # solids: move_solids
    _stream(dy, scratch, lay.SUMP, lay.TANK, aside, _WATER)
    back = f.filter_m3_s + aside
    if g.bed_m3 > 0.0:
        _stream(dy, scratch, lay.TANK, lay.BED, back, _WATER)
        _stream(dy, scratch, lay.BED, lay.SUMP, back, _WATER)
    else:
        _stream(dy, scratch, lay.TANK, lay.SUMP, back, _WATER)


@kernel
def book_water(change: Array, ledger: int, amounts: Array, volume: float) -> None:
    """Book the elements that a volume of the tank's kind of water carries out of the loop.

    Parameters
    ----------
    change
        Ledgers, added to.
    ledger
        Position of the ledger's nitrogen; carbon, oxygen demand and charge follow.
    amounts
        Concentrations of the water, by `layout` offsets.
    volume
        Volume that leaves [m3].
    """
    for i in range(_WATER):
        for element in range(4):
            change[ledger + element] += lay.CONTENT[i, element] * amounts[i] * volume


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
    p, d = c[0], c[2]
    nitrate, oxygen = p.make_up_nitrate_n_g_m3 * volume, d.oxygen_g_m3 * volume
    carbon, alkalinity = p.make_up_dic_mol_m3 * volume, p.make_up_alkalinity_eq_m3 * volume
    change[base + lay.NO3] += nitrate
    change[base + lay.OXY] += oxygen
    change[base + lay.DIC] += carbon
    change[base + lay.ALK] += alkalinity
    for element in range(4):
        change[ledger + element] -= (
            lay.CONTENT[lay.NO3, element] * nitrate
            + lay.CONTENT[lay.OXY, element] * oxygen
            + lay.CONTENT[lay.DIC, element] * carbon
            + lay.CONTENT[lay.ALK, element] * alkalinity
        )


@kernel
def _outside(y: Array, dy: Array, c: Context) -> None:
    """Evaporation, water made up or overflowing, steady feed, held alkalinity and drift."""
    p, g, u, scratch = c[0], c[1], c[3], c[7]
    water = y[lay.TANK_M3]
    made_up = _LEVEL_PER_S * max(0.0, _LOW_FRAC * g.tank_m3 - water)
    spilt = _LEVEL_PER_S * max(0.0, water - _HIGH_FRAC * g.tank_m3)
    dy[lay.TANK_M3] += made_up - spilt - p.evaporation_m3_s
    dy[lay.EVAPORATED_M3] += p.evaporation_m3_s
    dy[lay.MAKE_UP_M3] -= made_up
    dy[lay.OVERFLOW_M3] += spilt
    if made_up > 0.0:
        book_make_up(dy, 0, lay.MAKE_UP, c, made_up)
    if spilt > 0.0:
        for i in range(_WATER):
            dy[i] -= scratch[i] * spilt
        book_water(dy, lay.OVERFLOW, scratch, spilt)
    feed = u.feed_g_s * p.load_factor
    book_feed(dy, feed, feed * u.feed_n_frac)
    volume = water + g.sump_m3 + g.bed_m3
    lacking = max(0.0, u.held_alkalinity_eq_m3 - scratch[lay.ALK])
    dose = _BUFFER_PER_S * volume * lacking
    gained = p.alkalinity_drift_eq_m3_s * volume
    dy[lay.DIC] += dose
    dy[lay.ALK] += dose + gained
    dy[lay.DOSE_C] -= dose * lay.CONTENT[lay.DIC, 1]
    dy[lay.DOSE_EQ] += dose + gained


@kernel
def book_feed(change: Array, feed_g: float, nitrogen_g: float) -> None:
    """Put feed into the fish and book it.

    Parameters
    ----------
    change
        State or rates, added to.
    feed_g
        Feed eaten.
    nitrogen_g
        Nitrogen in it.
    """
    change[lay.GUT_FEED] += feed_g
    change[lay.GUT_N] += nitrogen_g
    change[lay.FED] -= nitrogen_g
    change[lay.FED + 1] -= lay.FEED_C * feed_g
    change[lay.FED + 2] -= lay.FEED_COD * feed_g


@kernel
def derivative(t: float, y: Array, dy: Array, c: Context) -> None:
    """Rate of change of every state and ledger.

    Parameters
    ----------
    t
        Time [s].
    y
        State.
    dy
        Rates, written to [per s].
    c
        Context: records, tables and scratch.
    """
    for i in range(dy.size):
        dy[i] = 0.0
    _look(t, y, c)
    f = flows(y, (c[0], c[1], c[2]), c[3], c[5], c[6])
    _circulate(dy, c, f)
    move_solids(y, dy, c[0], c[1], f, c[7])
    _beads(y, dy, c, f)
    _walls(y, dy, c)
    _waters(y, dy, c)
    _sludge(y, dy, c)
    _outside(y, dy, c)
    dy[lay.AIR_CHARGE] += f.charge_per_s
