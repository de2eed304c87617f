"""What the commands on sites and logs write."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from tailrace.errors import NotKnownError
from tailrace.intake.result import Aside, ImportResult
from tailrace.observations import Entry
from tailrace.operations.sites import Checked
from tailrace.quantities import subjects
from tailrace.records.kept import Batch, Version
from tailrace.site import Site

FIRST_ROWS = 5


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


def preview(result: ImportResult, site: Site) -> Iterator[str]:
    """Write how a log file was understood, and each row kept aside or doubtful with the reason.

    Parameters
    ----------
    result
        The log as read.
    site
        Its site.

    Yields
    ------
    str
        One line.
    """
    how = result.understood
    yield f"{result.name}: {len(result.entries)} rows can go in, {len(result.asides)} kept aside."
    columns = ", ".join(f"{written} = {taken or 'not used'}" for written, taken in how.columns)
    yield f"  read as {how.encoding}, columns parted by {how.delimiter}: {columns}"
    yield f"  decimal sign: {how.decimal}; dates: {how.date_order}; times are local to {site.zone}"
    if how.unit_defaults:
        units = ", ".join(f"{subject} in {unit}" for subject, unit in how.unit_defaults)
        yield f"  where no unit is given: {units}"
    for remark in how.remarks:
        yield f"  {remark}"
    for entry in result.entries[:FIRST_ROWS]:
        yield f"  row {entry.row}: {one(entry, site.zone)}"
    if len(result.entries) > FIRST_ROWS:
        yield f"  ... and {len(result.entries) - FIRST_ROWS} more"
    if result.asides:
        yield f"KEPT ASIDE ({len(result.asides)}); mend these rows in a new file and import that"
        yield from _rows((a.row, a.text, a.reasons) for a in result.asides)
    if result.doubts:
        yield f"FIT TO GO IN, BUT DOUBTFUL ({len(result.doubts)})"
        yield from _doubts(result)


def _doubts(result: ImportResult) -> Iterator[str]:
    """Write each kind of doubt once, with the first sentence and every row it touches."""
    sentences = {(d.row, place): r for d in result.doubts for place, r in enumerate(d.reasons)}
    kinds: dict[tuple[str, str], list[tuple[int, str]]] = {}
    for entry in result.entries:
        for place, flag in enumerate(entry.flags):
            sentence = sentences.get((entry.row, place), flag)
            kinds.setdefault((entry.subject, flag), []).append((entry.row, sentence))
    for rows in kinds.values():
        first, sentence = rows[0]
        yield f"  row {first}: {sentence}"
        if len(rows) > 1:
            yield f"    so too in rows {', '.join(str(row) for row, _ in rows[1:])}"


def _rows(rows: Iterable[tuple[int, str, Sequence[str]]]) -> Iterator[str]:
    for row, text, reasons in rows:
        yield f"  row {row}: {text}"
        for reason in reasons:
            yield f"    {reason}"


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
