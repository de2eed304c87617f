"""`make shots`: pictures of every page for both demonstration sites, in ``build/shots``.

As a phone sees them (390 and 320 pixels wide) and a desk (1280), light and dark. Looking at them
is part of changing a page.
"""

from __future__ import annotations

import sys
from pathlib import Path

from scripts.demo import RECORD, ROOT, make_record
from tests.browser import addresses, chromium, serving, watched

SIZES = ((390, 844), (320, 640), (1280, 900))


def main(folder: Path) -> None:
    """Take all pictures."""
    make_record()
    folder.mkdir(parents=True, exist_ok=True)
    with serving(RECORD) as base, chromium() as browser:
        for width, height in SIZES:
            for scheme in ("light", "dark"):
                with watched(browser, width=width, height=height, scheme=scheme) as seen:
                    for name, address in addresses().items():
                        seen.page.goto(base + address)
                        file = folder / f"{name}-{width}-{scheme}.png"
                        seen.page.screenshot(path=file, full_page=True)
    print(f"{len(list(folder.glob('*.png')))} pictures in {folder}")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else ROOT / "build" / "shots")
