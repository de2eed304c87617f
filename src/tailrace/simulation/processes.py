"""The right-hand side: how fast every amount changes.

Each transfer is worked out once, taken off here and added there. `derivative` lists the parts;
the film, the filter, the water's paths and what comes from outside have modules of their own.
"""

from __future__ import annotations

import math

from tailrace.simulation import layout as lay
from tailrace.simulation import stoichiometry as sto
from tailrace.simulation.compiled import kernel
from tailrace.simulation.equilibrium import acidity, calcite_index, derive
from tailrace.simulation.film import Bathing, acid_factors, film_rates
from tailrace.simulation.filterside import (
    Context,
    bead_area_m2,
    bead_rates,
    denitrified_n_g_s,
    flows,
    held_g,
    move_solids,
    put_film,
)
from tailrace.simulation.fittings import Record
from tailrace.simulation.layout import FIRST, LAYER, LAYERS, PLACE, SURFACE, WATER, Array
from tailrace.simulation.paths import circulate, outside
from tailrace.simulation.stoichiometry import Process

PROCESSES = len(Process)
CONC = sto.COEFFICIENTS  # own numbers: process matrix, then concentrations of all places
_HALF_OXYGEN_FISH = 0.1
_CAP_PER_S = 0.5 / 86400.0
_DRY = 1e-6  # share of its usual water at which a place counts as dry
_PRESERVED = 0.4  # share of the organics of decaying sludge that is used inside the sludge
_EVEN_G = 1e-6
DAY_S = 86400.0

_CRUMBLE = int(Process.COARSE_CRUMBLING)
_COARSE_DECAY = int(Process.COARSE_HYDROLYSIS)
_FINE_DECAY = int(Process.FINE_HYDROLYSIS)
_DENITRIFY = int(Process.DENITRIFICATION)
_DECAY = int(Process.AOB_DECAY)
_SHED = int(Process.AOB_SHEDDING)
_DIGEST = int(Process.DIGESTION)
_EXCRETE = int(Process.EXCRETION)
_EXCRETE_P = int(Process.PHOSPHORUS_EXCRETION)
_RESPIRE = int(Process.RESPIRATION)
_BASAL = int(Process.BASAL_EXCRETION)
_NH4_UPTAKE = int(Process.AMMONIUM_UPTAKE)
_NO3_UPTAKE = int(Process.NITRATE_UPTAKE)
_P_UPTAKE, _K_UPTAKE = int(Process.PHOSPHORUS_UPTAKE), int(Process.POTASSIUM_UPTAKE)
_CA_UPTAKE, _MG_UPTAKE = int(Process.CALCIUM_UPTAKE), int(Process.MAGNESIUM_UPTAKE)
_FE_UPTAKE, _S_UPTAKE = int(Process.IRON_UPTAKE), int(Process.SULPHATE_UPTAKE)
_O2_IN = int(Process.OXYGEN_EXCHANGE)
_CO2_OUT = int(Process.CARBON_DIOXIDE_EXCHANGE)
_N2_OUT = int(Process.NITROGEN_EXCHANGE)
_CALCITE = int(Process.CALCITE)
_CHLORINE, _COLOUR = int(Process.CHLORINE_LOSS), int(Process.COLOUR_LOSS)


@kernel
def look(y: Array, c: Context) -> None:
    """Fill the own numbers with concentrations and acidity of every place.

    Parameters
    ----------
    y
        State.
    c
        Context.
    """
    g, d, parts, own = c[1], c[2], c[4], c[5]
    for place in range(g.places):
        at, here = FIRST + place * PLACE, CONC + place * WATER
        volume = y[at + lay.VOLUME]
        wet = volume > _DRY * parts[place].usual_m3
        for i in range(WATER):
            own[here + i] = y[at + i] / volume if wet else 0.0
        if wet:
            acid = g.acid_at + 3 * place
            found = acidity(
                own[here + lay.ALK],
                own[here + lay.DIC],
                own[here + lay.TAN],
                own[here + lay.PHOS],
                own[acid],
                d,
            )
            own[acid] = found.ph
            own[acid + 1] = found.carbon_dioxide_mol_m3
            own[acid + 2] = found.un_ionised_frac


@kernel
def _to(column: int, base: int, film: int, solids: tuple[int, int], gut: int) -> int:
    """Position of the state that a column of the process matrix stands for."""
    if column >= sto.FIRST_LEDGER:
        return column - sto.FIRST_LEDGER
    if column >= sto.FIRST_GUT:
        return gut + column - sto.FIRST_GUT
    if column >= sto.AOB:
        return film + column - sto.AOB
    if column == lay.COARSE or column == lay.FINE:  # noqa: PLR1714  # a kernel: no containers
        return solids[column - lay.COARSE]
    return base + column


@kernel
def _spread(
    dy: Array, c: Context, base: int, film: int, solids: tuple[int, int], gut: int
) -> None:
    """Add what the rates do: to water, a film, solids, gut and ledgers; then clear the rates."""
    g, own = c[1], c[5]
    for process in range(PROCESSES):
        rate = own[g.rate_at + process]
        if rate == 0.0:
            continue
        for k in range(sto.ROW_START[process], sto.ROW_START[process + 1]):
            dy[_to(sto.ROW_COLUMN[k], base, film, solids, gut)] += rate * own[k]
        own[g.rate_at + process] = 0.0


@kernel
def _bathing(place: int, c: Context, film_m3_s: float, organics_m3_s: float, freed: float,
             flow_m3_s: float) -> Bathing:  # fmt: skip
    p, g, own = c[0], c[1], c[5]
    here, acid_at = CONC + place * WATER, g.acid_at + 3 * place
    tan = own[here + lay.TAN]
    acid, buffered = acid_factors(own[acid_at], own[here + lay.ALK], p.alkalinity_half_eq_m3)
    return Bathing(
        tan,
        own[here + lay.NO2],
        own[here + lay.ORG],
        freed,
        max(tan, 0.0) * own[acid_at + 2],
        acid,
        buffered,
        film_m3_s,
        organics_m3_s,
        flow_m3_s,
    )


@kernel
def _shed(y: Array, first: int, cap_g: float, killed_per_s: float, rates: Array) -> None:
    """Shedding of film over its cap; what chlorine kills decays on top."""
    total = max(y[first], 0.0) + max(y[first + 1], 0.0) + max(y[first + 2], 0.0)
    share = total / cap_g if cap_g > 0.0 else 0.0
    for i in range(3):
        rates[_SHED + i] = _CAP_PER_S * share * share * share * max(y[first + i], 0.0)
        rates[_SHED + i] += killed_per_s * max(y[first + i], 0.0)


@kernel
def _even_out(y: Array, dy: Array, first: int, gained: float) -> None:
    """Share what one size of solids gains or loses among the layers, by what they hold."""
    total = 0.0
    for layer in range(LAYERS):
        total += max(y[first + 2 * layer], 0.0) + _EVEN_G
    for layer in range(LAYERS):
        dy[first + 2 * layer] += gained * (max(y[first + 2 * layer], 0.0) + _EVEN_G) / total


@kernel
def _filter(t: float, y: Array, dy: Array, c: Context, f: int) -> None:
    p, g, d, u, parts, own = c[0], c[1], c[2], c[3], c[4], c[5]
    at, part = g.filters_at + f * lay.FILTER, parts[g.places + f]
    flow = flows(y, c, f)
    own[g.flow_at + 2 * f] = flow.filter_m3_s
    own[g.flow_at + 2 * f + 1] = flow.bypass_m3_s
    dy[at + lay.AIR_CHARGE] += flow.charge_per_s
    dy[at + lay.CAKING] += 1.0 / p.sticking_s
    if t - u[1 + f].backwash_s > p.channelling_after_s:
        dy[at + lay.CHANNELS] += 1.0 / p.channelling_time_s
    move_solids(y, dy, c, f, flow)
    coarse = d.hydrolysis_per_s * max(held_g(y, at, 0), 0.0)
    fine = d.hydrolysis_per_s * max(held_g(y, at, 1), 0.0)
    freed = lay.SOLIDS_COD * (coarse + fine)
    # Organics are met by heterotrophs on the whole bead, nitrifiers only where uncovered.
    whole = part.bead_m2 * p.bead_area_factor
    film = p.bead_film_m_s * bead_area_m2(y, p, at, part)
    place = int(part.from_place)
    here = CONC + place * WATER
    water = _bathing(place, c, film, p.bead_organics_m_s * whole, freed, 2.0 * flow.filter_m3_s)
    rates = own[g.rate_at : g.rate_at + PROCESSES]
    oxygen = bead_rates(y, at, (p, d), own, water, own[here + lay.OXY], rates)
    killed = p.chlorine_kill_m3_g_s * max(own[here + lay.CHLORINE], 0.0)
    _shed(y, at, p.bead_film_cap_g_m2 * whole, killed, rates)
    rates[_COARSE_DECAY] = coarse
    rates[_FINE_DECAY] = fine
    rates[_CRUMBLE] = p.crumbling_frac * coarse
    rates[_DENITRIFY] = denitrified_n_g_s(freed, oxygen, own[here + lay.NO3])
    outlet, first = g.size + f * WATER, at + LAYER
    was_coarse, was_fine = dy[first], dy[first + 1]
    _spread(dy, c, outlet, at, (first, first + 1), 0)
    gained_coarse, gained_fine = dy[first] - was_coarse, dy[first + 1] - was_fine
    dy[first], dy[first + 1] = was_coarse, was_fine
    lost = 0.5 * p.crumbling_frac * coarse if flow.filter_m3_s > 0.0 else 0.0
    dy[outlet + lay.FINE] += lost
    _even_out(y, dy, first, gained_coarse)
    _even_out(y, dy, first + 1, gained_fine - lost)
    _sludge(y, dy, c, at, outlet, max(own[here + lay.NO3], 0.0))


@kernel
def _sludge(y: Array, dy: Array, c: Context, at: int, outlet: int, nitrate: float) -> None:
    p, g, d, own = c[0], c[1], c[2], c[5]
    packing = max(y[at + lay.FRESH], 0.0) / p.packing_s
    dy[at + lay.FRESH] -= packing
    dy[at + lay.PACKED] += packing
    slow = p.sludge_decay_frac * d.hydrolysis_per_s
    for pool in range(lay.LEACHING, lay.PACKED + 1):
        per_s = d.leaching_per_s if pool == lay.LEACHING else slow
        decayed = per_s * max(y[at + pool], 0.0)
        # What leaches comes out with the water; what decays is partly used inside the sludge.
        inside = 0.0 if pool == lay.LEACHING else _PRESERVED
        used = inside * lay.SOLIDS_COD * decayed / sto.DENITRIFIED_COD
        own[g.rate_at + _FINE_DECAY] = decayed
        own[g.rate_at + _DENITRIFY] = used * nitrate / (2.0 + nitrate)
        _spread(dy, c, outlet, 0, (at + pool, at + pool), 0)


@kernel
def _surface(y: Array, dy: Array, c: Context, s: int) -> None:
    """Film and deposit on a plant bed, a trickling bed or walls."""
    p, g, d, parts, own = c[0], c[1], c[2], c[4], c[5]
    at, part = g.surfaces_at + s * SURFACE, parts[g.places + g.filters + s]
    place = int(part.from_place)
    base, here = FIRST + place * PLACE, CONC + place * WATER
    area = part.film_m2 * p.wall_area_factor
    rates = own[g.rate_at : g.rate_at + PROCESSES]
    water = _bathing(place, c, p.wall_film_m_s * area, p.wall_organics_m_s * area, 0.0, math.inf)
    # A trickled surface also meets the air: part of its oxygen stands at saturation.
    oxygen = own[here + lay.OXY]
    oxygen += part.air_frac * max(d.oxygen_g_m3 - oxygen, 0.0)
    film = (y[at], y[at + 1], y[at + 2])
    put_film(y, at, d, film_rates(p, d, water, film, oxygen), rates)
    killed = p.chlorine_kill_m3_g_s * max(own[here + lay.CHLORINE], 0.0)
    _shed(y, at, p.wall_film_cap_g_m2 * area, killed, rates)
    rates[_FINE_DECAY] = d.hydrolysis_per_s * max(y[at + lay.DEPOSIT], 0.0)
    deposit = at + lay.DEPOSIT
    _spread(dy, c, base, at, (deposit, deposit), 0)
    coarse = p.coarse_settling_m_s * part.settling_m2 * max(own[here + lay.COARSE], 0.0)
    fine = p.fine_settling_m_s * part.settling_m2 * max(own[here + lay.FINE], 0.0)
    dy[base + lay.COARSE] -= coarse
    dy[base + lay.FINE] -= fine
    dy[deposit] += coarse + fine


@kernel
def _fish(y: Array, c: Context, gut: int, oxygen_g_m3: float, part: Record) -> None:
    p, g, own = c[0], c[1], c[5]
    rate = g.rate_at
    left = max(y[gut + lay.GUT_FEED], 0.0) / p.gut_s
    resting = p.basal_frac * p.load_factor
    oxygen = max(oxygen_g_m3, 0.0)
    breath = left * (1.0 - p.basal_frac) + resting * part.ration_g_s
    own[rate + _DIGEST] = left
    own[rate + _EXCRETE] = max(y[gut + lay.GUT_N], 0.0) / p.gut_s
    own[rate + _EXCRETE_P] = max(y[gut + lay.GUT_P], 0.0) / p.gut_s
    own[rate + _RESPIRE] = p.respiration_kg_kg * breath * oxygen / (_HALF_OXYGEN_FISH + oxygen)
    own[rate + _BASAL] = p.excretion_kg_kg / sto.PROTEIN_N * resting * part.ration_n_g_s


@kernel
def _mineral(own: Array, rate: int, wanted: float, concentration: float, half: float) -> None:
    """Uptake of one mineral with the nitrogen, as far as the water has it."""
    held = max(concentration, 0.0)
    own[rate] = wanted * held / (half + held) if wanted > 0.0 else 0.0


@kernel
def _crop(t: float, c: Context, here: int, crop_m2: float) -> None:
    p, g, own = c[0], c[1], c[5]
    tan = max(own[here + lay.TAN], 0.0)
    nitrate = max(own[here + lay.NO3], 0.0)
    both = tan + nitrate
    if both <= 0.0 or crop_m2 <= 0.0:
        return
    sun = math.pi * max(0.0, math.sin(2.0 * math.pi * (t - p.sunrise_s) / DAY_S))
    lit = 1.0 - p.crop_daylight_frac + p.crop_daylight_frac * sun
    taken = lit * p.crop_uptake_n_g_m2_s * crop_m2 * both / (p.crop_half_n_g_m3 + both)
    share = tan / (tan + p.crop_ammonium_preference * nitrate)
    # Never the last trace at full speed: each form is taken by Monod's law of its own.
    rate = g.rate_at
    own[rate + _NH4_UPTAKE] = taken * share * tan / (0.02 + tan)
    own[rate + _NO3_UPTAKE] = taken * (1.0 - share) * nitrate / (0.02 + nitrate)
    half = p.crop_half_frac * p.crop_half_n_g_m3
    for i in range(6):
        ratio, species = p.crop_sulphate_kg_kg, lay.SULF
        if i == 0:
            ratio, species = p.crop_phosphorus_kg_kg, lay.PHOS
        elif i == 1:
            ratio, species = p.crop_potassium_kg_kg, lay.POT
        elif i == 2:
            ratio, species = p.crop_calcium_kg_kg, lay.CAL
        elif i == 3:
            ratio, species = p.crop_magnesium_kg_kg, lay.MAG
        elif i == 4:
            ratio, species = p.crop_iron_kg_kg, lay.IRON
        _mineral(own, rate + _P_UPTAKE + i, taken * ratio, own[here + species], half * ratio)


@kernel
def _place(t: float, y: Array, dy: Array, c: Context, place: int, gut: int) -> None:
    """Exchange with the air, break-up, calcite, and fish or crop, in one place."""
    p, g, d, u, parts, own = c[0], c[1], c[2], c[3], c[4], c[5]
    part, base, here = parts[place], FIRST + place * PLACE, CONC + place * WATER
    volume = y[base + lay.VOLUME]
    if volume <= _DRY * part.usual_m3:
        return
    working = u[0].aeration_on * u[0].power_on
    still = working + (1.0 - working) * p.still_aeration_frac
    exchange = p.aeration_per_s * still * part.oxygen_factor * volume
    gases = exchange * p.nitrogen_exchange_frac
    carbon = p.aeration_per_s * still * part.stripping_factor * volume
    carbon *= p.carbon_dioxide_exchange_frac * p.stripping_factor
    rate = g.rate_at
    over = own[g.acid_at + 3 * place + 1] - d.carbon_dioxide_mol_m3
    own[rate + _O2_IN] = exchange * (d.oxygen_g_m3 - own[here + lay.OXY])
    own[rate + _CO2_OUT] = carbon * over
    own[rate + _N2_OUT] = gases * (own[here + lay.N2GAS] - d.nitrogen_g_m3)
    own[rate + _CRUMBLE] = p.breakup_per_s * max(y[base + lay.COARSE], 0.0)
    own[rate + _CHLORINE] = p.chlorine_loss_per_s * y[base + lay.CHLORINE]
    own[rate + _COLOUR] = p.colour_loss_per_s * y[base + lay.COLOUR]
    calcium, dissolved = own[here + lay.CAL], own[here + lay.DIC]
    if calcium > 0.0 and dissolved > 0.0 and own[g.acid_at + 3 * place] > 7.5:
        index = calcite_index(
            calcium, dissolved, own[g.acid_at + 3 * place], d.temperature_degc,
            p.ionic_strength_mol_m3,
        )  # fmt: skip
        if index > p.calcite_threshold:
            scarce = min(calcium / lay.CALCIUM, dissolved)
            own[rate + _CALCITE] = (
                p.calcite_per_s * (index - p.calcite_threshold) * scarce * volume
            )
    if part.holds_fish > 0:
        _fish(y, c, gut, own[here + lay.OXY], part)
    _crop(t, c, here, part.crop_m2)
    _spread(dy, c, base, 0, (base + lay.COARSE, base + lay.FINE), gut)


def derive_anew(temperature_degc: float, c: Context) -> None:
    """Work out anew what follows from parameters and temperature.

    Parameters
    ----------
    temperature_degc
        Water temperature.
    c
        Context; its derived record is written to.
    """
    derive(c[0], c[1].barometric_pa_abs, temperature_degc, c[2])


def derivative(t: float, y: Array, dy: Array, c: Context) -> None:
    """Rate of change of every state and ledger.

    Parameters
    ----------
    t
        Time [s].
    y
        State.
    dy
        Rates, written to [per s]; longer than the state by what leaves each filter.
    c
        Context.
    """
    g, u = c[1], c[3]
    for i in range(dy.size):
        dy[i] = 0.0
    if u[0].heat_on > 0.0:
        derive(c[0], g.barometric_pa_abs, y[lay.TEMPERATURE], c[2])
    look(y, c)
    gut = g.fish_at
    for place in range(g.places):
        _place(t, y, dy, c, place, gut)
        gut += lay.FISH * c[4][place].holds_fish
    for f in range(g.filters):
        _filter(t, y, dy, c, f)
    for s in range(g.surfaces):
        _surface(y, dy, c, s)
    circulate(y, dy, c)
    outside(t, y, dy, c)
