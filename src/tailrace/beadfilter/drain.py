"""The drain window: at which minute after a backwash to open the sludge drain, and when not to.

Bead geometry here is guesswork: how many beads are where, and how fast they rise, was not
measured. The order of things is common practice: best about a minute after a backwash, good to
about three, never late in a charge, never with the needle fully open.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.beadfilter.charge import Charge, Outcome, fill_frac_at, time_at_fill_s
from tailrace.beadfilter.circuit import face_pressure_pa_gauge, water_state
from tailrace.beadfilter.machine import Machine, Mode
from tailrace.beadfilter.sludge import MAXIMUM_DRAIN_M3
from tailrace.errors import InputError
from tailrace.formula import formula

OPENS_S = 30.0  # the early edge: beads still rising, a third of the coarse solids settled
BEST_S = 60.0
CLOSES_S = 180.0
GOOD_FILL_FRAC = 0.5
WARN_FILL_FRAC = 0.7
REFUSE_FILL_FRAC = 0.85
USUAL_DRAIN_M3_S = 20e-3 / 60.0
BASE_EXPANSION_FRAC = 0.05
QUICK_FILL_S = 900.0  # filling this fast is what a fully open needle does

_FACE_SPREAD_FRAC = 0.03  # how exactly the trigger's depth is known, as fill
_BEADS_FRAC = 0.20  # beads per volume of water where they are loose
_REACTION_S = 8.0  # to shut the drain when a backwash starts
_RISE_S = 20.0  # in which loose beads thin out to 1/e
_SETTLING_M_S = 4e-3  # coarse solids
_SETTLING_DEPTH_M = 0.30

CAUTION = (
    "How beads behave below the bead bed is guesswork; watch the stream and shut the drain when "
    "beads show. Drained sludge can give off hydrogen sulphide: keep it in open air. Cover cuts "
    "and wash hands afterwards."
)


@dataclass(frozen=True, slots=True)
class DrainWindow:
    """When to open the sludge drain after a backwash.

    Parameters
    ----------
    refused
        Whether the drain must stay shut at this setting.
    why
        Why it is refused; empty otherwise.
    opens_s, best_s, closes_s
        Earliest, best and latest time since the backwash; without meaning when refused.
    warn_fill_frac, refuse_fill_frac
        Fill above which a drain is doubtful, and above which it is refused.
    warn_s, refuse_s
        Times since the backwash at which the air reaches them; infinite when never.
    drain_s
        Time the drain stands open for the draw.
    expansion_frac
        Share by which the air expands when the drain is opened at the best time.
    settled_best_frac
        Share of the coarse solids that has settled at the best time.
    beads_lost_opens_m3, beads_lost_best_m3, beads_lost_closes_m3
        Expected beads lost at the three times.
    caution
        What to keep in mind.
    """

    refused: bool
    why: str
    opens_s: float
    best_s: float
    closes_s: float
    warn_fill_frac: float
    refuse_fill_frac: float
    warn_s: float
    refuse_s: float
    drain_s: float
    expansion_frac: float
    settled_best_frac: float
    beads_lost_opens_m3: float
    beads_lost_best_m3: float
    beads_lost_closes_m3: float
    caution: str = CAUTION


@formula(
    fill_frac=(0.0, 1.0),
    expansion_frac=(0.0, 1.0),
    drain_s=(0.0, 1e5),
    fill_s=(1.0, math.inf),
)
def trigger_chance_frac(
    fill_frac: float, expansion_frac: float, drain_s: float, fill_s: float
) -> float:
    """Chance that opening the drain sets off a backwash.

    Parameters
    ----------
    fill_frac
        Fill when the drain is opened [-].
    expansion_frac
        Share by which the air expands as the pressure falls [-].
    drain_s
        Time the drain stands open [s].
    fill_s
        Time that a whole charge takes to fill [s].

    Returns
    -------
    float
        Chance [-].

    Notes
    -----
    P = Phi([fill (1 + eps) + t_drain/t_fill - 1]/0.03), Phi the normal distribution: opening the
    drain lowers the face pressure, the air expands and the face moves towards the trigger, while
    the air goes on charging. The spread 0.03 is judgement.

    Examples
    --------
    >>> round(trigger_chance_frac(0.95, 0.05, 25.0, 15300.0), 2)
    0.49

    References
    ----------
    judgement
    """
    beyond = fill_frac * (1.0 + expansion_frac) + drain_s / fill_s - 1.0
    return 0.5 * (1.0 + math.erf(beyond / _FACE_SPREAD_FRAC / math.sqrt(2.0)))


@formula(
    chance_frac=(0.0, 1.0),
    drain_flow_m3_s=(0.0, 0.1),
    drain_s=(0.0, 1e5),
    since_backwash_s=(0.0, math.inf),
)
def beads_lost_m3(
    chance_frac: float, drain_flow_m3_s: float, drain_s: float, since_backwash_s: float
) -> float:
    """Beads expected to go out with the sludge.

    Parameters
    ----------
    chance_frac
        Chance that the drain sets off a backwash [-].
    drain_flow_m3_s
        Flow out of the drain [m3/s].
    drain_s
        Time the drain stands open [s].
    since_backwash_s
        Time since the backwash [s].

    Returns
    -------
    float
        Volume of beads [m3]; the caller caps it at what the bead bed holds.

    Notes
    -----
    L = P c q 8 s + c q tau exp(-t/tau)(1 - exp(-t_drain/tau)), c 0.20 and tau 20 s: beads that a
    backwash throws down until the drain is shut, and beads still rising from the last one. Every
    constant is judgement.

    Examples
    --------
    >>> round(beads_lost_m3(0.0, 20e-3 / 60.0, 25.0, 60.0) * 1e6)
    47

    References
    ----------
    judgement
    """
    thrown = chance_frac * _REACTION_S
    rising = math.exp(-since_backwash_s / _RISE_S) * (1.0 - math.exp(-drain_s / _RISE_S))
    return _BEADS_FRAC * drain_flow_m3_s * (thrown + _RISE_S * rising)


@formula(since_backwash_s=(0.0, math.inf))
def settled_frac(since_backwash_s: float) -> float:
    """Share of the coarse solids that has settled into the cone.

    Parameters
    ----------
    since_backwash_s
        Time since the backwash [s].

    Returns
    -------
    float
        Share settled [-].

    Notes
    -----
    1 - exp(-v t/H), v 4 mm/s, H 0.30 m; both judgement.

    Examples
    --------
    >>> round(settled_frac(60.0), 2)
    0.55

    References
    ----------
    judgement
    """
    return 1.0 - math.exp(-_SETTLING_M_S * since_backwash_s / _SETTLING_DEPTH_M)


def air_expansion_frac(
    charge: Charge, machine: Machine, fill_frac: float, *, drain_flow_m3_s: float
) -> float:
    """Share by which the air expands when the drain is opened.

    Parameters
    ----------
    charge
        The charge, with its setting, day and mode.
    machine
        The machine.
    fill_frac
        Fill when the drain is opened [-].
    drain_flow_m3_s
        Flow out of the drain [m3/s].

    Returns
    -------
    float
        Share [-]; infinite when the drain takes all the water, so that the return stops.

    Notes
    -----
    Base mode takes 0.05. Refined mode solves the water circuit with the drain open: the inlet
    carries what goes on and what is drained, bead bed and return only what goes on; the fall of
    the face pressure over its absolute value is the expansion.

    References
    ----------
    hydrostatics
    judgement
    """
    opened = water_state(
        machine, charge.setting.bypass_open_frac, charge.day, drain_flow_m3_s=drain_flow_m3_s
    )
    if not opened.flowing:
        return math.inf
    if charge.mode is Mode.BASE:
        return BASE_EXPANSION_FRAC
    before = face_pressure_pa_gauge(charge.water, machine, fill_frac)
    after = face_pressure_pa_gauge(opened, machine, fill_frac)
    return max(0.0, before - after) / (charge.day.barometric_pa_abs + before)


def drain_window(
    charge: Charge,
    machine: Machine,
    *,
    draw_m3: float = MAXIMUM_DRAIN_M3,
    drain_flow_m3_s: float = USUAL_DRAIN_M3_S,
) -> DrainWindow:
    """When to open the sludge drain, or why to leave it shut.

    Parameters
    ----------
    charge
        The charge at the present setting.
    machine
        The machine.
    draw_m3
        Volume to draw, at most two US gallons [m3].
    drain_flow_m3_s
        Flow out of the drain [m3/s].

    Returns
    -------
    DrainWindow
        The window, with what it costs in beads; `refused` and `why` when there is none.

    Raises
    ------
    InputError
        The draw is above two US gallons, or the drain has no flow.

    Notes
    -----
    Common practice, no source: best about one minute after a backwash, good to three, never
    late in a charge or with the needle fully open. The charge clips it: the drain is shut again
    before the air reaches half its fill.

    References
    ----------
    common_practice
    judgement
    """
    _check_draw(draw_m3, drain_flow_m3_s)
    drain_s = draw_m3 / drain_flow_m3_s
    good_s = time_at_fill_s(charge, GOOD_FILL_FRAC) - drain_s
    closes_s = max(0.0, min(CLOSES_S, good_s))
    best_s, opens_s = min(BEST_S, closes_s), min(OPENS_S, closes_s)
    fill = fill_frac_at(charge, best_s)
    expansion = air_expansion_frac(charge, machine, fill, drain_flow_m3_s=drain_flow_m3_s)
    why = _refusal(charge, expansion, closes_s)

    def lost_m3(since_s: float) -> float:
        chance = trigger_chance_frac(
            fill_frac_at(charge, since_s), min(expansion, 1.0), drain_s, max(1.0, charge.fill_s)
        )
        lost = beads_lost_m3(chance, drain_flow_m3_s, drain_s, since_s)
        return min(lost, machine.bed.volume_m3)

    return DrainWindow(
        refused=bool(why),
        why=why,
        opens_s=opens_s,
        best_s=best_s,
        closes_s=closes_s,
        warn_fill_frac=WARN_FILL_FRAC,
        refuse_fill_frac=REFUSE_FILL_FRAC,
        warn_s=time_at_fill_s(charge, WARN_FILL_FRAC),
        refuse_s=time_at_fill_s(charge, REFUSE_FILL_FRAC),
        drain_s=drain_s,
        expansion_frac=expansion,
        settled_best_frac=settled_frac(best_s),
        beads_lost_opens_m3=lost_m3(opens_s),
        beads_lost_best_m3=lost_m3(best_s),
        beads_lost_closes_m3=lost_m3(closes_s),
    )


def _check_draw(draw_m3: float, drain_flow_m3_s: float) -> None:
    if not 0.0 < draw_m3 <= MAXIMUM_DRAIN_M3 * (1.0 + 1e-9):
        message = (
            f"draw is {draw_m3 * 1e3:g} L; a drain takes more than nothing and at most "
            f"{MAXIMUM_DRAIN_M3 * 1e3:.1f} L (2 US gal). Drain sooner instead of more."
        )
        raise InputError(message)
    if not drain_flow_m3_s > 0.0:
        message = (
            f"drain flow is {drain_flow_m3_s:g} m3/s; it must be above zero. "
            "Time a bucket under the drain."
        )
        raise InputError(message)


def _refusal(charge: Charge, expansion_frac: float, closes_s: float) -> str:
    if charge.outcome is not Outcome.CHARGING:
        return (
            f"{charge.outcome.text} Without a backwash there is no safe minute to drain; get "
            "backwashes going first."
        )
    if math.isinf(charge.setting.needle_gap_m) or charge.fill_s < QUICK_FILL_S:
        return (
            "The needle is fully open or nearly so: the next backwash may come while the drain "
            "is open. Put the needle back to its mark first."
        )
    if math.isinf(expansion_frac):
        return (
            "The drain takes all the water that enters, so the return would stop and the beads "
            "come down. Open the drain less far."
        )
    if closes_s < BEST_S:
        return "The air charges too fast to drain safely. Close the needle to its mark first."
    return ""
