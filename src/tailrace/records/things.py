"""People, places, instruments, and how the columns of a source were understood.

A new version of one of them is a new row that supersedes the old one, as with entries.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from itertools import pairwise
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Table, or_, select

from tailrace.errors import InputError, NotKnownError
from tailrace.observations import Instrument
from tailrace.records import tables as t
from tailrace.records.holding import Link, held
from tailrace.records.kept import NamedPlace, Person
from tailrace.records.part import Part, add_row


class ThingsPart(Part):
    """What entries speak of by name."""

    def add_person(self, name: str, *, received_at: datetime) -> Person:
        """Add a person by a display name or initials; nothing else is asked.

        Parameters
        ----------
        name
            Display name or initials; a person of that name, in any case, is the same one.
        received_at
            When, aware.

        Returns
        -------
        Person
            The person, new or known.

        Raises
        ------
        InputError
            The name is empty.
        """
        name = _named(name, "a person")
        with self._writing() as connection:
            row = _by_name(connection, t.people, name)
            if row is None:
                add_row(connection, t.people, received_at=received_at, name=name, why="")
                row = _by_name(connection, t.people, name)
            assert row is not None
            return _person(row)

    def rename_person(self, old: str, new: str, *, received_at: datetime, why: str) -> Person:
        """Give a person another name; entries keep the name under which they were written.

        Parameters
        ----------
        old, new
            Names.
        received_at
            When, aware.
        why
            Reason.

        Returns
        -------
        Person
            The person with the new name.

        Raises
        ------
        NotKnownError
            Nobody has the old name.
        InputError
            The new name is empty, or somebody has it.
        """
        new = _named(new, "a person")
        with self._writing() as connection:
            row = _by_name(connection, t.people, old)
            if row is None:
                raise NotKnownError(f"nobody is called {old!r} here; 'tailrace people' lists all.")
            other = _by_name(connection, t.people, new)
            if other is not None and other["uid"] != row["uid"]:
                raise InputError(f"somebody is called {other['name']!r} already; add a letter.")
            values = {"name": new, "why": why, "supersedes": row["uid"]}
            add_row(connection, t.people, received_at=received_at, **values)
            found = _by_name(connection, t.people, new)
            assert found is not None
            return _person(found)

    def people(self) -> tuple[Person, ...]:
        """Return everybody, each name once, in the order of the alphabet."""
        with self._reading() as connection:
            rows = current(connection, t.people)
        once: dict[str, RowMapping] = {}
        for row in rows:
            once.setdefault(row["name"].casefold() or row["uid"], row)
        return tuple(_person(row) for _, row in sorted(once.items()))

    def set_place(self, site: str, place: NamedPlace, *, received_at: datetime, why: str) -> None:
        """Add a place of a site, or a new version of the one with this name.

        Parameters
        ----------
        site
            Name of the site.
        place
            The place; its id is not used.
        received_at
            When, aware.
        why
            Reason of a new version; may be empty.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            It has no name.
        """
        name = _named(place.name, "a place")
        with self._writing() as connection:
            self._check_site(connection, site)
            before = _by_name(connection, t.places, name, t.places.c.site == site)
            values = {"name": name, "kind": place.kind, "note": place.note, "why": why}
            _set(connection, t.places, before, received_at, site=site, **values)

    def places(self, site: str) -> tuple[NamedPlace, ...]:
        """Return the places of a site that were added besides those of its description."""
        with self._reading() as connection:
            self._check_site(connection, site)
            rows = current(connection, t.places, t.places.c.site == site)
        return tuple(
            NamedPlace(f"l{row['number']}", row["name"], row["kind"], row["note"]) for row in rows
        )

    def set_instrument(
        self,
        instrument: Instrument,
        *,
        site: str | None,
        received_at: datetime,
        who: str = "",
        why: str = "",
    ) -> None:
        """Add an instrument or kit, or a new version of the one with this name and subject.

        Parameters
        ----------
        instrument
            The instrument; its id is not used.
        site
            Site where it is; None for one that is carried about.
        received_at
            When, aware.
        who
            Who says so.
        why
            Reason of a new version.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            It has no name, or its steps do not rise.
        """
        name = _named(instrument.name, "an instrument")
        steps = list(instrument.steps)
        if len(steps) == 1 or any(b <= a for a, b in pairwise(steps)):
            message = f"the steps of {name} are {steps}; give two or more, each above the last."
            raise InputError(message)
        ends = instrument.expires_on
        values: dict[str, Any] = {
            "name": name,
            "kind": instrument.kind,
            "subject": instrument.subject,
            "unit": instrument.unit,
            "steps": steps,
            "expires_on": ends.isoformat() if ends else "",
            "note": instrument.note,
            "who": who,
            "why": why,
        }
        with self._writing() as connection:
            if site is not None:
                self._check_site(connection, site)
            of = t.instruments.c.subject == instrument.subject
            here = t.instruments.c.site == site
            before = _by_name(connection, t.instruments, name, of, here)
            _set(connection, t.instruments, before, received_at, site=site, **values)

    def instruments(self, site: str) -> tuple[Instrument, ...]:
        """Return the instruments of a site and those carried about, by name and subject."""
        where = or_(t.instruments.c.site == site, t.instruments.c.site.is_(None))
        with self._reading() as connection:
            self._check_site(connection, site)
            rows = current(connection, t.instruments, where)
        once: dict[tuple[str, str], RowMapping] = {}
        for row in sorted(rows, key=lambda row: row["site"] is None):  # the site's own first
            once.setdefault((row["name"].casefold(), row["subject"]), row)
        return tuple(_instrument(row) for _, row in sorted(once.items()))

    def keep_mapping(
        self, site: str, source: str, body: Mapping[str, Any], *, received_at: datetime
    ) -> None:
        """Keep how the columns of a source were understood, for the next file of it.

        Parameters
        ----------
        site
            Name of the site.
        source
            Name of the source, such as the header of its files.
        body
            How it was understood, as plain JSON.
        received_at
            When, aware.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._writing() as connection:
            self._check_site(connection, site)
            if _mapping(connection, site, source) != body:
                values = {"site": site, "source": source, "body": dict(body)}
                add_row(connection, t.mappings, received_at=received_at, **values)

    def mapping(self, site: str, source: str) -> dict[str, Any] | None:
        """Return how the columns of a source were last understood, or None."""
        with self._reading() as connection:
            self._check_site(connection, site)
            return _mapping(connection, site, source)


def current(connection: Connection, table: Table, *where: ColumnElement[bool]) -> list[RowMapping]:
    """Return the rows of a table that no later version supersedes.

    Parameters
    ----------
    connection
        Connection to the record.
    table
        Table with a column ``supersedes``.
    *where
        Conditions.

    Returns
    -------
    list
        Rows, in the order they were received.
    """
    query = select(table).where(*where).order_by(table.c.received_at, table.c.uid)
    rows = connection.execute(query).mappings().all()
    links = [Link(r["uid"], r["supersedes"] or "", "", r["received_at"]) for r in rows]
    dead = held(links, ()).dead
    return [row for row in rows if row["uid"] not in dead]


def _by_name(
    connection: Connection, table: Table, name: str, *where: ColumnElement[bool]
) -> RowMapping | None:
    wanted = name.strip().casefold()
    rows = current(connection, table, *where)
    return next((row for row in rows if row["name"].casefold() == wanted), None)


def _set(
    connection: Connection,
    table: Table,
    before: RowMapping | None,
    received_at: datetime,
    **values: Any,
) -> None:
    """Add a version, unless the one that holds says the same."""
    said = {name: value for name, value in values.items() if name not in {"who", "why"}}
    if before is not None and all(before[name] == value for name, value in said.items()):
        return
    uid = None if before is None else before["uid"]
    add_row(connection, table, received_at=received_at, supersedes=uid, **values)


def _named(name: str, what: str) -> str:
    plain = " ".join(name.split())
    if not plain:
        raise InputError(f"{what} has no name; give one or more letters.")
    return plain


def _mapping(connection: Connection, site: str, source: str) -> dict[str, Any] | None:
    table = t.mappings
    query = (
        select(table.c.body)
        .where(table.c.site == site, table.c.source == source)
        .order_by(table.c.received_at.desc(), table.c.uid.desc())
    )
    body: dict[str, Any] | None = connection.execute(query).scalars().first()
    return body


def _person(row: RowMapping) -> Person:
    return Person(f"p{row['number']}", row["uid"], row["name"])


def _instrument(row: RowMapping) -> Instrument:
    return Instrument(
        name=row["name"],
        kind=row["kind"],
        subject=row["subject"],
        unit=row["unit"],
        steps=tuple(float(step) for step in row["steps"]),
        expires_on=date.fromisoformat(row["expires_on"]) if row["expires_on"] else None,
        note=row["note"],
        id=f"i{row['number']}",
    )
