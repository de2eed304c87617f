"""Fixtures shared by the tests of the record, the round and the command line."""

from __future__ import annotations

import os
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from tests.pages_round import demo_store
from tests.published.rows import topic_of, topic_order
from tests.servers import Mosquitto, Postgres, mosquitto, postgres

# the same examples each time, so that a run says something of the code and not of the day;
# TAILRACE_SOAK=1 draws new ones
settings.register_profile("steady", derandomize=True)
if not os.environ.get("TAILRACE_SOAK"):
    settings.load_profile("steady")


@pytest.fixture(scope="session")
def demo_home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record with both demonstration sites and their logs; read only."""
    home = tmp_path_factory.mktemp("record")
    demo_store(home)
    return home


@pytest.fixture(scope="session")
def postgres_server() -> Iterator[Postgres]:
    """A PostgreSQL that runs as long as the tests of this process."""
    with postgres() as running:
        yield running


@pytest.fixture(scope="session")
def broker() -> Iterator[Mosquitto]:
    """A Mosquitto that runs as long as the tests of this process."""
    with mosquitto() as running:
        yield running


@pytest.fixture(params=["sqlite", "postgres"])
def record_address(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """Address of a record not yet begun: a folder, then a database of PostgreSQL."""
    if request.param == "sqlite":
        return str(tmp_path / "home")
    server: Postgres = request.getfixturevalue("postgres_server")
    return server.new_database()


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Count the published values by topic at the end of a run that held any."""
    row = re.compile(r"test_a_published_value_is_met\[(\S+\.csv):(\S+)\]$")
    counts = {word: Counter[str]() for word in ("passed", "failed")}
    for word, counter in counts.items():
        for report in terminalreporter.stats.get(word, ()):
            found = row.search(getattr(report, "nodeid", ""))
            if found and report.when == "call":
                counter[topic_of(found[1], found[2])] += 1
    if any(counts.values()):
        terminalreporter.section("published values by topic")
    for topic in sorted(set(counts["passed"]) | set(counts["failed"]), key=topic_order):
        passed, failed = (counts[word][topic] for word in ("passed", "failed"))
        terminalreporter.write_line(f"{topic:44}{passed:>6} passed{failed:>6} failed")
