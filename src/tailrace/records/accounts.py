"""Accounts and keys of this installation; a secret is kept only as its SHA-256.

Open `tailrace.operations.accounts` for the rules: who may do what, and how often one may guess.
"""

from __future__ import annotations

import hashlib
import secrets
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from sqlalchemy import Connection, RowMapping, func, select
from sqlalchemy.exc import IntegrityError

from tailrace.errors import InputError, NotKnownError
from tailrace.records import account_tables as t
from tailrace.records.engine import transaction
from tailrace.records.store import Store


class Role(StrEnum):
    """What an account may do."""

    OWNER = "owner"
    TECHNICIAN = "technician"
    GROWER = "grower"
    VIEWER = "viewer"


class KeyKind(StrEnum):
    """What a key opens."""

    SESSION = "session"
    API = "api"
    CALENDAR = "calendar"
    ONCE = "once"


@dataclass(frozen=True, slots=True)
class Account:
    """Someone who may sign in.

    Parameters
    ----------
    login
        Name to sign in with.
    person
        Id of the person that entries of this account name.
    role
        What it may do.
    sites
        Short names of its sites; an owner has all and needs none.
    open
        Whether it may still be used.
    """

    login: str
    person: str
    role: Role
    sites: tuple[str, ...]
    open: bool = True


@dataclass(frozen=True, slots=True)
class Key:
    """A key as it may be shown: never its secret.

    Parameters
    ----------
    number
        Its number.
    kind
        What it opens.
    login
        Whose it is; empty for the one that makes the first owner.
    label
        Words of its maker.
    created_at, expires_at, ended_at
        Aware UTC; the last two None while it has no end.
    """

    number: int
    kind: KeyKind
    login: str
    label: str
    created_at: datetime
    expires_at: datetime | None
    ended_at: datetime | None


class Accounts:
    """The accounts beside one record.

    Parameters
    ----------
    store
        The record.
    """

    def __init__(self, store: Store) -> None:
        self._engine, self._home = store.engine, store.home

    def add(self, account: Account, *, password: str, at: datetime) -> None:
        """Add an account.

        Parameters
        ----------
        account
            The account.
        password
            Its password, hashed.
        at
            When, aware.

        Raises
        ------
        InputError
            The login is taken.
        """
        row = {
            "login": account.login,
            "person": account.person,
            "role": account.role.value,
            "password": password,
            "created_at": at,
        }
        try:
            with transaction(self._engine, self._home, write=True) as connection:
                connection.execute(t.accounts.insert().values(**row))
                number = self._row(connection, account.login)["number"]
                self._set_sites(connection, number, account.sites)
        except IntegrityError as error:
            message = f"the login {account.login} is taken; choose another."
            raise InputError(message) from error

    def all(self) -> tuple[Account, ...]:
        """Return every account, closed ones too, by login."""
        with transaction(self._engine, self._home, write=False) as connection:
            rows = connection.execute(select(t.accounts).order_by(t.accounts.c.login))
            return tuple(self._account(connection, row) for row in rows.mappings().all())

    def find(self, login: str) -> Account:
        """Return an account.

        Parameters
        ----------
        login
            Its login.

        Returns
        -------
        Account
            The account.

        Raises
        ------
        NotKnownError
            There is none of that login.
        """
        with transaction(self._engine, self._home, write=False) as connection:
            return self._account(connection, self._row(connection, login))

    def password_of(self, login: str) -> str:
        """Return the hashed password of an account that is open; empty without one.

        Parameters
        ----------
        login
            Its login.

        Returns
        -------
        str
            Hash.
        """
        query = select(t.accounts.c.password).where(
            t.accounts.c.login == login, t.accounts.c.closed_at.is_(None)
        )
        with transaction(self._engine, self._home, write=False) as connection:
            return str(connection.execute(query).scalar() or "")

    def change(
        self,
        login: str,
        *,
        password: str | None = None,
        role: Role | None = None,
        sites: tuple[str, ...] | None = None,
        closed_at: datetime | None = None,
    ) -> None:
        """Change an account; what is not given stays.

        Parameters
        ----------
        login
            Its login.
        password
            Hashed.
        role
            What it may do.
        sites
            Short names of its sites.
        closed_at
            When it was closed.

        Raises
        ------
        NotKnownError
            There is none of that login.
        """
        given = {
            "password": password,
            "role": None if role is None else role.value,
            "closed_at": closed_at,
        }
        values = {key: value for key, value in given.items() if value is not None}
        with transaction(self._engine, self._home, write=True) as connection:
            number = self._row(connection, login)["number"]
            if values:
                where = t.accounts.c.number == number
                connection.execute(t.accounts.update().where(where).values(**values))
            if sites is not None:
                gone = t.account_sites.c.account == number
                connection.execute(t.account_sites.delete().where(gone))
                self._set_sites(connection, number, sites)

    # keys

    def make_key(
        self,
        kind: KeyKind,
        login: str,
        *,
        label: str,
        at: datetime,
        lasts: timedelta | None = None,
    ) -> str:
        """Make a key and return its secret, which is told this once.

        Parameters
        ----------
        kind
            What it opens.
        login
            Whose it is; empty for the one that makes the first owner.
        label
            Words to know it by.
        at
            When, aware.
        lasts
            How long it opens; None without end.

        Returns
        -------
        str
            The secret.

        Raises
        ------
        NotKnownError
            There is no such account.
        """
        secret = secrets.token_urlsafe(32)
        with transaction(self._engine, self._home, write=True) as connection:
            account = self._row(connection, login)["number"] if login else None
            row = {
                "sha256": _digest(secret),
                "kind": kind.value,
                "account": account,
                "label": label,
                "created_at": at,
                "expires_at": None if lasts is None else at + lasts,
            }
            connection.execute(t.keys.insert().values(**row))
        return secret

    def key(self, secret: str, kind: KeyKind, *, at: datetime) -> Key | None:
        """Return the key of a secret, if it opens.

        Parameters
        ----------
        secret
            As it was told.
        kind
            What it must open.
        at
            When, aware.

        Returns
        -------
        Key or None
            None if it is not known, of another kind, over, ended, or its account is closed.
        """
        with transaction(self._engine, self._home, write=False) as connection:
            where = t.keys.c.sha256 == _digest(secret), t.keys.c.kind == kind.value
            found = self._keys(connection, *where)
        key = found[0] if found else None
        if key is None or key.ended_at is not None:
            return None
        return None if key.expires_at is not None and key.expires_at <= at else key

    def keys(self, login: str, *kinds: KeyKind) -> tuple[Key, ...]:
        """Return the keys of an account, ended ones too, the newest first.

        Parameters
        ----------
        login
            Its login.
        *kinds
            Kinds wanted.

        Returns
        -------
        tuple of Key
            Without their secrets.
        """
        names = [kind.value for kind in kinds]
        with transaction(self._engine, self._home, write=False) as connection:
            where = t.accounts.c.login == login, t.keys.c.kind.in_(names)
            return self._keys(connection, *where)

    def end_key(self, number: int, *, at: datetime) -> None:
        """End a key: it opens nothing any more.

        Parameters
        ----------
        number
            Its number.
        at
            When, aware.
        """
        where = t.keys.c.number == number, t.keys.c.ended_at.is_(None)
        with transaction(self._engine, self._home, write=True) as connection:
            connection.execute(t.keys.update().where(*where).values(ended_at=at))

    def end_keys(self, login: str, *kinds: KeyKind, at: datetime) -> None:
        """End all keys of some kinds of an account.

        Parameters
        ----------
        login
            Its login.
        *kinds
            Kinds that end.
        at
            When, aware.
        """
        with transaction(self._engine, self._home, write=True) as connection:
            number = self._row(connection, login)["number"]
            where = (
                t.keys.c.account == number,
                t.keys.c.kind.in_([kind.value for kind in kinds]),
                t.keys.c.ended_at.is_(None),
            )
            connection.execute(t.keys.update().where(*where).values(ended_at=at))

    # attempts to sign in

    def note_attempt(self, login: str, address: str, *, passed: bool, at: datetime) -> None:
        """Note an attempt to sign in; those of more than a day ago are forgotten.

        Parameters
        ----------
        login
            As typed.
        address
            Where it came from.
        passed
            Whether it was let in.
        at
            When, aware.
        """
        row = {"login": login[:60], "address": address[:60], "at": at, "passed": passed}
        with transaction(self._engine, self._home, write=True) as connection:
            old = t.attempts.c.at < at - timedelta(days=1)
            connection.execute(t.attempts.delete().where(old))
            connection.execute(t.attempts.insert().values(**row))

    def failures(self, *, since: datetime, login: str = "", address: str = "") -> int:
        """Count the failed attempts since a moment.

        Parameters
        ----------
        since
            Aware.
        login, address
            Of this login, from this address; empty for any.

        Returns
        -------
        int
            How many.
        """
        query = select(func.count()).where(t.attempts.c.at > since, ~t.attempts.c.passed)
        if login:
            query = query.where(t.attempts.c.login == login[:60])
        if address:
            query = query.where(t.attempts.c.address == address[:60])
        with transaction(self._engine, self._home, write=False) as connection:
            return int(connection.execute(query).scalar_one())

    # pieces

    @staticmethod
    def _row(connection: Connection, login: str) -> RowMapping:
        query = select(t.accounts).where(t.accounts.c.login == login)
        row = connection.execute(query).mappings().first()
        if row is None:
            raise NotKnownError(f"there is no account {login!r}.")
        return row

    @staticmethod
    def _account(connection: Connection, row: RowMapping) -> Account:
        query = select(t.account_sites.c.site).where(t.account_sites.c.account == row["number"])
        sites = tuple(sorted(connection.execute(query).scalars().all()))
        role = Role(row["role"])
        return Account(row["login"], row["person"], role, sites, row["closed_at"] is None)

    @staticmethod
    def _set_sites(connection: Connection, number: int, sites: tuple[str, ...]) -> None:
        for site in dict.fromkeys(sites):
            connection.execute(t.account_sites.insert().values(account=number, site=site))

    @staticmethod
    def _keys(connection: Connection, *where: object) -> tuple[Key, ...]:
        query = (
            select(t.keys, t.accounts.c.login, t.accounts.c.closed_at)
            .select_from(t.keys.outerjoin(t.accounts))
            .where(*where)  # type: ignore[arg-type]  # each is a condition on columns
            .order_by(t.keys.c.number.desc())
        )
        found = []
        for row in connection.execute(query).mappings().all():
            ended = row["ended_at"] or row["closed_at"]
            kind = KeyKind(row["kind"])
            about = row["label"], row["created_at"], row["expires_at"], ended
            found.append(Key(row["number"], kind, row["login"] or "", *about))
        return tuple(found)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
