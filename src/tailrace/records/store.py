"""The record of one machine: sites, their versions, entries and imports; nothing is ever lost.

Rows are only added (`tailrace.records.tables`). Every method is one transaction.
"""

from __future__ import annotations

import hashlib
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, or_, select

from tailrace.errors import InputError, NotKnownError, RecordError
from tailrace.intake.result import Aside, ImportResult
from tailrace.observations import Entry
from tailrace.records import tables as t
from tailrace.records.engine import FILE, make_engine, prepare, record_fault, transaction
from tailrace.records.kept import Batch, KeptForecast, Version
from tailrace.records.rows import chain, live, number_of, to_entry, to_row

_FORECAST_COLUMNS = [c for c in t.forecasts.c if c.name not in {"number", "site"}]


def _to_forecast(row: RowMapping) -> KeptForecast:
    values: dict[str, Any] = {**row, "entries": tuple(row["entries"])}
    return KeptForecast(**values)


class Store:
    """The record in one folder; open it with `Store.open`."""

    def __init__(self, home: Path, engine: Engine) -> None:
        self.home = home
        self._engine = engine

    @classmethod
    def open(cls, home: Path, *, create: bool = True) -> Store:
        """Open the record in a folder, or begin one.

        Parameters
        ----------
        home
            The folder.
        create
            Whether to begin a record where there is none.

        Returns
        -------
        Store
            The record, its schema checked.

        Raises
        ------
        RecordError
            The folder cannot be written, there is no record, or it is of another kind, locked,
            damaged or of a newer version.
        """
        if not create and not (home / FILE).exists():
            message = f"there is no record in {home}; load a site first, or name another folder."
            raise RecordError(message)
        try:
            home.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise record_fault(home, error) from error
        engine = make_engine(home)
        prepare(engine, home)
        return cls(home, engine)

    # sites

    def add_site_version(self, name: str, text: str, *, received_at: datetime) -> bool:
        """Add a version of a site's description.

        Parameters
        ----------
        name
            Short name of the site; a new one begins a site.
        text
            The whole description.
        received_at
            When it was received, aware.

        Returns
        -------
        bool
            False when the latest version has the same text, and nothing was added.

        Raises
        ------
        RecordError
            The record cannot be written.
        """
        digest = hashlib.sha256(text.encode()).hexdigest()
        with transaction(self._engine, self.home, write=True) as connection:
            if name not in self._names(connection):
                connection.execute(t.sites.insert().values(name=name, received_at=received_at))
            latest = connection.execute(self._versions(name)).mappings().first()
            if latest is not None and latest["sha256"] == digest:
                return False
            connection.execute(
                t.site_versions.insert().values(
                    site=name, text=text, sha256=digest, received_at=received_at
                )
            )
        return True

    def site_text(self, name: str, *, at: datetime | None = None) -> str:
        """Return a site's description.

        Parameters
        ----------
        name
            Short name of the site.
        at
            Leave out versions received later than this; None for the latest.

        Returns
        -------
        str
            Its text.

        Raises
        ------
        NotKnownError
            There is no such site, or none at that time.
        """
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, name)
            query = self._versions(name)
            if at is not None:
                query = query.where(t.site_versions.c.received_at <= at)
            row = connection.execute(query).mappings().first()
        if row is None:
            raise NotKnownError(f"the site {name!r} had no description yet at {at}.")
        return str(row["text"])

    def site_names(self) -> tuple[str, ...]:
        """Return the short names of all sites, in the order of the alphabet."""
        with transaction(self._engine, self.home, write=False) as connection:
            return tuple(sorted(self._names(connection)))

    # imports

    def add_batch(self, site: str, result: ImportResult, *, who: str = "") -> str:
        """Store a log file as read: its entries and the rows kept aside, all or nothing.

        Parameters
        ----------
        site
            Name of the site.
        result
            What `tailrace.intake.logfile.read_log` gave.
        who
            Who gave the file.

        Returns
        -------
        str
            Name of the import, such as ``b3``.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            The same file was taken before and not undone.
        RecordError
            The record cannot be written; nothing was stored.
        """
        with transaction(self._engine, self.home, write=True) as connection:
            self._check_site(connection, site)
            self._refuse_again(connection, site, result)
            added = connection.execute(
                t.batches.insert().values(
                    site=site,
                    file=result.name,
                    sha256=result.sha256,
                    received_at=result.received_at,
                    who=who,
                )
            ).inserted_primary_key
            number = int(added[0]) if added is not None else 0
            rows = [
                to_row(replace(entry, batch=f"b{number}"), site, result.received_at)
                for entry in result.entries
            ]
            aside = [
                {"batch": number, "row": a.row, "text": a.text, "reasons": list(a.reasons)}
                for a in result.asides
            ]
            for table, values in ((t.entries, rows), (t.asides, aside)):
                if values:
                    connection.execute(table.insert(), values)
        return f"b{number}"

    def undo_batch(self, batch_id: str, *, at: datetime, why: str) -> None:
        """Undo an import: its entries no longer hold, and stay in the record.

        Parameters
        ----------
        batch_id
            Name of the import.
        at
            When, aware.
        why
            Why, in free words.

        Raises
        ------
        NotKnownError
            There is no such import.
        InputError
            It was undone before.
        """
        self._undo("batch", number_of(batch_id, "b"), batch_id, at=at, why=why)

    def undo_entry(self, entry_id: str, *, at: datetime, why: str) -> None:
        """Undo one entry; undoing a correction brings the entry before it back.

        Parameters
        ----------
        entry_id
            Name of the entry.
        at
            When, aware.
        why
            Why, in free words.

        Raises
        ------
        NotKnownError
            There is no such entry.
        InputError
            It was undone before.
        """
        self._undo("entry", number_of(entry_id, "e"), entry_id, at=at, why=why)

    def batches(self, site: str) -> tuple[Batch, ...]:
        """Return all imports of a site, the undone ones too, in the order they came."""
        query = (
            select(t.batches, t.undos.c.at, t.undos.c.why)
            .outerjoin(t.undos, t.undos.c.batch == t.batches.c.number)
            .where(t.batches.c.site == site)
            .order_by(t.batches.c.number)
        )
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, site)
            return tuple(
                Batch(
                    id=f"b{row['number']}",
                    site=row["site"],
                    file=row["file"],
                    sha256=row["sha256"],
                    received_at=row["received_at"],
                    who=row["who"],
                    undone_at=row["at"],
                    undone_why=row["why"] or "",
                )
                for row in connection.execute(query).mappings()
            )

    def asides(self, site: str) -> tuple[tuple[str, Aside], ...]:
        """Return the rows kept aside with the import each came with, undone imports left out."""
        query = (
            select(t.asides)
            .join(t.batches, t.asides.c.batch == t.batches.c.number)
            .outerjoin(t.undos, t.undos.c.batch == t.batches.c.number)
            .where(t.batches.c.site == site, t.undos.c.number.is_(None))
            .order_by(t.asides.c.number)
        )
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, site)
            return tuple(
                (f"b{row['batch']}", Aside(row["row"], row["text"], tuple(row["reasons"])))
                for row in connection.execute(query).mappings()
            )

    # entries

    def add_entry(self, site: str, entry: Entry, *, received_at: datetime) -> str:
        """Store one entry.

        Parameters
        ----------
        site
            Name of the site.
        entry
            The entry; its id is not used.
        received_at
            When it was received, aware; taken where the entry does not say.

        Returns
        -------
        str
            Name of the entry, such as ``e17``.

        Raises
        ------
        NotKnownError
            There is no such site.
        RecordError
            The record cannot be written; nothing was stored.
        """
        with transaction(self._engine, self.home, write=True) as connection:
            self._check_site(connection, site)
            return self._insert(connection, to_row(entry, site, received_at))

    def correct(self, entry_id: str, new: Entry, *, received_at: datetime, why: str) -> str:
        """Store a new version of an entry; the old one stays and no longer holds.

        Parameters
        ----------
        entry_id
            Name of the entry to correct.
        new
            The whole new version, such as ``dataclasses.replace(old, text=...)`` gives.
        received_at
            When the correction was received, aware.
        why
            Why, in free words.

        Returns
        -------
        str
            Name of the new version.

        Raises
        ------
        NotKnownError
            There is no such entry.
        InputError
            The entry does not hold any more: corrected or undone before.
        """
        number = number_of(entry_id, "e")
        with transaction(self._engine, self.home, write=True) as connection:
            site = self._site_of(connection, number, entry_id)
            self._refuse_dead(connection, site, entry_id)
            version = replace(new, supersedes=entry_id, received_at=received_at, batch="", row=0)
            return self._insert(connection, to_row(version, site, received_at, why=why))

    def entries(self, site: str) -> tuple[Entry, ...]:
        """Return the entries of a site that hold, in the order of time."""
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, site)
            found = live(self._all(connection, site), self._undone(connection, site))
        return tuple(sorted(found, key=lambda entry: entry.taken_at))

    def all_entries(self, site: str) -> tuple[Entry, ...]:
        """Return every entry of a site, corrected and undone ones too, as they were added."""
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, site)
            return self._all(connection, site)

    def history(self, entry_id: str) -> tuple[Version, ...]:
        """Return every version of an entry.

        Parameters
        ----------
        entry_id
            Name of any version.

        Returns
        -------
        tuple
            Versions, the first one first.

        Raises
        ------
        NotKnownError
            There is no such entry.
        """
        number = number_of(entry_id, "e")
        with transaction(self._engine, self.home, write=False) as connection:
            site = self._site_of(connection, number, entry_id)
            entries = {entry.id: entry for entry in self._all(connection, site)}
            undone = self._undone(connection, site)
            query = select(t.entries.c.number, t.entries.c.why).where(t.entries.c.site == site)
            whys = {row.number: row.why for row in connection.execute(query)}
        return tuple(
            Version(
                entries[name],
                whys[number_of(name, "e")],
                undone.get(name, undone.get(entries[name].batch)),
            )
            for name in chain(entries, entry_id)
        )

    # forecasts

    def keep_forecast(self, site: str, forecast: KeptForecast) -> bool:
        """Keep a forecast that was issued, once for its key.

        Parameters
        ----------
        site
            Name of the site.
        forecast
            The forecast with what it was based on.

        Returns
        -------
        bool
            False when one with this key is kept already.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        row = asdict(forecast) | {"site": site, "entries": list(forecast.entries)}
        with transaction(self._engine, self.home, write=True) as connection:
            self._check_site(connection, site)
            known = select(t.forecasts.c.number).where(t.forecasts.c.key == forecast.key)
            if connection.execute(known).first() is not None:
                return False
            connection.execute(t.forecasts.insert().values(**row))
            return True

    def kept_forecast(self, key: str) -> KeptForecast | None:
        """Return the forecast kept under a key, or None."""
        with transaction(self._engine, self.home, write=False) as connection:
            query = select(*_FORECAST_COLUMNS).where(t.forecasts.c.key == key)
            row = connection.execute(query).mappings().first()
        return None if row is None else _to_forecast(row)

    def forecasts(self, site: str) -> tuple[KeptForecast, ...]:
        """Return every forecast kept for a site, in the order of their moments."""
        query = select(*_FORECAST_COLUMNS).where(t.forecasts.c.site == site)
        with transaction(self._engine, self.home, write=False) as connection:
            self._check_site(connection, site)
            rows = connection.execute(query.order_by(t.forecasts.c.at, t.forecasts.c.number))
            return tuple(_to_forecast(row) for row in rows.mappings())

    # what the methods above are made of

    @staticmethod
    def _names(connection: Connection) -> frozenset[str]:
        return frozenset(connection.execute(select(t.sites.c.name)).scalars())

    @staticmethod
    def _versions(name: str) -> Select[tuple[object, ...]]:
        return (
            select(*t.site_versions.c)
            .where(t.site_versions.c.site == name)
            .order_by(t.site_versions.c.received_at.desc(), t.site_versions.c.number.desc())
        )

    def _check_site(self, connection: Connection, name: str) -> None:
        names = sorted(self._names(connection))
        if name not in names:
            known = f"it holds {', '.join(names)}" if names else "it holds no site yet"
            raise NotKnownError(f"the site {name!r} is not in the record in {self.home}; {known}.")

    @staticmethod
    def _site_of(connection: Connection, number: int, entry_id: str) -> str:
        query = select(t.entries.c.site).where(t.entries.c.number == number)
        site = connection.execute(query).scalar_one_or_none()
        if site is None:
            raise NotKnownError(
                f"the entry {entry_id!r} is not in the record; list the log first."
            )
        return str(site)

    @staticmethod
    def _all(connection: Connection, site: str) -> tuple[Entry, ...]:
        query = select(t.entries).where(t.entries.c.site == site).order_by(t.entries.c.number)
        return tuple(to_entry(row) for row in connection.execute(query).mappings())

    @staticmethod
    def _undone(connection: Connection, site: str) -> dict[str, str]:
        query = (
            select(t.undos)
            .outerjoin(t.batches, t.undos.c.batch == t.batches.c.number)
            .outerjoin(t.entries, t.undos.c.entry == t.entries.c.number)
            .where(or_(t.batches.c.site == site, t.entries.c.site == site))
        )
        return {
            f"b{row['batch']}" if row["entry"] is None else f"e{row['entry']}": row["why"]
            for row in connection.execute(query).mappings()
        }

    @staticmethod
    def _insert(connection: Connection, row: dict[str, object]) -> str:
        added = connection.execute(t.entries.insert().values(**row)).inserted_primary_key
        return f"e{added[0] if added is not None else 0}"

    def _refuse_again(self, connection: Connection, site: str, result: ImportResult) -> None:
        query = (
            select(t.batches.c.number, t.batches.c.received_at)
            .outerjoin(t.undos, t.undos.c.batch == t.batches.c.number)
            .where(
                t.batches.c.site == site,
                t.batches.c.sha256 == result.sha256,
                t.undos.c.number.is_(None),
            )
        )
        before = connection.execute(query).first()
        if before is not None:
            number, moment = before
            message = (
                f"{result.name} was already taken in as b{number} on {moment:%Y-%m-%d}; "
                f"undo b{number} first to take it in again."
            )
            raise InputError(message)

    def _refuse_dead(self, connection: Connection, site: str, entry_id: str) -> None:
        entries = self._all(connection, site)
        if any(entry.id == entry_id for entry in live(entries, self._undone(connection, site))):
            return
        newer = [entry.id for entry in entries if entry.supersedes == entry_id]
        what = f"was already corrected by {newer[-1]}; correct that one" if newer else "was undone"
        raise InputError(f"the entry {entry_id} {what}.")

    def _undo(self, kind: str, number: int, name: str, *, at: datetime, why: str) -> None:
        table = t.batches if kind == "batch" else t.entries
        with transaction(self._engine, self.home, write=True) as connection:
            if not connection.execute(select(table).where(table.c.number == number)).first():
                raise NotKnownError(f"{name!r} is not in the record; list the log first.")
            query = select(t.undos.c.at).where(t.undos.c[kind] == number)
            before = connection.execute(query).scalar_one_or_none()
            if before is not None:
                raise InputError(f"{name} was already undone on {before:%Y-%m-%d}.")
            connection.execute(t.undos.insert().values(**{kind: number}, at=at, why=why))
