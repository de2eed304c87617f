"""Every page in a real browser: three widths, light and dark, by keyboard and without script."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.browser import addresses, chromium, serving, watched

SIZES = ((320, 640), (390, 844), (1280, 900))
TOO_SMALL = """() => [...document.querySelectorAll('a, summary, button')]
  .filter(e => e.offsetParent && !e.classList.contains('skip'))
  .map(e => [e.textContent.trim(), e.getBoundingClientRect()])
  .filter(([, box]) => box.height < 44 || box.width < 44)
  .map(([text, box]) => `${text}: ${box.width} x ${box.height}`)"""
CUT_OFF = """() => [...document.querySelectorAll('svg.drawing')].flatMap(svg => {
  const box = svg.getBoundingClientRect();
  return [...svg.querySelectorAll('text')].filter(t => {
    const b = t.getBoundingClientRect();
    return b.left < box.left - 1 || b.right > box.right + 1
      || b.top < box.top - 1 || b.bottom > box.bottom + 1;
  }).map(t => t.textContent);
})"""
SMALLEST = """() => Math.min(99, ...[...document.querySelectorAll('svg.drawing text')]
  .map(t => t.getBoundingClientRect().height))"""


@pytest.fixture(scope="module")
def base(demo_home: Path) -> Iterator[str]:
    with serving(demo_home) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as started:
        yield started


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_pages_fit_are_clean_and_stay_at_home(
    base: str, browser: Browser, width: int, height: int, scheme: str
) -> None:
    with watched(browser, width=width, height=height, scheme=scheme) as seen:
        for name, address in addresses().items():
            answer = seen.page.goto(base + address)
            assert answer is not None
            assert answer.status == 200, name
            for summary in seen.page.locator("summary").all():
                summary.click()
            wide = seen.page.evaluate("document.documentElement.scrollWidth")
            assert wide <= width, f"{name} is {wide} pixels wide"
            assert seen.page.evaluate(CUT_OFF) == [], name
            assert seen.page.evaluate(SMALLEST) >= 11.0, name
            assert seen.page.evaluate(TOO_SMALL) == [], name
            assert seen.page.locator("h1").count() == 1
            found = Axe().run(seen.page).response["violations"]
            assert [(v["id"], v["nodes"][0]["html"][:120]) for v in found] == [], name
        assert seen.messages == []
        assert seen.failed == []
        assert seen.hosts == {"127.0.0.1"}


def test_a_fault_is_clean_too(base: str, browser: Browser) -> None:
    with watched(browser, width=390, height=844, scheme="light") as seen:
        seen.page.goto(f"{base}/s/nowhere/round")
        assert seen.page.locator("h1").inner_text() == "Not found"
        assert Axe().run(seen.page).response["violations"] == []
        assert seen.hosts == {"127.0.0.1"}


def test_pages_work_without_script_and_by_keyboard(base: str, browser: Browser) -> None:
    with watched(browser, width=390, height=844, scheme="light", script=False) as seen:
        seen.page.goto(base + addresses()["lantern-school-round"])
        seen.page.keyboard.press("Tab")
        seen.page.keyboard.press("Tab")
        seen.page.keyboard.press("Tab")
        seen.page.keyboard.press("Tab")
        seen.page.keyboard.press("Enter")  # skip link, name, round, water
        seen.page.wait_for_url("**/water?**")
        seen.page.get_by_role("link", name="7 days").click()
        seen.page.wait_for_url("**days=7**")
        assert seen.page.get_by_role("link", name="7 days").get_attribute("aria-current") == "true"


def test_a_drawing_has_a_name_and_words_for_who_cannot_see_it(base: str, browser: Browser) -> None:
    with watched(browser, width=1280, height=900, scheme="light") as seen:
        seen.page.goto(base + addresses()["lantern-school-water"])
        drawn = seen.page.get_by_role("img", name="Nitrite (as N)")
        assert drawn.count() == 1
        assert "readings of nitrite" in (drawn.locator("desc").text_content() or "")
