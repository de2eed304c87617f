"""The filter inside the loop: flows, air charge, capture of solids and the film on the beads.

A filter's states stand in a block of `layout.FILTER`; ``at`` is where its block starts, ``part``
its row of `fittings.PART`.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from tailrace.simulation import layout as lay
from tailrace.simulation import stoichiometry as sto
from tailrace.simulation.circuits import DEPOSITS, PRESSURES, TABLE
from tailrace.simulation.compiled import kernel
from tailrace.simulation.film import Bathing, FilmRates, film_rates, uptake
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import LAYER, LAYERS, WATER, Array
from tailrace.simulation.stoichiometry import DENITRIFIED_COD, Process

REFERENCE_M_S = 6.2e-3  # superficial velocity for which the capture coefficients are given
CAPTURE_RISE = 6.0  # ripening of capture with deposit
FULL_FRAC = 0.75  # filled share of the pores at which nothing is captured any more
MOST_SLOWNESS = 4.0
LEAST_CHANNELLED = 0.1
LEAST_VOID_FRAC = 0.06
_OXYGEN_HALF = 0.6  # for a first guess of the oxygen inside the bead bed
_ANOXIC_HALF = 0.3
_ANOXIC_LEAST = 0.05
_ANOXIC_SHARE = 0.5  # of the organics set free, where oxygen is gone
NITRATE_HALF = 2.0
_LOW_WATER = 0.1  # share of a place's usual water below which a pump draws air

_O_AOB = int(Process.AMMONIA_OXIDATION)
_O_NOB = int(Process.NITRITE_OXIDATION)
_O_HET = int(Process.HETEROTROPH_GROWTH)
_O_DECAY = int(Process.AOB_DECAY)
# Where the oxygen coefficients of the film's processes stand in the sparse matrix.
_OXYGEN_AT = np.array(
    [
        int(sto.ROW_START[row])
        + int(
            np.flatnonzero(sto.ROW_COLUMN[sto.ROW_START[row] : sto.ROW_START[row + 1]] == lay.OXY)[
                0
            ]
        )
        for row in range(_O_AOB, _O_DECAY + 3)
    ]
)


Context = Any  # parameters, geometry, derived, control, parts, own numbers, tables, addresses


class Flows(NamedTuple):
    """Flows and charging of a filter at one moment.

    Parameters
    ----------
    filter_m3_s, bypass_m3_s
        Flow through the filter and through the bypass.
    charge_per_s
        Growth of the air charge, as share of what a backwash takes.
    """

    filter_m3_s: float
    bypass_m3_s: float
    charge_per_s: float


@kernel
def interpolated(tables: Array, first: int, count: int, place: float) -> float:
    """Value of an evenly spaced table, held at its ends.

    Parameters
    ----------
    tables
        All tables one after the other.
    first, count
        Where this one stands and how long it is.
    place
        Where to read, in steps of the table.

    Returns
    -------
    float
        Linear in between.
    """
    last = count - 1
    if not place > 0.0:
        return float(tables[first])
    if place >= last:
        return float(tables[first + last])
    low = int(place)
    at = first + low
    return float(tables[at] + (tables[at + 1] - tables[at]) * (place - low))


@kernel
def placed(tables: Array, first: int, count: int, value: float) -> float:
    """Place at which a rising table has a value: `interpolated` the other way round.

    Parameters
    ----------
    tables
        All tables one after the other.
    first, count
        Where this one stands and how long it is.
    value
        Value.

    Returns
    -------
    float
        Place in steps of the table, held at its ends.
    """
    low, high = 0, count - 1
    if value <= tables[first]:
        return 0.0
    if value >= tables[first + high]:
        return float(high)
    while high - low > 1:
        middle = (low + high) // 2
        if tables[first + middle] > value:
            high = middle
        else:
            low = middle
    below = tables[first + low]
    return float(low + (value - below) / (tables[first + high] - below))


@kernel
def resistance(y: Array, at: int, part: Record) -> float:
    """Resistance of the bead bed over that of clean beads, by Ergun's viscous term.

    Parameters
    ----------
    y
        State.
    at, part
        The filter.

    Returns
    -------
    float
        1 when clean.
    """
    clean = part.void_frac
    total = 0.0
    for layer in range(LAYERS):
        first = at + LAYER + 2 * layer
        held = max(y[first] + y[first + 1], 0.0) * 1e-3 * LAYERS / part.bead_m3
        void = max(clean - held / part.deposit_density_kg_m3, LEAST_VOID_FRAC)
        total += (1.0 - void) * (1.0 - void) / (void * void * void)
    return float(total / LAYERS * clean * clean * clean / ((1.0 - clean) * (1.0 - clean)))


@kernel
def charge_per_s(y: Array, records: tuple[Record, Record, Record], at: int, roof_pa: float,
                 tables: Array, air_at: int) -> float:  # fmt: skip
    """Growth of the air charge.

    Parameters
    ----------
    y
        State.
    records
        Parameters, the filter's part, and what temperature makes of the parameters.
    at
        The filter's block.
    roof_pa
        Gauge pressure with the face at the roof.
    tables, air_at
        Tables, and where standard air flow over face pressure stands, from zero to
        `pressure_top_pa`.

    Returns
    -------
    float
        Share of a charge a second.

    Notes
    -----
    Stored air goes as fill (P0 + p_roof - p_w + a fill), a the pressure of the chamber's depth;
    the fill is its root, and the air flow follows from the pressure there.
    """
    p, part, d = records
    a = part.chamber_pa
    b = d.dry_pa_abs + roof_pa
    low = part.residual_fill_frac * (b + a * part.residual_fill_frac)
    span = b + a - low
    stored = low + min(max(y[at + lay.AIR_CHARGE], 0.0), 1.0) * span
    fill = 2.0 * stored / (b + math.sqrt(b * b + 4.0 * a * stored))
    face = roof_pa + a * fill + p.back_pressure_pa
    flow = interpolated(tables, air_at, PRESSURES, face / part.pressure_top_pa * (PRESSURES - 1))
    if fill > 0.99 and flow < part.trigger_flow_m3_s:
        return 0.0
    return float(flow / (part.chamber_m3 * span * d.standard_per_pa * p.air_per_backwash_factor))


@kernel
def flows(y: Array, c: Context, f: int) -> Flows:
    """Flows through a filter and its bypass, and the growth of its air charge.

    Parameters
    ----------
    y
        State.
    c
        Context.
    f
        Which filter.

    Returns
    -------
    Flows
        All zero when the water pump stands or its place is empty; no charge grows when no water
        flows, for a backwash needs water to refill.
    """
    p, g, d, u, parts, tables = c[0], c[1], c[2], c[3], c[4], c[6]
    part = parts[g.places + f]
    on = u[0].power_on
    source = parts[part.from_place]
    water = y[lay.FIRST + part.from_place * lay.PLACE + lay.VOLUME]
    wet = min(1.0, max(0.0, water / (_LOW_WATER * source.usual_m3)))
    if u[1 + f].water_pump_on * on * wet <= 0.0:
        return Flows(0.0, 0.0, 0.0)
    at = g.filters_at + f * lay.FILTER
    place = placed(tables, part.table_at, DEPOSITS, resistance(y, at, part))
    water_at = part.table_at + DEPOSITS + int(u[1 + f].setting) * TABLE
    through = interpolated(tables, water_at, DEPOSITS, place)
    beside = interpolated(tables, water_at + DEPOSITS, DEPOSITS, place)
    growth = 0.0
    if through > 0.0 and u[1 + f].air_pump_on * on > 0.0:
        roof = interpolated(tables, water_at + 2 * DEPOSITS, DEPOSITS, place)
        air_at = water_at + 3 * DEPOSITS
        growth = charge_per_s(y, (p, part, d), at, roof, tables, air_at)
    return Flows(wet * through, wet * beside, growth)


@kernel
def reached_frac(y: Array, at: int) -> float:
    """Share of the bead bed that water still reaches.

    Parameters
    ----------
    y
        State.
    at
        The filter's block.

    Returns
    -------
    float
        1 until channels form, then falling towards 0.1.
    """
    return max(LEAST_CHANNELLED, math.exp(-max(y[at + lay.CHANNELS], 0.0)))


@kernel
def held_g(y: Array, at: int, size: int) -> float:
    """Solids of one size in the bead bed.

    Parameters
    ----------
    y
        State.
    at
        The filter's block.
    size
        0 coarse, 1 fine.

    Returns
    -------
    float
        Dry mass [g].
    """
    held = 0.0
    for layer in range(LAYERS):
        held += y[at + LAYER + 2 * layer + size]
    return held


@kernel
def filled_frac(held: float, bead_m3: float, part: Record) -> float:
    """Share of the pores that a deposit fills.

    Parameters
    ----------
    held
        Dry mass [g].
    bead_m3
        Volume of beads that holds it.
    part
        The filter.

    Returns
    -------
    float
        0 when clean; can pass 1 on paper.
    """
    return float(max(held, 0.0) * 1e-3 / bead_m3 / (part.deposit_density_kg_m3 * part.void_frac))


@kernel
def captured_frac(clean_per_m: float, filled: float, velocity_m_s: float, depth_m: float) -> float:
    """Share of a class of solids that the bead bed holds back in one pass.

    Parameters
    ----------
    clean_per_m
        Filter coefficient of the clean bead bed at 6.2 mm/s.
    filled
        Filled share of the pores.
    velocity_m_s
        Superficial velocity.
    depth_m
        Depth of the bead bed.

    Returns
    -------
    float
        Share held back.
    """
    if velocity_m_s <= 0.0:
        return 0.0
    slow = min(MOST_SLOWNESS, math.sqrt(REFERENCE_M_S / velocity_m_s))
    room = max(0.0, 1.0 - filled / FULL_FRAC)
    return 1.0 - math.exp(-clean_per_m * (1.0 + CAPTURE_RISE * filled) * room * slow * depth_m)


@kernel
def move_solids(y: Array, dy: Array, c: Context, f: int, flow: Flows) -> None:
    """Capture, passing on and tearing off of solids, and what settles in the air chamber.

    Water goes through the layers in turn; what a layer does not hold back or tears off joins
    the water into the next.

    Parameters
    ----------
    y, dy
        State and its rate of change, added to.
    c
        Context.
    f
        Which filter.
    flow
        Its flows.
    """
    p, g, parts, own = c[0], c[1], c[4], c[5]
    at, part = g.filters_at + f * lay.FILTER, parts[g.places + f]
    source, place = (
        lay.FIRST + part.from_place * lay.PLACE,
        sto.COEFFICIENTS + part.from_place * WATER,
    )
    outlet = g.size + f * WATER
    chamber = max(y[at + lay.CHAMBER_FINE], 0.0)
    settled = p.chamber_fine_settling_m_s / p.chamber_depth_m * chamber
    displaced = part.chamber_m3 * (1.0 - part.residual_fill_frac) * flow.charge_per_s
    mixing = displaced + p.chamber_mixing_m3_s if flow.filter_m3_s > 0.0 else 0.0
    risen = mixing / p.chamber_water_m3 * chamber
    dy[at + lay.CHAMBER_FINE] -= settled + risen
    dy[at + lay.FRESH] += (1.0 - p.leaching_frac) * settled
    dy[at + lay.LEACHING] += p.leaching_frac * settled
    coarse = flow.filter_m3_s * own[place + lay.COARSE]
    fine = flow.filter_m3_s * own[place + lay.FINE]
    dy[source + lay.COARSE] -= coarse
    dy[source + lay.FINE] -= fine
    fine += risen
    velocity = flow.filter_m3_s / part.bead_plan_m2
    reached = reached_frac(y, at)
    depth = part.bead_depth_m / LAYERS
    for layer in range(LAYERS):
        here = at + LAYER + 2 * layer
        filled = filled_frac(y[here] + y[here + 1], part.bead_m3 / LAYERS, part)
        stuck = captured_frac(p.coarse_capture_per_m, filled, velocity, depth) * reached * coarse
        dy[here] += stuck
        coarse -= stuck
        stuck = captured_frac(p.fine_capture_per_m, filled, velocity, depth) * reached * fine
        stuck -= p.detachment_per_s * velocity / REFERENCE_M_S * filled * max(y[here + 1], 0.0)
        dy[here + 1] += stuck
        fine -= stuck
    dy[outlet + lay.COARSE] += coarse
    dy[outlet + lay.FINE] += fine


@kernel
def bead_area_m2(y: Array, p: Record, at: int, part: Record) -> float:
    """Area of the beads on which film meets water.

    Parameters
    ----------
    y
        State.
    p
        Parameters.
    at, part
        The filter.

    Returns
    -------
    float
        Area [m2].
    """
    area = part.bead_m2 * p.bead_area_factor
    filled = filled_frac(held_g(y, at, 0) + held_g(y, at, 1), part.bead_m3, part)
    covered = 1.0 + filled / p.smothering_frac
    overgrown = 1.0 + max(y[at + lay.HET], 0.0) / (p.smothering_heterotrophs_g_m2 * area)
    return float(area * reached_frac(y, at) / (covered * overgrown))


@kernel
def _decayed(y: Array, first: int, d: Record, factor: float, rates: Array) -> None:
    rates[_O_DECAY] = d.aob_decay_per_s * max(y[first], 0.0) * factor
    rates[_O_DECAY + 1] = d.nob_decay_per_s * max(y[first + 1], 0.0) * factor
    rates[_O_DECAY + 2] = d.heterotroph_decay_per_s * max(y[first + 2], 0.0) * factor


@kernel
def put_film(y: Array, first: int, d: Record, found: FilmRates, rates: Array) -> None:
    """Enter the rates of a film, decay with them.

    Parameters
    ----------
    y
        State.
    first
        Position of its ammonia oxidisers.
    d
        What temperature makes of the parameters.
    found
        Uptake rates.
    rates
        Rates by `Process`, written to.
    """
    rates[_O_AOB] = found.ammonia_n_g_s
    rates[_O_NOB] = found.nitrite_n_g_s
    rates[_O_HET] = found.organics_g_s
    _decayed(y, first, d, found.decaying_frac, rates)


@kernel
def oxygen_used_g_s(rates: Array, own: Array) -> float:
    """Oxygen that film takes at given rates.

    Parameters
    ----------
    rates
        Rates by `Process`.
    own
        A member's own numbers, its process matrix first.

    Returns
    -------
    float
        Oxygen [g/s].
    """
    used = 0.0
    for process in range(_O_AOB, _O_DECAY + 3):
        used -= rates[process] * own[_OXYGEN_AT[process]]
    return used


@kernel
def bead_rates(
    y: Array,
    at: int,
    records: tuple[Record, Record],
    own: Array,
    water: Bathing,
    oxygen_in_g_m3: float,
    rates: Array,
) -> float:
    """Rates of the film on the beads, held to the oxygen that the flow brings.

    Parameters
    ----------
    y
        State.
    at
        The filter's block.
    records
        Parameters, and what temperature makes of them.
    own
        A member's own numbers, its process matrix first.
    water
        The water that enters.
    oxygen_in_g_m3
        Oxygen that enters.
    rates
        Rates by `Process`, written to.

    Returns
    -------
    float
        Mean oxygen inside the bead bed [g/m3].

    Notes
    -----
    Rates are first taken at the oxygen that enters; a Monod law through them gives the mean
    oxygen of inlet and outlet, at which they are taken again. Where even these use more than
    comes, all are scaled down alike, so that rates and oxygen agree.
    """
    p, d = records
    film = (y[at], y[at + 1], y[at + 2])
    entering = max(oxygen_in_g_m3, 0.0)
    flow = 0.5 * water.flow_m3_s
    if flow <= 0.0 or entering <= 0.0:
        return 0.0
    put_film(y, at, d, film_rates(p, d, water, film, entering), rates)
    greatest = oxygen_used_g_s(rates, own) * (_OXYGEN_HALF + entering) / entering
    used = uptake(greatest, _OXYGEN_HALF, 2.0 * flow, 2.0 * flow * entering)
    mean = max(entering - 0.5 * used / flow, 0.0)
    put_film(y, at, d, film_rates(p, d, water, film, mean), rates)
    used = oxygen_used_g_s(rates, own)
    if used > flow * entering:
        for process in range(_O_AOB, _O_DECAY + 3):
            rates[process] *= flow * entering / used
    return mean


@kernel
def denitrified_n_g_s(freed_cod_g_s: float, oxygen_g_m3: float, nitrate_n_g_m3: float) -> float:
    """Nitrate turned to gas where oxygen is short.

    Parameters
    ----------
    freed_cod_g_s
        Organics set free there, as oxygen demand.
    oxygen_g_m3, nitrate_n_g_m3
        Concentrations.

    Returns
    -------
    float
        Nitrogen [g/s]; never uses more organics than are set free there.
    """
    short = _ANOXIC_LEAST + 1.0 - oxygen_g_m3 / (oxygen_g_m3 + _ANOXIC_HALF)
    nitrate = max(nitrate_n_g_m3, 0.0)
    share = _ANOXIC_SHARE * short * nitrate / (NITRATE_HALF + nitrate)
    return freed_cod_g_s * share / DENITRIFIED_COD
