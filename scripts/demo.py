"""`make run`: load the two invented demonstration sites with their logs and print both rounds.

A new record goes through the commands that a keeper uses. It lives in ``demo/record`` and is made
anew when a demonstration file or the code's version changes.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from tailrace import __version__
from tailrace.operations.record import newest_moment, open_record, site_reading
from tailrace.operations.rounds import todays_round
from tailrace.reports.terminal import round_lines

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "demo"
RECORD = DEMO / "record"
SITES = {"lantern-school": "school", "millrace-yard": "yard"}


def tailrace(*words: str) -> str:
    """Run one command of the project; end with its exit code when it fails."""
    command = [sys.executable, "-m", "tailrace.cli", *words, "--home", str(RECORD)]
    done = subprocess.run(command, check=False, capture_output=True, text=True)
    if done.returncode:
        sys.stderr.write(done.stderr)
        sys.exit(done.returncode)
    return done.stdout


def fingerprint() -> str:
    """Digest of the demonstration files and the version."""
    digest = hashlib.sha256(__version__.encode())
    for folder in SITES.values():
        for name in ("site.toml", "log.csv"):
            digest.update((DEMO / folder / name).read_bytes())
    return digest.hexdigest()


def make_record() -> str:
    """Load both sites and logs into a new record; return what the commands said."""
    shutil.rmtree(RECORD, ignore_errors=True)
    said = []
    for name, folder in SITES.items():
        said.append(tailrace("site", "load", str(DEMO / folder / "site.toml")))
        said.append(tailrace("log", "import", name, str(DEMO / folder / "log.csv"), "--yes"))
    (RECORD / "made-from").write_text(fingerprint(), encoding="utf-8")
    return "\n".join(said)


def last_morning(name: str) -> str:
    """Newest moment of a demonstration log, local to its site."""
    store = open_record(str(RECORD))
    site = site_reading(store, name).site
    at = newest_moment(store, site)
    assert isinstance(at, datetime)
    return at.astimezone(ZoneInfo(site.zone)).isoformat(timespec="minutes")


def main() -> None:
    """Print both rounds as of the last morning of each log."""
    made_from = RECORD / "made-from"
    new = not made_from.exists() or made_from.read_text(encoding="utf-8") != fingerprint()
    said = make_record() if new else ""
    moments = {name: last_morning(name) for name in SITES}
    first = "; ".join(f"{name} as of {at}" for name, at in moments.items())
    print(f"Demonstration, invented: {first}: the last morning of each log.")
    if said:
        print(f"\n{said}")
    store = open_record(str(RECORD))
    for name, at in moments.items():
        print()
        for line in round_lines(todays_round(store, name, at=at)):
            print(line)
    print(
        f"\nNext: .venv/bin/tailrace advise air {name} --home demo/record --at {at}\n"
        "or .venv/bin/tailrace --help"
    )


if __name__ == "__main__":
    main()
