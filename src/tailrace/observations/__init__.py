"""What was seen and done, as frozen records; no file, no store, no unit conversion."""

from tailrace.observations.entries import Entry, Interval, Meaning
from tailrace.observations.instruments import Instrument

__all__ = ["Entry", "Instrument", "Interval", "Meaning"]
