"""How one person sees a site: units of a family, local times, a bypass by its handle."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from tailrace.quantities import Amount, displays, subjects
from tailrace.site import Site, UnitFamily
from tailrace.units.registry import to_unit
from tailrace.units.show import number3, show

_HANDLE_DEG = 90.0
_NOTHING = 1e-9


@dataclass(frozen=True, slots=True)
class Figure:
    """An amount as one person sees it; formats as words.

    Parameters
    ----------
    low, middle, high
        Numbers in the unit, rounded to three significant digits; low and high None if certain.
    unit
        Unit shown; empty for a bare number.
    """

    low: float | None
    middle: float
    high: float | None
    unit: str

    def as_object(self) -> dict[str, float | str]:
        """Return it as the JSON object of an answer."""
        if self.low is None or self.high is None:
            return {"value": self.middle, "unit": self.unit}
        return {"p05": self.low, "p50": self.middle, "p95": self.high, "unit": self.unit}

    def __format__(self, spec: str) -> str:
        """Write it: the whole, ``mid`` for the middle alone, ``span`` for the range alone."""
        low, high = self.low, self.high
        certain = low is None or high is None or low == high
        if spec == "mid" or certain:
            return show(self.middle, "", self.unit) if not self.unit else self._one(self.middle)
        assert low is not None
        assert high is not None
        if math.isinf(high):
            return f"at least {self._one(low)}"
        if spec == "span":
            return self._range(low, high)
        return f"{self._one(self.middle)} ({self._range(low, high, bare=True)})"

    def _one(self, number: float) -> str:
        return f"{show(number, '', '')} {self.unit}".strip()

    def _range(self, low: float, high: float, *, bare: bool = False) -> str:
        text = f"{show(low, '', '')} to {show(high, '', '')}"
        return text if bare else f"{text} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class View:
    """How one person sees a site.

    Parameters
    ----------
    site
        The site.
    family
        Units shown.
    """

    site: Site
    family: UnitFamily

    @property
    def zone(self) -> ZoneInfo:
        """Time zone of the site."""
        return ZoneInfo(self.site.zone)

    def figure(self, amount: Amount) -> Figure:
        """Return an amount in this person's unit."""
        if amount.kind == "bypass_set":
            return self._handle(amount)
        suffix, unit = self._unit_of(amount.kind)
        numbers = [
            None if value is None else _shown(to_unit(value, suffix, unit) if suffix else value)
            for value in (amount.p05, amount.p50, amount.p95)
        ]
        low, middle, high = numbers
        assert middle is not None
        return _to_what_is_known(_by_size(Figure(low, middle, high, unit)))

    def _unit_of(self, kind: str) -> tuple[str, str]:
        us = self.family is UnitFamily.US
        found = displays().get(kind) or subjects()[kind]
        return found.suffix, found.us_unit if us else found.metric_unit

    def _handle(self, amount: Amount) -> Figure:
        """Show a bypass as the angle of its handle, or as turns from shut."""
        turns = self.site.filter.bypass_turns
        travel, unit = (turns, "turns open") if turns else (_HANDLE_DEG, "degrees open")
        numbers = [
            None if value is None else number3(value * travel)
            for value in (amount.p05, amount.p50, amount.p95)
        ]
        low, middle, high = numbers
        assert middle is not None
        singular = turns and middle == 1.0 and low is None
        return Figure(low, middle, high, "turn open" if singular else unit)

    def clock(self, moment: datetime, at: datetime) -> str:
        """Write a moment as seen from another: ``today 07:30``, ``Thu 15 Oct 07:30``."""
        local, here = moment.astimezone(self.zone), at.astimezone(self.zone)
        time = f"{local:%H:%M}"
        if local.date() == here.date():
            return f"today {time}"
        if local.date() == here.date() + timedelta(days=1):
            return f"tomorrow {time}"
        if local.date() == here.date() - timedelta(days=1):
            return f"yesterday {time}"
        return f"{local:%a} {local.day} {local:%b} {time}"

    def iso(self, moment: datetime) -> str:
        """Write a moment with its offset, to the minute."""
        return moment.astimezone(self.zone).isoformat(timespec="minutes")


def _shown(value: float) -> float:
    """Round to what is shown; what is nothing but rounding error is nothing."""
    return 0.0 if abs(value) < _NOTHING else number3(value)


def _to_what_is_known(figure: Figure) -> Figure:
    """Drop digits that the range makes idle: a step of a tenth to a hundredth of its width."""
    low, high = figure.low, figure.high
    if low is None or high is None or not 0.0 < high - low < math.inf:
        return figure
    places = -math.floor(math.log10((high - low) / 10.0))

    def kept(value: float) -> float:
        # what is small beside the range keeps one digit: it is not nothing
        return round(value, places) or float(f"{value:.1g}")

    return Figure(kept(low), kept(figure.middle), kept(high), figure.unit)


def _by_size(figure: Figure) -> Figure:
    """Show hours below two as minutes, and above three days as days."""
    if figure.unit != "h":
        return figure
    factor, unit = (60.0, "min") if figure.middle < 2.0 else (1.0, "h")
    if figure.middle > 72.0:
        factor, unit = 1.0 / 24.0, "days"
    scaled: list[Any] = [
        None if value is None else number3(value * factor)
        for value in (figure.low, figure.middle, figure.high)
    ]
    return Figure(scaled[0], scaled[1], scaled[2], unit)
