"""What the record keeps besides entries: imports, versions, forecasts, advice, photos, answers."""

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
        Why it was undone, by itself or with its import; None when it was not.
    holds
        Whether it is the version that counts now.
    """

    entry: Entry
    why: str
    undone_why: str | None
    holds: bool = True


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
        Names everywhere (`Entry.uid`) of the entries known then.
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


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who writes or sends entries.

    Parameters
    ----------
    id
        Local name, such as ``p2``.
    uid
        Name everywhere.
    name
        Display name or initials; empty once redacted.
    """

    id: str
    uid: str
    name: str


@dataclass(frozen=True, slots=True)
class NamedPlace:
    """A place where readings are taken, besides those of the site's description.

    Parameters
    ----------
    id
        Local name, such as ``l4``; empty before it is stored.
    name
        As people call it.
    kind
        Such as ``tank``, ``plant bed``, ``pipe``; may be empty.
    note
        Free words.
    """

    id: str
    name: str
    kind: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to 'one or two?' for two entries.

    Parameters
    ----------
    first, second
        Names everywhere of the entries.
    answer
        ``one``: the same thing, the first entry counts; ``two``: both count.
    who
        Who answered.
    received_at
        When, aware UTC.
    """

    first: str
    second: str
    answer: str
    who: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class KeptPhoto:
    """A photo; its bytes lie beside the database under their digest.

    Parameters
    ----------
    id
        Local name, such as ``f7``.
    sha256
        Digest of its bytes, as kept: without position and device data.
    media
        ``image/jpeg``, ``image/png`` or ``image/webp``.
    size
        Number of bytes.
    width, height
        In pixels.
    who
        Who sent it.
    received_at
        When it was received, aware UTC.
    redacted_why
        Why it was taken out of the record; None while it is there.
    """

    id: str
    sha256: str
    media: str
    size: int
    width: int
    height: int
    who: str
    received_at: datetime
    redacted_why: str | None = None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an advice.

    Parameters
    ----------
    what
        ``done``, ``partly`` or ``not done``.
    text
        Free words.
    entry
        Name everywhere of the entry that shows it; empty for none.
    who
        Who says so.
    received_at
        When it was received, aware UTC.
    """

    what: str
    text: str
    entry: str
    who: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class KeptAdvice:
    """An advice that was given, what it rested on and what came of it.

    Parameters
    ----------
    id
        Local name, such as ``a5``; empty before it is stored.
    at
        Moment it was given for, aware UTC.
    kind
        What it is about, such as ``drain``.
    text
        The advice in words.
    entries
        Names everywhere of the entries it rests on.
    body
        The advice with its numbers in inside units.
    version
        Version of the code.
    received_at
        When it was given, aware UTC; None before it is stored.
    outcomes
        What came of it, oldest first.
    """

    id: str
    at: datetime
    kind: str
    text: str
    entries: tuple[str, ...]
    body: dict[str, Any]
    version: str
    received_at: datetime | None = None
    outcomes: tuple[Outcome, ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """One step in the history of any row.

    Parameters
    ----------
    id
        Local name of the row.
    at
        When it was received, aware UTC.
    what
        ``written``, ``corrected``, ``undone`` or ``redacted``.
    why
        The reason given; may be empty.
    who
        Who did it, as far as it is known.
    text
        What the row says.
    """

    id: str
    at: datetime
    what: str
    why: str
    who: str
    text: str
