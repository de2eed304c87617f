"""Signing in and out, the first owner, one-time addresses, one's own keys, and other people."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Form, Request, Response
from fastapi.responses import RedirectResponse

from tailrace.errors import InputError
from tailrace.operations import accounts as a
from tailrace.records.accounts import Account, KeyKind, Role
from tailrace.web.answers import Asked
from tailrace.web.who import COOKIE, Owner, SignedIn, Who, accounts_of, now
from tailrace.web.words import page

router = APIRouter()
Field = Annotated[str, Form(max_length=300)]
_HOME = "/"
ROLES = {
    Role.OWNER: "everything, on all sites, and other people's accounts",
    Role.TECHNICIAN: "log entries and settings of the sites named, and their descriptions",
    Role.GROWER: "log entries of the sites named",
    Role.VIEWER: "looks at the sites named and writes nothing",
}


@router.get("/sign-in")
def _sign_in_page(request: Request, who: Who, next: str = _HOME) -> Response:
    """Answer with the form."""
    if who.rights.login:
        return RedirectResponse(_own_path(next), status_code=303)
    return _sign_in_form(request, who, next)


@router.post("/sign-in")
def _sign_in(
    request: Request,
    who: Who,
    login: Field,
    password: Field,
    next: Field = _HOME,
) -> Response:
    """Let someone in, or say why not."""
    address = request.client.host if request.client else ""
    try:
        secret = a.sign_in(accounts_of(request), login, password, address=address, at=now(request))
    except a.WaitError as error:
        return _sign_in_form(request, who, next, login=login, said=str(error), status=429)
    except a.RefusedError as error:
        return _sign_in_form(request, who, next, login=login, said=str(error), status=401)
    return _entered(request, secret, _own_path(next))


@router.post("/sign-out")
def _sign_out(request: Request, who: Who) -> Response:
    """End the session of this browser."""
    a.sign_out(accounts_of(request), who.secret, at=now(request))
    answer = RedirectResponse("/sign-in", status_code=303)
    answer.delete_cookie(COOKIE)
    return answer


@router.get("/first/{secret}")
def _first_page(request: Request, who: Who, secret: str) -> Response:
    """Answer with the form that makes the owner."""
    return _once_form(request, who, secret, first=True)


@router.post("/first/{secret}")
def _first(request: Request, who: Who, secret: str, login: Field, password: Field) -> Response:
    """Make the owner and let them in."""
    accounts, at = accounts_of(request), now(request)
    try:
        account = a.make_owner(accounts, secret, login=login, password=password, at=at)
    except InputError as error:
        return _once_form(request, who, secret, first=True, login=login, said=str(error))
    return _enter(request, account, password)


@router.get("/once/{secret}")
def _once_page(request: Request, who: Who, secret: str) -> Response:
    """Answer with the form that sets a password."""
    return _once_form(request, who, secret)


@router.post("/once/{secret}")
def _once(request: Request, who: Who, secret: str, password: Field) -> Response:
    """Set a password and let its owner in."""
    try:
        account = a.set_password(accounts_of(request), secret, password, at=now(request))
    except InputError as error:
        return _once_form(request, who, secret, said=str(error))
    return _enter(request, account, password)


@router.get("/me")
def _me(request: Request, who: SignedIn) -> Response:
    """Answer with one's own sessions and tokens."""
    return _own_page(request, who)


@router.post("/me/keys")
def _make_key(request: Request, who: SignedIn, kind: Field, label: Field = "") -> Response:
    """Make a token for programs or a calendar; it is told this once."""
    if kind not in {KeyKind.API, KeyKind.CALENDAR}:
        raise InputError("a key is for a program (api) or for a calendar (calendar).")
    accounts = accounts_of(request)
    secret = accounts.make_key(KeyKind(kind), who.rights.login, label=label[:100], at=now(request))
    return _own_page(request, who, made=KeyKind(kind), secret=secret)


@router.post("/me/keys/{number}/end")
def _end_key(request: Request, who: SignedIn, number: int) -> Response:
    """End one of one's own keys."""
    a.end_own_key(accounts_of(request), who.rights.login, number, at=now(request))
    return RedirectResponse("/me", status_code=303)


@router.get("/people")
def _people(request: Request, who: Owner) -> Response:
    """Answer with everybody's accounts."""
    return _people_page(request, who)


@router.post("/people")
def _invite(
    request: Request, who: Owner, login: Field, role: Field, sites: Field = ""
) -> Response:
    """Add an account, and show the address at which its holder sets a password."""
    named = tuple(site for site in sites.replace(",", " ").split() if site)
    name = login.strip().lower()
    try:
        _check_invitation(request, role, named)
        secret = a.invite(
            accounts_of(request), Account(name, name, Role(role), named), at=now(request)
        )
    except InputError as error:
        return _people_page(request, who, said=str(error), typed=(login, role, sites))
    return _people_page(request, who, made=(name, f"{request.base_url}once/{secret}"))


@router.post("/people/{login}/reset")
def _reset(request: Request, who: Owner, login: str) -> Response:
    """Show an address at which the holder sets a new password."""
    secret = a.reset_key(accounts_of(request), login, at=now(request))
    return _people_page(request, who, made=(login, f"{request.base_url}once/{secret}"))


@router.post("/people/{login}/close")
def _close(request: Request, who: Owner, login: str) -> Response:
    """Close an account."""
    try:
        a.close_account(accounts_of(request), login, at=now(request))
    except InputError as error:
        return _people_page(request, who, said=str(error))
    return RedirectResponse("/people", status_code=303)


def _check_invitation(request: Request, role: str, named: tuple[str, ...]) -> None:
    if role not in set(Role):
        raise InputError("choose one of the roles.")
    known = request.app.state.answers.names()
    unknown = [site for site in named if site not in known]
    if unknown:
        message = (
            f"the record holds no site {unknown[0]!r}; it holds {', '.join(known)}. Write their "
            "short names with a space between."
        )
        raise InputError(message)


def _own_path(asked: str) -> str:
    """Return an address on this server only: nobody is sent elsewhere after signing in."""
    own = asked.startswith("/") and not asked.startswith(("//", "/\\")) and "\n" not in asked
    return asked if own else _HOME


def _enter(request: Request, account: Account, password: str) -> Response:
    address = request.client.host if request.client else ""
    secret = a.sign_in(
        accounts_of(request), account.login, password, address=address, at=now(request)
    )
    return _entered(request, secret, _HOME)


def _entered(request: Request, secret: str, path: str) -> Response:
    answer = RedirectResponse(path, status_code=303)
    answer.set_cookie(
        COOKIE,
        secret,
        max_age=int(a.SESSION_LASTS.total_seconds()),
        httponly=True,
        samesite="lax",
        secure=request.url.scheme == "https",
    )
    return answer


def _sign_in_form(
    request: Request,
    who: Who,
    after: str,
    *,
    login: str = "",
    said: str = "",
    status: int = 200,
) -> Response:
    open_network = request.app.state.lan and request.url.scheme != "https"
    shown = {"after": _own_path(after), "login": login, "said": said, "lan": open_network}
    return _plain_page(request, "sign_in.html", who, status=status, **shown)


def _once_form(
    request: Request,
    who: Who,
    secret: str,
    *,
    first: bool = False,
    login: str = "",
    said: str = "",
) -> Response:
    accounts = accounts_of(request)
    key = accounts.key(secret, KeyKind.ONCE, at=now(request))
    good = key is not None and bool(key.login) is not first
    shown: dict[str, Any] = {
        "first": first,
        "good": good,
        "login": key.login if key is not None and key.login else login,
        "said": said,
        "shortest": a.SHORTEST,
    }
    status = 400 if said else 200 if good else 404
    return _plain_page(request, "once.html", who, status=status, **shown)


def _own_page(
    request: Request, who: Who, *, made: KeyKind | None = None, secret: str = ""
) -> Response:
    shown: dict[str, Any] = {
        "rights": who.rights,
        "keys": a.own_keys(accounts_of(request), who.rights.login),
        "made": made,
        "secret": secret,
        "sites": [n for n in request.app.state.answers.names() if who.rights.may_read(n)],
        "base": str(request.base_url),
    }
    return _plain_page(request, "me.html", who, **shown)


def _people_page(
    request: Request,
    who: Who,
    *,
    said: str = "",
    typed: tuple[str, str, str] = ("", "", ""),
    made: tuple[str, str] | None = None,
) -> Response:
    shown: dict[str, Any] = {
        "accounts": accounts_of(request).all(),
        "roles": ROLES,
        "said": said,
    }
    status = 400 if said else 200
    return _plain_page(request, "people.html", who, status=status, typed=typed, made=made, **shown)


def _plain_page(
    request: Request, template: str, who: Who, *, status: int = 200, **shown: Any
) -> Response:
    return page(
        template,
        path=request.url.path,
        asked=Asked(),
        foot={},
        status=status,
        who=who,
        **shown,
    )
