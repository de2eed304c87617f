"""Sites with every version of their description."""

from __future__ import annotations

import hashlib
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Select, select

from tailrace.errors import NotKnownError
from tailrace.records import tables as t
from tailrace.records.part import Part, add_row
from tailrace.records.rows import new_uid

_NEXT = timedelta(microseconds=1)


class SitesPart(Part):
    """The sites of the record."""

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
        with self._writing() as connection:
            there = select(t.sites.c.name).where(t.sites.c.name == name)
            if connection.execute(there).first() is None:
                row = {"name": name, "uid": new_uid(), "received_at": received_at}
                connection.execute(t.sites.insert().values(**row))
            latest = connection.execute(_versions(name)).mappings().first()
            if latest is not None and latest["sha256"] == digest:
                return False
            if latest is not None:  # a clock that jumped back must not hide the newest version
                received_at = max(received_at, latest["received_at"] + _NEXT)
            values = {"site": name, "text": text, "sha256": digest}
            add_row(connection, t.site_versions, received_at=received_at, **values)
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
        with self._reading() as connection:
            self._check_site(connection, name)
            query = _versions(name)
            if at is not None:
                query = query.where(t.site_versions.c.received_at <= at)
            row = connection.execute(query).mappings().first()
        if row is None:
            raise NotKnownError(f"the site {name!r} had no description yet at {at}.")
        return str(row["text"])

    def site_texts(self, name: str) -> tuple[tuple[datetime, str], ...]:
        """Return every version of a site's description with when it was received, oldest first.

        Parameters
        ----------
        name
            Short name of the site.

        Returns
        -------
        tuple
            Pairs of a moment and a text.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._reading() as connection:
            self._check_site(connection, name)
            rows = connection.execute(_versions(name)).mappings().all()
        return tuple((row["received_at"], row["text"]) for row in reversed(rows))

    def site_names(self) -> tuple[str, ...]:
        """Return the short names of all sites, in the order of the alphabet."""
        with self._reading() as connection:
            return tuple(sorted(connection.execute(select(t.sites.c.name)).scalars()))


def _versions(name: str) -> Select[Any]:
    return (
        select(t.site_versions)
        .where(t.site_versions.c.site == name)
        .order_by(t.site_versions.c.received_at.desc(), t.site_versions.c.number.desc())
    )
