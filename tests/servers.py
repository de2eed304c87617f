"""A real PostgreSQL and a real Mosquitto on loopback, started for the tests and stopped after.

Both come from the system's packages; where one is missing the tests fail with a sentence and
never skip. Started by root they run as an unprivileged user, as they themselves ask for.
"""

from __future__ import annotations

import itertools
import os
import pwd
import shutil
import socket
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import psycopg

LOOPBACK = "127.0.0.1"
QUICK = ("fsync=off", "synchronous_commit=off", "full_page_writes=off")  # never for a soak
_POSTGRES = ("/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin", "/usr/local/bin", "/usr/bin")
_CLUSTER = ("-U", "postgres", "-A", "trust", "-E", "UTF8", "--locale=C", "--no-sync")
_UNPRIVILEGED = {"postgres": ("postgres", "nobody"), "mosquitto": ("mosquitto", "nobody")}


class MissingServerError(RuntimeError):
    """A server that the tests need is not installed, or did not start."""


@dataclass(frozen=True)
class Postgres:
    """A running PostgreSQL that lets anybody on loopback in; every test takes a new database."""

    port: int
    _numbers: Iterator[int] = field(default_factory=lambda: itertools.count(1))

    def address(self, database: str = "postgres") -> str:
        """Return the address of a database."""
        return f"postgresql://postgres@{LOOPBACK}:{self.port}/{database}"

    def new_database(self) -> str:
        """Make an empty database and return its address."""
        name = f"record_{os.getpid()}_{next(self._numbers)}"
        with psycopg.connect(self.address(), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}"'.encode())
        return self.address(name)


@dataclass
class Mosquitto:
    """A running broker; `stop` and `start` keep what it holds for clients that were away."""

    port: int
    folder: Path
    process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it, and wait until it takes connections."""
        self.process = subprocess.Popen(
            [_program("mosquitto", ("/usr/sbin",)), "-c", str(self.folder / "mosquitto.conf")],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            **_as_user("mosquitto"),
        )
        _wait(self.port, self.process, "mosquitto")

    def stop(self) -> None:
        """Stop it; it writes what it holds to its folder first."""
        if self.process is not None:
            self.process.terminate()
            self.process.wait(timeout=20)
            self.process = None


def free_port() -> int:
    """Return a port of loopback that nobody listens on."""
    with socket.socket() as listening:
        listening.bind((LOOPBACK, 0))
        return int(listening.getsockname()[1])


@contextmanager
def postgres(settings: tuple[str, ...] = QUICK) -> Iterator[Postgres]:
    """Run a PostgreSQL in a new folder.

    Raises
    ------
    MissingServerError
        It is not installed or does not start.
    """
    initdb, server = _program("initdb", _POSTGRES), _program("postgres", _POSTGRES)
    user = _as_user("postgres")
    with _folder(user) as folder:
        data, port = folder / "data", free_port()
        made = subprocess.run(
            [initdb, "-D", str(data), *_CLUSTER],
            capture_output=True,
            text=True,
            check=False,
            cwd=folder,
            **user,
        )
        if made.returncode:
            raise MissingServerError(f"PostgreSQL made no database folder: {made.stderr}")
        told = [
            f"listen_addresses={LOOPBACK}",
            f"port={port}",
            f"unix_socket_directories={folder}",
        ]
        command = [server, "-D", str(data)]
        for setting in (*told, "max_connections=60", "shared_buffers=32MB", *settings):
            command += ["-c", setting]
        with (folder / "log").open("wb") as log:
            process = subprocess.Popen(command, stdout=log, stderr=log, cwd=folder, **user)
        try:
            _wait(port, process, "PostgreSQL")
            running = Postgres(port)
            _wait_until_it_answers(running)
            yield running
        finally:
            process.send_signal(2)  # fast shutdown: ends the sessions, writes a clean end
            process.wait(timeout=30)


@contextmanager
def mosquitto() -> Iterator[Mosquitto]:
    """Run a Mosquitto that keeps its queue on disk, in a new folder.

    Raises
    ------
    MissingServerError
        It is not installed or does not start.
    """
    user = _as_user("mosquitto")
    with _folder(user) as folder:
        broker = Mosquitto(free_port(), folder)
        lines = (
            f"listener {broker.port} {LOOPBACK}",
            "allow_anonymous true",
            "persistence true",
            f"persistence_location {folder}/",
            "max_queued_messages 0",
            "max_inflight_messages 0",
            "max_queued_bytes 0",
            "log_dest none",
        )
        conf = folder / "mosquitto.conf"
        conf.write_text("\n".join(lines) + "\n", encoding="utf-8")
        conf.chmod(0o644)
        broker.start()
        try:
            yield broker
        finally:
            broker.stop()


def _program(name: str, folders: tuple[str, ...]) -> str:
    for pattern in folders:
        found = sorted(Path("/").glob(f"{pattern.lstrip('/')}/{name}"))
        if found:
            return str(found[-1])
    path = shutil.which(name)
    if path is None:
        message = (
            f"{name} is missing; install it (on Debian: apt-get install postgresql mosquitto)."
        )
        raise MissingServerError(message)
    return path


def _as_user(program: str) -> dict[str, Any]:
    if os.getuid() != 0:
        return {}
    known = {entry.pw_name: entry for entry in pwd.getpwall()}
    for name in _UNPRIVILEGED[program]:
        if name in known:
            return {"user": known[name].pw_uid, "group": known[name].pw_gid, "extra_groups": []}
    raise MissingServerError(f"{program} does not run as root, and there is no user nobody.")


@contextmanager
def _folder(user: dict[str, Any]) -> Iterator[Path]:
    with tempfile.TemporaryDirectory(
        prefix="tailrace-server-", ignore_cleanup_errors=True
    ) as name:
        folder = Path(name)
        if user:
            os.chown(folder, int(str(user["user"])), int(str(user["group"])))
        yield folder


def _wait_until_it_answers(server: Postgres) -> None:
    """It listens before it has looked at its own log, and turns callers away meanwhile."""
    pause = threading.Event()
    for _ in range(200):
        try:
            psycopg.connect(server.address()).close()
        except psycopg.OperationalError:
            pause.wait(0.05)
        else:
            return
    raise MissingServerError("PostgreSQL listens, but answers nobody.")


def _wait(port: int, process: subprocess.Popen[bytes], name: str) -> None:
    pause = threading.Event()
    for _ in range(600):
        if process.poll() is not None:
            break
        with socket.socket() as trial:
            if trial.connect_ex((LOOPBACK, port)) == 0:
                return
        pause.wait(0.05)
    raise MissingServerError(f"{name} did not start on port {port} of this machine.")
