"""Every finder in one list; open `machine`, `water` and `upkeep` for what each looks at."""

from __future__ import annotations

from tailrace.diagnosis import ahead, machine, upkeep, water
from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.bands import Forecast
from tailrace.estimation.today import Picture

__all__ = ["Finding", "Weight", "findings"]


def findings(seen: Picture, forecast: Forecast | None = None) -> tuple[Finding, ...]:
    """Find what is out of order, gravest and soonest first.

    Parameters
    ----------
    seen
        Everything known about now.
    forecast
        The water ahead; None where none was made.

    Returns
    -------
    tuple of Finding
        In the order of attention.
    """
    found = [f for finder in (machine, water, upkeep) for f in finder.find(seen)]
    passed = {f.words.get("subject") for f in found if f.weight is not Weight.UPKEEP}
    found += [f for f in ahead.find(forecast) if f.words["subject"] not in passed]
    return tuple(sorted(found, key=lambda f: (f.weight, f.within_s, f.key)))
