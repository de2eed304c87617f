"""How many acts of writing were confirmed, kept beside the database.

A write-ahead log that lost its end looks like one that never had it: SQLite opens it without
a word. So each act counts up by one within the database, and once it is confirmed the count
is written here too. A database that stands lower than this file has lost confirmed acts. The
file is written after the database is safe, so it can lag but never lead.
"""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

try:
    import fcntl
except ImportError:  # another operating system: two writers may then leave the lower count
    fcntl = None  # type: ignore[assignment]

_WIDTH = 20


def tally_file(database: Path) -> Path:
    """Return the file that holds the count of a database.

    Parameters
    ----------
    database
        File of the database.

    Returns
    -------
    pathlib.Path
        Its neighbour with the ending ``.tally``.

    Examples
    --------
    >>> tally_file(Path("/srv/record.sqlite3")).name
    'record.tally'
    """
    return database.with_suffix(".tally")


def confirmed(database: Path) -> int:
    """Return how many acts were confirmed.

    Parameters
    ----------
    database
        File of the database.

    Returns
    -------
    int
        Count; 0 when none is known.
    """
    try:
        text = tally_file(database).read_bytes()[:_WIDTH].strip()
    except OSError:
        return 0
    return int(text) if text.isdigit() else 0


def confirm(database: Path, count: int, *, lower: bool = False) -> None:
    """Note that acts were confirmed; a failure to note it is none of the act.

    Parameters
    ----------
    database
        File of the database.
    count
        Acts confirmed so far.
    lower
        Whether a lower count may take the place of a higher one: after a restore.
    """
    with suppress(OSError):
        handle = os.open(tally_file(database), os.O_RDWR | os.O_CREAT, 0o644)
        try:
            if fcntl is not None:
                fcntl.flock(handle, fcntl.LOCK_EX)
            before = os.read(handle, _WIDTH).strip()
            if lower or not before.isdigit() or int(before) < count:
                os.lseek(handle, 0, os.SEEK_SET)
                os.write(handle, f"{count:>{_WIDTH}}".encode())
        finally:
            os.close(handle)
