"""Sensors over MQTT with a real broker: nothing lost, nothing twice."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import paho.mqtt.client as mqtt
import pytest
from paho.mqtt.enums import CallbackAPIVersion

from tailrace.errors import InputError, RecordError
from tailrace.operations import listen
from tailrace.operations.listen import Broker, Listener, check_topic
from tailrace.operations.sensor_messages import Message, Taken, take_messages
from tailrace.operations.sensors import series_of
from tailrace.records.store import Store
from tests.servers import LOOPBACK, Mosquitto, free_port
from tests.soak import run

SITE = "lantern"
T0 = int(datetime(2026, 3, 1, tzinfo=UTC).timestamp())
WAIT_S = 30.0


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    made = Store.open(tmp_path / "home")
    made.add_site_version(SITE, "invented", received_at=datetime(2026, 3, 1, tzinfo=UTC))
    yield made
    made.close()


def minute(n: int) -> bytes:
    return json.dumps([{"n": "p", "u": "Pa", "t": T0 + 60 * n, "v": n}]).encode()


class Sensor:
    """Publishes and waits until the broker has taken each message."""

    def __init__(self, port: int) -> None:
        self.client = mqtt.Client(CallbackAPIVersion.VERSION2, client_id="sensor")
        self.client.connect(LOOPBACK, port)
        self.client.loop_start()

    def send(self, *numbers: int, topic: str = f"tailrace/{SITE}/filter") -> None:
        for sent in [self.client.publish(topic, minute(n), qos=1) for n in numbers]:
            sent.wait_for_publish(WAIT_S)
            assert sent.is_published()

    def close(self) -> None:
        self.client.disconnect()
        self.client.loop_stop()


@contextmanager
def sensor(broker: Mosquitto) -> Iterator[Sensor]:
    made = Sensor(broker.port)
    try:
        yield made
    finally:
        made.close()


@contextmanager
def listening(store: Store, broker: Mosquitto, client: str) -> Iterator[Listener]:
    listener = Listener(store, Broker(LOOPBACK, broker.port, client=client))
    thread = threading.Thread(target=listener.run)
    thread.start()
    try:
        assert listener.subscribed.wait(WAIT_S)
        yield listener
    finally:
        listener.stop()
        thread.join(WAIT_S)


def until(listener: Listener, count: int) -> Taken:
    """Wait for so many samples, new or again."""
    pause = threading.Event()
    for _ in range(int(WAIT_S / 0.02)):
        taken = listener.taken
        if taken.new + taken.again + taken.aside >= count:
            return taken
        pause.wait(0.02)
    raise AssertionError(f"only {listener.taken} came")


def test_messages_twice_and_out_of_order_are_stored_once(store: Store, broker: Mosquitto) -> None:
    with listening(store, broker, "twice") as listener, sensor(broker) as sends:
        sends.send(5, 3, 4, 3, 5, 1, 2)
        taken = until(listener, 7)
    assert (taken.new, taken.again, taken.aside) == (5, 2, 0)
    assert series_of(store, SITE)[0].count == 5


def test_what_comes_while_nobody_listens_and_the_broker_restarts_is_kept(
    store: Store, broker: Mosquitto
) -> None:
    with listening(store, broker, "away"):
        pass
    with sensor(broker) as sends:
        sends.send(*range(10))
    broker.stop()
    broker.start()
    with listening(store, broker, "away") as listener:
        assert until(listener, 10).new == 10


def test_a_broker_that_restarts_is_called_again(store: Store, broker: Mosquitto) -> None:
    with listening(store, broker, "again") as listener:
        with sensor(broker) as sends:
            sends.send(1)
        until(listener, 1)
        broker.stop()
        broker.start()
        with sensor(broker) as sends:
            sends.send(2)
        assert until(listener, 2).new == 2


def test_nothing_is_acknowledged_before_it_is_stored(
    store: Store, broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried = threading.Event()

    def full(*_: Any) -> Taken:
        tried.set()
        raise RecordError("the disk is full.")

    with listening(store, broker, "full"):
        monkeypatch.setattr(listen, "take_messages", full)
        with sensor(broker) as sends:
            sends.send(1, 2)
        assert tried.wait(WAIT_S)
    monkeypatch.undo()  # the program ended without having stored them
    assert series_of(store, SITE) == ()
    with listening(store, broker, "full") as listener:
        assert until(listener, 2).new == 2


def test_a_record_that_cannot_be_written_for_a_while_is_tried_again(
    store: Store, broker: Mosquitto, monkeypatch: pytest.MonkeyPatch
) -> None:
    failures = iter([True, True])

    def sometimes(into: Store, messages: list[Message]) -> Taken:
        if next(failures, False):
            raise RecordError("the record is locked.")
        return take_messages(into, messages)

    monkeypatch.setattr(listen, "take_messages", sometimes)
    monkeypatch.setattr(listen, "PAUSES_S", (0.01,))
    with listening(store, broker, "locked") as listener, sensor(broker) as sends:
        sends.send(1, 2, 3)
        assert until(listener, 3).new == 3


def test_a_message_of_an_unknown_site_or_of_no_sense_is_kept_aside_and_acknowledged(
    store: Store, broker: Mosquitto
) -> None:
    with listening(store, broker, "odd") as listener, sensor(broker) as sends:
        sends.send(1, topic="tailrace/nowhere")
        sends.client.publish(f"tailrace/{SITE}", b"hello", qos=1).wait_for_publish(WAIT_S)
        sends.send(2)
        taken = until(listener, 3)
    assert (taken.new, taken.aside) == (1, 2)
    assert len(taken.reasons) == 2


def test_no_broker_and_a_bad_topic_are_said(store: Store) -> None:
    with pytest.raises(RecordError, match="no broker answers"):
        Listener(store, Broker(LOOPBACK, free_port())).run()
    with pytest.raises(InputError, match="cannot be used"):
        check_topic("tailrace/#")


def test_nothing_is_lost_or_doubled_while_things_break() -> None:
    told = run("mqtt", seed=7, count=2000)
    assert told.acknowledged == 2000
    assert told.trials >= 1
    assert (told.lost, told.doubled, told.faults) == (0, 0, 0)
