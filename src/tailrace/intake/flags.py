"""The flags that an entry can carry; their meanings are in ``flags.csv`` and docs/log-file.md."""

from __future__ import annotations

import csv
from functools import cache
from importlib.resources import files
from typing import Final

UNIT_ASSUMED: Final = "unit assumed"
UNIT_INFERRED: Final = "unit inferred"
UNIT_NOT_KNOWN: Final = "unit not known"
BASIS_NOT_KNOWN: Final = "basis not known"
OUTSIDE_PLAUSIBLE: Final = "outside plausible range"
AMOUNT_NOT_GIVEN: Final = "amount not given"
VALUE_NOT_USED: Final = "value not used"
NO_SCALE: Final = "no scale known"
NO_TIME_OF_DAY: Final = "time of day not given"
TWICE: Final = "this hour occurred twice"
BEFORE_START: Final = "before the site began"
SAME: Final = "possibly the same as"
SHARE_OF_LOOP: Final = "share of the loop"
PLACE_NOT_KNOWN: Final = "place not known"
JUMP: Final = "jump"
STUCK: Final = "stuck"
WRONG_UNIT: Final = "wrong unit suspected"
KIT_EXPIRED: Final = "kit expired"
HALF_OF_DAY: Final = "am or pm in doubt"
WORKED_OUT: Final = "time worked out"


@cache
def flags() -> dict[str, str]:
    """Return every flag with its meaning.

    Returns
    -------
    dict
        Flag to meaning; ``possibly the same as`` is followed by a row or entry.

    Examples
    --------
    >>> flags()["amount not given"]
    'something was done but not how much'
    """
    with files("tailrace.intake").joinpath("flags.csv").open(encoding="utf-8") as stream:
        return {row["flag"]: row["meaning"] for row in csv.DictReader(stream)}
