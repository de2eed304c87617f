"""The archive: a record as lines of JSON, exact, the same bytes for the same record.

Its form is written down in docs/archive.md. Two records are identical when their archives are.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import IO, Any

from tailrace.errors import Fault, FileFaultsError, InputError

FORM = 1
NAME = "tailrace record"
LONGEST_LINE = 64 * 1024 * 1024

PlainRow = tuple[str, dict[str, Any]]
_HEADER = {"archive": NAME, "form": FORM}


@dataclass(frozen=True, slots=True)
class Written:
    """What went into an archive.

    Parameters
    ----------
    rows
        Pairs of a table and the count of its rows, in the order of the archive.
    sha256
        Digest of every byte before the last line.
    """

    rows: tuple[tuple[str, int], ...]
    sha256: str

    @property
    def count(self) -> int:
        """Rows of all tables."""
        return sum(count for _, count in self.rows)


def row_key(row: dict[str, Any]) -> tuple[Any, ...]:
    """Return what names a row everywhere and gives its place within its table.

    Parameters
    ----------
    row
        A plain row.

    Returns
    -------
    tuple
        Its ``uid``; for a sample, which has none, its series and moment.

    Raises
    ------
    InputError
        It has neither.

    Examples
    --------
    >>> row_key({"uid": "0a", "text": "7.2"}), row_key({"series": "0b", "at": 5, "value": 1.0})
    (('0a',), ('0b', 5))
    """
    uid = row.get("uid")
    if isinstance(uid, str) and uid:
        return (uid,)
    series, at = row.get("series"), row.get("at")
    if isinstance(series, str) and isinstance(at, int):
        return (series, at)
    raise InputError("a row has neither a 'uid' nor a 'series' with its moment 'at'.")


def line_of(value: object) -> bytes:
    r"""Return one line of an archive: keys sorted, no spaces, UTF-8.

    Parameters
    ----------
    value
        Text, whole and finite numbers, true, false, null, lists and objects of these.

    Returns
    -------
    bytes
        The line with its end.

    Raises
    ------
    InputError
        There is something in it that JSON cannot hold exactly.

    Examples
    --------
    >>> line_of({"b": [0.1, None], "a": "Ümlaut"}).decode()
    '{"a":"Ümlaut","b":[0.1,null]}\n'
    """
    try:
        text = json.dumps(
            value, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False
        )
        return f"{text}\n".encode()
    except (TypeError, ValueError) as error:
        raise InputError(f"a row cannot be written as it is: {error}.") from error


class _Out:
    """A stream that counts rows and keeps the digest of what went through."""

    def __init__(self, stream: IO[bytes]) -> None:
        self.stream = stream
        self.digest = hashlib.sha256()
        self.counts: dict[str, int] = {}
        self.before: tuple[str, tuple[Any, ...]] | None = None

    def line(self, value: object) -> None:
        data = line_of(value)
        self.digest.update(data)
        self.stream.write(data)

    def row(self, table: str, row: dict[str, Any]) -> None:
        key = row_key(row)
        if self.before is not None and self.before[0] == table:
            if key <= self.before[1]:
                raise InputError(f"rows of {table!r} are out of order or twice at {key[0]!r}.")
        elif table in self.counts:
            raise InputError(f"rows of {table!r} do not stand together.")
        self.before = (table, key)
        self.counts[table] = self.counts.get(table, 0) + 1
        self.line({"row": row, "table": table})


def write_archive(rows: Iterable[PlainRow], stream: IO[bytes]) -> Written:
    """Write an archive, row by row.

    Parameters
    ----------
    rows
        Pairs of a table and a plain row; tables one after another, rows of a table by `row_key`.
    stream
        Where it goes.

    Returns
    -------
    Written
        Counts and digest.

    Raises
    ------
    InputError
        Rows are out of order, twice, or hold what JSON cannot.

    Examples
    --------
    >>> import io
    >>> out = io.BytesIO()
    >>> write_archive([("entries", {"uid": "0a"})], out).rows
    (('entries', 1),)
    """
    out = _Out(stream)
    out.line(_HEADER)
    for table, row in rows:
        out.row(table, row)
    written = Written(tuple(out.counts.items()), out.digest.hexdigest())
    stream.write(line_of({"end": dict(written.rows), "sha256": written.sha256}))
    return written


class ArchiveReader:
    """An archive being read, row by row; `written` says what it held once it is read to the end.

    Parameters
    ----------
    stream
        The archive.
    name
        Its name, for the words of an error.
    """

    def __init__(self, stream: IO[bytes], name: str) -> None:
        self._stream = stream
        self._name = name
        self._counts: dict[str, int] = {}
        self._digest = hashlib.sha256()
        self.written: Written | None = None

    def __iter__(self) -> Iterator[PlainRow]:
        """Give table and plain row of each line; the last line is checked when it is reached."""
        number = 0
        while data := self._stream.readline(LONGEST_LINE + 1):
            number += 1
            value = _object(data, self._name, number)
            if number == 1:
                _check_header(value, self._name)
            elif "end" in value:
                self._end(value, number)
                return
            else:
                table, row = _row(value, self._name, number)
                self._counts[table] = self._counts.get(table, 0) + 1
                yield table, row
            self._digest.update(data)
        what = "the last line, which says how many rows there are, is missing"
        raise _fault(self._name, number, what if number else "the file is empty")

    def _end(self, value: dict[str, Any], number: int) -> None:
        sha256 = self._digest.hexdigest()
        if value["end"] != self._counts:
            what = f"it should hold {value['end']} rows and holds {self._counts}"
            raise _fault(self._name, number, what)
        if value.get("sha256") != sha256:
            raise _fault(self._name, number, "its digest does not fit what stands above it")
        if self._stream.read(1):
            raise _fault(self._name, number + 1, "something stands behind the last line")
        self.written = Written(tuple(self._counts.items()), sha256)


def read_archive(stream: IO[bytes], name: str) -> Iterator[PlainRow]:
    """Read an archive, row by row; the end is checked when it is reached.

    Parameters
    ----------
    stream
        The archive.
    name
        Its name, for the words of an error.

    Yields
    ------
    tuple
        Table and plain row.

    Raises
    ------
    FileFaultsError
        It is no archive, of a newer form, cut short or changed, with the line.
    """
    yield from ArchiveReader(stream, name)


def check_archive(stream: IO[bytes], name: str) -> Written:
    """Read an archive to its end and say what it holds; nothing is kept.

    Parameters
    ----------
    stream
        The archive.
    name
        Its name, for the words of an error.

    Returns
    -------
    Written
        Counts and digest.

    Raises
    ------
    FileFaultsError
        It is no archive, of a newer form, cut short or changed.
    """
    reader = ArchiveReader(stream, name)
    for _row_read in reader:
        pass
    assert reader.written is not None  # else reading had raised
    return reader.written


def _fault(name: str, line: int, text: str) -> FileFaultsError:
    what = f"{text}; the file was cut short or changed. Take it again from where it was written."
    return FileFaultsError(name, [Fault(line, what)])


def _object(data: bytes, name: str, number: int) -> dict[str, Any]:
    if len(data) > LONGEST_LINE:
        raise _fault(name, number, f"the line is longer than {LONGEST_LINE} bytes")
    if not data.endswith(b"\n"):
        raise _fault(name, number, "the line has no end")
    try:
        value = json.loads(data.decode("utf-8"), parse_constant=_refuse_constant)
    except (ValueError, RecursionError) as error:  # also signs that are no UTF-8
        raise _fault(name, number, "the line is no JSON") from error
    if not isinstance(value, dict):
        raise _fault(name, number, "the line is no JSON object")
    return value


def _refuse_constant(text: str) -> None:
    raise ValueError(text)


def _check_header(value: dict[str, Any], name: str) -> None:
    form = value.get("form")
    if value.get("archive") != NAME or not isinstance(form, int):
        first = line_of(_HEADER).decode().strip()
        text = f"this is no archive of a record; its first line would be {first}"
        raise FileFaultsError(name, [Fault(1, text)])
    if form > FORM:
        text = (
            f"this archive was written by a newer version of this software (form {form}, this "
            f"one knows up to {FORM}); update the software."
        )
        raise FileFaultsError(name, [Fault(1, text)])


def _row(value: dict[str, Any], name: str, number: int) -> PlainRow:
    table, row = value.get("table"), value.get("row")
    if not isinstance(table, str) or not isinstance(row, dict):
        raise _fault(name, number, "the line has no 'table' and 'row'")
    try:
        row_key(row)
    except InputError as error:
        raise _fault(name, number, str(error).rstrip(".")) from error
    return table, row
