"""Instruments and kits: what they read, in which steps, and until when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Instrument:
    """A kit, meter or probe, described by its scale in general words, never by its make.

    Parameters
    ----------
    name
        As people call it in entries.
    kind
        ``kit``, ``meter``, ``probe`` or other words.
    subject
        Key of `tailrace.quantities.subjects` that it reads; empty for several.
    unit
        Unit of its scale with basis, such as ``ppm as N``; empty for none.
    steps
        Steps of a scale that is read in steps, rising; empty for a meter.
    expires_on
        Last day on which a kit is good; None when it does not say.
    note
        Free words.
    id
        Local name in the record, such as ``i3``; empty before it is stored.
    """

    name: str
    kind: str = "kit"
    subject: str = ""
    unit: str = ""
    steps: tuple[float, ...] = ()
    expires_on: date | None = None
    note: str = ""
    id: str = ""

    def expired(self, day: date) -> bool:
        """Return whether it is past its last day on a day of the site."""
        return self.expires_on is not None and day > self.expires_on
