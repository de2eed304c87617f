"""Files in: how a file is understood, what a person settles about it, and storing it as a batch.

A file is read three times and never held whole: once to settle it, once for the preview, once to
store it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from tailrace.errors import InputError
from tailrace.intake.columns import Mapping, date_order, decimal_sign
from tailrace.intake.logfile import LogFile, open_log
from tailrace.intake.result import Aside, Taken
from tailrace.intake.sheet import Source
from tailrace.intake.tally import Tally, counted
from tailrace.observations import Entry
from tailrace.operations.record import site_reading
from tailrace.records.store import Store
from tailrace.site import Site

Progress = Callable[[str, int, int], None]
EACH = 10_000


@dataclass(frozen=True, slots=True)
class Answers:
    """What a person says about a file.

    Parameters
    ----------
    columns
        Pairs of a header and what its column is used for.
    dates
        ``month first`` or ``day first``; None to settle it by the rows.
    decimal
        ``comma`` or ``point``; None to settle it by the rows.
    sheet
        Sheet of a workbook; empty for the first one with a usable header.
    anew
        Whether to leave out what was kept about the source of the file.
    """

    columns: tuple[tuple[str, str], ...] = ()
    dates: str | None = None
    decimal: str | None = None
    sheet: str = ""
    anew: bool = False


@dataclass(frozen=True, slots=True)
class Preview:
    """A file as it is understood; nothing is stored yet.

    Parameters
    ----------
    site
        Its site.
    log
        The file.
    tally
        What came of its rows.
    remembered
        Whether the use of its columns was kept from an earlier file.
    """

    site: Site
    log: LogFile
    tally: Tally
    remembered: bool

    @property
    def questions(self) -> tuple[tuple[str, str, tuple[str, ...]], ...]:
        """What the rows do not settle: words, the option that answers, and the answers."""
        found = []
        understood = self.log.understood
        if understood.date_order.startswith(("not settled", "dates with points")):
            found.append((f"The order of day and month is {understood.date_order}.",
                          "dates", ("month first", "day first")))  # fmt: skip
        if understood.decimal.startswith("not settled") and "column" not in understood.decimal:
            found.append((f"The decimal sign is {understood.decimal}.",
                          "decimal", ("point", "comma")))  # fmt: skip
        return tuple(found)


def preview_file(
    store: Store,
    name: str,
    path: Path,
    *,
    now: datetime,
    answers: Answers | None = None,
    tell: Progress | None = None,
) -> Preview:
    """Read a file for a site; nothing is stored.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    path
        The file: CSV, XLSX, XLS or ODS.
    now
        When it is received.
    answers
        What a person says about it; None for nothing.
    tell
        Told now and then how many rows of how many were read.

    Returns
    -------
    Preview
        What can go in, what is kept aside and why, what is doubtful, and what has to be asked.

    Raises
    ------
    InputError
        The file cannot be read, or an answer cannot be used.
    FileFaultsError
        It has no header that can be used.
    NotKnownError
        The record holds no such site.
    """
    site = site_reading(store, name).site
    said = answers or Answers()
    settling = _Settling(store, name, said)
    source = Source.of(_readable(path), path.name, sheet=said.sheet)
    log = open_log(
        source, site, received_at=now, kits=store.instruments(name), settle=settling.settle
    )
    tally = Tally()
    items = counted(log.read(store.entries(name)), tally)
    for _ in _told(items, "read", log.found.rows, tell):
        pass
    return Preview(site, log, tally, settling.remembered)


def store_file(
    store: Store, preview: Preview, *, who: str = "", tell: Progress | None = None
) -> str:
    """Store a file that was previewed, as one batch that can be undone.

    Parameters
    ----------
    store
        The record.
    preview
        The file as understood.
    who
        Who sends it.
    tell
        Told now and then how many rows of how many were stored.

    Returns
    -------
    str
        Name of the batch.

    Raises
    ------
    RecordError
        The record cannot be written; nothing is stored then.
    InputError
        The same file is in the record already, or it changed since the preview.
    """
    log, site = preview.log, preview.site.name
    digest = log.source.sha256()
    again = Tally()
    items = counted(log.read(store.entries(site)), again)
    rows = _checked(_told(items, "stored", log.found.rows, tell), again, preview)
    batch = store.add_stream(
        site, rows, file=log.source.name, sha256=digest, received_at=log.received_at, who=who
    )
    store.keep_mapping(site, log.mapping.key, log.mapping.to_plain(), received_at=log.received_at)
    return batch


class _Settling:
    """What was kept about the source of a file, then what a person says now."""

    def __init__(self, store: Store, name: str, said: Answers) -> None:
        self._store, self._name, self._said = store, name, said
        self.remembered = False

    def settle(self, proposed: Mapping) -> Mapping:
        said = self._said
        kept = None if said.anew else self._store.mapping(self._name, proposed.key)
        mapping = proposed
        if kept is not None:
            mapping = replace(Mapping.from_plain(kept))
            self.remembered = True
        for header, use in said.columns:
            mapping = mapping.changed(header, use)
        order, sign = date_order(said.dates), decimal_sign(said.decimal)
        mapping = replace(mapping, order=order or mapping.order, decimal=sign or mapping.decimal)
        if not mapping.usable:
            raise InputError(
                "no column is left that says when it was, or what; give one of each, such as "
                "--map 'Day = date' --map 'Temp = temp degF'."
            )
        for what, headers in mapping.doubles():
            raise InputError(f"the columns {' and '.join(headers)} both mean {what}; keep one.")
        return mapping


def _readable(path: Path) -> Path:
    try:
        with path.open("rb"):
            return path
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        message = f"{path}: {reason[0].lower()}{reason[1:]}; name a file that can be read."
        raise InputError(message) from error


def _told(
    items: Iterable[Taken | Aside], what: str, total: int, tell: Progress | None
) -> Iterator[Taken | Aside]:
    for number, item in enumerate(items, 1):
        if tell and number % EACH == 0:
            tell(what, number, total)
        yield item


def _checked(
    items: Iterable[Taken | Aside], tally: Tally, preview: Preview
) -> Iterator[Entry | Aside]:
    """Pass the rows to the record; refuse them all if they are not those of the preview."""
    for item in items:
        yield item.entry if isinstance(item, Taken) else item
    seen, now = preview.tally, tally
    if (seen.taken, seen.aside) != (now.taken, now.aside):
        raise InputError(
            f"{preview.log.source.name} or the log changed since the preview "
            f"({seen.taken} rows then, {now.taken} now); nothing was stored, look at it again."
        )
