"""What a loop is made of, as the arrays that the kernels read."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import Final

import numpy as np

from tailrace.beadfilter.sludge import drained_frac
from tailrace.errors import InputError
from tailrace.simulation import layout as lay
from tailrace.simulation.circuits import Circuits
from tailrace.simulation.fittings import GEOMETRY, GRAVITY, PART, Record, one
from tailrace.simulation.jumps import DRAINED_MOST, DRAINED_POINTS
from tailrace.simulation.layout import Array, Layout
from tailrace.simulation.stoichiometry import COEFFICIENTS, Process

Row = dict[str, float]
_SHARES_OFF: Final = 1e-6


@dataclass(frozen=True, slots=True)
class Plan:
    """Places, filters, surfaces and pipes, each as a row of `fittings.PART`.

    Parameters
    ----------
    places, filters, surfaces
        Name to row, in order.
    pipes
        Rows.
    level
        Number of the place from which the pumps draw, whose level takes up what comes and goes.
    """

    places: dict[str, Row]
    filters: dict[str, Row]
    surfaces: dict[str, Row]
    pipes: tuple[Row, ...]
    level: int


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """A loop as built, read-only.

    Parameters
    ----------
    layout
        Its states.
    geometry
        One record of kind `fittings.GEOMETRY`.
    parts
        Records of kind `fittings.PART`.
    """

    layout: Layout
    geometry: Record
    parts: Record = field(repr=False)

    def place(self, name: str) -> int:
        """Return the number of a place.

        Raises
        ------
        InputError
            There is no such place.
        """
        if name not in self.layout.places:
            message = f"there is no place '{name}'; there are {', '.join(self.layout.places)}."
            raise InputError(message)
        return self.layout.places.index(name)

    def with_tables(self, tables: tuple[Circuits, ...]) -> tuple[Record, Record, Array]:
        """Lay the tables of the filters one after the other and note where each stands.

        Parameters
        ----------
        tables
            One for each filter.

        Returns
        -------
        tuple
            Geometry, parts and all tables.
        """
        geometry, parts = self.geometry.copy(), self.parts.copy()
        at = 0
        for number, table in enumerate(tables):
            parts["table_at"][len(self.layout.places) + number] = at
            at += table.numbers.size
        geometry["drained_at"] = at
        return geometry, parts, np.concatenate([*(t.numbers for t in tables), drained_table()])


@cache
def drained_table() -> Array:
    """Share of the sludge's dry mass that is out, over the volume drawn.

    Returns
    -------
    ndarray
        Young sludge, then old sludge whose core drains first; evenly spaced up to
        `jumps.DRAINED_MOST` sludge volumes.
    """
    drawn = np.linspace(0.0, DRAINED_MOST, DRAINED_POINTS)
    return np.array([drained_frac(v, 1.0, shape=s) for s in (6.0, 2.0) for v in drawn])


def build(plan: Plan, *, barometric_pa_abs: float, open_water_m2: float) -> Built:
    """Make the arrays of a plan.

    Parameters
    ----------
    plan
        Places, filters, surfaces, pipes.
    barometric_pa_abs
        Air pressure.
    open_water_m2
        Surface over which heat is exchanged with the air.

    Returns
    -------
    Built
        The arrays.

    Raises
    ------
    InputError
        Water would run in a circle without a pump, or has nowhere to go.
    """
    fish = tuple(name for name, row in plan.places.items() if row.get("holds_fish"))
    layout = Layout(tuple(plan.places), tuple(plan.filters), tuple(plan.surfaces), fish)
    rows = [*plan.places.values(), *plan.filters.values(), *plan.surfaces.values(), *plan.pipes]
    parts = np.zeros(len(rows), dtype=PART)
    for number, row in enumerate(rows):
        for name, value in row.items():
            parts[name][number] = value
    parts["next"][: len(plan.places)] = _fall(plan)
    geometry = one(GEOMETRY, **_positions(layout, len(plan.pipes)))
    geometry["level"] = plan.level
    geometry["barometric_pa_abs"], geometry["open_water_m2"] = barometric_pa_abs, open_water_m2
    geometry["water_m3"] = sum(row["usual_m3"] for row in plan.places.values())
    for array in (parts, geometry):
        array.setflags(write=False)
    return Built(layout, geometry, parts)


def _positions(layout: Layout, pipes: int) -> Row:
    places, filters = len(layout.places), len(layout.filters)
    acid = COEFFICIENTS + lay.WATER * places
    flow = acid + 3 * places
    rate = flow + 2 * filters
    mean = rate + len(Process)
    return {
        "places": places,
        "filters": filters,
        "surfaces": len(layout.surfaces),
        "fish": len(layout.fish),
        "pipes": pipes,
        "filters_at": layout.filters_at,
        "surfaces_at": layout.surfaces_at,
        "fish_at": layout.fish_at,
        "moving": layout.moving,
        "size": layout.size,
        "acid_at": acid,
        "flow_at": flow,
        "rate_at": rate,
        "mean_at": mean,
        "stride": mean + lay.WATER,
    }


def _fall(plan: Plan) -> list[int]:
    """Places from the highest down, so that each comes after all that run into it."""
    names, left = list(plan.places), set(range(len(plan.places)))
    runs = [p for p in plan.pipes if p["kind"] == GRAVITY]
    for place in sorted(left - {plan.level}):
        shares = sum(p["share_frac"] for p in runs if p["from_place"] == place)
        if abs(shares - 1.0) > _SHARES_OFF:
            message = (
                f"of the water that leaves '{names[place]}' by gravity {shares:.3g} has a pipe; "
                "the shares of its pipes must add up to 1."
            )
            raise InputError(message)
    order: list[int] = []
    while left:
        free = [i for i in sorted(left) if not any(
            p["to_place"] == i and p["from_place"] in left for p in runs
        )]  # fmt: skip
        if not free:
            circle = ", ".join(names[i] for i in sorted(left))
            message = (
                f"water would run in a circle through {circle} without a pump; "
                "let one of these pipes be pumped, or end at the sump."
            )
            raise InputError(message)
        order += free
        left -= set(free)
    return order
