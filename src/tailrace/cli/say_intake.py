"""What the commands say of a file or a typed line before it is stored."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from tailrace.cli.say import one
from tailrace.intake.tally import MOST_ROWS, Tally
from tailrace.intake.typed_line import Line, Piece
from tailrace.operations.imports import Preview


def preview(found: Preview) -> Iterator[str]:
    """Write how a file was understood, and each row kept aside or doubtful with the reason.

    Parameters
    ----------
    found
        The file as understood.

    Yields
    ------
    str
        One line.
    """
    how, tally = found.log.understood, found.tally
    yield f"{found.log.source.name}: {tally.taken} rows can go in, {tally.aside} kept aside."
    parted = "" if how.delimiter == "cells" else f", columns parted by {how.delimiter}"
    columns = ", ".join(f"{written} = {taken or 'not used'}" for written, taken in how.columns)
    yield f"  read as {how.encoding}{parted}: {columns}"
    if found.remembered:
        yield "  the columns are used as in the last file of this kind; --anew reads them afresh"
    zone = found.site.zone
    yield f"  decimal sign: {how.decimal}; dates: {how.date_order}; times are local to {zone}"
    if how.unit_defaults:
        units = ", ".join(f"{subject} in {unit}" for subject, unit in how.unit_defaults)
        yield f"  where no unit is given: {units}"
    for remark in how.remarks:
        yield f"  {remark}"
    for entry in tally.first:
        yield f"  row {entry.row}: {one(entry, zone)}"
    if tally.taken > len(tally.first):
        yield f"  ... and {tally.taken - len(tally.first)} more"
    yield from _asides(tally)
    yield from _doubts(tally)
    for text, option, answers in found.questions:
        said = " or ".join(f"--{option} '{answer}'" for answer in answers)
        yield f"ASKED: {text} Say {said}."


def _asides(tally: Tally) -> Iterator[str]:
    if not tally.aside:
        return
    yield f"KEPT ASIDE ({tally.aside}); mend these rows in a new file and import that"
    for aside in tally.asides:
        yield f"  row {aside.row}: {aside.text}"
        for reason in aside.reasons:
            yield f"    {reason}"
    if tally.aside > len(tally.asides):
        yield f"  ... and {tally.aside - len(tally.asides)} more; 'tailrace log show' lists them"


def _doubts(tally: Tally) -> Iterator[str]:
    if not tally.kinds:
        return
    rows = sum(kind.count for kind in tally.kinds.values()) + tally.more_kinds
    yield f"FIT TO GO IN, BUT DOUBTFUL ({rows})"
    for kind in tally.kinds.values():
        yield f"  row {kind.rows[0]}: {kind.sentence}"
        if kind.count > 1:
            more = f" and {kind.count - MOST_ROWS} more" if kind.count > MOST_ROWS else ""
            yield f"    so too in rows {', '.join(str(row) for row in kind.rows[1:])}{more}"


def line(found: Line, zone: str) -> Iterator[str]:
    """Write what was understood of a typed line.

    Parameters
    ----------
    found
        The line as understood.
    zone
        Time zone of the site.

    Yields
    ------
    str
        One line.
    """
    for piece in found.pieces:
        yield from _piece(piece, zone)


def _piece(piece: Piece, zone: str) -> Iterator[str]:
    yield piece.text
    for entry in piece.entries:
        meant = " or ".join(dict.fromkeys(m.basis for m in entry.meanings if m.basis))
        basis = f" [{meant}]" if meant else ""
        extra = "".join(f"; {word}: {text}" for word, text in entry.details)
        place = f" at {entry.place}" if entry.place else ""
        yield f"  = {one(entry, zone)}{basis}{place}{extra}"
    for doubt in piece.doubts:
        yield f"  look again: {doubt}"
    for reason in piece.reasons:
        yield f"  cannot be taken: {reason}"
    if piece.question is not None:
        yield f"  asked: {piece.question.text}"
        for answer, typed in piece.question.choices:
            yield f"    {answer}: write '{typed}'"


def stored(names: Sequence[str], entries: Iterable[object]) -> str:
    """Return the words for entries that were stored.

    Parameters
    ----------
    names
        Their names.
    entries
        The entries.

    Returns
    -------
    str
        One line.
    """
    count = len(list(entries))
    what = "entry" if count == 1 else "entries"
    return f"stored {count} {what}: {', '.join(names)}."
