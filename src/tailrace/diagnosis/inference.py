r"""What may be wrong, given what was seen: an exact posterior over sets of causes.

The sets are nothing, each cause, each pair of causes, and something else. A finding is a
noisy-OR of the causes in the set and of chance, taken to several levels: each cause brings the
first deviation with the hazard :math:`-\ln(1-s)`, split over levels as its chances are. See
docs/theory/diagnosis.md.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from tailrace.diagnosis.causes import Catalogue, Cause, Question
from tailrace.errors import InputError, NotKnownError

SOMETHING_ELSE = 0.10
NOTHING, ELSE = "nothing", "else"
Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Network:
    """Sets of causes with their prior, and the chance of every level in each.

    Parameters
    ----------
    names
        Ids of the causes, in the order of the columns of `members`.
    members
        Whether a set holds a cause; shape (sets, causes), float 0 or 1. The first set is
        nothing, then come the single causes, the pairs, and last something else.
    prior
        Chance of each set before anything was seen; shape (sets,); sums to one.
    tables
        By question: chance of each level in each set; shape (levels, sets).
    levels
        By question: keys of its levels, in the order of the rows of its table.
    """

    names: tuple[str, ...]
    members: Array
    prior: Array
    tables: Mapping[str, Array]
    levels: Mapping[str, tuple[str, ...]]

    def row(self, question: str, level: str) -> Array:
        """Return the chance of one level in each set."""
        if question not in self.levels:
            message = f"{question!r} is no finding; docs/faults.md lists them all"
            raise NotKnownError(message)
        if level not in self.levels[question]:
            there = ", ".join(self.levels[question])
            message = f"{level!r} is no level of {question}; there are {there}"
            raise NotKnownError(message)
        found: Array = self.tables[question][self.levels[question].index(level)]
        return found


def network(tables: Catalogue, *, something_else: float = SOMETHING_ELSE) -> Network:
    """Put causes and findings together.

    Parameters
    ----------
    tables
        The causes and questions.
    something_else
        Prior chance of a cause that is not in the tables [dimensionless].

    Returns
    -------
    Network
        Every set with its prior and its chances.

    Raises
    ------
    InputError
        The prior of something else is not between 0 and 1.
    """
    if not 0.0 <= something_else < 1.0:
        message = f"the prior of something else is {something_else:g}, outside 0 to below 1"
        raise InputError(message)
    causes = tuple(tables.causes.values())
    members = _members(len(causes))
    odds = np.array([cause.odds for cause in causes])
    weight = np.prod(np.where(members[:-1] > 0, odds, 1.0), axis=1)
    prior = np.append((1.0 - something_else) * weight / weight.sum(), something_else)
    return Network(
        names=tuple(cause.id for cause in causes),
        members=members,
        prior=prior,
        tables={
            key: _table(question, causes, members) for key, question in tables.questions.items()
        },
        levels={key: tuple(question.levels) for key, question in tables.questions.items()},
    )


def _members(count: int) -> Array:
    pairs = list(combinations(range(count), 2))
    members = np.zeros((2 + count + len(pairs), count))
    members[1 : 1 + count] = np.eye(count)
    for place, pair in enumerate(pairs, start=1 + count):
        members[place, list(pair)] = 1.0
    return members


def _table(question: Question, causes: tuple[Cause, ...], members: Array) -> Array:
    """Return the chance of each level in each set."""
    hazard = np.array([_hazards(question, _chances(cause, question)) for cause in causes])
    total = _hazards(question, question.by_chance) + members @ hazard  # (sets, levels but usual)
    every = total.sum(axis=1)
    usual = np.exp(-every)
    share = np.divide(total, every[:, None], out=np.zeros_like(total), where=every[:, None] > 0)
    table = np.vstack([usual, ((1.0 - usual)[:, None] * share).T])
    # A cause that is not in the tables looks like any one that is.
    table[:, -1] = table[:, 1 : 1 + len(causes)].mean(axis=1)
    return table


def _chances(cause: Cause, question: Question) -> Mapping[str, float]:
    sign = cause.signs.get(question.key)
    return {} if sign is None else sign.chances


def _hazards(question: Question, chances: Mapping[str, float]) -> Array:
    """Return the hazard of each level but the usual one."""
    split = np.array([chances.get(level, 0.0) for level in list(question.levels)[1:]])
    whole = split.sum()
    return split if whole == 0.0 else -np.log1p(-whole) * split / whole


@dataclass(frozen=True, slots=True)
class Simulated:
    """Evidence from whole simulations of each cause, tempered.

    Parameters
    ----------
    log_evidence
        Natural log of the evidence of a simulation, by id of the cause and for ``nothing``;
        causes without a simulation are left out and stand at the mean of those with one.
    power
        Power that it enters with; above 0.5 it was found to declare wrong causes too often.
    """

    log_evidence: Mapping[str, float]
    power: float = 0.45

    def __post_init__(self) -> None:
        if not 0.0 < self.power <= 0.5:
            message = (
                f"the power of simulated evidence is {self.power:g}, outside 0 to 0.5: "
                "at full power it is surer than it is right"
            )
            raise InputError(message)


def posterior(
    net: Network, seen: Mapping[str, str], *, simulated: Simulated | None = None
) -> Array:
    """Return the chance of every set, given what was seen.

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
    numpy.ndarray
        Chance of each set; shape (sets,); sums to one.

    Raises
    ------
    NotKnownError
        A question or level is not in the tables.
    """
    log = np.log(np.maximum(net.prior, 1e-300))
    for question, level in seen.items():
        log += np.log(np.maximum(net.row(question, level), 1e-12))
    if simulated is not None:
        log += simulated.power * _of_sets(net, simulated)
    weight = np.exp(log - log.max())
    return np.asarray(weight / weight.sum(), dtype=np.float64)


def _of_sets(net: Network, simulated: Simulated) -> Array:
    """Return simulated log evidence by set; a pair has that of its likelier member."""
    known = simulated.log_evidence
    mean = float(np.mean(list(known.values()))) if known else 0.0
    each = np.array([known.get(name, mean) for name in net.names])
    of_sets = np.where(net.members > 0, each, -np.inf).max(axis=1)
    of_sets[0], of_sets[-1] = known.get(NOTHING, mean), mean
    return np.asarray(of_sets, dtype=np.float64)


def shares(net: Network, seen: Mapping[str, str]) -> Array:
    """Return how far each set's causes, nothing and something else account for what was seen.

    Parameters
    ----------
    net
        The network.
    seen
        Level by question.

    Returns
    -------
    numpy.ndarray
        Shape (sets, causes + 2); a row sums to one, or to two where a pair is needed as
        a whole; the last two columns are nothing and
        something else. In a pair a cause counts as far as what was seen needed it,
        ``1 - L(set without it) / L(set)``; nothing counts as far as the seen needed neither;
        what either alone would do is halved.
    """
    count = len(net.names)
    log = np.zeros(len(net.prior))
    for question, level in seen.items():
        log += np.log(np.maximum(net.row(question, level), 1e-12))
    account = np.zeros((len(net.prior), count + 2))
    account[0, count] = account[-1, count + 1] = 1.0
    account[1 : 1 + count, :count] = np.eye(count)
    first, second = np.array(list(combinations(range(count), 2)), dtype=int).reshape(-1, 2).T
    pairs = np.arange(1 + count, len(net.prior) - 1)
    neither = np.exp(np.minimum(0.0, log[0] - log[pairs]))
    needs_first = 1.0 - np.exp(np.minimum(0.0, log[1 + second] - log[pairs]))
    needs_second = 1.0 - np.exp(np.minimum(0.0, log[1 + first] - log[pairs]))
    either = 0.5 * np.maximum(0.0, 1.0 - neither - needs_first - needs_second)
    account[pairs, first] = needs_first + either
    account[pairs, second] = needs_second + either
    account[pairs, count] = neither
    return np.asarray(account, dtype=np.float64)
