"""The set-up script says in one sentence what is missing."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.logs import ROOT

NEEDED = ("sh", "cat", "dirname", "make", "git", "python3")


def tools(folder: Path, *, without: str = "") -> Path:
    for name in NEEDED:
        found = sys.executable if name == "python3" else shutil.which(name)
        assert found is not None
        if name != without:
            (folder / name).symlink_to(found)
    return folder


def told(folder: Path) -> str:
    done = subprocess.run(
        ["/bin/sh", str(ROOT / "scripts" / "setup.sh"), "run"],
        env={"PATH": str(folder)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 1
    assert done.stderr.count("\n") == 1
    return done.stderr


def fake_python(folder: Path, script: str) -> Path:
    tools(folder, without="python3")
    (folder / "python3").write_text(f"#!/bin/sh\n{script}\n", encoding="utf-8")
    (folder / "python3").chmod(0o755)
    return folder


@pytest.mark.parametrize("name", ["make", "git", "python3"])
def test_a_missing_tool_is_named(name: str, tmp_path: Path) -> None:
    assert f"{name} is missing" in told(tools(tmp_path, without=name))


def test_an_old_python_is_named(tmp_path: Path) -> None:
    script = 'case "$2" in *version_info*) exit 1;; *platform*) echo 3.9.2;; esac'
    assert "python3 is 3.9.2, older than 3.11" in told(fake_python(tmp_path, script))


def test_a_python_without_venv_is_named(tmp_path: Path) -> None:
    script = 'case "$2" in *ensurepip*) exit 1;; esac'
    assert "no venv module" in told(fake_python(tmp_path, script))
