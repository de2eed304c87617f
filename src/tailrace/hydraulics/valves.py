"""Valves: loss coefficient against opening, by kind of valve; the table is ``valves.csv``."""

from __future__ import annotations

import csv
import math
from enum import Enum
from functools import cache
from importlib.resources import files

import numpy as np

from tailrace.errors import OutsideRangeError


class ValveKind(Enum):
    """Kind of valve: ball or plug moved by a quarter turn, gate, three globes, two others."""

    QUARTER_TURN = "quarter-turn"
    GATE = "gate"
    GLOBE = "globe"
    GLOBE_COMPOSITION_SEAT = "globe-composition-seat"
    GLOBE_PLUG_DISK = "globe-plug-disk"
    DIAPHRAGM = "diaphragm"
    BUTTERFLY = "butterfly"


@cache
def _table(kind: ValveKind) -> tuple[tuple[float, ...], tuple[float, ...]]:
    with files("tailrace.hydraulics").joinpath("valves.csv").open(encoding="utf-8") as stream:
        rows = [row for row in csv.DictReader(stream) if row["kind"] == kind.value]
    points = sorted((float(r["open_frac"]), math.log(float(r["loss_coefficient"]))) for r in rows)
    return tuple(x for x, _ in points), tuple(k for _, k in points)


def valve_loss_coefficient(open_frac: float, kind: ValveKind) -> float:
    """Loss coefficient of a partly open valve, on the velocity head of its bore.

    Parameters
    ----------
    open_frac
        Share of the handle's travel, 0 shut and 1 open; not the share of the flow area [-].
    kind
        Kind of valve.

    Returns
    -------
    float
        Loss coefficient [-]; 1e8 stands for shut.

    Raises
    ------
    OutsideRangeError
        The opening is not between 0 and 1.

    Notes
    -----
    The logarithm of the tabulated coefficient is interpolated linearly on handle travel, because
    it spans ten decades. A quarter-turn valve goes by a plug cock's table (handle angle over 90
    degrees), a butterfly likewise; gate, globe and diaphragm go by their lift. Handbooks differ
    by 30 % and more, and a real valve's handle may not start at zero: bucket-timed flows beat
    this table. Values below a third open
    (quarter turns), below a quarter open (gate, diaphragm, plug disk) and below half open (other
    globes) are judgement or an older table.

    Examples
    --------
    >>> round(valve_loss_coefficient(0.75, ValveKind.GATE), 2)
    0.9
    >>> round(valve_loss_coefficient(0.70, ValveKind.QUARTER_TURN), 2)
    3.62

    References
    ----------
    perry_valves
    """
    if not 0.0 <= open_frac <= 1.0:
        message = (
            f"valve opening is {open_frac:g} of its travel, outside 0 to 1. "
            "Give the share of the handle's travel: 0 is shut, 1 is open."
        )
        raise OutsideRangeError(message)
    travel, log_loss = _table(kind)
    return math.exp(float(np.interp(open_frac, travel, log_loss)))
