"""What was seen and done, as frozen records; no file, no store, no unit conversion."""

from tailrace.observations.entries import Entry, Interval, Meaning

__all__ = ["Entry", "Interval", "Meaning"]
