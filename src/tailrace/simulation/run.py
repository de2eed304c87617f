"""Simulate one loop."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from tailrace.errors import InputError
from tailrace.simulation.assemble import Loop, State, frozen_state, start_state
from tailrace.simulation.compiled import PREPARING, is_prepared
from tailrace.simulation.engine import Batch, Log
from tailrace.simulation.events import Schedule, event_arrays, settings_of
from tailrace.simulation.jumps import Act
from tailrace.simulation.layout import Array
from tailrace.simulation.march import DONE
from tailrace.simulation.parameters import parameter_table
from tailrace.simulation.solution import Ending, Solution

TOLERANCE = 3e-3


def output_times_s(from_s: float, until_s: float, every_s: float) -> Array:
    """List the times at which outputs are due: after each interval, and at the end.

    Parameters
    ----------
    from_s, until_s, every_s
        Span and interval [s].

    Returns
    -------
    ndarray
        Times, the start among them.

    Raises
    ------
    InputError
        The span is not forward or the interval is not above zero.
    """
    if not (math.isfinite(from_s) and math.isfinite(until_s) and until_s >= from_s):
        message = f"the span from {from_s:g} to {until_s:g} s must go forward; exchange the two."
        raise InputError(message)
    if not every_s > 0.0:
        message = f"outputs each {every_s:g} s: the interval must be above zero."
        raise InputError(message)
    count = int((until_s - from_s) / every_s * (1.0 + 1e-12))
    times = from_s + every_s * np.arange(count + 1)
    if until_s - times[-1] > 1e-6 * every_s:
        times = np.append(times, until_s)
    return np.asarray(np.minimum(times, until_s), dtype=np.float64)


def simulate(
    loop: Loop,
    *,
    start: State | None = None,
    schedule: Schedule = Schedule.EMPTY,
    from_s: float = 0.0,
    until_s: float,
    every_s: float = 3600.0,
    tolerance: float = TOLERANCE,
) -> Solution:
    """Follow a loop through time.

    Parameters
    ----------
    loop
        The loop; not changed.
    start
        State to start from; a ripe loop when left out.
    schedule
        What is done; only events of the span count.
    from_s, until_s, every_s
        Span and interval of the outputs [s].
    tolerance
        Relative tolerance of a step.

    Returns
    -------
    Solution
        Outputs, states, ledgers, and how it ended.

    Raises
    ------
    InputError
        The span or a parameter cannot be.

    Notes
    -----
    A backwash comes when the air charge is full, found on the way and never by a timer; none
    comes while no water flows. Tolerance 3e-3 keeps outputs within 0.1 % of a run at 1e-6, those
    within minutes of a backwash left out.

    References
    ----------
    sommeijer_1998
    """
    times = output_times_s(from_s, until_s, every_s)
    begun = start or start_state(loop, at_s=from_s)
    settings = settings_of(tuple((s,) for s in begun.settings), (schedule,))
    control = begun.control.copy()
    control["setting"] = 0.0
    batch = Batch(
        parameter_table(loop.parameters),
        loop.built,
        loop.tables(settings),
        amounts=begun.amounts[np.newaxis].copy(),
        control=control[np.newaxis].copy(),
    )
    events = event_arrays((schedule,), settings, loop.built, span_s=(from_s, until_s))
    log = batch.march((from_s, until_s, tolerance), events, times=times, keep_states=True)
    control = batch.control[0]
    now = tuple(each[int(row["setting"])] for each, row in zip(settings, control[1:], strict=True))
    last = frozen_state(float(log.reached_s[0]), batch.amounts[0], control, now)
    drains = (events[1][0] == int(Act.DRAIN)) & (events[0][0] <= last.at_s)
    return _solution(
        loop, begun, last, times, log, (events[0][0][drains], log.drained_g[0][drains])
    )


def _solution(
    loop: Loop, begun: State, last: State, times: Array, log: Log, drains: tuple[Array, Array]
) -> Solution:
    kept = times <= last.at_s
    backwashes = log.backwash_s[0]
    arrays = (
        times[kept],
        log.outputs[0][kept],
        log.states[0][kept],
        backwashes[np.isfinite(backwashes)],
        *drains,
    )
    for array in arrays:
        array.setflags(write=False)
    ending = Ending.DONE if log.codes[0] == DONE else Ending.STUCK
    return Solution(
        ending, loop.built.layout, arrays[0], arrays[1], arrays[2], begun, last, *arrays[3:]
    )


def prepare(tell: Callable[[str], None], loop: Loop) -> None:
    """Compile the engine where this was not done yet, and say so before it takes its time.

    Parameters
    ----------
    tell
        Called once with a short text when something has to be compiled.
    loop
        Any loop.
    """
    if not is_prepared():
        tell(PREPARING)
        simulate(loop, until_s=3600.0)
