"""A site as one file, and such files merged into the record; no network in common is needed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path

from tailrace import __version__
from tailrace.errors import InputError
from tailrace.exchange.archive import PlainRow, check_archive, read_archive
from tailrace.exchange.parcel import Label, Parcel, open_parcel, write_parcel
from tailrace.records.merging import Merged
from tailrace.records.photos import bare_media
from tailrace.records.store import Store
from tailrace.records.tables import moment_text

_ZIP = b"PK"


@dataclass(frozen=True, slots=True)
class Unpacked:
    """What came of unpacking a parcel or an archive.

    Parameters
    ----------
    merged
        Rows that are new, rows that were here, and what both copies changed.
    label
        What the parcel says of itself; None for an archive.
    photos
        How many photos lie in the record now that were in the parcel.
    refused
        One sentence for each photo that was not taken.
    """

    merged: Merged
    label: Label | None
    photos: int = 0
    refused: tuple[str, ...] = ()


def pack_site(
    store: Store,
    name: str,
    path: Path,
    *,
    now: datetime,
    since: datetime | None = None,
    photos: bool = True,
) -> Label:
    """Write what the record holds of a site into one file.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    path
        The file; one that is there is replaced once the new one is whole.
    now
        When it is packed, aware.
    since
        Only rows received since then, aware, and every description of the site; None for all.
    photos
        Whether photos go along.

    Returns
    -------
    Label
        What the parcel holds.

    Raises
    ------
    NotKnownError
        The record holds no such site, or the file of a photo is missing.
    InputError
        The file cannot be written.
    """
    kept = store.photos(name)
    held = {
        photo.sha256: partial(store.photo_bytes, name, photo.sha256)
        for photo in kept
        if photos and photo.redacted_why is None
    }
    label = Label(name, "" if since is None else moment_text(since), moment_text(now), __version__)
    return write_parcel(path, label, rows=store.rows(site=name, since=since), photos=held)


def unpack(store: Store, path: Path, *, same_site: bool = False) -> Unpacked:
    """Merge a parcel or an archive into the record, all or nothing.

    Parameters
    ----------
    store
        The record.
    path
        The file.
    same_site
        Whether a site of the same short name that was begun on both machines by itself is one.

    Returns
    -------
    Unpacked
        What is new, what was here, and what both copies changed. The same file again adds
        nothing; the order of several files does not matter.

    Raises
    ------
    InputError
        The file cannot be opened.
    FileFaultsError
        It is neither, of a newer form, cut short or changed; nothing was stored.
    RecordError
        A site there has the name of another one here, or the record cannot be written.
    """
    if _begins_as_zip(path):
        with open_parcel(path) as parcel:
            parcel.check()
            return _merge_parcel(store, parcel, same_site=same_site)
    with _archive(path) as rows:
        same = _same(store, rows, same_site=same_site)
    with _archive(path) as rows:
        return Unpacked(store.merge(rows, same=same), None)


def _begins_as_zip(path: Path) -> bool:
    try:
        with path.open("rb") as stream:
            return stream.read(2) == _ZIP
    except OSError as error:
        raise InputError(f"{path} cannot be read: {error.strerror or error}.") from error


@contextmanager
def _archive(path: Path) -> Iterator[Iterator[PlainRow]]:
    """Give the rows of an archive that was read to its end once before."""
    with path.open("rb") as stream:
        check_archive(stream, path.name)
        stream.seek(0)
        yield read_archive(stream, path.name)


def _same(store: Store, rows: Iterator[PlainRow], *, same_site: bool) -> dict[str, str]:
    """Return the sites of a file that a person says are those of the same name here."""
    if not same_site:
        return {}
    here = {row["name"]: row["uid"] for row in _sites(store.rows())}
    return {
        row["uid"]: row["name"]
        for row in _sites(rows)
        if here.get(row.get("name", ""), row["uid"]) != row["uid"]
    }


def _sites(rows: Iterator[PlainRow]) -> Iterator[dict[str, str]]:
    for table, row in rows:
        if table != "sites":  # they stand first
            return
        yield row


def _merge_parcel(store: Store, parcel: Parcel, *, same_site: bool) -> Unpacked:
    same = _same(store, parcel.rows(), same_site=same_site)
    gone = {
        photo.sha256
        for name in store.site_names()
        for photo in store.photos(name)
        if photo.redacted_why is not None
    }
    refused = []
    taken = 0
    media = {row["sha256"]: row["media"] for table, row in parcel.rows() if table == "photos"}
    for sha256 in parcel.label.photos:
        said = _keep_photo(store, parcel, sha256, str(media.get(sha256, "")), gone=sha256 in gone)
        refused += [said] if said else []
        taken += not said
    merged = store.merge(parcel.rows(), same=same)
    return Unpacked(merged, parcel.label, taken, tuple(refused))


def _keep_photo(store: Store, parcel: Parcel, sha256: str, media: str, *, gone: bool) -> str:
    """Put a photo beside the database; return why not, in words, or nothing."""
    name = f"the photo {sha256[:12]} was not taken"
    if gone:
        return f"{name}: it was taken out of this record before."
    data = parcel.photo(sha256)
    try:
        found = bare_media(data)
    except InputError as error:
        return f"{name}: {error}"
    if found != media:
        return f"{name}: its row says it is {media or 'none of this parcel'}, and it is {found}."
    store.put_photo_file(data, found)
    return ""
