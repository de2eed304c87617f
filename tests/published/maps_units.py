"""Rows that convert one plain unit to another; bases are in ``maps_reported``."""

from __future__ import annotations

from tailrace.errors import UnitError
from tailrace.quantities import suffixes
from tailrace.units import from_unit, to_unit
from tests.published.maps_reported import is_basis
from tests.published.registry import Inputs, maps

_SPELLED = {"US gal": "gal"}


def _convert(value: float, start: str, end: str) -> float | None:
    start, end = _SPELLED.get(start, start), _SPELLED.get(end, end)
    for suffix in sorted(suffixes(), key=lambda text: text != "_degc"):  # before a difference
        try:
            return to_unit(from_unit(value, start, suffix), suffix, end)
        except UnitError:  # not units of this ending; another may take them
            continue
    return None


def _known(inputs: Inputs) -> bool:
    return (
        not is_basis(inputs) and _convert(1.0, inputs["from"].text, inputs["to"].text) is not None
    )


@maps("unit conversion", gives="as the row", needs="value from to", accepts=_known)
def _converted(inputs: Inputs) -> float:
    found = _convert(inputs["value"].to("-"), inputs["from"].text, inputs["to"].text)
    assert found is not None
    return found
