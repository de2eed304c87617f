"""Fixtures shared by the tests of the record, the round and the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from tailrace.operations.logs import preview_log, store_log
from tailrace.operations.record import open_record
from tailrace.operations.sites import load_site_file
from tests.logs import DEMOS, RECEIVED


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with both demonstration sites and their logs; read only."""
    home = tmp_path_factory.mktemp("record")
    store = open_record(str(home), create=True)
    for name, folder in DEMOS.items():
        load_site_file(store, folder / "site.toml", now=RECEIVED)
        store_log(store, name, preview_log(store, name, folder / "log.csv", now=RECEIVED))
    return home
