"""The faults of a database in plain sentences."""

from __future__ import annotations

from sqlalchemy.exc import DBAPIError

from tailrace.errors import RecordError

_BUSY = (
    "is locked: another program has been writing to it for more than {wait:g} seconds. "
    "Let that one finish, or close it, and try again."
)
_FULL = (
    "cannot grow: the disk is full. Nothing of this act was stored; free some space and try again."
)
_READONLY = (
    "cannot be written. Give this user the right to write there, or choose another with --home."
)
_DAMAGED = (
    "is damaged. Copy the whole folder somewhere safe first, then restore the record from a "
    "backup."
)
_REFUSED = (
    "refused a row that contradicts what it holds; nothing of this act was stored. If it happens "
    "again, 'tailrace record verify' says whether the record is sound. It said: {cause}"
)
_AWAY = (
    "cannot be reached. Check that the database server runs and that its address is right. It "
    "said: {cause}"
)
_SENTENCES = {
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_FULL": _FULL,
    "SQLITE_READONLY": _READONLY,
    "SQLITE_CANTOPEN": "cannot be opened. Check that the folder exists and that this user may "
    "write in it, or choose another with --home.",
    "SQLITE_NOTADB": "is not a database. Move that file away, or restore a backup.",
    "SQLITE_CORRUPT": _DAMAGED,
    "SQLITE_IOERR": "cannot be read or written: the disk reports a fault, or is full. Copy the "
    "folder somewhere safe, and check the disk.",
    "SQLITE_CONSTRAINT": _REFUSED,
    # PostgreSQL, by the class or the whole of its SQLSTATE
    "08": _AWAY,
    "23": _REFUSED,
    "28": "does not let this user in; check the name and the password in its address. It said: "
    "{cause}",
    "3D": "is not there: the server has no such database; make it first, empty. It said: {cause}",
    "55P03": _BUSY,
    "53100": _FULL,
    "25006": _READONLY,
    "42501": _READONLY,
    "57": _AWAY,
    "XX": _DAMAGED,
}


def record_fault(place: object, error: BaseException, *, wait_s: float = 5.0) -> RecordError:
    """Return the fault of a record in one plain sentence.

    Parameters
    ----------
    place
        Folder or address of the record.
    error
        What the database or the operating system said.
    wait_s
        How long another program was waited for. [s]

    Returns
    -------
    RecordError
        What is wrong and what to do.

    Examples
    --------
    >>> str(record_fault("/srv/r", PermissionError(13, "denied")))[:40]
    'the record in /srv/r cannot be written. '
    """
    cause: BaseException = error
    if isinstance(error, DBAPIError) and error.orig is not None:
        cause = error.orig
    said = " ".join(str(cause).split()) or "nothing"
    for name in _names(cause):
        if name in _SENTENCES:
            sentence = _SENTENCES[name].format(wait=wait_s, cause=said)
            return RecordError(f"the record in {place} {sentence}")
    return RecordError(f"the record in {place} cannot be used: {said}.")


def _names(cause: BaseException) -> tuple[str, ...]:
    if isinstance(cause, OSError):
        return ("SQLITE_READONLY" if isinstance(cause, PermissionError) else "SQLITE_CANTOPEN",)
    lite = str(getattr(cause, "sqlite_errorname", ""))
    if lite:
        return ("_".join(lite.split("_")[:2]),)
    state = str(getattr(cause, "sqlstate", "") or "")
    return (state, state[:2]) if state else _names_of_words(cause)


def _names_of_words(cause: BaseException) -> tuple[str, ...]:
    """Return the kind of a connection that was never made: it has words, but no state."""
    words = str(cause)
    if "does not exist" in words:
        return ("3D",)
    if "authentication failed" in words or "no password supplied" in words:
        return ("28",)
    return ("08",) if type(cause).__module__.startswith("psycopg") else ()
