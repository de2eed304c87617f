"""The next check: what it would teach and how often it would settle the search, for its price.

See docs/theory/diagnosis.md for the two measures and why both are used.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tailrace.diagnosis.inference import Array, Network
from tailrace.diagnosis.ranking import SURE, Belief

PAYS_BITS = 0.02
PAYS_SETTLES = 0.02


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check with what it is worth.

    Parameters
    ----------
    question
        Key of the question.
    bits
        Expected gain of information on what accounts for what was seen [bit].
    settles
        Chance that its answer brings a cause to 95 %.
    price_min
        Minutes, with those to get there and those that its risk adds.
    """

    question: str
    bits: float
    settles: float
    price_min: float

    @property
    def worth_per_min(self) -> float:
        """Gain and chance of settling, for a minute."""
        return (self.bits + self.settles) / self.price_min

    @property
    def pays(self) -> bool:
        """Whether it teaches enough to be asked at all."""
        return self.bits >= PAYS_BITS or self.settles >= PAYS_SETTLES


def next_checks(
    net: Network, belief: Belief, prices: Mapping[str, float]
) -> tuple[NextCheck, ...]:
    """Rank the checks that are left.

    Parameters
    ----------
    net
        The network.
    belief
        What is believed now.
    prices
        Price of each question that can be asked, by key [min].

    Returns
    -------
    tuple of NextCheck
        Those that pay, the best first.
    """
    account = belief.needed / np.maximum(belief.needed.sum(axis=1, keepdims=True), 1e-12)
    now = _bits(belief.sets @ account)
    made = []
    for key, price in prices.items():
        joint = net.tables[key] * belief.sets
        chance = joint.sum(axis=1)
        after = joint / np.maximum(chance[:, None], 1e-300)
        gain = now - float(chance @ np.array([_bits(row) for row in after @ account]))
        surest = (after @ belief.needed).max(axis=1)
        made.append(NextCheck(key, max(0.0, gain), float(chance @ (surest >= SURE)), price))
    paying = (check for check in made if check.pays)
    return tuple(sorted(paying, key=lambda check: (-check.worth_per_min, check.question)))


def _bits(chances: Array) -> float:
    some = chances[chances > 0.0]
    return float(-np.sum(some * np.log2(some)))
