"""Every finder in one list; open `machine`, `water` and `upkeep` for what each looks at."""

from __future__ import annotations

from tailrace.diagnosis import machine, upkeep, water
from tailrace.diagnosis.finding import Finding, Weight
from tailrace.estimation.today import Picture

__all__ = ["Finding", "Weight", "findings"]


def findings(seen: Picture) -> tuple[Finding, ...]:
    """Find what is out of order, gravest and soonest first.

    Parameters
    ----------
    seen
        Everything known about now.

    Returns
    -------
    tuple of Finding
        In the order of attention.
    """
    found = [f for finder in (machine, water, upkeep) for f in finder.find(seen)]
    return tuple(sorted(found, key=lambda f: (f.weight, f.within_s, f.key)))
