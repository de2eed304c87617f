"""Pages served in this process, and a real browser that looks at them.

The browser is Debian's chromium; a machine without it fails here and never skips.
"""

from __future__ import annotations

import shutil
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

import uvicorn
from playwright.sync_api import Browser, Page, sync_playwright

from tailrace.cli.serve import HOST, listen
from tailrace.operations.record import open_record
from tailrace.web.app import create_app

# read as of the newest entry of each demonstration log
MOMENTS = {"lantern-school": "2026-11-09 08:24", "millrace-yard": "2026-11-09 07:28"}
PAGES = ("round", "water", "filter")
QUIET = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@contextmanager
def serving(home: Path) -> Iterator[str]:
    """Serve a record on a free port of this machine; gives its address."""
    listening = listen(0)
    app = create_app(open_record(str(home)))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error", access_log=False))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    try:
        yield f"http://{HOST}:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join(timeout=10.0)
        _close(listening)


def _close(listening: socket.socket) -> None:
    listening.close()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser."""
    found = shutil.which("chromium")
    if found is None:
        message = "no chromium on this machine; install it, as scripts/setup.sh test does."
        raise RuntimeError(message)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=found, args=list(QUIET))
        try:
            yield browser
        finally:
            browser.close()


@dataclass
class Watched:
    """A page with everything it said and asked for."""

    page: Page
    messages: list[str] = field(default_factory=list)
    hosts: set[str | None] = field(default_factory=set)
    failed: list[str] = field(default_factory=list)


@contextmanager
def watched(
    browser: Browser, *, width: int, height: int, scheme: str, script: bool = True
) -> Iterator[Watched]:
    """Open a page of one size and theme, and watch it."""
    context = browser.new_context(
        viewport={"width": width, "height": height},
        color_scheme="dark" if scheme == "dark" else "light",
        java_script_enabled=script,
        device_scale_factor=2 if width < 500 else 1,
    )
    page = context.new_page()
    seen = Watched(page)
    page.on("console", lambda message: seen.messages.append(message.text))
    page.on("pageerror", lambda error: seen.messages.append(str(error)))
    page.on("request", lambda request: seen.hosts.add(urlsplit(request.url).hostname))
    page.on("requestfailed", lambda request: seen.failed.append(request.url))
    try:
        yield seen
    finally:
        context.close()


def addresses() -> dict[str, str]:
    """Every page of both demonstration sites, by a name for its picture."""
    found = {"sites": "/", "about": "/about"}
    for site, at in MOMENTS.items():
        query = f"?at={at.replace(' ', 'T')}"
        found |= {f"{site}-{page}": f"/s/{site}/{page}{query}" for page in PAGES}
    return found
