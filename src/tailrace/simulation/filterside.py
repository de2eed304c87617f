"""The filter inside the loop: flows, air charge, capture of solids and the film on the beads."""

from __future__ import annotations

import math
from typing import NamedTuple

from tailrace.simulation import layout as lay
from tailrace.simulation.compiled import kernel
from tailrace.simulation.film import Bathing, FilmRates, film_rates, uptake
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import Array
from tailrace.simulation.stoichiometry import DENITRIFIED_COD, Process

REFERENCE_M_S = 6.2e-3  # superficial velocity for which the capture coefficients are given
CAPTURE_RISE = 6.0  # ripening of capture with deposit
FULL_FRAC = 0.75  # filled share of the pores at which nothing is captured any more
MOST_SLOWNESS = 4.0
LEAST_CHANNELLED = 0.1
_OXYGEN_HALF = 0.6  # for a first guess of the oxygen inside the bead bed
_ANOXIC_HALF = 0.3
_ANOXIC_LEAST = 0.05
_ANOXIC_SHARE = 0.5  # of the organics set free, where oxygen is gone
NITRATE_HALF = 2.0

_O_AOB = int(Process.AMMONIA_OXIDATION)
_O_NOB = int(Process.NITRITE_OXIDATION)
_O_HET = int(Process.HETEROTROPH_GROWTH)
_O_DECAY = int(Process.AOB_DECAY)


class Flows(NamedTuple):
    """Flows and charging of the filter at one moment.

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
def interpolated(table: Array, place: float) -> float:
    """Value of an evenly spaced table, held at its ends.

    Parameters
    ----------
    table
        Values at 0, 1, 2 ...
    place
        Where to read, in steps of the table.

    Returns
    -------
    float
        Linear in between.
    """
    last = table.size - 1
    if not place > 0.0:
        return float(table[0])
    if place >= last:
        return float(table[last])
    low = int(place)
    return float(table[low] + (table[low + 1] - table[low]) * (place - low))


@kernel
def charge_per_s(y: Array, p: Record, g: Record, d: Record, roof_pa: float, air: Array) -> float:
    """Growth of the air charge.

    Parameters
    ----------
    y
        State.
    p, g, d
        Parameters, geometry and what temperature makes of them.
    roof_pa
        Gauge pressure with the face at the roof.
    air
        Standard air flow over face pressure, from zero to `pressure_top_pa`.

    Returns
    -------
    float
        Share of a charge a second.

    Notes
    -----
    Stored air goes as fill (P0 + p_roof - p_w + a fill), a the pressure of the chamber's depth;
    the fill is its root, and the air flow follows from the pressure there.
    """
    a = g.chamber_pa
    b = d.dry_pa_abs + roof_pa
    low = g.residual_fill_frac * (b + a * g.residual_fill_frac)
    span = b + a - low
    stored = low + min(max(y[lay.AIR_CHARGE], 0.0), 1.0) * span
    fill = 2.0 * stored / (b + math.sqrt(b * b + 4.0 * a * stored))
    face = roof_pa + a * fill + p.back_pressure_pa
    flow = interpolated(air, face / g.pressure_top_pa * (air.size - 1))
    if fill > 0.99 and flow < g.trigger_flow_m3_s:
        return 0.0
    return float(flow / (g.chamber_m3 * span * d.standard_per_pa * p.air_per_backwash_factor))


@kernel
def flows(
    y: Array, records: tuple[Record, Record, Record], u: Record, waters: Array, airs: Array
) -> Flows:
    """Flows through filter and bypass, and the growth of the air charge.

    Parameters
    ----------
    y
        State.
    records
        Parameters, geometry, and what temperature makes of them.
    u
        What is set and switched.
    waters, airs
        Tables of each setting: filter flow, bypass flow and pressure at the roof over deposit;
        air flow over pressure.

    Returns
    -------
    Flows
        All zero when the water pump stands; no charge grows when no water flows, for a
        backwash needs water to refill.
    """
    p, g, d = records
    if u.water_pump_on * u.power_on <= 0.0:
        return Flows(0.0, 0.0, 0.0)
    table = waters[int(u.setting)]
    place = (y[lay.BEAD_COARSE] + y[lay.BEAD_FINE]) / g.deposit_top_g * (table.shape[1] - 1)
    through = interpolated(table[0], place)
    beside = interpolated(table[1], place)
    growth = 0.0
    if through > 0.0 and u.air_pump_on * u.power_on > 0.0:
        roof = interpolated(table[2], place)
        growth = charge_per_s(y, p, g, d, roof, airs[int(u.setting)])
    return Flows(through, beside, growth)


@kernel
def channelled_frac(since_s: float, p: Record) -> float:
    """Share of the bead bed that water still reaches.

    Parameters
    ----------
    since_s
        Time since the last backwash.
    p
        Parameters.

    Returns
    -------
    float
        1 until channels form, then falling towards 0.1.
    """
    late = max(0.0, since_s - p.channelling_after_s)
    return max(LEAST_CHANNELLED, math.exp(-late / p.channelling_time_s))


@kernel
def filled_frac(y: Array, g: Record) -> float:
    """Share of the pores that the deposit fills.

    Parameters
    ----------
    y
        State.
    g
        Geometry.

    Returns
    -------
    float
        0 when clean; can pass 1 on paper.
    """
    held = max(y[lay.BEAD_COARSE] + y[lay.BEAD_FINE], 0.0) * 1e-3 / g.bead_m3
    return float(held / (g.deposit_density_kg_m3 * g.void_frac))


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
def move_solids(y: Array, dy: Array, p: Record, g: Record, f: Flows, state: Array) -> None:
    """Capture, passing on and tearing off of solids, and what settles in the air chamber.

    Parameters
    ----------
    y, dy
        State and its rate of change, added to.
    p, g
        Parameters and geometry.
    f
        Flows.
    state
        Concentrations in the sump first by `layout` offsets, then the channelled share.
    """
    sump = lay.SUMP * lay.WATER
    reached = state[lay.PLACES * lay.WATER]
    filled = filled_frac(y, g)
    velocity = f.filter_m3_s / g.bead_plan_m2
    chamber = max(y[lay.CHAMBER_FINE], 0.0)
    settled = p.chamber_fine_settling_m_s / p.chamber_depth_m * chamber
    displaced = g.chamber_m3 * (1.0 - g.residual_fill_frac) * f.charge_per_s
    mixing = displaced + p.chamber_mixing_m3_s if f.filter_m3_s > 0.0 else 0.0
    risen = mixing / p.chamber_water_m3 * chamber
    dy[lay.CHAMBER_FINE] -= settled + risen
    dy[lay.SLUDGE_FRESH] += settled
    coarse = f.filter_m3_s * state[sump + lay.COARSE]
    fine = f.filter_m3_s * state[sump + lay.FINE]
    held = reached * captured_frac(p.coarse_capture_per_m, filled, velocity, g.bead_depth_m)
    dy[sump + lay.COARSE] -= coarse
    dy[lay.BEAD_COARSE] += held * coarse
    dy[lay.COARSE] += coarse - held * coarse
    held = reached * captured_frac(p.fine_capture_per_m, filled, velocity, g.bead_depth_m)
    torn = p.detachment_per_s * velocity / REFERENCE_M_S * filled * max(y[lay.BEAD_FINE], 0.0)
    stuck = held * (fine + risen) - torn
    dy[sump + lay.FINE] -= fine
    dy[lay.BEAD_FINE] += stuck
    dy[lay.FINE] += fine + risen - stuck


@kernel
def bead_area_m2(y: Array, p: Record, g: Record, reached: float) -> float:
    """Area of the beads on which film meets water.

    Parameters
    ----------
    y
        State.
    p, g
        Parameters and geometry.
    reached
        Share of the bead bed that water reaches.

    Returns
    -------
    float
        Area [m2].
    """
    area = g.bead_m2 * p.bead_area_factor
    covered = 1.0 + filled_frac(y, g) / p.smothering_frac
    overgrown = 1.0 + max(y[lay.BEAD_HET], 0.0) / (p.smothering_heterotrophs_g_m2 * area)
    return float(area * reached / (covered * overgrown))


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
def oxygen_used_g_s(rates: Array, matrix: Array) -> float:
    """Oxygen that film takes at given rates.

    Parameters
    ----------
    rates
        Rates by `Process`.
    matrix
        Process matrix.

    Returns
    -------
    float
        Oxygen [g/s].
    """
    used = 0.0
    for process in range(_O_AOB, _O_DECAY + 3):
        used -= rates[process] * matrix[process, lay.OXY]
    return used


@kernel
def bead_rates(
    y: Array,
    records: tuple[Record, Record],
    matrix: Array,
    water: Bathing,
    oxygen_in_g_m3: float,
    rates: Array,
) -> float:
    """Rates of the film on the beads, held to the oxygen that the flow brings.

    Parameters
    ----------
    y
        State.
    records
        Parameters, and what temperature makes of them.
    matrix
        Process matrix.
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
    film = (y[lay.BEAD_AOB], y[lay.BEAD_NOB], y[lay.BEAD_HET])
    entering = max(oxygen_in_g_m3, 0.0)
    flow = 0.5 * water.flow_m3_s
    if flow <= 0.0 or entering <= 0.0:
        return 0.0
    put_film(y, lay.BEAD_AOB, d, film_rates(p, d, water, film, entering), rates)
    greatest = oxygen_used_g_s(rates, matrix) * (_OXYGEN_HALF + entering) / entering
    used = uptake(greatest, _OXYGEN_HALF, 2.0 * flow, 2.0 * flow * entering)
    mean = max(entering - 0.5 * used / flow, 0.0)
    put_film(y, lay.BEAD_AOB, d, film_rates(p, d, water, film, mean), rates)
    used = oxygen_used_g_s(rates, matrix)
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
