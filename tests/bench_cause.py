"""`python -m tests.bench_cause [CASES]`: how fast and how right the search for a cause is.

The truth here is not the inference's table: every chance is shifted by a normal error of 0.6 on
the logit scale for each case, keepers misread one answer in 25 to a random level and say 'not
sure' to one question in 12. It is still of the tables' own shape, so it flatters: a truth from
the engine with a fault switched on is not built yet.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tailrace.diagnosis.catalogue import catalogue
from tailrace.diagnosis.inference import Network, network
from tailrace.diagnosis.next_check import next_checks
from tailrace.diagnosis.ranking import SURE, Belief, believe

SEED, SHIFT, MISREAD, NOT_SURE = 991_000, 0.6, 0.04, 0.08
LONGEST_MIN = 240.0

Choose = Callable[[Network, Belief, dict[str, float], np.random.Generator], str | None]


def say(text: str) -> None:
    """Write one line."""
    sys.stdout.write(f"{text}\n")
    sys.stdout.flush()


@dataclass(frozen=True, slots=True)
class Ended:
    """One search at its end."""

    right_first: bool
    right_in_three: bool
    declared: bool
    right_declared: bool
    chance: float
    minutes: float
    asked: int


def answers(
    net: Network, place: int, rng: np.random.Generator
) -> Iterator[tuple[str, str | None]]:
    """Draw what this keeper would say to each question of a fault (column of the tables)."""
    for key, table in net.tables.items():
        levels = net.levels[key]
        logit = np.log(table[:, place]) + rng.normal(0.0, SHIFT, len(levels))
        chance = np.exp(logit) / np.exp(logit).sum()
        level = levels[int(rng.choice(len(levels), p=chance))]
        if rng.random() < MISREAD:
            level = levels[int(rng.integers(len(levels)))]
        yield key, None if rng.random() < NOT_SURE else level


def by_worth(
    net: Network, belief: Belief, prices: dict[str, float], _rng: np.random.Generator
) -> str | None:
    """The order of the tool."""
    checks = next_checks(net, belief, prices)
    return checks[0].question if checks else None


def by_prior(
    net: Network, _belief: Belief, prices: dict[str, float], _rng: np.random.Generator
) -> str | None:
    """A fixed order: the question that tells most of the faults by their prior, for its price."""
    single = net.prior[1 : 1 + len(net.names)]

    def worth(key: str) -> float:
        shows = 1.0 - net.tables[key][0, 1 : 1 + len(net.names)]
        return float(single @ np.maximum(shows - 0.1, 0.0)) / prices[key]

    return max(prices, key=worth, default=None)


def by_lot(
    _net: Network, _belief: Belief, prices: dict[str, float], rng: np.random.Generator
) -> str | None:
    """At random."""
    return str(rng.choice(list(prices))) if prices else None


def search(net: Network, place: int, choose: Choose, seed: int) -> Ended:
    """Run one search from a complaint to its end."""
    rng = np.random.default_rng(seed)
    said = dict(answers(net, place, rng))
    questions, truth = catalogue().questions, net.names[place - 1]
    complaints = [k for k, q in questions.items() if said[k] in q.complaints]
    own = [k for k in complaints if k in catalogue().causes[truth].signs]
    complaints = own or complaints  # a keeper mostly comes because of the trouble itself
    start = complaints[int(rng.integers(len(complaints)))] if complaints else "fish"
    seen, asked, minutes = {start: said[start] or questions[start].usual}, {start}, 0.0
    while True:
        belief = believe(net, seen)
        ranked = [name for name in belief.chances if name in net.names]
        sure = [name for name in ranked if belief.chances[name] >= SURE]
        prices = {k: q.price_min for k, q in questions.items() if k not in asked}
        key = None if sure or minutes > LONGEST_MIN else choose(net, belief, prices, rng)
        if key is None:
            break
        asked.add(key)
        minutes += questions[key].minutes + 1.0
        if said[key] is not None:
            seen[key] = str(said[key])
    return Ended(
        right_first=ranked[0] == truth,
        right_in_three=truth in ranked[:3],
        declared=bool(sure),
        right_declared=truth in sure,
        chance=belief.chances[ranked[0]],
        minutes=minutes,
        asked=len(asked) - 1,
    )


def expected_calibration_error(ended: list[Ended]) -> float:
    """Mean distance of the first cause's chance from how often it was right, in tenths."""
    chance = np.array([e.chance for e in ended])
    right = np.array([e.right_first for e in ended])
    error = 0.0
    for low, high in pairwise(np.linspace(0.0, 1.0, 11)):
        here = (chance > low) & (chance <= high)
        if here.any():
            error += here.mean() * abs(chance[here].mean() - right[here].mean())
    return float(error)


def report(name: str, ended: list[Ended]) -> None:
    """Print one line for an order of questions."""
    declared = [e for e in ended if e.declared]
    good = [e.minutes for e in declared if e.right_declared]
    rest = [e.minutes for e in ended if not e.declared]
    wrong = 1.0 - len(good) / max(1, len(declared))
    say(
        f"{name:<9} first {np.mean([e.right_first for e in ended]):.2f}, in three "
        f"{np.mean([e.right_in_three for e in ended]):.2f}, "
        f"declared {len(declared) / len(ended):.2f}"
        f", wrong {wrong:.3f}, minutes to a right one: median {np.median(good or [np.nan]):.0f}"
        f" mean {np.mean(good or [np.nan]):.0f}, undeclared: median {np.median(rest or [0.0]):.0f}"
        f", mean of all {np.mean([e.minutes for e in ended]):.0f}"
        f", ECE {expected_calibration_error(ended):.3f}"
    )


def main(count: int) -> None:
    """Run all orders over the same cases, and time the next question."""
    net = network(catalogue())
    single = net.prior[1 : 1 + len(net.names)]
    for draw, chance in (("every fault alike", None), ("by prior", single / single.sum())):
        say(f"{count} cases, {draw}; seeds from {SEED}")
        rng = np.random.default_rng(SEED)
        places = 1 + rng.choice(len(net.names), size=count, p=chance)
        groups = [catalogue().causes[net.names[int(p) - 1]].group for p in places]
        for name, choose in (("worth", by_worth), ("prior", by_prior), ("random", by_lot)):
            ended = [search(net, int(p), choose, SEED + 1 + n) for n, p in enumerate(places)]
            report(name, ended)
            machine = [g in ("air", "water") for g in groups]
            told = [e.right_first for e, m in zip(ended, machine, strict=True) if m]
            say(f"          air and water named first: {np.mean(told):.2f} of {len(told)}")
    prices = {k: q.price_min for k, q in catalogue().questions.items()}
    taken = []
    for _ in range(50):
        began = time.process_time()
        next_checks(net, believe(net, {"air_float": "low"}), prices)
        taken.append(time.process_time() - began)
    say(f"next question: median {1e3 * np.median(taken):.0f} ms CPU, worst {1e3 * max(taken):.0f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
