"""`make run`: load the two invented demonstration sites with their logs and print both rounds.

Everything goes through the command line that a keeper uses. The record lives in
``demo/record``; it is made anew when a demonstration file or the code's version changes.
"""

from __future__ import annotations

import hashlib
import shutil
import subprocess
import sys
from datetime import tzinfo
from pathlib import Path

from tailrace import __version__
from tailrace.operations.record import newest_moment, open_record, site_reading

ROOT = Path(__file__).resolve().parent.parent
DEMO = ROOT / "demo"
RECORD = DEMO / "record"
FOLDERS = ("school", "yard")


def tailrace(*words: str, quiet: bool = False) -> None:
    """Run one command of the project; end with its exit code when it fails."""
    command = [sys.executable, "-m", "tailrace.cli", "--", *words]
    command.remove("--")
    done = subprocess.run(command, check=False, capture_output=quiet, text=True)
    if done.returncode:
        sys.stderr.write(done.stderr or "")
        sys.exit(done.returncode)


def fingerprint() -> str:
    """Digest of the demonstration files and the version."""
    digest = hashlib.sha256(__version__.encode())
    for folder in FOLDERS:
        for name in ("site.toml", "log.csv"):
            digest.update((DEMO / folder / name).read_bytes())
    return digest.hexdigest()


def site_name(folder: str) -> str:
    """Short name that a demonstration file declares."""
    from tailrace.sitefile.read import read_site  # noqa: PLC0415  # only a new record needs it

    return read_site((DEMO / folder / "site.toml").read_bytes(), "site.toml").site.name


def make_record() -> None:
    """Load both sites and logs into a new record."""
    shutil.rmtree(RECORD, ignore_errors=True)
    home = ("--home", str(RECORD))
    for folder in FOLDERS:
        tailrace("site", "load", str(DEMO / folder / "site.toml"), *home)
        log = str(DEMO / folder / "log.csv")
        tailrace("log", "import", site_name(folder), log, "--yes", *home)
        print()
    (RECORD / "made-from").write_text(fingerprint(), encoding="utf-8")


def main() -> None:
    """Print both rounds as of the last morning of each log."""
    made_from = RECORD / "made-from"
    if not made_from.exists() or made_from.read_text(encoding="utf-8") != fingerprint():
        print("Demonstration, invented: loading both sites and their logs into demo/record.")
        make_record()
    store = open_record(str(RECORD))
    for name in store.site_names():
        site = site_reading(store, name).site
        at = newest_moment(store, site)
        assert at is not None
        local = at.astimezone(site_zone(site.zone)).isoformat(timespec="minutes")
        print(f"Demonstration, invented: {name} as of {local}, the last morning of its log.")
        tailrace("round", name, "--at", local, "--home", str(RECORD))
        print()
    print(
        "Next: .venv/bin/tailrace advise air lantern-school --home demo/record "
        "--at '2026-11-09 07:40', or 'tailrace --help'."
    )


def site_zone(key: str) -> tzinfo:
    """Time zone of a site."""
    from zoneinfo import ZoneInfo  # noqa: PLC0415

    return ZoneInfo(key)


if __name__ == "__main__":
    main()
