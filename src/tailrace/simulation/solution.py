"""What a simulation gives back: outputs, states, ledgers, balances, and how it ended in words."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from tailrace.simulation.assemble import State
from tailrace.simulation.layout import ELEMENTS, Array, Layout
from tailrace.simulation.outputs import COLUMN


class Ending(Enum):
    """How a simulation ended."""

    DONE = "done"
    STUCK = "stuck"

    @property
    def text(self) -> str:
        """What it means and what to try."""
        if self is Ending.DONE:
            return "The loop was followed to the end."
        return (
            "The steps became too small to go on. Look for a sump far smaller than the flow "
            "through it, or for a parameter far outside its range."
        )


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """One loop followed through time.

    Parameters
    ----------
    ending
        How it ended; its text says what to try.
    layout
        Its states.
    times_s
        Times of the outputs; an output at the time of an event is the state before it.
    outputs
        Times x `outputs.QUANTITIES`.
    states
        Times x states of the layout, amounts.
    first, last
        State at the start and at the end.
    backwash_s
        Times of the backwashes.
    drain_s, drained_g
        Times of the drains and the dry sludge each took out.
    """

    ending: Ending
    layout: Layout
    times_s: Array
    outputs: Array
    states: Array
    first: State
    last: State
    backwash_s: Array
    drain_s: Array
    drained_g: Array

    @property
    def ended(self) -> str:
        """How it ended, in words."""
        return self.ending.text

    def __getitem__(self, quantity: str) -> Array:
        """Return one output over time.

        Parameters
        ----------
        quantity
            Key of `outputs.QUANTITIES`.

        Returns
        -------
        ndarray
            One value for each time.
        """
        return np.asarray(self.outputs[:, COLUMN[quantity]])

    @property
    def ledgers(self) -> dict[str, float]:
        """What left the loop from start to end; below zero what came in."""
        moved = self.last.amounts - self.first.amounts
        states = self.layout.states
        return {state.name: float(moved[i]) for i, state in enumerate(states) if state.ledger}

    def amount(self, state: str) -> Array:
        """Return one amount over time.

        Parameters
        ----------
        state
            Name of a state of the layout, such as ``sump: nitrate``.

        Returns
        -------
        ndarray
            One value for each time.
        """
        return np.asarray(self.states[:, self.layout.index[state]])

    def concentration(self, place: str, species: str) -> Array:
        """Return a concentration in one place over time.

        Parameters
        ----------
        place, species
            Names of the layout, such as ``sump`` and ``nitrate``.

        Returns
        -------
        ndarray
            Amount over water; not a number while the place is empty.
        """
        water = self.amount(f"{place}: water")
        wet = np.where(water > 0.0, water, np.nan)
        return np.asarray(self.amount(f"{place}: {species}") / wet)

    @property
    def balance_error(self) -> dict[str, float]:
        """Error of each element's balance, and of the water's, over its largest term."""
        return balance_error(self.layout, self.first.amounts, self.last.amounts)


def balance_error(layout: Layout, first: Array, last: Array) -> dict[str, float]:
    """Error of the balances between two states, over the largest term.

    Parameters
    ----------
    layout
        States of the loop.
    first, last
        Amounts at the start and at the end, ledgers among them.

    Returns
    -------
    dict
        Element, or ``water``, to error [-]; the largest term is the larger of what stands in
        one state at either time and what one ledger gained.
    """
    found: dict[str, float] = {}
    for column, element in enumerate(ELEMENTS):
        found[element] = _error(first, last, layout.content[:, column], layout.inside)
    volume = np.zeros(layout.size)
    for name, place in layout.index.items():
        if name.endswith(": water"):
            volume[place] = 1.0
    found["water"] = _error(first, last, volume, layout.inside)
    return found


def _error(first: Array, last: Array, content: Array, inside: NDArray[np.bool_]) -> float:
    terms = (last - first) * content
    largest = max(
        float(np.max(np.abs(terms))),
        float(np.max(np.abs(np.where(inside, first * content, 0.0)))),
        float(np.max(np.abs(np.where(inside, last * content, 0.0)))),
    )
    return abs(float(np.sum(terms))) / largest if largest > 0.0 else 0.0
