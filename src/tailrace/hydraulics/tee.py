"""A pump that feeds several open branches from one tee: where the flow goes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scipy.optimize import brentq

from tailrace.hydraulics.pumps import WaterPump, pump_head_m

_FLOW_TOLERANCE = 1e-12  # m3/s
_HEAD_TOLERANCE = 1e-9  # m


@dataclass(frozen=True, slots=True)
class Branch:
    """A branch from the tee to an open outlet.

    Parameters
    ----------
    outlet_height_m
        Outlet above the surface that the pump draws from.
    loss_m
        Head lost at a flow; must not fall as the flow rises.
    """

    outlet_height_m: float
    loss_m: Callable[[float], float]


@dataclass(frozen=True, slots=True)
class TeeFlows:
    """Where the flow goes.

    Parameters
    ----------
    tee_head_m
        Head at the tee above the surface that the pump draws from.
    flows_m3_s
        Flow in each branch, in the order given; zero where the head does not reach its outlet.
    """

    tee_head_m: float
    flows_m3_s: tuple[float, ...]


def branch_flow_m3_s(branch: Branch, tee_head_m: float, *, limit_m3_s: float) -> float:
    """Flow in a branch at a given head of the tee.

    Parameters
    ----------
    branch
        The branch.
    tee_head_m
        Head at the tee [m].
    limit_m3_s
        Largest flow looked for [m3/s].

    Returns
    -------
    float
        Flow [m3/s], from 0 to the limit.

    Examples
    --------
    >>> branch = Branch(1.0, lambda q: 1e6 * q**2)
    >>> round(branch_flow_m3_s(branch, 2.0, limit_m3_s=0.01), 6)
    0.001
    """
    available = tee_head_m - branch.outlet_height_m
    if available <= branch.loss_m(0.0):
        return 0.0
    if branch.loss_m(limit_m3_s) <= available:
        return limit_m3_s
    target = math.sqrt(available)
    # The square root of a loss is nearly straight in the flow, so few steps find it.
    root = brentq(
        lambda q: math.sqrt(branch.loss_m(q)) - target, 0.0, limit_m3_s, xtol=_FLOW_TOLERANCE
    )
    return float(root)


def tee_flows(
    pump: WaterPump, suction_loss_m: Callable[[float], float], branches: Sequence[Branch]
) -> TeeFlows:
    """Solve a pump, its suction and the branches of one tee.

    Parameters
    ----------
    pump
        The pump.
    suction_loss_m
        Head lost before the tee at the total flow.
    branches
        The branches.

    Returns
    -------
    TeeFlows
        Head at the tee and flow in each branch. When the pump's shut-off head reaches no
        outlet, every flow is zero and the head is the shut-off head.

    Notes
    -----
    The tee head is the root of H(sum Q) - h_s(sum Q) - H_t. What the pump gives falls and what
    the branches take rises with H_t, so there is one root between the lowest outlet and the
    shut-off head; it is found on that bracket, without derivatives, because losses of valves
    span ten decades and friction steps where flow turns turbulent.

    Examples
    --------
    >>> branch = Branch(0.0, lambda q: 5e5 * q**2)
    >>> flows = tee_flows(WaterPump(8.0, 0.004), lambda q: 0.0, [branch])
    >>> round(flows.flows_m3_s[0], 6), round(flows.tee_head_m, 6)
    (0.002828, 4.0)

    References
    ----------
    epanet_2
    """
    limit = 2.0 * pump.maximum_flow_m3_s

    def flows(head: float) -> tuple[float, ...]:
        return tuple(branch_flow_m3_s(b, head, limit_m3_s=limit) for b in branches)

    def surplus(head: float) -> float:
        total = sum(flows(head))
        return pump_head_m(total, pump) - suction_loss_m(total) - head

    high = pump_head_m(0.0, pump)
    low = min(branch.outlet_height_m for branch in branches)
    if high <= low or surplus(high) >= 0.0:
        return TeeFlows(high, tuple(0.0 for _ in branches))
    head = float(brentq(surplus, low, high, xtol=_HEAD_TOLERANCE))
    return TeeFlows(head, flows(head))
