"""Valves: loss coefficient against opening, by kind of valve."""

from __future__ import annotations

from enum import Enum


class ValveKind(Enum):
    """Kind of valve, by the way a hand moves it."""

    QUARTER_TURN = "quarter-turn"
    GATE = "gate"
