"""The application: addresses, who may ask, what a browser may load, and plain words for faults."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from http import HTTPStatus

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from starlette.exceptions import HTTPException
from starlette.middleware.gzip import GZipMiddleware
from starlette.middleware.trustedhost import TrustedHostMiddleware

from tailrace import __version__
from tailrace.errors import InputError, NotKnownError, TailraceError
from tailrace.records.store import Store
from tailrace.web import assets, pages
from tailrace.web.answers import Answers, Asked, Clock, this_minute
from tailrace.web.words import page

HOSTS = ("127.0.0.1", "localhost")
GUARDS = {
    "Content-Security-Policy": (
        "default-src 'self'; script-src 'none'; base-uri 'none'; form-action 'self'; "
        "frame-ancestors 'none'; object-src 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin",
}
_NO_SUCH_PAGE = (
    "There is no such page here. A site has three: its round, its water and its filter."
)
_READ_ONLY = "These pages only read. Write into the log with 'tailrace log import'."
_INSIDE = (
    "Something went wrong inside Tailrace. Nothing was changed: pages only read. Load the page "
    "again; if it stays so, ask the same with 'tailrace round SITE' in a terminal."
)


def create_app(store: Store, *, at: str | None = None, clock: Clock = this_minute) -> FastAPI:
    """Make the application over one record.

    Parameters
    ----------
    store
        The record; it is only read.
    at
        Moment that stands where a page asks for none; None for now.
    clock
        Gives the present minute.

    Returns
    -------
    FastAPI
        The application.
    """
    app = FastAPI(
        title="Tailrace", version=__version__, docs_url=None, redoc_url=None, openapi_url=None
    )
    app.state.answers = Answers(store, at=at, clock=clock)
    app.include_router(assets.router)
    app.include_router(pages.router)
    for kind in (TailraceError, RequestValidationError, HTTPException, Exception):
        app.add_exception_handler(kind, _fault)
    app.middleware("http")(_guard)
    app.add_middleware(GZipMiddleware, minimum_size=1000)
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=list(HOSTS), www_redirect=False)
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
        return _guarded(JSONResponse({"error": said}, status_code=status))
    made = page(
        "fault.html",
        path=request.url.path,
        asked=Asked(),
        foot={},
        status=status,
        title=HTTPStatus(status).phrase.lower(),
        said=said,
    )
    return _guarded(made)  # an unforeseen fault is answered outside the guard


def _status_and_words(error: Exception) -> tuple[int, str]:
    if isinstance(error, NotKnownError):
        return 404, str(error)
    if isinstance(error, InputError):
        return 400, str(error)
    if isinstance(error, TailraceError):
        return 503, str(error)
    if isinstance(error, RequestValidationError):
        return 400, _validation(error)
    if isinstance(error, HTTPException):
        return error.status_code, _READ_ONLY if error.status_code == 405 else _NO_SUCH_PAGE
    return 500, _INSIDE


def _validation(error: RequestValidationError) -> str:
    fields = ", ".join(sorted({str(part["loc"][-1]) for part in error.errors()}))
    return (
        f"The address asks for something that cannot be read ({fields}). Write units=us or "
        "units=metric, days=1, 7, 30 or 365, and at= with a time such as 2026-10-14 07:30."
    )
