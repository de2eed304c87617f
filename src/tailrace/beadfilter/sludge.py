"""Sludge in the cone: how much gathers, when to drain it and how much to draw."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.special import gammainc

from tailrace.errors import InputError

DAY_S = 86400.0
MAXIMUM_DRAIN_M3 = 2.0 * 3.785411784e-3  # two US gallons; more sludge is drained sooner

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class SludgeRates:
    """How sludge gathers, packs and decays; all but the yields is judgement.

    Parameters
    ----------
    solids_yield_kg_kg
        Dry solids per feed as fed.
    cone_share_frac
        Share of the solids that ends in the cone.
    compaction_s
        Mean time in which fresh sludge packs.
    fresh_kg_m3, packed_kg_m3
        Dry mass per volume of fresh and of packed sludge.
    degradable_frac
        Share of the solids that decays.
    decay_per_s
        Decay of the degradable part at 20 degC.
    decay_temperature_factor
        Factor of decay and of ageing per kelvin.
    nitrogen_kg_kg
        Nitrogen given back per dry mass decayed.
    """

    solids_yield_kg_kg: float = 0.25
    cone_share_frac: float = 0.78
    compaction_s: float = 1.0 * DAY_S
    fresh_kg_m3: float = 12.0
    packed_kg_m3: float = 40.0
    degradable_frac: float = 0.6
    decay_per_s: float = 0.5 * 0.18 / DAY_S
    decay_temperature_factor: float = 1.07
    nitrogen_kg_kg: float = 0.035

    def decay_at_per_s(self, temperature_degc: float) -> float:
        """Decay of the degradable part at a water temperature [1/s]."""
        factor: float = self.decay_temperature_factor ** (temperature_degc - 20.0)
        return self.decay_per_s * factor


@dataclass(frozen=True, slots=True)
class DrainRules:
    """When to drain: whichever comes first.

    Parameters
    ----------
    oldest_s
        Greatest age at 27 degC; in cooler water sludge may be older. Common practice.
    fullest_cone_frac
        Greatest share of the cone that sludge may fill. Judgement.
    returned_nitrogen_frac
        Greatest share of the fish's own excretion that the sludge may give back. Judgement.
    draw_over_sludge
        Volume drawn over sludge volume; at 1.75 the stream has run clear.
    excreted_nitrogen_kg_kg
        Nitrogen excreted per protein fed.
    """

    oldest_s: float = 2.8 * DAY_S
    fullest_cone_frac: float = 0.5
    returned_nitrogen_frac: float = 0.10
    draw_over_sludge: float = 1.75
    excreted_nitrogen_kg_kg: float = 0.092


class DrainLimit(StrEnum):
    """Which limit sets the drain interval."""

    AGE = "age"
    VOLUME = "volume"
    NITROGEN = "returned nitrogen"


@dataclass(frozen=True, slots=True)
class Sludge:
    """Sludge in the cone.

    Parameters
    ----------
    fresh_kg, packed_kg
        Dry mass, fresh and packed.
    degradable_kg
        Part of both that still decays.
    volume_m3
        Volume of the sludge.
    """

    fresh_kg: float
    packed_kg: float
    degradable_kg: float
    volume_m3: float

    @property
    def dry_kg(self) -> float:
        """Dry mass."""
        return self.fresh_kg + self.packed_kg


@dataclass(frozen=True, slots=True)
class DrainPlan:
    """How often and how much to drain.

    Parameters
    ----------
    interval_s
        Time from one drain to the next.
    limit
        What sets it.
    sludge_volume_m3
        Sludge gathered by then.
    draw_m3
        Volume to draw; never above two US gallons.
    sludge
        The sludge by then.
    """

    interval_s: float
    limit: DrainLimit
    sludge_volume_m3: float
    draw_m3: float
    sludge: Sludge


def solids_to_cone_kg_s(feed_kg_s: float, rates: SludgeRates | None = None) -> float:
    """Dry solids that reach the cone.

    Parameters
    ----------
    feed_kg_s
        Feed as fed [kg/s].
    rates
        Yields; the default when left out.

    Returns
    -------
    float
        Dry solids [kg/s].

    Raises
    ------
    InputError
        The feed is negative or not a number.

    Examples
    --------
    >>> round(solids_to_cone_kg_s(0.3 / 86400.0) * 86400.0, 4)
    0.0585

    References
    ----------
    timmons_ebeling
    judgement
    """
    if not feed_kg_s >= 0.0:
        message = (
            f"feed is {feed_kg_s * DAY_S:g} kg/day; it must be zero or more. "
            "Give the feed as fed, summed over the day."
        )
        raise InputError(message)
    found = rates or SludgeRates()
    return feed_kg_s * found.solids_yield_kg_kg * found.cone_share_frac


def _volume_m3(fresh_kg: float, packed_kg: float, rates: SludgeRates) -> float:
    return fresh_kg / rates.fresh_kg_m3 + packed_kg / rates.packed_kg_m3


def _pools(supply_kg_s: float, decay_per_s: float, rates: SludgeRates, state: Array) -> Array:
    fresh, packed, degradable = state
    decayed = decay_per_s * degradable
    total = fresh + packed
    fresh_share = fresh / total if total > 0.0 else 1.0
    packing = fresh / rates.compaction_s
    return np.array(
        [
            supply_kg_s - packing - decayed * fresh_share,
            packing - decayed * (1.0 - fresh_share),
            rates.degradable_frac * supply_kg_s - decayed,
        ]
    )


def _course(
    feed_kg_s: float,
    time_s: float,
    *,
    temperature_degc: float,
    rates: SludgeRates,
    limits: tuple[tuple[DrainLimit, Array, float], ...] = (),
) -> tuple[float, DrainLimit | None, Sludge]:
    """Gather sludge for a time or until a weighted sum of the pools reaches a limit."""
    supply = solids_to_cone_kg_s(feed_kg_s, rates)
    if supply == 0.0:
        return time_s, None, Sludge(0.0, 0.0, 0.0, 0.0)
    decay = rates.decay_at_per_s(temperature_degc)
    # Solved in units of what one day brings, so that tolerances do not depend on the feed.
    scale = supply * DAY_S
    events = []
    for _, weights, most in limits:

        def event(_: float, state: Array, w: Array = weights, most: float = most) -> float:
            return float(w @ state * scale - most)

        event.terminal = True  # type: ignore[attr-defined]  # the way SciPy is told to stop
        events.append(event)
    found = solve_ivp(
        lambda _, state: _pools(1.0 / DAY_S, decay, rates, state),
        (0.0, time_s),
        np.zeros(3),
        method="LSODA",
        rtol=1e-8,
        atol=1e-10,
        events=events or None,
    )
    fresh, packed, degradable = (float(value) * scale for value in found.y[:, -1])
    sludge = Sludge(fresh, packed, degradable, _volume_m3(fresh, packed, rates))
    hit = [
        limit
        for (limit, _, _), times in zip(limits, found.t_events or [], strict=True)
        if times.size
    ]
    return float(found.t[-1]), hit[0] if hit else None, sludge


def sludge_after(
    feed_kg_s: float,
    time_s: float,
    *,
    temperature_degc: float,
    rates: SludgeRates | None = None,
) -> Sludge:
    """Sludge in an empty cone after a time of steady feed.

    Parameters
    ----------
    feed_kg_s
        Feed as fed, averaged over the day [kg/s].
    time_s
        Time since the cone was drained [s].
    temperature_degc
        Water temperature [degC].
    rates
        How sludge gathers; the default when left out.

    Returns
    -------
    Sludge
        Masses and volume.

    Raises
    ------
    InputError
        The feed is negative.

    Notes
    -----
    dM_f/dt = C - M_f/tau - D M_f/M; dM_o/dt = M_f/tau - D M_o/M; dM_b/dt = f C - D;
    D = k theta^(T-20) M_b; V = M_f/12 + M_o/40 (kg/m3). Nothing is stirred up again.

    Examples
    --------
    >>> found = sludge_after(0.113 / 86400.0, 2.8 * 86400.0, temperature_degc=27.0)
    >>> round(found.volume_m3 * 1000.0, 1)
    2.5

    References
    ----------
    judgement
    """
    found = rates or SludgeRates()
    return _course(feed_kg_s, time_s, temperature_degc=temperature_degc, rates=found)[2]


def drain_plan(
    feed_kg_s: float,
    protein_frac: float,
    *,
    temperature_degc: float,
    cone_volume_m3: float = 0.009,
    rates: SludgeRates | None = None,
    rules: DrainRules | None = None,
) -> DrainPlan:
    """How often to drain the sludge and how much to draw.

    Parameters
    ----------
    feed_kg_s
        Feed as fed, averaged over the day [kg/s].
    protein_frac
        Crude protein of the feed [-].
    temperature_degc
        Water temperature [degC].
    cone_volume_m3
        Volume of the sludge cone [m3].
    rates
        How sludge gathers; the default when left out.
    rules
        When to drain; the default when left out.

    Returns
    -------
    DrainPlan
        Interval, what limits it, sludge volume and draw.

    Raises
    ------
    InputError
        The feed is negative, or the protein share is not between 0 and 1.

    Notes
    -----
    The first of: age (longer in cooler water), sludge volume, nitrogen given back. The draw is
    1.75 times the sludge volume and never above two US gallons: the volume limit is lowered
    until the draw fits, so more sludge is drained sooner, not in larger draws. The age limit is
    common practice put in; that drains become daily at higher feed is a result.

    Examples
    --------
    >>> plan = drain_plan(0.3 / 86400.0, 0.35, temperature_degc=27.0)
    >>> plan.limit.value, round(plan.interval_s / 86400.0, 1)
    ('volume', 1.4)

    References
    ----------
    common_practice
    judgement
    timmons_ebeling
    """
    if not 0.0 <= protein_frac <= 1.0:
        message = (
            f"protein is {protein_frac:g} of the feed, outside 0 to 1. Was it given in percent?"
        )
        raise InputError(message)
    found, when = rates or SludgeRates(), rules or DrainRules()
    cooler = found.decay_temperature_factor ** (27.0 - temperature_degc)
    fullest = min(
        when.fullest_cone_frac * cone_volume_m3,
        MAXIMUM_DRAIN_M3 / when.draw_over_sludge,
    )
    excreted = when.excreted_nitrogen_kg_kg * protein_frac * feed_kg_s
    returned = found.nitrogen_kg_kg * found.decay_at_per_s(temperature_degc)
    interval, limit, sludge = _course(
        feed_kg_s,
        when.oldest_s * cooler,
        temperature_degc=temperature_degc,
        rates=found,
        limits=(
            (
                DrainLimit.VOLUME,
                np.array([1.0 / found.fresh_kg_m3, 1.0 / found.packed_kg_m3, 0.0]),
                fullest,
            ),
            (
                DrainLimit.NITROGEN,
                np.array([0.0, 0.0, returned]),
                when.returned_nitrogen_frac * excreted or math.inf,
            ),
        ),
    )
    return DrainPlan(
        interval_s=interval,
        limit=limit or DrainLimit.AGE,
        sludge_volume_m3=sludge.volume_m3,
        draw_m3=min(when.draw_over_sludge * sludge.volume_m3, MAXIMUM_DRAIN_M3),
        sludge=sludge,
    )


def drain_strength_frac(drawn_m3: float, sludge_m3: float, *, shape: float = 6.0) -> float:
    """Strength of the stream while draining, over that of the sludge.

    Parameters
    ----------
    drawn_m3
        Volume drawn so far [m3].
    sludge_m3
        Sludge volume before the drain was opened [m3].
    shape
        Shape of the gamma law: 6 for sludge up to about two days old, 2 for older sludge,
        whose core drains first [-].

    Returns
    -------
    float
        Concentration over that of the sludge [-]; black at first, then clear.

    Notes
    -----
    c/c0 = 1 - P(a, a v/V), P the lower regularised incomplete gamma function.

    Examples
    --------
    >>> round(drain_strength_frac(1.75, 1.0), 2)
    0.05

    References
    ----------
    judgement
    """
    return 1.0 - float(gammainc(shape, shape * drawn_m3 / sludge_m3))


def drained_frac(drawn_m3: float, sludge_m3: float, *, shape: float = 6.0) -> float:
    """Share of the sludge's dry mass that is out after a draw.

    Parameters
    ----------
    drawn_m3
        Volume drawn [m3].
    sludge_m3
        Sludge volume before the drain was opened [m3].
    shape
        Shape of the gamma law: 6 for sludge up to about two days old, 2 for older sludge [-].

    Returns
    -------
    float
        Share of the dry mass [-].

    Notes
    -----
    The integral of `drain_strength_frac`: s (1 - P(a, a s)) + P(a + 1, a s), s = v/V.

    Examples
    --------
    >>> round(drained_frac(1.75, 1.0), 3), round(drained_frac(1.75, 1.0, shape=2.0), 2)
    (0.987, 0.92)

    References
    ----------
    judgement
    """
    share = drawn_m3 / sludge_m3
    left = float(gammainc(shape + 1.0, shape * share))
    return share * drain_strength_frac(drawn_m3, sludge_m3, shape=shape) + left
