"""Who may do what: the first owner, signing in and out, roles, tokens, forgotten passwords.

A password is hashed with argon2id; a wrong login costs as much time as a wrong password. After
some failed attempts a login from one address has to wait.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache

from pwdlib import PasswordHash

from tailrace.errors import InputError, NotKnownError
from tailrace.records.accounts import Account, Accounts, Key, KeyKind, Role

SESSION_LASTS = timedelta(days=30)
INVITATION_LASTS = timedelta(days=3)
FIRST_LASTS = timedelta(hours=12)
LONGEST, SHORTEST = 200, 10
_WINDOW = timedelta(minutes=15)
_OF_LOGIN_HERE, _OF_ADDRESS, _OF_LOGIN = 5, 20, 50
_LOGIN = re.compile(r"[a-z0-9][a-z0-9._-]{1,39}")


class RefusedError(InputError):
    """A login, a password or a key that does not open."""


class WaitError(InputError):
    """Too many failed attempts; the text says how long to wait."""


@dataclass(frozen=True, slots=True)
class Rights:
    """What someone who asks may do.

    Parameters
    ----------
    login
        Login; empty for someone who has not signed in.
    person
        Id of the person that entries name.
    role
        Role; None for someone who has not signed in.
    sites
        Sites; None for all.
    """

    login: str = ""
    person: str = ""
    role: Role | None = None
    sites: tuple[str, ...] | None = ()

    def may_read(self, site: str) -> bool:
        """Tell whether pages of a site may be seen."""
        return self.role is not None and (self.sites is None or site in self.sites)

    def may_write(self, site: str) -> bool:
        """Tell whether entries may be made for a site."""
        return self.may_read(site) and self.role is not Role.VIEWER

    def may_set_up(self, site: str = "") -> bool:
        """Tell whether a site may be described anew; without a name, whether one may be added."""
        if self.role is Role.OWNER:
            return True
        return bool(site) and self.role is Role.TECHNICIAN and self.may_read(site)

    @property
    def owns(self) -> bool:
        """Whether accounts may be managed."""
        return self.role is Role.OWNER


ANYONE_HERE = Rights(role=Role.VIEWER, sites=None)  # while there is no account, pages only read


@cache
def _hasher() -> PasswordHash:
    return PasswordHash.recommended()


@cache
def _some_hash() -> str:
    return _hasher().hash("checked where there is no such login, to take as long")


def rights_of(account: Account) -> Rights:
    """Return what an account may do.

    Parameters
    ----------
    account
        The account.

    Returns
    -------
    Rights
        Its rights; an owner's reach every site.
    """
    sites = None if account.role is Role.OWNER else account.sites
    return Rights(account.login, account.person, account.role, sites)


def first_key(accounts: Accounts, *, at: datetime) -> str:
    """Make the one-time key with which the first owner makes an account.

    Parameters
    ----------
    accounts
        Accounts, none yet.
    at
        When, aware.

    Returns
    -------
    str
        The key.

    Raises
    ------
    InputError
        There is an account already.
    """
    if accounts.all():
        raise InputError("there is an owner already; an owner invites others.")
    return accounts.make_key(KeyKind.ONCE, "", label="first owner", at=at, lasts=FIRST_LASTS)


def make_owner(
    accounts: Accounts, secret: str, *, login: str, password: str, at: datetime
) -> Account:
    """Make the first owner.

    Parameters
    ----------
    accounts
        Accounts, none yet.
    secret
        Key of `first_key`.
    login, password
        As chosen.
    at
        When, aware.

    Returns
    -------
    Account
        The owner.

    Raises
    ------
    RefusedError
        The key does not open.
    InputError
        The login or the password cannot be used.
    """
    key = accounts.key(secret, KeyKind.ONCE, at=at)
    if key is None or key.login or accounts.all():
        raise RefusedError(_SPENT)
    account = Account(_checked_login(login), _checked_login(login), Role.OWNER, ())
    accounts.add(account, password=_hashed(account.login, password), at=at)
    accounts.end_key(key.number, at=at)
    return account


def invite(accounts: Accounts, account: Account, *, at: datetime) -> str:
    """Add an account and return the one-time key with which its holder sets a password.

    Parameters
    ----------
    accounts
        Accounts.
    account
        The account.
    at
        When, aware.

    Returns
    -------
    str
        The key.

    Raises
    ------
    InputError
        The login cannot be used, or is taken.
    """
    _checked_login(account.login)
    accounts.add(account, password="", at=at)
    return reset_key(accounts, account.login, at=at)


def reset_key(accounts: Accounts, login: str, *, at: datetime) -> str:
    """Make a one-time key with which the holder of an account sets a new password.

    Parameters
    ----------
    accounts
        Accounts.
    login
        Its login.
    at
        When, aware.

    Returns
    -------
    str
        The key; earlier ones of this account end.

    Raises
    ------
    NotKnownError
        There is no such account.
    """
    accounts.end_keys(login, KeyKind.ONCE, at=at)
    label = "set a password"
    return accounts.make_key(KeyKind.ONCE, login, label=label, at=at, lasts=INVITATION_LASTS)


def set_password(accounts: Accounts, secret: str, password: str, *, at: datetime) -> Account:
    """Set a password by a one-time key; every session of the account ends.

    Parameters
    ----------
    accounts
        Accounts.
    secret
        Key of `reset_key`.
    password
        As chosen.
    at
        When, aware.

    Returns
    -------
    Account
        The account.

    Raises
    ------
    RefusedError
        The key does not open.
    InputError
        The password cannot be used.
    """
    key = accounts.key(secret, KeyKind.ONCE, at=at)
    if key is None or not key.login:
        raise RefusedError(_SPENT)
    accounts.change(key.login, password=_hashed(key.login, password))
    accounts.end_keys(key.login, KeyKind.ONCE, KeyKind.SESSION, at=at)
    return accounts.find(key.login)


def sign_in(accounts: Accounts, login: str, password: str, *, address: str, at: datetime) -> str:
    """Let someone in.

    Parameters
    ----------
    accounts
        Accounts.
    login, password
        As typed.
    address
        Where the request came from.
    at
        When, aware.

    Returns
    -------
    str
        Secret of the session.

    Raises
    ------
    RefusedError
        Login and password do not belong together.
    WaitError
        There were too many failed attempts.
    """
    name = login.strip().lower()
    _check_attempts(accounts, name, address, at)
    hashed = accounts.password_of(name)
    passed = _hasher().verify(password[: LONGEST + 1], hashed or _some_hash()) and bool(hashed)
    accounts.note_attempt(name, address, passed=passed, at=at)
    if not passed:
        message = (
            "this login and password do not belong together. Look for a capital letter or a "
            "space; on the machine itself 'tailrace people reset NAME' makes a new password."
        )
        raise RefusedError(message)
    return accounts.make_key(KeyKind.SESSION, name, label="browser", at=at, lasts=SESSION_LASTS)


def whose(accounts: Accounts, secret: str, kind: KeyKind, *, at: datetime) -> Rights | None:
    """Return what the holder of a session or token may do.

    Parameters
    ----------
    accounts
        Accounts.
    secret
        The secret.
    kind
        What it must be.
    at
        When, aware.

    Returns
    -------
    Rights or None
        None if it does not open.
    """
    key = accounts.key(secret, kind, at=at)
    return None if key is None or not key.login else rights_of(accounts.find(key.login))


def sign_out(accounts: Accounts, secret: str, *, at: datetime) -> None:
    """End a session.

    Parameters
    ----------
    accounts
        Accounts.
    secret
        Its secret.
    at
        When, aware.
    """
    key = accounts.key(secret, KeyKind.SESSION, at=at)
    if key is not None:
        accounts.end_key(key.number, at=at)


def end_own_key(accounts: Accounts, login: str, number: int, *, at: datetime) -> None:
    """End a token of an account.

    Parameters
    ----------
    accounts
        Accounts.
    login
        Whose it must be.
    number
        Number of the key.
    at
        When, aware.

    Raises
    ------
    NotKnownError
        The account has no such key.
    """
    if number not in {key.number for key in own_keys(accounts, login)}:
        raise NotKnownError(f"this account has no key {number}.")
    accounts.end_key(number, at=at)


def own_keys(accounts: Accounts, login: str) -> tuple[Key, ...]:
    """Return the sessions and tokens of an account.

    Parameters
    ----------
    accounts
        Accounts.
    login
        Its login.

    Returns
    -------
    tuple of Key
        The newest first.
    """
    return accounts.keys(login, KeyKind.SESSION, KeyKind.API, KeyKind.CALENDAR)


def close_account(accounts: Accounts, login: str, *, at: datetime) -> None:
    """Close an account; its entries stay, its sessions and tokens end.

    Parameters
    ----------
    accounts
        Accounts.
    login
        Its login.
    at
        When, aware.

    Raises
    ------
    InputError
        It is the last owner.
    NotKnownError
        There is no such account.
    """
    owners = [one.login for one in accounts.all() if one.open and one.role is Role.OWNER]
    if owners == [login]:
        raise InputError("the last owner cannot be closed; make someone else an owner first.")
    accounts.change(login, closed_at=at)


_SPENT = (
    "this address has been used, has run out or never was. Ask for a new one: "
    "'tailrace people reset NAME' on the machine makes it."
)


def _check_attempts(accounts: Accounts, login: str, address: str, at: datetime) -> None:
    since = at - _WINDOW
    if (
        accounts.failures(since=since, login=login, address=address) >= _OF_LOGIN_HERE
        or accounts.failures(since=since, address=address) >= _OF_ADDRESS
        or accounts.failures(since=since, login=login) >= _OF_LOGIN
    ):
        message = "too many attempts have failed; wait 15 minutes and try again."
        raise WaitError(message)


def _checked_login(login: str) -> str:
    name = login.strip().lower()
    if not _LOGIN.fullmatch(name):
        message = (
            f"the login {login.strip()[:40]!r} cannot be used: write 2 to 40 letters a to z, "
            "digits, dots or hyphens, beginning with a letter or digit."
        )
        raise InputError(message)
    return name


def _hashed(login: str, password: str) -> str:
    if not SHORTEST <= len(password) <= LONGEST:
        message = (
            f"a password has {SHORTEST} to {LONGEST} characters; this one has {len(password)}. "
            "Four words in a row are good."
        )
        raise InputError(message)
    if login in password.lower() or len(set(password)) < 5:
        message = "this password is easily guessed; take one without the login, of mixed letters."
        raise InputError(message)
    return _hasher().hash(password)
