"""Messages of sensors, some twice and many out of order, through a broker that is restarted.

A message counts as acknowledged once the broker has acknowledged it to its sender. Meanwhile the
listener is killed and started again, and so is the broker (stopped in good order: what a broker
that is killed had not yet saved is its own to lose).
"""

from __future__ import annotations

import json
import multiprocessing
import os
import random
import signal
import sqlite3
import threading
import time
from contextlib import closing, suppress
from pathlib import Path

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion

from tailrace.operations.listen import Broker, Listener
from tailrace.records.engine import FILE
from tailrace.records.store import Store
from tests.full_record import SITE
from tests.servers import LOOPBACK, Mosquitto
from tests.soak_work import Tally, begin, checker

_SERIES = 20
_START_S = 1_772_000_000
_PART = 500  # messages between two faults
_PATIENCE_S = 120.0


def messages(folder: Path, rng: random.Random, count: int, broker: Mosquitto) -> Tally:
    """Send messages through faults, wait until none is on its way, and count."""
    record, acks = str(folder / "record"), folder / "acks"
    begin(record)
    told = Tally()
    order = list(range(count))
    for place in range(0, count - 50, 50):  # out of order by up to a minute of a fast sensor
        part = order[place : place + 50]
        rng.shuffle(part)
        order[place : place + 50] = part
    _make_known(broker)
    context = multiprocessing.get_context("spawn")
    listener = context.Process(target=listen, args=(record, broker.port))
    listener.start()
    for place in range(0, count, _PART):
        _send(order[place : place + _PART], acks, rng, broker)
        told.trials += 1
        if rng.random() < 0.3:
            assert listener.pid is not None
            os.kill(listener.pid, signal.SIGKILL)
            listener.join()
            listener = context.Process(target=listen, args=(record, broker.port))
            listener.start()
        if rng.random() < 0.3:
            broker.stop()
            broker.start()
    _wait_until_it_rests(record, count)
    listener.kill()
    listener.join()
    with checker() as asked:
        answer = asked.check(record, [acks], "samples")
    told.acknowledged, told.found = answer["acknowledged"], answer["found"]
    told.lost, told.doubled = answer["lost"], answer["doubled"]
    told.faults = len(answer["said"])
    return told


def listen(record: str, port: int) -> None:
    """Take messages until killed; a broker that is away is called again."""
    while True:
        with suppress(OSError):
            Listener(Store.open(record), Broker(port=port, client="soak")).run()
        time.sleep(0.1)


def _send(numbers: list[int], acks: Path, rng: random.Random, broker: Mosquitto) -> None:
    """Send each message once or twice, and note those that the broker acknowledged."""
    client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="sender", clean_session=True)
    client.max_inflight_messages_set(200)
    client.connect(LOOPBACK, broker.port)
    client.loop_start()
    sent = []
    for number in numbers:
        name, moment = f"s{number % _SERIES}", _START_S + 60 * (number // _SERIES)
        payload = json.dumps([{"n": name, "t": moment, "v": number / 8}])
        for _ in range(2 if rng.random() < 0.2 else 1):
            sent.append((client.publish(f"tailrace/{SITE}", payload, qos=1), name, moment))
    with acks.open("a", encoding="utf-8") as stream:
        noted = set()
        for message, name, moment in sent:
            message.wait_for_publish(_PATIENCE_S)
            line = f"{name} {moment * 1_000_000}\n"
            if message.is_published() and line not in noted:
                noted.add(line)
                stream.write(line)
    client.disconnect()
    client.loop_stop()


def _make_known(broker: Mosquitto) -> None:
    """Subscribe once in the listener's name: a broker keeps nothing for those it never met."""
    client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="soak", clean_session=False)
    client.connect(LOOPBACK, broker.port)
    done = threading.Event()
    client.on_subscribe = lambda *_: done.set()
    client.subscribe("tailrace/#", qos=1)
    client.loop_start()
    if not done.wait(_PATIENCE_S):
        raise RuntimeError("the broker does not answer")
    client.disconnect()
    client.loop_stop()


def _wait_until_it_rests(record: str, count: int) -> None:
    """Wait until all are there, or nothing has come for a while."""
    last, since = -1, time.monotonic()
    while time.monotonic() - since < _PATIENCE_S / 6:
        with closing(sqlite3.connect(Path(record) / FILE)) as raw:
            found = int(raw.execute("SELECT count(*) FROM samples").fetchone()[0])
        if found >= count:
            return
        if found != last:
            last, since = found, time.monotonic()
        time.sleep(0.2)
