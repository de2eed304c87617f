"""Fixtures shared by the tests of the record, the round and the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.pages_round import demo_store


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with both demonstration sites and their logs; read only."""
    home = tmp_path_factory.mktemp("record")
    demo_store(home)
    return home
