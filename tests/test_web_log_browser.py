"""The log and the round's forms in a real browser, on a phone, with script and without."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tailrace.operations import accounts as a
from tailrace.operations.record import open_record
from tailrace.records.accounts import Accounts
from tests.browser import chromium, serving, watched

WORDS = "four wet words here"
SITE = "lantern-school"
SHOTS = os.environ.get("TAILRACE_LOG_SHOTS")  # a folder for pictures to look at
SMALL = """() => [...document.querySelectorAll('button, summary, input, select, textarea, a')]
  .filter(e => e.offsetParent && !e.classList.contains('skip') && e.type !== 'hidden')
  .map(e => [e.textContent.trim() || e.name, e.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44)
  .map(([text, box]) => `${text}: ${box.width} x ${box.height}`)"""


@pytest.fixture(scope="module")
def home(demo_home: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = shutil.copytree(demo_home, tmp_path_factory.mktemp("log") / "record")
    accounts, at = Accounts(open_record(str(made))), datetime.now(UTC) - timedelta(hours=1)
    a.make_owner(accounts, a.first_key(accounts, at=at), login="olu", password=WORDS, at=at)
    return made


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


def clean(page: Page, width: int, name: str) -> None:
    """Check the page as it stands, with every fold open."""
    for summary in page.locator("summary").all():
        if summary.locator("xpath=..").get_attribute("open") is None:
            summary.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width, name
    assert page.evaluate(SMALL) == [], name
    assert page.locator("h1").count() == 1
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}-{width}.png", full_page=True)
    found = Axe().run(page).response["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found] == [], name


def day(base: str, page: Page, check: bool, width: int) -> None:
    """Sign in, write a line that is asked about, store it, correct it, tap a backwash."""

    def look(name: str) -> None:
        if check:
            clean(page, width, name)

    page.goto(f"{base}/sign-in")
    page.get_by_label("Login").fill("olu")
    page.get_by_label("Password").fill(WORDS)
    page.get_by_role("button", name="Sign in").click()
    page.goto(f"{base}/s/{SITE}/log")
    look("log")
    page.get_by_label("What was seen or done").fill(f"ph 7.{width % 10}; nitrite 0.{width}")
    page.get_by_role("button", name="Read it back").first.click()
    look("asked")
    page.get_by_role("button", name="as N", exact=False).first.click()
    page.get_by_role("button", name="Store all 2").wait_for()
    look("understood")
    page.get_by_role("button", name="Store all 2").click()
    page.wait_for_url("**/log?stored=*")
    page.get_by_role("status").get_by_role("link").first.click()
    page.get_by_label("Value as it should be").fill("7.4")
    page.get_by_label("Why").first.fill("misread")
    page.get_by_role("button", name="Correct it").click()
    page.get_by_text("misread (olu)").wait_for()
    look("entry")
    page.goto(f"{base}/s/{SITE}/round")
    look("round")
    page.get_by_role("button", name="Just now", exact=True).click()
    page.wait_for_url("**/round")


@pytest.mark.parametrize(("width", "height", "scheme"), [(390, 844, "light"), (320, 640, "dark")])
def test_the_log_fits_a_phone_and_is_clean(
    home: Path, browser: Browser, width: int, height: int, scheme: str
) -> None:
    with (
        serving(home) as base,
        watched(browser, width=width, height=height, scheme=scheme) as seen,
    ):
        day(base, seen.page, True, width)
        assert seen.messages == []
        assert seen.hosts == {"127.0.0.1"}


def test_the_log_works_without_script(home: Path, browser: Browser) -> None:
    before = len(open_record(str(home)).entries(SITE))
    with (
        serving(home) as base,
        watched(browser, width=391, height=844, scheme="light", script=False) as seen,
    ):
        day(base, seen.page, False, 391)
        assert seen.messages == []
    assert len(open_record(str(home)).entries(SITE)) == before + 3
