"""What the record keeps besides entries: imports, versions of an entry, forecasts issued."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from tailrace.observations import Entry


@dataclass(frozen=True, slots=True)
class Batch:
    """One import.

    Parameters
    ----------
    id
        Its name, such as ``b3``.
    site
        Name of the site.
    file
        Name of the file.
    sha256
        Digest of its bytes.
    received_at
        When it was received, aware UTC.
    who
        Who gave it.
    undone_at
        When it was undone; None while it holds.
    undone_why
        Why it was undone.
    """

    id: str
    site: str
    file: str
    sha256: str
    received_at: datetime
    who: str
    undone_at: datetime | None = None
    undone_why: str = ""


@dataclass(frozen=True, slots=True)
class Version:
    """One version of an entry.

    Parameters
    ----------
    entry
        The entry.
    why
        Why it corrects the one before; empty for the first.
    undone_why
        Why it was undone, by itself or with its import; None while it holds.
    """

    entry: Entry
    why: str
    undone_why: str | None


@dataclass(frozen=True, slots=True)
class KeptForecast:
    """A forecast as it was issued, with what was known then.

    Parameters
    ----------
    key
        Digest of what it rests on; one forecast is kept for a key.
    at
        The moment it was made for, aware UTC.
    issued_at
        When it was issued, aware UTC.
    version
        Version of the code.
    seed
        Seed of its draws.
    entries
        Ids of the entries known then.
    body
        The forecast in inside units, as `tailrace.estimation.bands.to_body` writes it.
    """

    key: str
    at: datetime
    issued_at: datetime
    version: str
    seed: int
    entries: tuple[str, ...]
    body: dict[str, Any]
