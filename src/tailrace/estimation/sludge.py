"""How much sludge lies in the cone, when to drain it, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from tailrace.beadfilter.sludge import DrainPlan, SludgeRates, drain_plan, sludge_after
from tailrace.estimation.priors import draw
from tailrace.estimation.standing import Standing
from tailrace.quantities import Amount, from_draws

DRAWS = 60
DAY_S = 86400.0
_NAMES = ("feed_place", "fresh_sludge", "old_sludge", "solids_yield")


@dataclass(frozen=True, slots=True)
class SludgeOutlook:
    """Sludge now and the drain that it asks for.

    Parameters
    ----------
    plan
        The plan at the middle of everything.
    interval, draw
        Time between drains and volume to draw each time.
    volume_now
        Sludge in the cone now; None when no drain was ever written down.
    last_drain
        When it was last drained, and the entry.
    due_at
        When the next drain is due, by the early side of the range; None without a last drain.
    entries
        Ids of the entries behind it.
    """

    plan: DrainPlan
    interval: Amount
    draw: Amount
    volume_now: Amount | None
    last_drain: datetime | None
    due_at: datetime | None
    entries: tuple[str, ...]


def sludge_outlook(now: Standing, *, temperature_degc: float, seed: int) -> SludgeOutlook:
    """Work out how much sludge there is and when to drain it.

    Parameters
    ----------
    now
        How things stand.
    temperature_degc
        Temperature of the water.
    seed
        Seed of the draws.

    Returns
    -------
    SludgeOutlook
        Plan, ranges and due time.
    """
    ration = now.site.ration_kg
    protein = sum(lot.ration_kg * lot.feed_protein_frac for lot in now.site.stock) / ration
    chamber = now.site.filter.machine.chamber
    fed, last = now.feeding, now.last("drain")

    def planned(feed_kg: float, rates: SludgeRates | None = None) -> DrainPlan:
        return drain_plan(
            feed_kg / DAY_S,
            protein,
            temperature_degc=temperature_degc,
            cone_volume_m3=chamber.cone_volume_m3,
            rates=rates,
        )

    table = draw(_NAMES, count=DRAWS, seed=seed)
    plans, volumes = [], []
    for place in range(DRAWS):
        case = {name: float(values[place]) for name, values in table.items()}
        feed = fed.low_kg + case["feed_place"] * (fed.high_kg - fed.low_kg)
        rates = SludgeRates(
            solids_yield_kg_kg=max(0.05, case["solids_yield"]),
            fresh_kg_m3=case["fresh_sludge"],
            packed_kg_m3=max(case["fresh_sludge"], case["old_sludge"]),
        )
        plans.append(planned(feed, rates))
        if last is not None:
            sludge = sludge_after(
                feed / DAY_S, now.age_s(last), temperature_degc=temperature_degc, rates=rates
            )
            volumes.append(sludge.volume_m3)
    plan = planned(fed.middle_kg)
    interval = from_draws("days", (p.interval_s for p in plans))
    due = None if last is None else last.taken_at + timedelta(seconds=plan.interval_s)
    return SludgeOutlook(
        plan=plan,
        interval=interval,
        draw=from_draws("sludge_volume", (p.draw_m3 for p in plans)),
        volume_now=from_draws("sludge_volume", volumes) if volumes else None,
        last_drain=None if last is None else last.taken_at,
        due_at=due,
        entries=fed.entries + ((last.id,) if last else ()),
    )
