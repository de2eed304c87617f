"""Where Python hands members to the kernels: contexts, batches, threads."""

from __future__ import annotations

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tailrace.simulation import layout as lay
from tailrace.simulation.addresses import NOWHERE, addresses, compile_elsewhere
from tailrace.simulation.apart import derive_at, outputs_into, rates_into
from tailrace.simulation.built import Built
from tailrace.simulation.circuits import Circuits
from tailrace.simulation.compiled import entry_kernel, inlined_kernel, is_prepared, mark_prepared
from tailrace.simulation.events import NUMBERS
from tailrace.simulation.fittings import DERIVED, Record
from tailrace.simulation.layout import Array
from tailrace.simulation.march import WORK_ROWS, march
from tailrace.simulation.outputs import NAMES
from tailrace.simulation.stoichiometry import COEFFICIENTS, coefficients

_SHORTEST_INTERVAL_S = 120.0
MARCH, RATES, OUTPUTS = 0, 1, 2


@inlined_kernel
def context_of(member: int, records: Any, tables: Any) -> Any:
    """Gather one member's context.

    Parameters
    ----------
    member
        Its row.
    records
        Parameters, geometry, control and derived records, parts.
    tables
        Own numbers of the members (process matrix, then scratch), and tables of the filters.

    Returns
    -------
    tuple
        Context as `processes.derivative` reads it: parameters, geometry, derived, control,
        parts, own numbers, tables, addresses.
    """
    params, geometry, control, derived, parts = records
    return (
        params[member],
        geometry[0],
        derived[member],
        control[member],
        parts,
        tables[0][member],
        tables[1],
        tables[2],
    )


@entry_kernel
def _run(
    task: int,
    members: tuple[int, int],
    span: tuple[float, float, float],
    y: Array,
    records: Any,
    tables: Any,
    traffic: Any,
) -> None:
    """Do a task for some members; one entry for all tasks, so that one compilation serves all."""
    events, times, outputs, states, scale, notes = traffic
    for j in range(members[0], members[1]):
        c = context_of(j, records, tables)
        derive_at(y[j, lay.TEMPERATURE], c)
        if task == RATES:
            rates_into(span[0], y[j], states[j, 0], c)
        elif task == OUTPUTS:
            outputs_into(y[j], c, outputs[j, 0])
        else:
            row = j if events[0].shape[0] > 1 else 0
            happening = (events[0][row], events[1][row], events[2][row])
            work = np.zeros((WORK_ROWS, scale.size))
            for i in range(scale.size):
                work[7, i] = scale[i]
            sink = (times, outputs[j], states[j])
            reached, code = march(span, y[j], c, work, happening, sink, (notes[0][j], notes[1][j]))
            notes[2][j] = reached
            notes[3][j] = code


Events = tuple[Array, NDArray[np.int64], Array]


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """What a march wrote down.

    Parameters
    ----------
    outputs
        Members x times x outputs.
    states
        Members x times x states, or no times when they were not asked for.
    backwash_s
        Members x backwashes, not a number where there were fewer.
    drained_g
        Members x events, dry mass drained.
    reached_s, codes
        Time reached, and `march.DONE` or `march.STUCK`, of each member.
    """

    outputs: Array
    states: Array
    backwash_s: Array
    drained_g: Array
    reached_s: Array
    codes: Array


class Batch:
    """Members side by side, with their own parameters, states and controls.

    Parameters
    ----------
    parameters
        As from `parameters.parameter_table`.
    built
        What the loop is made of.
    tables
        The filters'.
    amounts, control
        States, and control records (a row of them for each member); changed by `march`.
    """

    def __init__(
        self,
        parameters: NDArray[Any],
        built: Built,
        tables: tuple[Circuits, ...],
        *,
        amounts: Array,
        control: Record,
    ) -> None:
        self.amounts, self.control, self.parameters = amounts, control, parameters
        self._built = built
        scale = np.zeros(built.layout.size + lay.WATER * len(built.layout.filters))
        scale[: built.layout.size] = built.layout.scale
        self._scale = scale
        self.set_tables(tables)
        self.refresh()

    def refresh(self) -> None:
        """Take up changed parameters."""
        size = len(self.parameters)
        self._derived = np.zeros(size, dtype=DERIVED)
        self._own = np.zeros((size, int(self._built.geometry["stride"][0])))
        self._own[:, :COEFFICIENTS] = coefficients(self.parameters)

    def set_tables(self, tables: tuple[Circuits, ...]) -> None:
        """Take other tables, for further settings."""
        self._geometry, self._parts, self._tables = self._built.with_tables(tables)

    def _call(self, task: int, span: tuple[float, float, float], traffic: Any) -> None:
        records = (self.parameters, self._geometry, self.control, self._derived, self._parts)

        def some(where: tuple[int, ...], first: int, last: int) -> None:
            tables = (self._own, self._tables, where)
            _run(task, (first, last), span, self.amounts, records, tables, traffic)

        if not is_prepared():
            elsewhere = compile_elsewhere()
            some(NOWHERE, 0, 0)  # no member, so it only compiles the entry
            if elsewhere is not None:
                elsewhere.wait()
        _share_out(partial(some, addresses()), len(self.parameters))
        mark_prepared()

    def march(
        self,
        span: tuple[float, float, float],
        events: Events,
        *,
        times: Array,
        keep_states: bool = False,
    ) -> Log:
        """Take all members from one time to another.

        Parameters
        ----------
        span
            From, until [s] and the relative tolerance.
        events
            Rows of times, kinds and numbers: one row for all members, or one for each.
        times
            Times at which outputs are due.
        keep_states
            Keep the states at these times as well.

        Returns
        -------
        Log
            What was written down.
        """
        size, due = len(self.parameters), times.size
        backwashes = int((span[1] - span[0]) / _SHORTEST_INTERVAL_S) + 2
        backwashes *= max(1, len(self._built.layout.filters))
        log = Log(
            outputs=np.full((size, due, len(NAMES)), np.nan),
            states=np.full((size, due if keep_states else 0, self._built.layout.size), np.nan),
            backwash_s=np.full((size, backwashes), np.nan),
            drained_g=np.zeros((size, events[0].shape[1])),
            reached_s=np.zeros(size),
            codes=np.zeros(size),
        )
        notes = (log.backwash_s, log.drained_g, log.reached_s, log.codes)
        self._call(MARCH, span, (events, times, log.outputs, log.states, self._scale, notes))
        return log

    def rates(self, t: float) -> Array:
        """Return rates of change of all members [per s]."""
        return self._look(RATES, t)[1][:, : self._built.layout.size]

    def measured(self) -> Array:
        """Return outputs of all members at their present states."""
        return self._look(OUTPUTS, 0.0)[0]

    def _look(self, task: int, t: float) -> tuple[Array, Array]:
        size = len(self.parameters)
        events = (np.zeros((1, 0)), np.zeros((1, 0), dtype=np.int64), np.zeros((1, 0, NUMBERS)))
        outputs, states = np.zeros((size, 1, len(NAMES))), np.zeros((size, 1, self._scale.size))
        rows, column = np.zeros((size, 1)), np.zeros(size)
        traffic = (
            events,
            np.zeros(0),
            outputs,
            states,
            self._scale,
            (rows, rows.copy(), column, column.copy()),
        )
        self._call(task, (t, t, 1.0), traffic)
        return outputs[:, 0], states[:, 0]


def _share_out(work: Callable[[int, int], None], size: int) -> None:
    """Split members among threads; each does its own, so the result is the same for any number."""
    threads = min(os.cpu_count() or 1, size)
    if threads <= 1:
        work(0, size)
        return
    chunks = min(size, 8 * threads)
    bounds = np.linspace(0, size, chunks + 1).astype(int)
    work(int(bounds[0]), int(bounds[1]))  # compiles, where it has to be done, in one thread
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(work, bounds[1:-1].tolist(), bounds[2:].tolist()))
