"""Sensor series at size, each figure with its floor measured in the same run.

Run as ``python -m benchmarks.sensors [--rows 10000000] [--seconds 20]``. Reading is compared
with plain sqlite3 on the same file; MQTT with a client that only receives and acknowledges.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import os
import platform
import sqlite3
import statistics
import tempfile
import threading
import time
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from tailrace.operations.listen import Broker, Listener
from tailrace.operations.sensor_messages import moment_of
from tailrace.operations.sensors import series_chart
from tailrace.records import samples as kept
from tailrace.records import series as book
from tailrace.records.engine import FILE
from tailrace.records.store import Store
from tailrace.sensors.rollups import Width
from tests.servers import LOOPBACK, Mosquitto, mosquitto

SITE = "lantern"
SERIES = 20
MINUTE_US = 60_000_000
BEGIN = datetime(2025, 1, 1, tzinfo=UTC)
BEGIN_US = int(BEGIN.timestamp()) * 1_000_000
CHUNK = 100_000
PACE = 5_500.0  # records a second, a little more than is asked


def begin(folder: Path) -> Store:
    """Make a record with one site."""
    store = Store.open(folder)
    store.add_site_version(SITE, "invented", received_at=BEGIN)
    return store


def fill(store: Store, rows: int) -> float:
    """Add minute data of twenty series in the order of time; rows a second."""
    with book.act(store, write=True) as connection:
        names = {(f"s:{n}", "Pa") for n in range(SERIES)}
        numbers = np.array(
            sorted(book.series_numbers(connection, SITE, names, at=BEGIN).values()), dtype=np.int64
        )
    rng = np.random.default_rng(1)
    begun = time.perf_counter()
    for first in range(0, rows // SERIES, CHUNK // SERIES):
        count = min(CHUNK // SERIES, rows // SERIES - first)
        at = np.repeat(BEGIN_US + np.arange(first, first + count) * MINUTE_US, SERIES)
        with book.act(store, write=True) as connection:
            kept.add_samples(
                connection, np.tile(numbers, count), at, rng.normal(14e3, 200.0, at.size)
            )
    return rows / (time.perf_counter() - begun)


def fill_floor(folder: Path, rows: int) -> float:
    """Add the same rows with plain sqlite3 to one table; rows a second."""
    with closing(sqlite3.connect(folder / "floor.sqlite3", isolation_level=None)) as raw:
        raw.execute("PRAGMA journal_mode=WAL")
        raw.execute("PRAGMA synchronous=FULL")
        raw.execute(
            "CREATE TABLE samples (series INTEGER, at INTEGER, value REAL NOT NULL, "
            "PRIMARY KEY (series, at)) WITHOUT ROWID"
        )
        rng = np.random.default_rng(1)
        begun = time.perf_counter()
        for first in range(0, rows // SERIES, CHUNK // SERIES):
            count = min(CHUNK // SERIES, rows // SERIES - first)
            at = np.repeat(BEGIN_US + np.arange(first, first + count) * MINUTE_US, SERIES)
            numbers = np.tile(np.arange(1, SERIES + 1), count).tolist()
            values = rng.normal(14e3, 200.0, at.size).tolist()
            raw.execute("BEGIN IMMEDIATE")
            raw.executemany(
                "INSERT OR IGNORE INTO samples VALUES (?, ?, ?)",
                zip(numbers, at.tolist(), values, strict=True),
            )
            raw.execute("COMMIT")
        return rows / (time.perf_counter() - begun)


def milliseconds(call: Callable[[], object], times: int = 25) -> tuple[float, float]:
    """Median and slowest of several calls."""
    took = []
    for _ in range(times):
        begun = time.perf_counter()
        call()
        took.append(1e3 * (time.perf_counter() - begun))
    return statistics.median(took), max(took)


def read(store: Store, folder: Path, rows: int) -> None:
    """Print how long the newest samples and a year's chart take."""
    end = moment_of(BEGIN_US + rows // SERIES * MINUTE_US)
    start = end - timedelta(days=365)

    def newest() -> None:
        with book.act(store, write=False) as connection:
            assert kept.newest_samples(connection, 7, 2000)[0].size == min(2000, rows // SERIES)

    def year(width: Width | None) -> None:
        series_chart(store, SITE, "s7", start=start, end=end, width=width)

    with closing(sqlite3.connect(folder / FILE)) as raw:
        span = (int(start.timestamp()) * 10**6, int(end.timestamp()) * 10**6)
        newest_sql = "SELECT at, value FROM samples WHERE series = 7 ORDER BY at DESC LIMIT 2000"
        year_sql = (
            "SELECT at, n, low, high, total, last, last_at FROM rollups WHERE series = 7 "
            "AND width = ? AND at >= ? AND at < ? ORDER BY at"
        )

        def plain(sql: str, *values: int) -> Callable[[], object]:
            return lambda: raw.execute(sql, values).fetchall()

        for name, call, floor, most in (
            ("newest 2,000", newest, plain(newest_sql), 30),
            ("a year in days", lambda: year(None), plain(year_sql, 86400, *span), 50),
            ("a year in hours", lambda: year(Width.HOUR), plain(year_sql, 3600, *span), 50),
        ):
            took, slowest = milliseconds(call)
            bare, _ = milliseconds(floor)
            print(
                f"{name:16} {took:7.2f} ms (slowest of 25: {slowest:.2f}; to reach: under {most})"
                f"   floor {bare:.2f} ms, {took / bare:.1f} times"
            )


def publish(port: int, messages: int, together: int, pause_s: float) -> None:
    """Publish messages of so many records, waiting a little when too many are under way."""
    client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="sender")
    client.max_queued_messages_set(0)
    client.max_inflight_messages_set(2000)
    free = threading.Semaphore(2000)
    client.on_publish = lambda *_: free.release()
    client.connect(LOOPBACK, port)
    client.loop_start()
    base = int(BEGIN.timestamp())
    due = time.perf_counter()
    for n in range(messages):
        rows: list[dict[str, Any]] = [{"n": f"{k % SERIES}", "v": n + k} for k in range(together)]
        head = {"bn": "s:", "bt": base + n * 0.01, "bu": "Pa"}
        free.acquire()
        client.publish(f"tailrace/{SITE}", json.dumps([head | rows[0], *rows[1:]]), qos=1)
        due += pause_s
        time.sleep(max(0.0, due - time.perf_counter()))
    for _ in range(2000):
        free.acquire()
    client.disconnect()
    client.loop_stop()


def ingest(broker: Mosquitto, folder: Path, messages: int, together: int, pause_s: float) -> float:
    """Take in messages while they are sent; records a second from the first to the last."""
    store = begin(folder)
    name = folder.name
    listener = Listener(store, Broker(LOOPBACK, broker.port, client=name))
    thread = threading.Thread(target=listener.run)
    thread.start()
    listener.subscribed.wait(20)
    begun = time.perf_counter()
    sender = multiprocessing.Process(
        target=publish, args=(broker.port, messages, together, pause_s)
    )
    sender.start()
    while listener.taken.new < messages * together and time.perf_counter() - begun < 300:
        time.sleep(0.01)
    took = time.perf_counter() - begun
    sender.join()
    listener.stop()
    thread.join()
    with closing(sqlite3.connect(folder / FILE)) as raw:
        (stored,) = raw.execute("SELECT count(*) FROM samples").fetchone()
    lost = messages * together - stored
    print(
        f"MQTT, {together:3} records a message{', paced' if pause_s else '':7}: "
        f"{stored / took:8.0f} records/s, sent {messages * together}, lost {lost}"
    )
    store.close()
    return float(stored / took)


def ingest_floor(broker: Mosquitto, messages: int, together: int) -> float:
    """Receive and acknowledge only; records a second."""
    done = threading.Event()
    count = 0

    def came(_c: object, _u: object, _m: mqtt.MQTTMessage) -> None:
        nonlocal count
        count += 1
        if count >= messages:
            done.set()

    ready = threading.Event()
    client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="floor")
    client.on_message = came
    client.on_subscribe = lambda *_: ready.set()
    client.connect(LOOPBACK, broker.port)
    client.subscribe(f"tailrace/{SITE}", qos=1)
    client.loop_start()
    ready.wait(20)
    begun = time.perf_counter()
    sender = multiprocessing.Process(target=publish, args=(broker.port, messages, together, 0.0))
    sender.start()
    done.wait(300)
    took = time.perf_counter() - begun
    sender.join()
    client.disconnect()
    client.loop_stop()
    return messages * together / took


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--folder", type=Path)
    asked = parser.parse_args()
    print(f"{platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}")
    with tempfile.TemporaryDirectory(dir=asked.folder) as name, mosquitto() as broker:
        folder = Path(name)
        records = int(5_000 * asked.seconds)
        for together in (10, 1):
            ingest(
                broker, folder / f"paced{together}", records // together, together, together / PACE
            )
            fast = ingest(broker, folder / f"fast{together}", records // together, together, 0.0)
            bare = ingest_floor(broker, records // together, together)
            print(f"  floor {bare:.0f} records/s received only; ratio {fast / bare:.2f}")
        store = begin(folder / "big")
        took = fill(store, asked.rows)
        floor = fill_floor(folder, min(asked.rows, 2_000_000))
        print(
            f"fill of {asked.rows} samples with their roll-ups: {took:.0f} rows/s   "
            f"floor, samples alone: {floor:.0f} rows/s, ratio {took / floor:.2f}"
        )
        size = (folder / "big" / FILE).stat().st_size / asked.rows
        print(f"  {size:.0f} bytes a sample on the disk, roll-ups with it")
        read(store, folder / "big", asked.rows)
        store.close()


if __name__ == "__main__":
    main()
