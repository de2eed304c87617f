"""What the commands on sites and logs write."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from tailrace.errors import NotKnownError
from tailrace.intake.result import Aside
from tailrace.observations import Entry
from tailrace.operations.sites import Checked
from tailrace.quantities import subjects
from tailrace.records.kept import Batch, Version


def checked(found: Checked) -> Iterator[str]:
    """Write what a sound site file says.

    Parameters
    ----------
    found
        The file as checked.

    Yields
    ------
    str
        One line.
    """
    reading = found.reading
    for head, lines in (
        ("UNDERSTOOD", reading.understood),
        ("ASSUMED", reading.assumed),
        ("LOOKS WRONG", reading.implausible),
    ):
        yield head
        for said in lines:
            place = f"line {said.line}: " if said.line else ""
            yield f"  {place}{said.text}"
        if not lines:
            yield "  nothing"
        yield ""
    yield "COMPUTED"
    for text in found.computed:
        yield f"  {text}"


def one(entry: Entry, zone: str) -> str:
    """Write an entry as one line.

    Parameters
    ----------
    entry
        The entry.
    zone
        Time zone of its site.

    Returns
    -------
    str
        Its time, subject, value as typed and author.
    """
    local = entry.taken_at.astimezone(ZoneInfo(zone))
    words = [f"{local:%Y-%m-%d %H:%M}", subjects()[entry.subject].label]
    words += [entry.as_typed] if entry.as_typed else []
    if entry.method:
        words.append(f"({entry.method})")
    if entry.who:
        words.append(f"by {entry.who}")
    if entry.note:
        words.append(f"- {entry.note}")
    return " ".join(words)


def log(
    entries: Sequence[Entry],
    asides: Sequence[tuple[str, Aside]],
    batches: Sequence[Batch],
    zone: str,
) -> Iterator[str]:
    """Write the log of a site.

    Parameters
    ----------
    entries
        Live entries.
    asides
        Rows kept aside, each with its batch.
    batches
        Imports.
    zone
        Time zone of the site.

    Yields
    ------
    str
        One line.
    """
    for entry in entries:
        flags = f"  [{'; '.join(entry.flags)}]" if entry.flags else ""
        yield f"{entry.id:>6}  {one(entry, zone)}{flags}"
    for batch, aside in asides:
        yield f"kept aside, {batch} row {aside.row}: {aside.text}"
        for reason in aside.reasons:
            yield f"    {reason}"
    for batch_row in batches:
        state = f"undone ({batch_row.undone_why})" if batch_row.undone_at else "in"
        received = _local(batch_row.received_at, zone)
        yield f"{batch_row.id}: {batch_row.file}, received {received}, {state}"


def history(versions: Sequence[Version], zone: str) -> Iterator[str]:
    """Write an entry with its history.

    Parameters
    ----------
    versions
        Versions of the entry, oldest first.
    zone
        Time zone of its site.

    Yields
    ------
    str
        One line.
    """
    for version in versions:
        entry = version.entry
        yield f"{entry.id:>6}  {one(entry, zone)}"
        if entry.received_at is not None:
            yield f"        received {_local(entry.received_at, zone)}"
        for flag in entry.flags:
            yield f"        {flag}"
        if version.why:
            yield f"        corrects {entry.supersedes}: {version.why}"
        if version.undone_why is not None:
            yield f"        withdrawn: {version.undone_why}"


def own_batch(batches: Sequence[Batch], site: str, batch: str) -> None:
    """Check that an import belongs to a site.

    Parameters
    ----------
    batches
        Imports of the site.
    site
        Short name of the site.
    batch
        Name of the import.

    Raises
    ------
    NotKnownError
        It does not.
    """
    if batch not in {known.id for known in batches}:
        names = ", ".join(known.id for known in batches) or "none"
        message = f"{site} has no import {batch}; it has: {names}."
        raise NotKnownError(message)


def _local(moment: datetime, zone: str) -> str:
    return f"{moment.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M}"
