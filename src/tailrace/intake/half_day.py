"""A slip between am and pm, suspected where a row breaks the order of the rows around it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

HALF_DAY = timedelta(hours=12)


@dataclass(slots=True)
class Order:
    """The moments of the last rows, and which way the rows run.

    Parameters
    ----------
    before, last
        Moments of the row before the last one, and of the last one.
    rising, falling
        How many rows came later, and earlier, than the one before.
    """

    before: datetime | None = None
    last: datetime | None = None
    rising: int = 0
    falling: int = 0

    def add(self, moment: datetime) -> timedelta | None:
        """Add the moment of a row.

        Parameters
        ----------
        moment
            When it was taken.

        Returns
        -------
        timedelta or None
            Half a day forth or back, if the row *before this one* breaks the order and would
            keep it so; else None.
        """
        shift = None
        if self.before is not None and self.last is not None:
            shift = self._shift(self.before, self.last, moment)
        if self.last is not None and moment != self.last and shift is None:
            if moment > self.last:
                self.rising += 1
            else:
                self.falling += 1
        self.before = self.last + shift if shift and self.last else self.last
        self.last = moment
        return shift

    def _shift(self, before: datetime, middle: datetime, after: datetime) -> timedelta | None:
        rises = self.rising > self.falling
        first, second = (before, after) if rises else (after, before)
        if self.rising == self.falling or first > second or first <= middle <= second:
            return None
        for shift in (HALF_DAY, -HALF_DAY):
            if first <= middle + shift <= second:
                return shift
        return None
