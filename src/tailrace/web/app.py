"""The application: addresses, who may ask, what a browser may load, and plain words for faults."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Sequence
from http import HTTPStatus
from urllib.parse import urlencode

from fastapi import Depends, FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse, RedirectResponse
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware

from tailrace import __version__
from tailrace.errors import InputError, NotKnownError, TailraceError
from tailrace.operations.accounts import Rights, WaitError
from tailrace.records.accounts import Accounts
from tailrace.records.store import Store
from tailrace.web import assets, feeds, log_forms, pages, sign_in
from tailrace.web.answers import Answers, Asked, Clock, this_minute
from tailrace.web.who import NotAllowedError, SignInNeededError, Visitor, no_forgery, visitor
from tailrace.web.words import page

HOSTS = ("127.0.0.1", "localhost")
GUARDS = {
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'self'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'; object-src 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
MOST_BYTES = 32 * 1024 * 1024  # a form, a photo or a log file needs less
_TOO_LARGE = "This is larger than 32 MB; nothing was stored. Send it in parts."
_NO_SUCH_PAGE = "There is no such page here. Begin with the list of sites."
_NO_SUCH_ACT = "This address does not take that kind of request."
_INSIDE = (
    "Something went wrong inside Tailrace. What was confirmed before is kept. Load the page "
    "again; if it stays so, ask the same with 'tailrace round SITE' in a terminal."
)


def create_app(
    store: Store,
    *,
    at: str | None = None,
    clock: Clock = this_minute,
    hosts: Sequence[str] = HOSTS,
    lan: bool = False,
) -> FastAPI:
    """Make the application over one record.

    Parameters
    ----------
    store
        The record.
    at
        Moment that stands where a page asks for none; None for now.
    clock
        Gives the present minute.
    hosts
        Names and addresses of this machine that a browser may use.
    lan
        Whether other machines can reach it.

    Returns
    -------
    FastAPI
        The application.
    """
    app = FastAPI(
        title="Tailrace",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        dependencies=[Depends(no_forgery)],
        max_body_size=MOST_BYTES,
    )
    app.state.answers = Answers(store, at=at, clock=clock)
    app.state.store = store
    app.state.accounts = Accounts(store)
    app.state.lan = lan
    for part in (assets, pages, log_forms, sign_in, feeds):
        app.include_router(part.router)
    for kind in (TailraceError, RequestValidationError, HTTPException, Exception):
        app.add_exception_handler(kind, _fault)
    app.middleware("http")(_guard)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(hosts), www_redirect=False)
    return app


async def _guard(request: Request, answer: Callable[[Request], Awaitable[Response]]) -> Response:
    return _guarded(await answer(request))


def _guarded(response: Response) -> Response:
    for name, value in GUARDS.items():
        response.headers[name] = value
    response.headers.setdefault("Cache-Control", "no-store")
    return response


def _fault(request: Request, error: Exception) -> Response:
    """Answer with one plain sentence: a page, or JSON below /api."""
    status, said = _status_and_words(error)
    if request.url.path.startswith("/api/"):
        return _guarded(JSONResponse({"error": {"status": status, "says": said}}, status))
    if isinstance(error, SignInNeededError) and request.method == "GET":
        asked_for = f"{request.url.path}?{request.url.query}".rstrip("?")
        address = f"/sign-in?{urlencode({'next': asked_for})}"
        return _guarded(RedirectResponse(address, status_code=303))
    made = page(
        "fault.html",
        path=request.url.path,
        asked=Asked(),
        foot={},
        who=_who(request),
        status=status,
        title=HTTPStatus(status).phrase.lower(),
        said=said,
    )
    return _guarded(made)  # an unforeseen fault is answered outside the guard


def _who(request: Request) -> Visitor:
    try:
        return visitor(request)
    except TailraceError:  # the record itself is what is wrong
        return Visitor(Rights())


_STATUS: tuple[tuple[type[Exception], int], ...] = (
    (SignInNeededError, 401),
    (NotAllowedError, 403),
    (WaitError, 429),
    (NotKnownError, 404),
    (InputError, 400),
    (TailraceError, 503),
)


def _status_and_words(error: Exception) -> tuple[int, str]:
    if isinstance(error, RequestValidationError):
        return 400, _validation(error)
    if isinstance(error, HTTPException):
        said = {405: _NO_SUCH_ACT, 413: _TOO_LARGE}
        return error.status_code, said.get(error.status_code, _NO_SUCH_PAGE)
    found = (status for kind, status in _STATUS if isinstance(error, kind))
    status = next(found, 500)
    return status, _INSIDE if status == 500 else str(error)


def _validation(error: RequestValidationError) -> str:
    fields = ", ".join(sorted({str(part["loc"][-1]) for part in error.errors()}))
    return (
        f"What was sent cannot be read ({fields}). In an address write units=us or units=metric, "
        "days=1, 7, 30 or 365, and at= with a time such as 2026-10-14 07:30; in a form fill every "
        "field."
    )
