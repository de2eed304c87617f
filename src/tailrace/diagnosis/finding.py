"""One thing out of order: its weight, the facts behind it and the entries behind those."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import IntEnum

from tailrace.quantities import Amount


class Weight(IntEnum):
    """Order of attention."""

    HARM = 0  # can harm animals within hours
    LIMIT = 1  # a limit is passed or will be
    UPKEEP = 2


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing out of order.

    Parameters
    ----------
    key
        Name of the kind of finding; the acts and the words are found by it.
    weight
        Order of attention.
    within_s
        Seconds until it matters; it orders findings of one weight.
    amounts
        Numbers behind it, by name.
    words
        Plain facts behind it, such as the name of a species, by name.
    entries
        Ids of the entries behind it.
    """

    key: str
    weight: Weight
    within_s: float
    amounts: Mapping[str, Amount] = field(default_factory=dict)
    words: Mapping[str, str] = field(default_factory=dict)
    entries: tuple[str, ...] = ()
