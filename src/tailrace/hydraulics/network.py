"""The general branched loop: surfaces, junctions and runs of pipe or pump, solved for all flows.

`tee` solves the common case, one pump and the open branches of one tee, faster and without a
starting guess; this is for loops with several tees, pumps or ring mains.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from tailrace.errors import InputError

_START_M3_S = 1e-4  # flow from which the search starts in every run
_SHUT_FLOW_M3_S = 1e-9  # smaller backward flow in a one-way run is taken for none
_METHODS: Final[tuple[Literal["hybr", "lm"], ...]] = ("hybr", "lm")
_BALANCE = 1e-6  # residual that counts as solved, in m and in L/s

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Node:
    """A place where runs meet.

    Parameters
    ----------
    name
        Its name.
    level_m
        Height of the surface or of the free outlet; None for a junction, whose head is sought.
    drawn_m3_s
        Flow drawn from a junction; negative when fed.
    """

    name: str
    level_m: float | None = None
    drawn_m3_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Run:
    """A run of pipe, with or without a pump, from one node to another.

    Parameters
    ----------
    name
        Its name.
    start, end
        Names of the nodes; flow from start to end counts positive.
    loss_m
        Head lost at a flow of zero or more; must not fall as the flow rises.
    gain_m
        Head that a pump in the run gives at a flow; None without a pump.
    one_way
        Whether nothing flows backward: a free outlet, a check valve, or a pump with one.
    """

    name: str
    start: str
    end: str
    loss_m: Callable[[float], float]
    gain_m: Callable[[float], float] | None = None
    one_way: bool = False


@dataclass(frozen=True, slots=True)
class NetworkFlows:
    """What was found.

    Parameters
    ----------
    flows_m3_s
        Name of the run to its flow.
    heads_m
        Name of the node to its head.
    residual
        Largest imbalance left, in m of head or L/s of flow.
    solved
        Whether the residual is below 1e-6; if not, the text says what to try.
    text
        How the search ended.
    """

    flows_m3_s: Mapping[str, float]
    heads_m: Mapping[str, float]
    residual: float
    solved: bool
    text: str


def network_flows(nodes: Sequence[Node], runs: Sequence[Run]) -> NetworkFlows:
    """Solve a network of runs for the flow in each and the head at each junction.

    Parameters
    ----------
    nodes
        Surfaces, free outlets and junctions; at least one with a level.
    runs
        The runs between them.

    Returns
    -------
    NetworkFlows
        Flows and heads. An unsolved network is a value, not an error; see `solved`.

    Raises
    ------
    InputError
        A run names a node that is not there, a name is used twice, no node has a level, or a
        junction has no run.

    Notes
    -----
    Unknown are the flows of the runs and the heads of the junctions; equations are the energy of
    each run and the balance of each junction, solved together by SciPy's hybrid method of Powell,
    with least squares as the second try. A one-way run that would flow backward is shut, and
    opened again when the heads at its ends would drive it forward.

    Examples
    --------
    >>> square = lambda q: 2e5 * q**2
    >>> found = network_flows(
    ...     [Node("tank", 2.0), Node("tee"), Node("sump", 0.0)],
    ...     [Run("down", "tank", "tee", square), Run("on", "tee", "sump", square)],
    ... )
    >>> round(found.flows_m3_s["on"] * 1e3, 3), round(found.heads_m["tee"], 3)
    (2.236, 1.0)

    References
    ----------
    todini_pilati_1988
    """
    _check(nodes, runs)
    shut: frozenset[str] = frozenset()
    found = _solve(nodes, runs, shut)
    for _ in range(2 * len(runs) + 1):
        wanted = _shut(runs, found, shut)
        if wanted == shut:
            break
        shut = wanted
        found = _solve(nodes, runs, shut)
    return found


def _check(nodes: Sequence[Node], runs: Sequence[Run]) -> None:
    names = [node.name for node in nodes]
    run_names = [run.name for run in runs]
    ends = {end for run in runs for end in (run.start, run.end)}
    faults = []
    if len(set(names)) < len(names) or len(set(run_names)) < len(run_names):
        faults.append("a name is used twice")
    if unknown := sorted(ends - set(names)):
        faults.append(f"runs name nodes that are not there: {', '.join(unknown)}")
    if all(node.level_m is None for node in nodes):
        faults.append("no node has a level; give at least one surface or free outlet")
    if loose := [n.name for n in nodes if n.level_m is None and n.name not in ends]:
        faults.append(f"junctions without a run: {', '.join(loose)}")
    if faults:
        message = f"the network cannot be solved: {'; '.join(faults)}."
        raise InputError(message)


def _shut(runs: Sequence[Run], found: NetworkFlows, shut: frozenset[str]) -> frozenset[str]:
    """Return the one-way runs that must carry nothing, given the last solution."""
    wanted = set()
    for run in runs:
        if not run.one_way:
            continue
        if run.name in shut:
            gain = run.gain_m(0.0) if run.gain_m else 0.0
            drive = found.heads_m[run.start] + gain - found.heads_m[run.end] - run.loss_m(0.0)
            if drive <= 0.0:
                wanted.add(run.name)
        elif found.flows_m3_s[run.name] < -_SHUT_FLOW_M3_S:
            wanted.add(run.name)
    return frozenset(wanted)


def _energy_m(run: Run, flow: float, start_m: float, end_m: float) -> float:
    """Head left over along a run; losses act against the flow, whichever way it goes."""
    loss = run.loss_m(flow) if flow >= 0.0 else -run.loss_m(-flow)
    gain = run.gain_m(max(flow, 0.0)) if run.gain_m else 0.0
    return start_m + gain - loss - end_m


def _solve(nodes: Sequence[Node], runs: Sequence[Run], shut: frozenset[str]) -> NetworkFlows:
    levels = {node.name: node.level_m for node in nodes if node.level_m is not None}
    junctions = [node for node in nodes if node.level_m is None]
    size = len(runs)

    def heads_of(unknown: Array) -> dict[str, float]:
        found = unknown[size:].tolist()
        return levels | {node.name: head for node, head in zip(junctions, found, strict=True)}

    def residuals(unknown: Array) -> Array:
        heads = heads_of(unknown)
        flows = unknown[:size] * 1e-3  # in L/s, so that flows and heads are of one order
        energy = [
            unknown[i]
            if run.name in shut
            else _energy_m(run, flow, heads[run.start], heads[run.end])
            for i, (run, flow) in enumerate(zip(runs, flows.tolist(), strict=True))
        ]
        balance = [
            sum(unknown[i] for i, run in enumerate(runs) if run.end == node.name)
            - sum(unknown[i] for i, run in enumerate(runs) if run.start == node.name)
            - node.drawn_m3_s * 1e3
            for node in junctions
        ]
        return np.array(energy + balance)

    start = np.full(size + len(junctions), _START_M3_S * 1e3)
    start[size:] = float(np.mean(list(levels.values())))
    best = min(
        (_attempt(residuals, start, method) for method in _METHODS),
        key=lambda attempt: attempt[1],
    )
    unknown, residual = best
    solved = residual < _BALANCE
    flows = (unknown[:size] * 1e-3).tolist()
    return NetworkFlows(
        flows_m3_s={run.name: flow for run, flow in zip(runs, flows, strict=True)},
        heads_m=heads_of(unknown),
        residual=residual,
        solved=solved,
        text="solved" if solved else _unsolved(residual),
    )


def _attempt(
    residuals: Callable[[Array], Array], start: Array, method: Literal["hybr", "lm"]
) -> tuple[Array, float]:
    found = root(residuals, start, method=method, options={"xtol": 1e-13})
    unknown = np.asarray(found.x, dtype=np.float64)
    return unknown, float(np.max(np.abs(residuals(unknown))))


def _unsolved(residual: float) -> str:
    return (
        f"not solved: {residual:.2g} m or L/s is left over. Look for a part that no run joins to "
        "a surface, a pump too weak for its outlet without 'one_way', or a loss that falls with "
        "the flow."
    )
