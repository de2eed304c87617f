"""What sensors send is taken in: understood, stored once, and set aside where it cannot be used.

`take_messages` is the one way in, from MQTT (`tailrace.operations.listen`) and from HTTP.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import NamedTuple

import numpy as np
from sqlalchemy import Connection

from tailrace.errors import InputError
from tailrace.intake import senml
from tailrace.records import samples as kept
from tailrace.records import series as book
from tailrace.records.series import SensorAside
from tailrace.records.store import Store

MOST_TEXT = 60_000
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


class Message(NamedTuple):
    """A message as it came.

    Parameters
    ----------
    site
        The site that its topic or address names.
    payload
        Its bytes: SenML in JSON or CBOR.
    at
        When it was received, aware.
    key
        What tells it from another message of the same words; empty when nothing does.
    perhaps_again
        Whether it may have been taken in before under the same key.
    """

    site: str
    payload: bytes
    at: datetime
    key: str = ""
    perhaps_again: bool = False


@dataclass(frozen=True, slots=True)
class Taken:
    """What became of some messages.

    Parameters
    ----------
    new
        Samples stored.
    again
        Samples that were stored before, with the same value.
    aside
        Messages and records that could not be used; they are kept with the reason.
    reasons
        The reasons, each once.
    """

    new: int
    again: int
    aside: int
    reasons: tuple[str, ...]


class _Sample(NamedTuple):
    name: str
    unit: str
    at_us: int
    value: float


@dataclass(slots=True)
class _Read:
    """A message as it was understood."""

    message: Message
    samples: list[_Sample]
    asides: list[SensorAside]
    relative: bool


def micros(at: datetime) -> int:
    """Return a moment in microseconds since 1970 in UTC.

    Parameters
    ----------
    at
        The moment, aware.

    Returns
    -------
    int
        Microseconds, exact.

    Examples
    --------
    >>> micros(datetime(1970, 1, 2, tzinfo=UTC))
    86400000000
    """
    return (at - EPOCH) // timedelta(microseconds=1)


def moment_of(at_us: int) -> datetime:
    """Return the moment of microseconds since 1970 in UTC.

    Parameters
    ----------
    at_us
        Microseconds.

    Returns
    -------
    datetime
        Aware UTC.

    Examples
    --------
    >>> moment_of(86400000000).isoformat()
    '1970-01-02T00:00:00+00:00'
    """
    return EPOCH + timedelta(microseconds=at_us)


def take_senml(store: Store, site: str, payload: bytes, *, now: datetime, key: str = "") -> Taken:
    """Take in one list of sensor measurements, as it comes over HTTP.

    Parameters
    ----------
    store
        The record.
    site
        Short name of the site.
    payload
        The list, SenML in JSON or CBOR.
    now
        When it was received, aware; times relative to now count from it.
    key
        Key of the request; the same request sent again under it is stored once.

    Returns
    -------
    Taken
        What became of it; a record that cannot be used is kept aside.

    Raises
    ------
    InputError
        It is no such list, or the key was used for another one. Nothing is stored.
    NotKnownError
        The record holds no such site.
    RecordError
        The record cannot be written. Nothing is stored.
    """
    store.site_text(site)
    senml.read_pack(payload, now_us=micros(now))
    return take_messages(store, [Message(site, payload, now, key, perhaps_again=bool(key))])


def take_messages(store: Store, messages: Sequence[Message]) -> Taken:
    """Take in messages in one act: all that is in them is stored, or nothing is.

    Parameters
    ----------
    store
        The record.
    messages
        The messages. One that cannot be read, or for a site that is not in the record, is kept
        aside whole.

    Returns
    -------
    Taken
        What became of them.

    Raises
    ------
    InputError
        A key was used for another message before.
    RecordError
        The record cannot be written.
    """
    read = [_understand(message) for message in messages]
    with book.act(store, write=True) as connection:
        sites = book.known_sites(connection)
        fresh = []
        for one in read:
            if _is_new(connection, one):
                fresh.append(one if one.message.site in sites else _homeless(one))
        added, contradicting = _store(connection, fresh)
        asides = [aside for one in fresh for aside in one.asides] + contradicting
        book.set_aside(connection, asides)
    reasons = tuple(dict.fromkeys(aside.reason for aside in asides))
    return Taken(added.new, added.again, len(asides), reasons)


def _understand(message: Message) -> _Read:
    try:
        pack = senml.read_pack(message.payload, now_us=micros(message.at))
    except InputError as error:
        return _Read(message, [], [_aside(message, _payload_text(message), str(error))], False)
    asides = [
        _aside(message, bad.text, f"record {bad.position}: {bad.reason}") for bad in pack.refused
    ]
    found: list[_Sample] = []
    for record in pack.records:
        found += _samples_of(record)
        if isinstance(record.value, str | bytes):
            text = str(senml.to_json([record])[0])
            asides.append(_aside(message, text, "only numbers and truths are kept as a series."))
    return _Read(message, found, asides, pack.relative)


def _samples_of(record: senml.Record) -> list[_Sample]:
    found = []
    if isinstance(record.value, bool | float):
        found.append(_Sample(record.name, record.unit, record.at_us, float(record.value)))
    if record.total is not None:  # a series of its own, in the unit times seconds
        unit = f"{record.unit} s".strip()
        found.append(_Sample(record.name, unit, record.at_us, record.total))
    return found


def _aside(message: Message, text: str, reason: str) -> SensorAside:
    return SensorAside(message.site, text.replace("\x00", "\\x00")[:MOST_TEXT], reason, message.at)


def _payload_text(message: Message) -> str:
    return message.payload.decode("utf-8", "backslashreplace")


def _is_new(connection: Connection, read: _Read) -> bool:
    """Whether a message was not taken in before; one whose samples tell so needs no note."""
    message = read.message
    if not message.key or not (read.relative or message.perhaps_again):
        return True
    digest = hashlib.sha256(message.payload).hexdigest()
    key = hashlib.sha256(f"{message.site}\n{message.key}".encode()).hexdigest()
    if message.perhaps_again and book.delivered(connection, key, digest):
        return False
    book.mark_delivered(connection, key, digest, at_us=micros(message.at))
    return True


def _homeless(read: _Read) -> _Read:
    reason = f"the record holds no site {read.message.site!r}; load it, or correct the topic."
    aside = _aside(read.message, _payload_text(read.message), reason)
    return replace(read, samples=[], asides=[aside])


def _store(connection: Connection, read: Sequence[_Read]) -> tuple[kept.Added, list[SensorAside]]:
    by_site: dict[str, list[tuple[Message, _Sample]]] = defaultdict(list)
    for one in read:
        by_site[one.message.site] += [(one.message, sample) for sample in one.samples]
    rows: list[tuple[Message, _Sample]] = []
    numbers: list[int] = []
    for site, found in by_site.items():
        if found:
            wanted = {(sample.name, sample.unit) for _, sample in found}
            known = book.series_numbers(connection, site, wanted, at=found[0][0].at)
            rows += found
            numbers += [known[sample.name, sample.unit] for _, sample in found]
    added = kept.add_samples(
        connection,
        np.array(numbers, dtype=np.int64),
        np.array([sample.at_us for _, sample in rows], dtype=np.int64),
        np.array([sample.value for _, sample in rows], dtype=np.float64),
    )
    contradicting = [rows[place] for place in added.other]
    return added, [_contradiction(message, sample) for message, sample in contradicting]


def _contradiction(message: Message, sample: _Sample) -> SensorAside:
    reason = "another value is stored for this moment; the first one stays."
    text = f"{sample.name} {moment_of(sample.at_us).isoformat()} {sample.value!r} {sample.unit}"
    return _aside(message, text.strip(), reason)
