"""The ranking of causes, and how far the search has come: found, nothing, not listed, or open."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import Enum

import numpy as np

from tailrace.diagnosis.inference import (
    ELSE,
    NOTHING,
    Array,
    Network,
    Simulated,
    posterior,
    shares,
)

SURE = 0.95
HARDLY = 0.02


@dataclass(frozen=True, slots=True)
class Belief:
    """What is believed after some findings.

    Parameters
    ----------
    sets
        Chance of every set of causes; shape (sets,).
    needed
        How far each set's causes account for what was seen; shape (sets, causes + 2).
    chances
        Chance of each cause to be there and to account for what was seen, by id, and of
        ``nothing`` and ``else``; the likeliest first.
    """

    sets: Array
    needed: Array
    chances: Mapping[str, float]


def believe(
    net: Network, seen: Mapping[str, str], *, simulated: Simulated | None = None
) -> Belief:
    """Weigh every cause.

    Parameters
    ----------
    net
        The network.
    seen
        Level by question.
    simulated
        Evidence from whole simulations; None for none.

    Returns
    -------
    Belief
        The chances.
    """
    sets, needed = posterior(net, seen, simulated=simulated), shares(net, seen)
    names = (*net.names, NOTHING, ELSE)
    each = dict(zip(names, (sets @ needed).tolist(), strict=True))
    order = sorted(names, key=lambda name: (-each[name], name))
    return Belief(sets, needed, {name: each[name] for name in order})


class State(Enum):
    """How far a search has come."""

    OPEN = "open"
    FOUND = "found"
    NOTHING = "nothing"
    NOT_LISTED = "not listed"
    STUCK = "stuck"  # no check that is left pays


@dataclass(frozen=True, slots=True)
class Verdict:
    """How far a search has come.

    Parameters
    ----------
    state
        The state.
    causes
        Causes found; when it is stuck, those that stay open.
    """

    state: State
    causes: tuple[str, ...] = ()


def verdict(belief: Belief, *, pays: bool) -> Verdict:
    """Say how far the search has come.

    Parameters
    ----------
    belief
        What is believed.
    pays
        Whether a check that is left pays.

    Returns
    -------
    Verdict
        Found at 95 %, else open while a check pays.
    """
    sure = tuple(name for name, chance in belief.chances.items() if chance >= SURE)
    if NOTHING in sure:
        return Verdict(State.NOTHING)
    if ELSE in sure:
        return Verdict(State.NOT_LISTED)
    if sure:
        return Verdict(State.FOUND, sure)
    if pays:
        return Verdict(State.OPEN)
    left = [n for n, c in belief.chances.items() if c >= 0.05 and n not in (NOTHING, ELSE)]
    return Verdict(State.STUCK, tuple(left[:4]))


def does_not_fit(net: Network, seen: Mapping[str, str]) -> tuple[str, ...]:
    """Return findings that the others make very unlikely: slips, or a second trouble.

    Parameters
    ----------
    net
        The network.
    seen
        Level by question.

    Returns
    -------
    tuple of str
        Questions whose level had a chance below 2 % given all the others.
    """
    if len(seen) < 3:
        return ()
    odd = []
    for question, level in seen.items():
        others = posterior(net, {key: seen[key] for key in seen if key != question})
        if float(others @ net.row(question, level)) < HARDLY:
            odd.append(question)
    return tuple(odd)


@dataclass(frozen=True, slots=True)
class Alike:
    """Two causes that the record's readings cannot part.

    Parameters
    ----------
    one, other
        Their ids.
    parts
        The question that parts them best for its price; None when none is left.
    """

    one: str
    other: str
    parts: str | None


_ALIKE_NATS = 0.25


def alike(
    net: Network, belief: Belief, *, readings: Iterable[str], prices: Mapping[str, float]
) -> tuple[Alike, ...]:
    """Name the pairs among the leaders that readings alone cannot part.

    Parameters
    ----------
    net
        The network.
    belief
        What is believed.
    readings
        Questions that the record can fill.
    prices
        Price of each question that can still be asked, by key [min].

    Returns
    -------
    tuple of Alike
        Pairs among the first four causes of at least 5 %, with the check that parts them.
    """
    readings = tuple(readings)
    leaders = [n for n, c in belief.chances.items() if n in net.names and c >= 0.05][:4]
    found = []
    for place, one in enumerate(leaders):
        for other in leaders[place + 1 :]:
            apart = sum(_apart(net, key, one, other) for key in readings)
            if apart < _ALIKE_NATS:
                best = max(
                    prices, key=lambda k: _apart(net, k, one, other) / prices[k], default=None
                )
                parted = best is not None and _apart(net, best, one, other) > _ALIKE_NATS
                found.append(Alike(one, other, best if parted else None))
    return tuple(found)


def _apart(net: Network, question: str, one: str, other: str) -> float:
    """Return the mean of both Kullback-Leibler divergences of a question between two causes."""
    first, second = (net.tables[question][:, 1 + net.names.index(name)] for name in (one, other))
    first, second = np.maximum(first, 1e-12), np.maximum(second, 1e-12)
    return float(0.5 * np.sum((first - second) * np.log(first / second)))
