"""Many members of one loop side by side: own parameters, own states, own slow noise."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tailrace.errors import InputError
from tailrace.simulation import layout as lay
from tailrace.simulation.assemble import Loop, State, start_state
from tailrace.simulation.engine import Batch
from tailrace.simulation.events import Schedule, Settings, event_arrays, settings_of
from tailrace.simulation.layout import SPECIES_CONTENT, Array
from tailrace.simulation.march import DONE
from tailrace.simulation.outputs import COLUMN
from tailrace.simulation.parameters import check_table, parameter_table
from tailrace.simulation.run import TOLERANCE, output_times_s
from tailrace.simulation.solution import balance_error
from tailrace.water.carbonate import dic_from_alkalinity_and_ph_mol_m3

# What a redraw may set, with the state behind it; pH moves inorganic carbon.
_STATE_OF: Final = {
    "total_ammonia": lay.TAN,
    "nitrite": lay.NO2,
    "nitrate": lay.NO3,
    "oxygen": lay.OXY,
    "alkalinity": lay.ALK,
    "dic": lay.DIC,
    "dissolved_organics": lay.ORG,
    "coarse_solids": lay.COARSE,
    "fine_solids": lay.FINE,
    "phosphate": lay.PHOS,
    "potassium": lay.POT,
    "calcium": lay.CAL,
    "magnesium": lay.MAG,
    "iron": lay.IRON,
    "sodium": lay.SOD,
    "sulphate": lay.SULF,
    "chloride": lay.CHLO,
}


class Noise(Enum):
    """Slow multipliers of each member, which may change between advances."""

    AOB = "aob_factor"
    NOB = "nob_factor"
    LOAD = "load_factor"
    STRIPPING = "stripping_factor"
    DRIFT = "alkalinity_drift_eq_m3_s"


@dataclass(frozen=True, slots=True, eq=False)
class Advance:
    """What an ensemble did in one advance.

    Parameters
    ----------
    times_s
        Times of the outputs, the start among them.
    outputs
        Members x times x `outputs.QUANTITIES`; not a number after a member that got stuck.
    stuck
        Members that got stuck.
    """

    times_s: Array
    outputs: Array
    stuck: NDArray[np.int64]

    def __getitem__(self, quantity: str) -> Array:
        """Return one output of every member over time.

        Parameters
        ----------
        quantity
            Key of `outputs.QUANTITIES`.

        Returns
        -------
        ndarray
            Members x times.
        """
        return np.asarray(self.outputs[:, :, COLUMN[quantity]])


class Ensemble:
    """Members of one loop, each with its own parameters and state.

    Parameters
    ----------
    loop
        The loop.
    members
        Number of members.
    parameters
        As from `parameters.parameter_table`, a row for each member; the loop's own when left
        out. A column can be written to through `parameters` between advances.
    start
        State that all start from; a ripe loop when left out.
    at_s
        Time of that state.

    Raises
    ------
    InputError
        The table has not one row for each member, or a parameter cannot be.

    Notes
    -----
    Members share nothing that one of them changes, so a result depends on a member's own
    numbers alone, never on the number of threads. Draw each member's numbers from a stream of
    its own, as `member_streams` makes them.
    """

    def __init__(
        self,
        loop: Loop,
        members: int,
        *,
        parameters: NDArray[Any] | None = None,
        start: State | None = None,
        at_s: float = 0.0,
    ) -> None:
        table = parameter_table(loop.parameters, members) if parameters is None else parameters
        if table.shape != (members,):
            message = f"the table has {table.shape} rows for {members} members; give one for each."
            raise InputError(message)
        check_table(table)
        begun = start or start_state(loop, at_s=at_s)
        self.loop, self.at_s = loop, begun.at_s
        self._settings: Settings = tuple((setting,) for setting in begun.settings)
        control = np.tile(begun.control, (members, 1))
        control["setting"] = 0.0
        self._batch = Batch(
            table.copy(),
            loop.built,
            loop.tables(self._settings),
            amounts=np.tile(begun.amounts, (members, 1)),
            control=control,
        )
        self._first = self._batch.amounts.copy()

    def __len__(self) -> int:
        return len(self.parameters)

    @property
    def parameters(self) -> NDArray[Any]:
        """Parameters, a row for each member; its columns may be written to."""
        table: NDArray[Any] = self._batch.parameters
        return table

    @property
    def states(self) -> Array:
        """Amounts, members x states of the layout; may be written to, best by `set_quantity`."""
        return self._batch.amounts

    @property
    def control(self) -> NDArray[Any]:
        """What is set and switched, records of each member: the loop, then each filter."""
        records: NDArray[Any] = self._batch.control
        return records

    def set_noise(self, noise: Noise, values: Array) -> None:
        """Set a slow multiplier of every member.

        Parameters
        ----------
        noise
            Which one.
        values
            One for each member.

        Raises
        ------
        InputError
            A multiplier is not a finite number, or below zero where it cannot be.
        """
        self.parameters[noise.value] = values
        check_table(self.parameters)

    def measured(self, quantity: str) -> Array:
        """One output of every member now.

        Parameters
        ----------
        quantity
            Key of `outputs.QUANTITIES`.

        Returns
        -------
        ndarray
            One value for each member.
        """
        return np.asarray(self._batch.measured()[:, COLUMN[quantity]])

    def set_quantity(self, quantity: str, values: Array) -> None:
        """Put a quantity of every member to a value and book the difference in the redraw ledger.

        Parameters
        ----------
        quantity
            A concentration of `outputs.QUANTITIES`, or ``ph``.
        values
            One for each member, in the unit of the quantity.

        Raises
        ------
        InputError
            The quantity cannot be set, or a value is not finite or below zero where it cannot.

        Notes
        -----
        Each place is moved by the same ratio where there is something, else to the same value.
        pH is set through inorganic carbon, alkalinity kept.
        """
        if quantity == "ph":
            self._set_ph(np.asarray(values, dtype=np.float64))
            return
        if quantity not in _STATE_OF:
            message = f"{quantity} cannot be set; set one of {', '.join(_STATE_OF)} or ph."
            raise InputError(message)
        wanted = np.broadcast_to(np.asarray(values, dtype=np.float64), (len(self),))
        low = -np.inf if quantity == "alkalinity" else 0.0
        if not (np.isfinite(wanted).all() and (wanted >= low).all()):
            message = f"{quantity}: every value must be a finite number, zero or more."
            raise InputError(message)
        self._move(_STATE_OF[quantity], wanted)

    def _volumes(self) -> Array:
        return np.maximum(self.states[:, self.loop.built.layout.places_of(lay.VOLUME)], 0.0)

    def _move(self, offset: int, wanted: Array) -> None:
        volumes = self._volumes()
        columns = self.loop.built.layout.places_of(offset)
        held = self.states[:, columns]
        mean = held.sum(axis=1) / volumes.sum(axis=1)
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(mean > 0.0, wanted / mean, 0.0)[:, np.newaxis]
        scalable = ((mean > 1e-9) & (held >= 0.0).all(axis=1) & (wanted >= 0.0))[:, np.newaxis]
        moved = np.where(scalable, held * ratio, wanted[:, np.newaxis] * volumes)
        gained = (moved - held).sum(axis=1)
        self.states[:, columns] = moved
        first = self.loop.built.layout.moving + lay.REDRAW
        ledger = slice(first, first + lay.ELEMENT_COUNT)
        self.states[:, ledger] -= gained[:, np.newaxis] * SPECIES_CONTENT[offset]

    def _set_ph(self, values: Array) -> None:
        wanted = np.broadcast_to(values, (len(self),))
        if not (np.isfinite(wanted).all() and (wanted >= 3.0).all() and (wanted <= 11.0).all()):
            message = "ph: every value must lie between 3 and 11."
            raise InputError(message)
        rows = zip(
            self.measured("alkalinity"),
            wanted,
            self.measured("total_ammonia"),
            self.states[:, lay.TEMPERATURE],
            self.parameters["ionic_strength_mol_m3"],
            self.measured("phosphate"),
            strict=True,
        )
        carbon = dic_from_alkalinity_and_ph_mol_m3.unchecked()
        dic = np.array([carbon(*(float(value) for value in row)) for row in rows])
        # A pH that no carbon gives at this alkalinity leaves the least that keeps numbers sound.
        self._move(lay.DIC, np.fmax(dic, 1e-6))

    def advance(
        self,
        until_s: float,
        schedule: Schedule | Sequence[Schedule] = Schedule.EMPTY,
        *,
        every_s: float = 3600.0,
        tolerance: float = TOLERANCE,
    ) -> Advance:
        """Take every member on to a time.

        Parameters
        ----------
        until_s
            Time.
        schedule
            One for all members, or one for each; only events of the span count.
        every_s
            Interval of the outputs.
        tolerance
            Relative tolerance of a step.

        Returns
        -------
        Advance
            Outputs, and who got stuck.

        Raises
        ------
        InputError
            The time lies before the present one, or there is not one schedule for each member.
        """
        schedules = (schedule,) if isinstance(schedule, Schedule) else tuple(schedule)
        if len(schedules) not in {1, len(self)}:
            message = f"{len(schedules)} schedules for {len(self)} members; give one or one each."
            raise InputError(message)
        times = output_times_s(self.at_s, until_s, every_s)
        self._take_settings(schedules)
        self._batch.refresh()
        events = event_arrays(
            schedules, self._settings, self.loop.built, span_s=(self.at_s, until_s)
        )
        log = self._batch.march((self.at_s, until_s, tolerance), events, times=times)
        self.at_s = until_s
        return Advance(times, log.outputs, np.flatnonzero(log.codes != DONE))

    def _take_settings(self, schedules: tuple[Schedule, ...]) -> None:
        """Tabulate settings not met before; those known keep their place."""
        each = settings_of(self._settings, schedules)
        if each != self._settings:
            self._settings = each
            self._batch.set_tables(self.loop.tables(each))

    def balance_error(self) -> dict[str, float]:
        """Largest error of each balance over the members, since the start."""
        each = [
            balance_error(self.loop.built.layout, a, b)
            for a, b in zip(self._first, self.states, strict=True)
        ]
        return {name: max(found[name] for found in each) for name in each[0]}


def member_streams(seed: int, members: int) -> list[np.random.Generator]:
    """Make a random stream for each member, the same for any number of members.

    Parameters
    ----------
    seed
        Seed of the ensemble.
    members
        Number of members.

    Returns
    -------
    list of numpy.random.Generator
        Streams derived from (seed, member).
    """
    return [np.random.default_rng([seed, member]) for member in range(members)]
