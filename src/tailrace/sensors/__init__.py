"""Series of sensors as arrays: roll-ups, gaps, stuck sensors, backwashes found."""

from tailrace.sensors.backwashes import Backwash, Kind, find_backwashes
from tailrace.sensors.rollups import Buckets, Width, roll_up
from tailrace.sensors.troubles import Gap, Stuck, find_gaps, find_stuck, usual_spacing_s

__all__ = [
    "Backwash",
    "Buckets",
    "Gap",
    "Kind",
    "Stuck",
    "Width",
    "find_backwashes",
    "find_gaps",
    "find_stuck",
    "roll_up",
    "usual_spacing_s",
]
