"""Values and bounds of a site file in words and in the units of its keeper."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from tailrace.sitefile.schema import Key, Kind
from tailrace.units import from_unit, show_range


def nearest(word: str, allowed: Iterable[str]) -> str:
    """Return the word allowed that is nearest to one written.

    Parameters
    ----------
    word
        What was written.
    allowed
        Words allowed.

    Returns
    -------
    str
        The nearest; empty when none is near.

    Examples
    --------
    >>> nearest("volum", ["volume", "name"])
    'volume'
    """
    found = difflib.get_close_matches(word, list(allowed), n=1, cutoff=0.6)
    return found[0] if found else ""


def near(word: str, allowed: Iterable[str]) -> str:
    """Return a question that names the nearest word allowed; empty when none is near.

    Parameters
    ----------
    word
        What was written.
    allowed
        Words allowed.

    Returns
    -------
    str
        The question with a blank before it.

    Examples
    --------
    >>> near("volum", ["volume", "name"])
    ' Was volume meant?'
    """
    found = nearest(word, allowed)
    return f" Was {found} meant?" if found else ""


def kept_bounds(key: Key, bounds: tuple[float, float]) -> tuple[float, float]:
    """Return bounds of a key, hard or soft, in the unit in which its value is kept.

    Parameters
    ----------
    key
        Key.
    bounds
        Its `hard` or `soft`.

    Returns
    -------
    tuple
        Lowest and highest value.

    Examples
    --------
    >>> from tailrace.sitefile.schema import tables
    >>> kept_bounds(tables()["tanks"]["volume"], (50.0, 50000.0))
    (0.05, 50.0)
    """
    if not key.suffix:
        return bounds
    low, high = (
        end if math.isinf(end) else from_unit(end, key.unit_metric, key.suffix) for end in bounds
    )
    return low, high


def bounds_text(key: Key, bounds: tuple[float, float], family: str) -> str:
    """Return bounds in words.

    Parameters
    ----------
    key
        Key.
    bounds
        Lowest and highest value as kept.
    family
        ``us`` or ``metric``.

    Returns
    -------
    str
        Such as ``50 to 50000 L``.
    """
    unit = _unit(key, family)
    return show_range(bounds[0], bounds[1], key.suffix, unit)


def shown(key: Key, value: Any, family: str) -> str:
    """Return a value as it is told back to a person.

    Parameters
    ----------
    key
        Key.
    value
        Value as `read_value` gives it.
    family
        ``us`` or ``metric``.

    Returns
    -------
    str
        Value with its unit.

    Examples
    --------
    >>> from tailrace.sitefile.schema import tables
    >>> shown(tables()["tanks"]["volume"], 1.817, "us")
    '480 gal'
    """
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M} UTC"
    if not key.kind.counts:
        return str(value).replace("_", " ") if key.kind is Kind.SPECIES else str(value)
    low, high = value if isinstance(value, tuple) else (value, value)
    return show_range(low, high, key.suffix, _unit(key, family))


def _unit(key: Key, family: str) -> str:
    return key.unit_us if family == "us" else key.unit_metric
