"""Sensor measurement lists (SenML) in JSON or CBOR become resolved records.

Values and units stay as they were sent; base fields are applied and times are made absolute, to
the microsecond. Open `tailrace.records.samples` for how they are kept.
"""

from __future__ import annotations

import io
import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

import cbor2

from tailrace.errors import InputError

VERSION = 10  # the version that the standard defines, and its default
LEAST_ABSOLUTE_S = 2**28  # smaller times count from now
MOST_BYTES = 16_000_000
MOST_RECORDS = 200_000
MOST_NAME = 255
MOST_UNIT = 60
SECOND_US = 1_000_000
AHEAD_US = 86_400 * SECOND_US  # a clock that is further ahead is set wrong

CBOR_LABELS = {
    -1: "bver",
    -2: "bn",
    -3: "bt",
    -4: "bu",
    -5: "bv",
    -6: "bs",
    0: "n",
    1: "u",
    2: "v",
    3: "vs",
    4: "vb",
    5: "s",
    6: "t",
    7: "ut",
    8: "vd",
}
_KNOWN = frozenset(CBOR_LABELS.values())
_VALUES = ("v", "vs", "vb", "vd")
_NAME_FIRST = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789")
_NAME_REST = _NAME_FIRST | frozenset("-:./_")

Value = float | bool | str | bytes


@dataclass(frozen=True, slots=True)
class Record:
    """One resolved record.

    Parameters
    ----------
    name
        Full name: base name and name.
    unit
        Unit as sent; empty when none was.
    at_us
        When it was measured, microseconds since 1970 in UTC.
    value
        The value: a number, a truth, a text or bytes; None when only a sum was sent.
    total
        The sum, in the unit times seconds; None when none was sent.
    update_s
        Longest time until the next reading [s]; None when it was not said.
    """

    name: str
    unit: str
    at_us: int
    value: Value | None
    total: float | None = None
    update_s: float | None = None


@dataclass(frozen=True, slots=True)
class Refused:
    """A record that cannot be used.

    Parameters
    ----------
    position
        Its place in the list, counted from 1.
    text
        The record as sent.
    reason
        Why, and what is allowed.
    """

    position: int
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class Pack:
    """A list as it was understood.

    Parameters
    ----------
    records
        Records in the order of their times.
    refused
        Records that cannot be used.
    relative
        Whether some time counted from now, so that the list read again would give other times.
    """

    records: tuple[Record, ...]
    refused: tuple[Refused, ...]
    relative: bool


@dataclass(slots=True)
class _Base:
    """What the records so far have set."""

    name: str = ""
    time_us: int = 0
    unit: str = ""
    value: float = 0.0
    total: float | None = None
    version: int | None = None
    relative: bool = field(default=False)


class _BadRecordError(ValueError):
    """One record cannot be used; the others can."""


def read_pack(payload: bytes, *, now_us: int) -> Pack:
    """Read a list in JSON or CBOR, whichever its first byte says.

    Parameters
    ----------
    payload
        The bytes as received.
    now_us
        When they were received, microseconds since 1970 in UTC.

    Returns
    -------
    Pack
        Resolved records, and those that cannot be used with the reason.

    Raises
    ------
    InputError
        It is no such list, it is of a newer version, or its base fields cannot be used.

    Notes
    -----
    Times below 2**28 count from now. A later record keeps the base fields of an earlier one.

    References
    ----------
    jennings_2018

    Examples
    --------
    >>> pack = read_pack(b'[{"n":"tank:temp","u":"Cel","v":23.1}]', now_us=1_000_000)
    >>> pack.records[0].value, pack.records[0].at_us, pack.relative
    (23.1, 1000000, True)
    """
    rows = _rows(payload)
    base = _Base()
    records: list[Record] = []
    refused: list[Refused] = []
    for position, row in enumerate(rows, start=1):
        _set_base(base, row, position)
        if not _carries(row):
            continue
        try:
            records.append(_record(base, row, now_us))
        except _BadRecordError as bad:
            refused.append(Refused(position, _text(row), str(bad)))
    records.sort(key=lambda record: record.at_us)  # stable: equal times keep their order
    return Pack(tuple(records), tuple(refused), base.relative)


def _rows(payload: bytes) -> list[dict[str, Any]]:
    if len(payload) > MOST_BYTES:
        message = f"the message has {len(payload)} bytes; at most {MOST_BYTES} are read. Split it."
        raise InputError(message)
    found = _from_cbor(payload) if payload[:1] and payload[0] >= 0x80 else _from_json(payload)
    if not isinstance(found, list):
        message = "the message is no list of records; SenML is an array with one map a record."
        raise InputError(message)
    if len(found) > MOST_RECORDS:
        message = f"the message has {len(found)} records; at most {MOST_RECORDS}. Split it."
        raise InputError(message)
    rows = [_labelled(row, position) for position, row in enumerate(found, start=1)]
    for position, row in enumerate(rows, start=1):
        for label in row:
            if label.endswith("_") and label not in _KNOWN:
                message = (
                    f"record {position} has the field {label!r}, which its sender says must be "
                    "understood and which is not known here; the message is not used."
                )
                raise InputError(message)
    return rows


def _from_json(payload: bytes) -> Any:
    try:
        return json.loads(payload.decode("utf-8-sig"), parse_constant=_no_constant)
    except (ValueError, RecursionError) as error:
        message = f"the message is neither JSON nor CBOR: {error}."
        raise InputError(message) from None


def _no_constant(name: str) -> float:
    message = f"{name} is no number of JSON"
    raise ValueError(message)


def _from_cbor(payload: bytes) -> Any:
    stream = io.BytesIO(payload)
    try:
        found = cbor2.CBORDecoder(stream).decode()
    except Exception as error:  # noqa: BLE001  # bytes of a stranger raise many kinds
        message = f"the message begins like CBOR but cannot be read: {error}."
        raise InputError(message) from None
    if stream.tell() != len(payload):
        message = "the message goes on after its CBOR list ends; it is not used."
        raise InputError(message)
    return found


def _labelled(row: object, position: int) -> dict[str, Any]:
    if not isinstance(row, Mapping):
        message = f"record {position} is no map of fields; the message is not used."
        raise InputError(message)
    labelled: dict[str, Any] = {}
    for key, value in row.items():
        whole = isinstance(key, int) and not isinstance(key, bool)
        label = CBOR_LABELS.get(key) if whole else key
        if isinstance(label, str):
            labelled[label] = value
    return labelled


def _carries(row: Mapping[str, Any]) -> bool:
    """Whether a record says anything beside base fields."""
    return any(not label.startswith("b") for label in row if label in _KNOWN)


def _set_base(base: _Base, row: Mapping[str, Any], position: int) -> None:
    try:
        _check_version(base, row.get("bver", base.version))
        base.name = _word(row, "bn", base.name, MOST_NAME)
        base.unit = _word(row, "bu", base.unit, MOST_UNIT)
        if "bt" in row:
            base.time_us = _micros(row, "bt")
        base.value = _number(row, "bv") if "bv" in row else base.value
        base.total = _number(row, "bs") if "bs" in row else base.total
    except _BadRecordError as bad:
        message = (
            f"record {position}: {bad} It is a base field that later records rest on, so the "
            "message is not used."
        )
        raise InputError(message) from None


def _check_version(base: _Base, found: object) -> None:
    if found is None:
        return
    if isinstance(found, bool) or not isinstance(found, int) or found < 1:
        raise _BadRecordError(
            f"its version is {found!r}; it is a whole number from 1 to {VERSION}."
        )
    if found > VERSION:
        raise _BadRecordError(
            f"its version is {found}; this software understands up to {VERSION}."
        )
    if base.version is not None and found != base.version:
        raise _BadRecordError(
            f"its version is {found} after {base.version}; a list has one version."
        )
    base.version = found


def _record(base: _Base, row: Mapping[str, Any], now_us: int) -> Record:
    name = base.name + _word(row, "n", "", MOST_NAME)
    _check_name(name)
    value = _value(base, row)
    total = None
    if "s" in row or (base.total is not None and "v" in row):
        total = (base.total or 0.0) + (_number(row, "s") if "s" in row else 0.0)
    if value is None and total is None:
        raise _BadRecordError("it has no value; give one of v, vs, vb, vd, or a sum s.")
    return Record(
        name=name,
        unit=_word(row, "u", "", MOST_UNIT) or base.unit,
        at_us=_moment_us(base, row, now_us),
        value=value,
        total=total,
        update_s=_number(row, "ut") if "ut" in row else None,
    )


def _check_name(name: str) -> None:
    if not name or len(name) > MOST_NAME:
        raise _BadRecordError(f"its name has {len(name)} characters; it has 1 to {MOST_NAME}.")
    if name[0] not in _NAME_FIRST or not _NAME_REST.issuperset(name):
        raise _BadRecordError(
            f"its name is {name!r}; a name has letters a to z, digits and - : . / _ and begins "
            "with a letter or a digit."
        )


def _value(base: _Base, row: Mapping[str, Any]) -> Value | None:
    given = [label for label in _VALUES if label in row]
    if len(given) > 1:
        raise _BadRecordError(f"it has {' and '.join(given)}; a record has one value.")
    if not given:
        sum_only = "s" in row or base.value == 0.0
        return None if sum_only else base.value
    label = given[0]
    found = row[label]
    if label == "v":
        return _number(row, "v") + base.value
    if label == "vb" and not isinstance(found, bool):
        raise _BadRecordError(f"vb is {found!r}; it is true or false.")
    if label == "vs" and not isinstance(found, str):
        raise _BadRecordError(f"vs is {found!r}; it is a text.")
    if label == "vd" and not isinstance(found, str | bytes):
        raise _BadRecordError(f"vd is {found!r}; it is base64 text, or bytes in CBOR.")
    checked: Value = found
    return checked


def _moment_us(base: _Base, row: Mapping[str, Any], now_us: int) -> int:
    # whole microseconds are added, so that base and time may be split in any way
    time_us = base.time_us + (_micros(row, "t") if "t" in row else 0)
    if time_us < LEAST_ABSOLUTE_S * SECOND_US:
        base.relative = True
        time_us += now_us
    if time_us > now_us + AHEAD_US:
        raise _BadRecordError("its time is more than a day ahead; set the clock of the sensor.")
    if time_us < 0:
        raise _BadRecordError("its time lies before 1970; set the clock of the sensor.")
    return time_us


def _number(row: Mapping[str, Any], label: str) -> float:
    found = row[label]
    if isinstance(found, bool) or not isinstance(found, int | float | Decimal):
        raise _BadRecordError(f"{label} is {found!r}; it is a number.")
    try:
        number = float(found)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise _BadRecordError(f"{label} is no finite number that a double can hold.")
    return number


def _micros(row: Mapping[str, Any], label: str) -> int:
    number = _number(row, label)
    if abs(number) > 1e11:
        raise _BadRecordError(f"{label} is {number:g} seconds, thousands of years off.")
    return round(number * SECOND_US)


def _word(row: Mapping[str, Any], label: str, default: str, most: int) -> str:
    found = row.get(label, default)
    if not isinstance(found, str):
        raise _BadRecordError(f"{label} is {found!r}; it is a text.")
    if len(found) > most:
        raise _BadRecordError(f"{label} has {len(found)} characters; at most {most}.")
    if not found.isprintable():
        raise _BadRecordError(f"{label} is {found!r}; it has signs that cannot be printed.")
    return found


def _text(row: Mapping[str, Any]) -> str:
    return json.dumps(row, ensure_ascii=False, default=str, sort_keys=True)[:2000]


def to_json(records: Sequence[Record]) -> list[dict[str, Any]]:
    """Return resolved records with the labels of the standard.

    Parameters
    ----------
    records
        Resolved records.

    Returns
    -------
    list
        One map a record; times are seconds since 1970.

    Examples
    --------
    >>> to_json([Record("a", "Cel", 1_320_067_464_000_000, 20.0)])
    [{'n': 'a', 'u': 'Cel', 't': 1320067464.0, 'v': 20.0}]
    """
    made = []
    for record in records:
        row: dict[str, Any] = {"n": record.name}
        if record.unit:
            row["u"] = record.unit
        row["t"] = record.at_us / SECOND_US
        if record.value is not None:
            row[_label_of(record.value)] = record.value
        if record.total is not None:
            row["s"] = record.total
        if record.update_s is not None:
            row["ut"] = record.update_s
        made.append(row)
    return made


def _label_of(value: Value) -> str:
    if isinstance(value, bool):
        return "vb"
    if isinstance(value, str):
        return "vs"
    return "vd" if isinstance(value, bytes) else "v"
