"""Who is asking: the session or token of a request, what it may do, and forged posts refused.

Every address with a site depends on `Reader` or `Writer`; someone who may not see a site is told
that there is none. Open `tailrace.operations.accounts` for the rules.
"""

from __future__ import annotations

import hmac
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Annotated

from fastapi import Depends, Request

from tailrace.errors import NotKnownError, TailraceError
from tailrace.operations.accounts import ANYONE_HERE, Rights, whose
from tailrace.records.accounts import Accounts, KeyKind

COOKIE = "tailrace-session"
FORM_TOKEN = "form_token"  # the name of a field, no secret
FORM_HEADER = "X-Form-Token"
_SAFE = {"GET", "HEAD", "OPTIONS"}


class SignInNeededError(TailraceError):
    """The request came from nobody that is known."""


class NotAllowedError(TailraceError):
    """The request came from someone who may not do this."""


@dataclass(frozen=True, slots=True)
class Visitor:
    """Who is asking.

    Parameters
    ----------
    rights
        What they may do.
    form_token
        What every form of a page of theirs carries; empty without a session.
    secret
        Secret of the session; empty without one.
    closed
        Whether accounts exist, so that one must sign in.
    """

    rights: Rights
    form_token: str = ""
    secret: str = ""
    closed: bool = False


def now(_request: Request) -> datetime:
    """Return the present moment; keys and sessions end by it.

    Parameters
    ----------
    _request
        The request.

    Returns
    -------
    datetime
        Aware UTC.
    """
    return datetime.now(UTC)


def accounts_of(request: Request) -> Accounts:
    """Return the accounts beside the record that is served.

    Parameters
    ----------
    request
        The request.

    Returns
    -------
    Accounts
        The accounts.
    """
    found: Accounts = request.app.state.accounts
    return found


def visitor(request: Request) -> Visitor:
    """Return who is asking; found once for each request.

    Parameters
    ----------
    request
        The request.

    Returns
    -------
    Visitor
        Who it is; without an account anywhere, everybody on this machine may look.
    """
    found: Visitor | None = getattr(request.state, "visitor", None)
    if found is None:
        found = _find_visitor(request)
        request.state.visitor = found
    return found


def _find_visitor(request: Request) -> Visitor:
    accounts = accounts_of(request)
    if not getattr(request.app.state, "closed", False):
        request.app.state.closed = bool(accounts.all())  # once there is one, there always is
    if not request.app.state.closed:
        return Visitor(ANYONE_HERE)
    scheme, _, token = request.headers.get("Authorization", "").partition(" ")
    if scheme.lower() == "bearer":
        rights = whose(accounts, token.strip(), KeyKind.API, at=now(request))
        return Visitor(rights or Rights(), closed=True)
    secret = request.cookies.get(COOKIE, "")
    rights = whose(accounts, secret, KeyKind.SESSION, at=now(request)) if secret else None
    if rights is None:
        return Visitor(Rights(), closed=True)
    return Visitor(rights, form_token(secret), secret, closed=True)


def form_token(secret: str) -> str:
    """Return what forms of a session carry.

    Parameters
    ----------
    secret
        Secret of the session.

    Returns
    -------
    str
        32 hexadecimal digits, from which the secret cannot be found.
    """
    return hmac.new(secret.encode(), b"forms of this session", "sha256").hexdigest()[:32]


Who = Annotated[Visitor, Depends(visitor)]


def reader(site: str, who: Who) -> Visitor:
    """Return who is asking, if they may see the site.

    Parameters
    ----------
    site
        Short name in the address.
    who
        Who is asking.

    Returns
    -------
    Visitor
        The same.

    Raises
    ------
    SignInNeededError
        They have not signed in.
    NotKnownError
        The site is not theirs: for them there is none.
    """
    signed_in(who)
    if not who.rights.may_read(site):
        raise NotKnownError(f"the record holds no site {site!r}.")
    return who


def writer(site: str, who: Who) -> Visitor:
    """Return who is asking, if they may write into the log of the site.

    Parameters
    ----------
    site
        Short name in the address.
    who
        Who is asking.

    Returns
    -------
    Visitor
        The same.

    Raises
    ------
    SignInNeededError
        They have not signed in, or there is no account yet.
    NotAllowedError
        They may only look.
    NotKnownError
        The site is not theirs.
    """
    reader(site, who)
    if not who.closed:
        message = (
            "there is no account yet, so these pages only read. Make the owner's account with "
            "the address that 'tailrace serve' printed at its start."
        )
        raise NotAllowedError(message)
    if not who.rights.may_write(site):
        raise NotAllowedError("a viewer can look at everything and write nothing.")
    return who


def signed_in(who: Who) -> Visitor:
    """Return who is asking, if they are known.

    Parameters
    ----------
    who
        Who is asking.

    Returns
    -------
    Visitor
        The same.

    Raises
    ------
    SignInNeededError
        They have not signed in.
    """
    if who.rights.role is None:
        raise SignInNeededError("sign in first.")
    return who


def owner(who: Who) -> Visitor:
    """Return who is asking, if they own this installation.

    Parameters
    ----------
    who
        Who is asking.

    Returns
    -------
    Visitor
        The same.

    Raises
    ------
    SignInNeededError
        They have not signed in.
    NotAllowedError
        They are no owner.
    """
    signed_in(who)
    if not who.rights.owns:
        raise NotAllowedError("only an owner may do this.")
    return who


Reader = Annotated[Visitor, Depends(reader)]
Writer = Annotated[Visitor, Depends(writer)]
SignedIn = Annotated[Visitor, Depends(signed_in)]
Owner = Annotated[Visitor, Depends(owner)]


async def no_forgery(request: Request) -> None:
    """Refuse a change that another page made this browser ask for.

    Parameters
    ----------
    request
        The request; one that changes something and carries a cookie must come from a page of
        this server: its Origin says so, or where there is none, the form's own token.

    Raises
    ------
    NotAllowedError
        It came from elsewhere, or does not say where from.
    """
    if request.method in _SAFE:
        return
    origin = request.headers.get("Origin")
    if origin is not None:
        own = f"{request.url.scheme}://{request.headers.get('Host', '')}"
        if not hmac.compare_digest(origin.encode(), own.encode()):
            raise NotAllowedError("this request came from another page; nothing was changed.")
        return
    secret = request.cookies.get(COOKIE, "")
    if not secret:
        return
    given = request.headers.get(FORM_HEADER, "")
    if not given and request.headers.get("Content-Type", "").startswith(
        ("application/x-www-form-urlencoded", "multipart/form-data")
    ):
        given = str((await request.form()).get(FORM_TOKEN, ""))
    if not hmac.compare_digest(given.encode(), form_token(secret).encode()):
        message = "this form is too old or not of this server; load the page again and resend."
        raise NotAllowedError(message)
