"""What came of reading a log file: entries, rows kept aside, doubts, and how it was understood."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from tailrace.observations import Entry


@dataclass(frozen=True, slots=True)
class Taken:
    """An entry that a row gave.

    Parameters
    ----------
    entry
        The entry; its id is empty until it is stored.
    doubts
        Sentences, one for each flag.
    """

    entry: Entry
    doubts: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Aside:
    """A row that was not taken, kept with its text and the reasons.

    Parameters
    ----------
    row
        Row of the file as a spreadsheet counts it, from 1.
    text
        The row as it stood.
    reasons
        Sentences: what, what is allowed, what to do.
    """

    row: int
    text: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A row that was taken and flagged.

    Parameters
    ----------
    row
        Row of the file as a spreadsheet counts it, from 1.
    text
        What the row says, in short.
    reasons
        Sentences, one for each flag.
    """

    row: int
    text: str
    reasons: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Understood:
    """How a file was understood.

    Parameters
    ----------
    encoding
        Character encoding.
    delimiter
        ``comma``, ``semicolon``, ``tab`` or ``bar``.
    header_row
        Row of the header.
    columns
        Pairs of the header as written and the column it was taken for; empty for none.
    decimal
        ``point``, ``comma``, or why it is not settled.
    date_order
        ``month first``, ``day first``, or why it is not settled.
    unit_defaults
        Pairs of subject and the unit taken where none was given.
    remarks
        Anything else that was done to the file.
    """

    encoding: str
    delimiter: str
    header_row: int
    columns: tuple[tuple[str, str], ...]
    decimal: str
    date_order: str
    unit_defaults: tuple[tuple[str, str], ...] = ()
    remarks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ImportResult:
    """A log file as read; nothing is stored yet.

    Parameters
    ----------
    name
        Name of the file.
    sha256
        Digest of its bytes.
    received_at
        When it was received, aware UTC.
    entries
        Rows taken, in the order of the file; their ids are empty until they are stored.
    asides
        Rows kept aside.
    doubts
        Rows taken and flagged.
    understood
        How the file was understood.
    """

    name: str
    sha256: str
    received_at: datetime
    entries: tuple[Entry, ...]
    asides: tuple[Aside, ...]
    doubts: tuple[Doubt, ...]
    understood: Understood
