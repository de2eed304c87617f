"""A log file to entries: every row is taken, taken and flagged, or kept aside with its reasons.

Pure: no store, no clock. The form is described in docs/log-file.md. `tailrace.intake.sheet`
opens the table, `tailrace.intake.survey` reads it through once, `tailrace.intake.reader` reads
the rows as a stream; `read_log` gives a short file whole.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime

from tailrace.errors import InputError
from tailrace.intake.columns import Mapping
from tailrace.intake.log_row import Context
from tailrace.intake.moments import Calendar
from tailrace.intake.reader import Reader, Table
from tailrace.intake.result import Aside, Doubt, ImportResult, Taken, Understood
from tailrace.intake.sheet import Sheet, Source, open_sheet
from tailrace.intake.survey import Survey, survey
from tailrace.intake.text_table import DELIMITERS
from tailrace.observations import Entry, Instrument
from tailrace.quantities import subjects
from tailrace.site import Site

Settle = Callable[[Mapping], Mapping]


@dataclass(slots=True)
class LogFile:
    """A log file that was opened and read through once.

    Parameters
    ----------
    source
        The file.
    sheet
        Its table.
    mapping
        What its columns are used for.
    found
        What its rows settle together.
    context
        What a row needs to know.
    reader
        What reads the rows, once they are read.
    """

    source: Source
    sheet: Sheet
    mapping: Mapping
    found: Survey
    context: Context
    reader: Reader | None = None

    @property
    def received_at(self) -> datetime:
        """When the file was received, aware UTC."""
        return self.context.calendar.received_at

    @property
    def understood(self) -> Understood:
        """How the file was understood."""
        _, decimal = self.found.decimal(self.sheet.delimiter)
        _, order = self.found.order(self.mapping.order)
        return Understood(
            encoding=self.sheet.kind,
            delimiter=DELIMITERS.get(self.sheet.delimiter, "cells"),
            header_row=self.sheet.header_row,
            columns=tuple((u.header, u.said if u.column else "") for u in self.mapping.uses),
            decimal=self.mapping.decimal or decimal,
            date_order=order,
            unit_defaults=tuple(self.reader.unit_defaults.items()) if self.reader else (),
            remarks=self._remarks(),
        )

    def _remarks(self) -> tuple[str, ...]:
        counted = (
            ("blank rows left out", self.found.blank),
            ("rows above the header left out", self.sheet.above),
            ("rows with a date and nothing else", self.reader.bare if self.reader else 0),
        )
        return (*self.sheet.marks, *(f"{words}: {n}" for words, n in counted if n))

    def read(self, existing: Iterable[Entry] = ()) -> Iterator[Taken | Aside]:
        """Read the rows as a stream.

        Parameters
        ----------
        existing
            Entries that the record holds for this site, to find the same again.

        Yields
        ------
        Taken or Aside
            What came of each row, in the order of the file. A row of a wide table gives an
            entry for each cell that can be read, and one `Aside` for those that cannot.
        """
        table = Table(self.sheet, self.mapping, self.found)
        self.reader = Reader(table, self.context, existing)
        return self.reader.items()


def open_log(
    source: Source,
    site: Site,
    *,
    received_at: datetime,
    kits: Sequence[Instrument] = (),
    settle: Settle | None = None,
) -> LogFile:
    """Open a log file and read it through once.

    Parameters
    ----------
    source
        The file.
    site
        The site: its time zone, units, measures, places.
    received_at
        When the file was received, aware; nothing may be taken later.
    kits
        Kits, meters and probes that a person described.
    settle
        Gets the proposed use of the columns and gives the one to use.

    Returns
    -------
    LogFile
        The file, ready to be read.

    Raises
    ------
    FileFaultsError
        It cannot be read, or there is no usable header.
    InputError
        `received_at` has no time zone.
    """
    if received_at.tzinfo is None:
        raise InputError(f"the moment {received_at} has no time zone; give it with its zone.")
    sheet = open_sheet(source, places=_places(site))
    mapping = settle(sheet.mapping) if settle else sheet.mapping
    found = survey(sheet.rows(), mapping, Calendar(site.zone, received_at))
    order, said = found.order(mapping.order)
    contradicted = order is None and said.startswith("not settled: some")
    context = Context(
        site,
        Calendar(site.zone, received_at, order, contradicted),
        sheet.delimiter,
        mapping.decimal or found.decimal(sheet.delimiter)[0],
        tuple(kits),
    )
    return LogFile(source, sheet, mapping, found, context)


def _places(site: Site) -> tuple[str, ...]:
    tanks, beds = (tank.name for tank in site.tanks), (bed.name for bed in site.beds)
    return ("sump", *tanks, *beds, *(each.name for each in site.filters))


def read_log(
    data: bytes,
    name: str,
    site: Site,
    *,
    existing: Sequence[Entry] = (),
    received_at: datetime,
    kits: Sequence[Instrument] = (),
) -> ImportResult:
    """Read a log file that is short enough to be held whole.

    Parameters
    ----------
    data
        Bytes of the file.
    name
        Its name.
    site
        The site: its time zone, units, measures, places.
    existing
        Entries that the record holds for this site, to find the same again.
    received_at
        When the file was received, aware; nothing may be taken later.
    kits
        Kits, meters and probes that a person described.

    Returns
    -------
    ImportResult
        Rows taken, rows kept aside, doubts, and how the file was understood.

    Raises
    ------
    FileFaultsError
        There is no usable header.
    InputError
        `received_at` has no time zone.
    """
    source = Source.of(data, name)
    log = open_log(source, site, received_at=received_at, kits=kits)
    items = list(log.read(existing))
    taken = [item for item in items if isinstance(item, Taken)]
    return ImportResult(
        name=name,
        sha256=source.sha256(),
        received_at=received_at,
        entries=tuple(item.entry for item in taken),
        asides=tuple(item for item in items if isinstance(item, Aside)),
        doubts=tuple(
            Doubt(item.entry.row, in_short(item.entry), item.doubts)
            for item in taken
            if item.doubts
        ),
        understood=log.understood,
    )


def in_short(entry: Entry) -> str:
    """Return what an entry says, in short.

    Parameters
    ----------
    entry
        The entry.

    Returns
    -------
    str
        Subject and value as typed.
    """
    return f"{subjects()[entry.subject].label} {entry.text}".strip()
