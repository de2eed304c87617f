"""The loop as an ordinary differential equation, for any other solver."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from tailrace.simulation.assemble import Loop, State, assemble, start_state
from tailrace.simulation.engine import Batch
from tailrace.simulation.events import Ration
from tailrace.simulation.layout import Array
from tailrace.simulation.parameters import Parameters, parameter_table
from tailrace.simulation.stoichiometry import PROTEIN_N
from tailrace.site.records import Site


@dataclass(frozen=True, slots=True, eq=False)
class RightHandSide:
    """The loop as an ordinary differential equation, for any solver.

    Between events the loop is dy/dt = f(t, y). A backwash is due when the state ``air charge``
    reaches 1; a solver that does not look for that follows the loop without one.

    Parameters
    ----------
    names, units
        Name and unit of each state; ledgers last.
    y0
        State at the start.
    parameters
        The parameters.
    function
        f(t, y): rates of change [per s]; compiled inside.
    measure
        Outputs of `outputs.QUANTITIES` at a state.
    """

    names: tuple[str, ...]
    units: tuple[str, ...]
    y0: Array
    parameters: Parameters
    function: Callable[[float, Array], Array]
    measure: Callable[[Array], Array]

    def __call__(self, t: float, y: Array) -> Array:
        """Return f(t, y)."""
        return self.function(t, y)


def right_hand_side(
    site: Site | Loop, *, start: State | None = None, ration: Ration | None = None
) -> RightHandSide:
    """Make the right-hand side of a site's loop.

    Parameters
    ----------
    site
        A site, or a loop made of one.
    start
        State to start from; a ripe loop when left out.
    ration
        Feed spread over the day; none when left out.

    Returns
    -------
    RightHandSide
        State names, units, start, parameters and the function.
    """
    loop = site if isinstance(site, Loop) else assemble(site)
    begun = start or start_state(loop)
    control = begun.control.copy()
    control["setting"] = 0.0
    if ration is not None:
        control["feed_g_s"] = 1000.0 * ration.feed_kg_s
        control["feed_n_frac"] = PROTEIN_N * ration.protein_frac
    batch = Batch(
        parameter_table(loop.parameters),
        loop.built,
        loop.tables(tuple((setting,) for setting in begun.settings)),
        amounts=begun.amounts[np.newaxis].copy(),
        control=control[np.newaxis].copy(),
    )

    def function(t: float, y: Array) -> Array:
        batch.amounts[0] = y
        return np.asarray(batch.rates(float(t))[0], dtype=np.float64)

    def measure(y: Array) -> Array:
        batch.amounts[0] = y
        return np.asarray(batch.measured()[0], dtype=np.float64)

    return RightHandSide(
        names=tuple(state.name for state in loop.built.layout.states),
        units=tuple(state.unit for state in loop.built.layout.states),
        y0=begun.amounts.copy(),
        parameters=loop.parameters,
        function=function,
        measure=measure,
    )
