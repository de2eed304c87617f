"""The parcel: one file with a site's rows and photos, to be merged into another record.

A parcel is a ZIP file of three kinds of member: ``parcel.json`` says what it is, ``rows.jsonl``
is an archive (`tailrace.exchange.archive`), ``photos/`` holds photos by their digest.
"""

from __future__ import annotations

import hashlib
import json
import zipfile
import zlib
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tailrace.errors import Fault, FileFaultsError, InputError
from tailrace.exchange.archive import PlainRow, Written, check_archive, read_archive, write_archive
from tailrace.exchange.whole import whole_file

FORM = 1
NAME = "tailrace parcel"
MANIFEST = "parcel.json"
ROWS = "rows.jsonl"
PHOTOS = "photos/"
LARGEST_PHOTO = 32 * 1024 * 1024
LARGEST_MANIFEST = 16 * 1024 * 1024

_FIXED_TIME = (
    1980,
    1,
    1,
    0,
    0,
    0,
)  # same rows, same bytes; the label says when
_BROKEN = (
    zipfile.BadZipFile,
    zipfile.LargeZipFile,
    zlib.error,
    EOFError,
    NotImplementedError,
    RuntimeError,  # a member that needs a password
    KeyError,
    OSError,
)


@dataclass(frozen=True, slots=True)
class Label:
    """What a parcel says of itself.

    Parameters
    ----------
    site
        Short name of the site.
    since
        Rows received since then, as UTC text; empty for everything.
    packed_at
        When it was packed, as UTC text.
    program
        Version of the program that packed it.
    rows
        Pairs of a table and the count of its rows.
    photos
        Digests (SHA-256) of the photos in it.
    photos_left_out
        How many photos its rows name that are not in it.
    """

    site: str
    since: str
    packed_at: str
    program: str
    rows: tuple[tuple[str, int], ...] = ()
    photos: tuple[str, ...] = ()
    photos_left_out: int = 0


class Parcel:
    """A parcel that is open for reading; make one with `open_parcel`."""

    def __init__(self, file: zipfile.ZipFile, name: str, label: Label) -> None:
        self._file = file
        self._name = name
        self.label = label

    def check(self) -> Written:
        """Read every row and photo once and check their digests; nothing is kept.

        Returns
        -------
        Written
            Counts of the rows and their digest.

        Raises
        ------
        FileFaultsError
            It was cut short or changed.
        """
        with _said(self._name), self._file.open(ROWS) as stream:
            found = check_archive(stream, f"{self._name}, {ROWS}")
        if found.rows != self.label.rows:
            raise _fault(self._name, "its label does not fit its rows")
        for sha256 in self.label.photos:
            self.photo(sha256)
        return found

    def rows(self) -> Iterator[PlainRow]:
        """Give its rows.

        Yields
        ------
        tuple
            Table and plain row.

        Raises
        ------
        FileFaultsError
            It was cut short or changed.
        """
        with _said(self._name), self._file.open(ROWS) as stream:
            yield from read_archive(stream, f"{self._name}, {ROWS}")

    def photo(self, sha256: str) -> bytes:
        """Return the bytes of a photo.

        Parameters
        ----------
        sha256
            Its digest, one of ``label.photos``.

        Returns
        -------
        bytes
            The photo.

        Raises
        ------
        FileFaultsError
            It is missing, too large or changed.
        """
        with _said(self._name), self._file.open(PHOTOS + sha256) as stream:
            data = stream.read(LARGEST_PHOTO + 1)
        if len(data) > LARGEST_PHOTO:
            raise _fault(self._name, f"the photo {sha256[:12]} is too large")
        if hashlib.sha256(data).hexdigest() != sha256:
            raise _fault(self._name, f"the photo {sha256[:12]} does not fit its digest")
        return data


def write_parcel(
    path: Path,
    label: Label,
    *,
    rows: Iterable[PlainRow],
    photos: Mapping[str, Callable[[], bytes]],
) -> Label:
    """Write a parcel; a file that is there already is replaced once the new one is whole.

    Parameters
    ----------
    path
        The file.
    label
        Site, since, moment and program; what it holds is filled in.
    rows
        Rows in the order of an archive.
    photos
        Photos to put in: digest to what reads it; those that no row names stay out.

    Returns
    -------
    Label
        The label as written.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    with whole_file(path) as part, zipfile.ZipFile(part, "w", zipfile.ZIP_DEFLATED) as file:
        return _fill(file, label, rows, photos)


def _fill(
    file: zipfile.ZipFile,
    label: Label,
    rows: Iterable[PlainRow],
    photos: Mapping[str, Callable[[], bytes]],
) -> Label:
    named: set[str] = set()

    def seen() -> Iterator[PlainRow]:
        for table, row in rows:
            if table == "photos":
                named.add(str(row.get("sha256", "")))
            yield table, row

    with file.open(_member(ROWS), "w", force_zip64=True) as stream:
        written = write_archive(seen(), stream)
    inside = tuple(sorted(named & photos.keys()))
    for sha256 in inside:
        file.writestr(_member(PHOTOS + sha256), photos[sha256](), zipfile.ZIP_STORED)
    left = len(named) - len(inside)
    made = replace(label, rows=written.rows, photos=inside, photos_left_out=left)
    body = {
        "parcel": NAME,
        "form": FORM,
        "site": made.site,
        "since": made.since,
        "packed_at": made.packed_at,
        "program": made.program,
        "rows": dict(made.rows),
        "photos": list(made.photos),
        "photos_left_out": made.photos_left_out,
    }
    text = json.dumps(body, ensure_ascii=False, indent=1, allow_nan=False)
    file.writestr(_member(MANIFEST), text, zipfile.ZIP_DEFLATED)
    return made


def _member(name: str) -> zipfile.ZipInfo:
    return zipfile.ZipInfo(name, _FIXED_TIME)


@contextmanager
def open_parcel(path: Path) -> Iterator[Parcel]:
    """Open a parcel for reading.

    Parameters
    ----------
    path
        The file.

    Yields
    ------
    Parcel
        The parcel; only its label is read yet.

    Raises
    ------
    InputError
        The file cannot be opened.
    FileFaultsError
        It is no parcel, of a newer form, or damaged.
    """
    try:
        stream = path.open("rb")
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror}.") from error
    with stream:
        with _said(path.name):
            file = zipfile.ZipFile(stream)
            label = _label(file, path.name)
        with file:
            yield Parcel(file, path.name, label)


@contextmanager
def _said(name: str) -> Iterator[None]:
    """Turn what the ZIP reader says into one sentence; our own errors pass."""
    try:
        yield
    except FileFaultsError:
        raise
    except _BROKEN as error:
        raise _fault(name, f"it cannot be read ({error})") from error


def _fault(name: str, what: str) -> FileFaultsError:
    text = f"{what}: it is no parcel, or was cut short or changed. Have it sent again."
    return FileFaultsError(name, [Fault(0, text)])


def _label(file: zipfile.ZipFile, name: str) -> Label:
    with file.open(MANIFEST) as stream:
        data = stream.read(LARGEST_MANIFEST + 1)
    try:
        body = json.loads(data)
        form = int(body["form"]) if body["parcel"] == NAME else 0
        label = _read_label(body) if form == FORM else None
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise _fault(name, "its label cannot be read") from error
    if form > FORM:
        text = (
            f"this parcel was packed by a newer version of this software (form {form}, this one "
            f"knows up to {FORM}); update the software."
        )
        raise FileFaultsError(name, [Fault(0, text)])
    if label is None:
        raise _fault(name, "its label is not one of a parcel")
    return label


def _read_label(body: dict[str, Any]) -> Label:
    return Label(
        site=str(body["site"]),
        since=str(body["since"]),
        packed_at=str(body["packed_at"]),
        program=str(body["program"]),
        rows=tuple((str(table), int(count)) for table, count in body["rows"].items()),
        photos=tuple(str(sha256) for sha256 in body["photos"]),
        photos_left_out=int(body["photos_left_out"]),
    )
