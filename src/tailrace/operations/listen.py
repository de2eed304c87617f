"""Listening to a broker: messages of sensors over MQTT, each stored before it is acknowledged.

The broker keeps what was not acknowledged and sends it again, so a message is lost neither when
this program stops nor when the record cannot be written for a while. What comes twice is stored
once. A broker must be told to keep enough; see docs/sensors.md.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from hashlib import sha256
from typing import NamedTuple

import paho.mqtt.client as mqtt
from paho.mqtt.enums import CallbackAPIVersion
from paho.mqtt.reasoncodes import ReasonCode

from tailrace.errors import InputError, RecordError
from tailrace.operations.sensor_messages import Message, Taken, take_messages
from tailrace.records.store import Store

TOPIC = "tailrace"
MOST_TOGETHER = 2_000  # messages in one act
PAUSES_S = (0.2, 1.0, 5.0, 15.0)  # between trials to write
QOS = 1


@dataclass(frozen=True, slots=True)
class Broker:
    """Where to listen.

    Parameters
    ----------
    host, port
        Address of the broker.
    client
        Name by which the broker knows this listener again and keeps its messages; one name for
        each record.
    topic
        Messages are taken from ``TOPIC/SITE`` and all below it.
    user, password
        Sent when the broker asks for them.
    tls
        Whether to encrypt, and check the broker's certificate.
    """

    host: str = "127.0.0.1"
    port: int = 1883
    client: str = "tailrace"
    topic: str = TOPIC
    user: str = ""
    password: str = field(default="", repr=False)
    tls: bool = False


class _Arrived(NamedTuple):
    message: Message
    number: int
    session: int


class Listener:
    """Takes messages from a broker into a record until it is stopped.

    Parameters
    ----------
    store
        The record.
    broker
        Where to listen.
    tell
        Called with a sentence when the connection or the record changes.
    clock
        What time it is, aware UTC.
    """

    def __init__(
        self,
        store: Store,
        broker: Broker,
        *,
        tell: Callable[[str], None] = lambda _: None,
        clock: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self._store = store
        self._broker = broker
        self._tell = tell
        self._clock = clock
        self._arrived: queue.SimpleQueue[_Arrived | None] = queue.SimpleQueue()
        self._stop = threading.Event()
        self._session = 0
        self._refused = ""
        self.subscribed = threading.Event()
        self.taken = Taken(0, 0, 0, ())
        self._client = self._make_client()

    def run(self) -> None:
        """Listen until `stop` is called from another thread.

        Raises
        ------
        RecordError
            The broker cannot be reached at the start, or refuses this listener.
        """
        try:
            self._client.connect(self._broker.host, self._broker.port, keepalive=30)
        except OSError as error:
            message = (
                f"no broker answers at {self._broker.host}, port {self._broker.port} ({error}); "
                "check the address, and that it runs."
            )
            raise RecordError(message) from error
        self._client.loop_start()
        try:
            while not self._stop.is_set():
                batch = self._batch()
                if batch:
                    self._take(batch)
        finally:
            self._client.disconnect()
            self._client.loop_stop()
        if self._refused:
            raise RecordError(self._refused)

    def stop(self) -> None:
        """End `run` after what it is doing; what waits stays with the broker."""
        self._stop.set()
        self._arrived.put(None)

    def _make_client(self) -> mqtt.Client:
        client = mqtt.Client(
            CallbackAPIVersion.VERSION2,
            client_id=self._broker.client,
            clean_session=False,
            protocol=mqtt.MQTTv311,
            manual_ack=True,
        )
        client.reconnect_delay_set(min_delay=1, max_delay=30)
        if self._broker.user:
            client.username_pw_set(self._broker.user, self._broker.password)
        if self._broker.tls:
            client.tls_set()
        client.on_connect = self._on_connect
        client.on_subscribe = self._on_subscribe
        client.on_disconnect = self._on_disconnect
        client.on_message = self._on_message
        return client

    def _on_connect(
        self,
        client: mqtt.Client,
        _userdata: object,
        _flags: object,
        reason: ReasonCode,
        _properties: object,
    ) -> None:
        if reason.is_failure:
            self._refused = f"the broker refuses this listener: {reason}. Check user and password."
            self.stop()
            return
        self._session += 1
        client.subscribe(f"{self._broker.topic}/#", qos=QOS)

    def _on_subscribe(self, *_: object) -> None:
        self._tell(f"listening to {self._broker.host} for {self._broker.topic}/SITE")
        self.subscribed.set()

    def _on_disconnect(self, *_: object) -> None:
        self.subscribed.clear()
        if not self._stop.is_set():
            self._tell("the broker is away; it is called again until it answers")

    def _on_message(self, _client: mqtt.Client, _userdata: object, came: mqtt.MQTTMessage) -> None:
        site = came.topic.removeprefix(f"{self._broker.topic}/").split("/", maxsplit=1)[0]
        digest = sha256(came.payload).hexdigest()
        message = Message(
            site=site[:255],
            payload=bytes(came.payload),
            at=self._clock(),
            key=f"{self._broker.client}\n{came.topic}\n{came.mid}\n{digest}",
            perhaps_again=came.dup,
        )
        self._arrived.put(_Arrived(message, came.mid, self._session))

    def _batch(self) -> list[_Arrived]:
        """Wait for a message, then take all that have come meanwhile."""
        first = self._arrived.get()
        batch = [first] if first is not None else []
        while len(batch) < MOST_TOGETHER:
            try:
                arrived = self._arrived.get_nowait()
            except queue.Empty:
                break
            if arrived is not None:
                batch.append(arrived)
        return batch

    def _take(self, batch: list[_Arrived]) -> None:
        """Store a batch, trying again while the record cannot be written, then acknowledge."""
        tried = 0
        while not self._stop.is_set():
            try:
                taken = take_messages(self._store, [arrived.message for arrived in batch])
            except RecordError as error:
                pause = PAUSES_S[min(tried, len(PAUSES_S) - 1)]
                self._tell(f"{error} The messages wait with the broker; next trial in {pause:g} s")
                self._stop.wait(pause)
                tried += 1
                continue
            self._add(taken)
            for arrived in batch:
                # after a reconnection the broker sends it again under a number of the new session
                if arrived.session == self._session:
                    self._client.ack(arrived.number, QOS)
            return

    def _add(self, taken: Taken) -> None:
        for reason in taken.reasons:
            if reason not in self.taken.reasons:
                self._tell(f"kept aside: {reason}")
        so_far = self.taken
        reasons = tuple(dict.fromkeys((*so_far.reasons, *taken.reasons)))[-50:]
        self.taken = Taken(
            so_far.new + taken.new, so_far.again + taken.again, so_far.aside + taken.aside, reasons
        )


def check_topic(topic: str) -> str:
    """Return a topic that can stand before the name of a site.

    Parameters
    ----------
    topic
        As given.

    Returns
    -------
    str
        Without slashes at its ends.

    Raises
    ------
    InputError
        It is empty or has a wildcard.

    Examples
    --------
    >>> check_topic("/north/pond/")
    'north/pond'
    """
    plain = topic.strip("/ ")
    if not plain or set(plain) & set("#+\x00"):
        message = (
            f"the topic {topic!r} cannot be used; give one such as 'tailrace', without # or +."
        )
        raise InputError(message)
    return plain
