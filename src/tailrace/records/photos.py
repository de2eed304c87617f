"""Photos: freed of position and device data, and kept by their digest beside the database.

Only the pixels are taken over: whatever else a file carries (position, device, time, comments,
small previews) is not copied. The file is on the disk before the row that names it.
"""

from __future__ import annotations

import hashlib
import io
import os
import warnings
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError
from sqlalchemy import select

from tailrace.errors import InputError, NotKnownError
from tailrace.records import tables as t
from tailrace.records.engine import record_fault
from tailrace.records.kept import KeptPhoto
from tailrace.records.part import Part, add_row

FOLDER = "photos"
MOST_BYTES = 20_000_000
MOST_PIXELS = 50_000_000
LONGEST_SIDE = 2560
_ENDINGS = {"JPEG": ".jpg", "PNG": ".png", "WEBP": ".webp"}
_MEDIA = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
_QUALITY = 85
_MORE = frozenset({"exif", "xmp", "comment", "photoshop", "icc_profile"})


@dataclass(frozen=True, slots=True)
class CleanPhoto:
    """A photo as it is kept.

    Parameters
    ----------
    data
        Its bytes.
    media
        ``image/jpeg``, ``image/png`` or ``image/webp``.
    width, height
        In pixels.
    """

    data: bytes
    media: str
    width: int
    height: int

    @property
    def sha256(self) -> str:
        """Digest of the bytes."""
        return hashlib.sha256(self.data).hexdigest()


def clean_photo(data: bytes) -> CleanPhoto:
    """Return a photo with its pixels alone, turned upright.

    Parameters
    ----------
    data
        Bytes of a JPEG, PNG or WebP file.

    Returns
    -------
    CleanPhoto
        The same kind of file, made anew, at most `LONGEST_SIDE` pixels long.

    Raises
    ------
    InputError
        It is no such file, damaged, or too large.
    """
    if len(data) > MOST_BYTES:
        message = (
            f"the photo has {len(data) / 1e6:.0f} MB; up to {MOST_BYTES / 1e6:.0f} MB are taken. "
            "Send a smaller one."
        )
        raise InputError(message)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _clean(data)
    except (OSError, SyntaxError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        what = "is no JPEG, PNG or WebP photo"
        if not isinstance(error, UnidentifiedImageError):
            what = "is damaged, or is no photo"
        raise InputError(f"the file {what}; take it again, or send another.") from error
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise _too_many() from error


def _too_many() -> InputError:
    return InputError(
        f"the photo has more than {MOST_PIXELS // 1_000_000} million points; send a smaller one."
    )


def _clean(data: bytes) -> CleanPhoto:
    with Image.open(io.BytesIO(data), formats=tuple(_ENDINGS)) as opened:
        kind = str(opened.format)
        if opened.width * opened.height > MOST_PIXELS:
            raise _too_many()
        opened.load()
        upright = ImageOps.exif_transpose(opened)
    mode = "RGB" if kind == "JPEG" or not _sees_through(upright) else "RGBA"
    pixels = upright.convert(mode)
    pixels.thumbnail((LONGEST_SIDE, LONGEST_SIDE))
    bare = Image.new(mode, pixels.size)  # new, so that nothing but the pixels comes along
    bare.paste(pixels)
    out = io.BytesIO()
    bare.save(out, format=kind, **({} if kind == "PNG" else {"quality": _QUALITY}))
    return CleanPhoto(out.getvalue(), _MEDIA[kind], bare.width, bare.height)


def _sees_through(image: Image.Image) -> bool:
    return "A" in image.getbands() or "transparency" in image.info


def bare_media(data: bytes) -> str:
    """Return the kind of a photo that another copy of a record sent, once it proves bare.

    Parameters
    ----------
    data
        Bytes as they were kept there; they stay as they are, their digest names them.

    Returns
    -------
    str
        ``image/jpeg``, ``image/png`` or ``image/webp``.

    Raises
    ------
    InputError
        It is no photo, damaged, too large, or carries more than its pixels.
    """
    media = clean_photo(data).media
    with Image.open(io.BytesIO(data)) as opened:
        more = _MORE & opened.info.keys() or opened.getexif() or getattr(opened, "text", None)
        blocks = set(getattr(opened, "app", {})) - {"APP0"}
    if more or blocks:
        raise InputError("the photo carries more than its pixels, such as where it was taken.")
    return media


def photo_path(home: Path, sha256: str, media: str) -> Path:
    """Return where a photo lies.

    Parameters
    ----------
    home
        Folder of the record.
    sha256
        Digest of its bytes.
    media
        Its kind.

    Returns
    -------
    pathlib.Path
        File, by the digest.

    Examples
    --------
    >>> photo_path(Path("/srv/r"), "ab" * 32, "image/png").parent.as_posix()
    '/srv/r/photos/ab'
    """
    ending = next(_ENDINGS[kind] for kind, name in _MEDIA.items() if name == media)
    return home / FOLDER / sha256[:2] / f"{sha256}{ending}"


class PhotosPart(Part):
    """The photos of the record."""

    def add_photo(self, site: str, data: bytes, *, received_at: datetime, who: str = "") -> str:
        """Keep a photo, freed of position and device data.

        Parameters
        ----------
        site
            Name of the site.
        data
            Bytes of the file as it came.
        received_at
            When it was received, aware.
        who
            Who sent it.

        Returns
        -------
        str
            Digest, for `Entry.photos`; the same photo sent again is kept once.

        Raises
        ------
        NotKnownError
            There is no such site.
        InputError
            It is no photo, damaged, or too large; nothing was stored.
        RecordError
            It cannot be written; nothing was stored.
        """
        photo = clean_photo(data)
        table, sha256 = t.photos, photo.sha256
        self.put_photo_file(photo.data, photo.media)
        with self._writing() as connection:
            self._check_site(connection, site)
            known = select(table.c.number).where(table.c.site == site, table.c.sha256 == sha256)
            if connection.execute(known).first() is None:
                add_row(
                    connection,
                    table,
                    received_at=received_at,
                    site=site,
                    sha256=sha256,
                    media=photo.media,
                    size=len(photo.data),
                    width=photo.width,
                    height=photo.height,
                    who=who,
                )
        return sha256

    def put_photo_file(self, data: bytes, media: str) -> Path:
        """Write the bytes of a photo that is kept; it appears whole or not at all.

        Parameters
        ----------
        data
            Bytes as kept.
        media
            Their kind.

        Returns
        -------
        pathlib.Path
            The file.

        Raises
        ------
        RecordError
            It cannot be written.
        """
        path = photo_path(self.home, hashlib.sha256(data).hexdigest(), media)
        part = path.with_suffix(f".{os.getpid()}.part")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            if not path.exists():
                with part.open("wb") as stream:
                    stream.write(data)
                    stream.flush()
                    os.fsync(stream.fileno())
                part.replace(path)
                _sync_folder(path.parent)
        except OSError as error:
            raise record_fault(self.home, error) from error
        return path

    def photos(self, site: str) -> tuple[KeptPhoto, ...]:
        """Return the photos of a site, those taken out of the record too, oldest first."""
        table, gone = t.photos, t.tombstones
        query = (
            select(table, gone.c.why.label("redacted_why"))
            .outerjoin(gone, (gone.c.row_uid == table.c.uid) & (gone.c.field == "file"))
            .where(table.c.site == site)
            .order_by(table.c.received_at, table.c.number)
        )
        with self._reading() as connection:
            self._check_site(connection, site)
            rows = connection.execute(query).mappings().all()
        once = {row["number"]: row for row in rows}
        return tuple(
            KeptPhoto(
                id=f"f{row['number']}",
                sha256=row["sha256"],
                media=row["media"],
                size=row["size"],
                width=row["width"],
                height=row["height"],
                who=row["who"],
                received_at=row["received_at"],
                redacted_why=row["redacted_why"],
            )
            for row in once.values()
        )

    def photo_bytes(self, site: str, sha256: str) -> bytes:
        """Return the bytes of a photo.

        Parameters
        ----------
        site
            Name of the site.
        sha256
            Digest.

        Returns
        -------
        bytes
            As kept, the digest checked.

        Raises
        ------
        NotKnownError
            The site has no such photo, it was taken out of the record, or its file is missing.
        """
        photo = next((p for p in self.photos(site) if p.sha256 == sha256), None)
        if photo is None:
            raise NotKnownError(f"{site} has no photo {sha256[:12]}.")
        if photo.redacted_why is not None:
            message = f"the photo {photo.id} was taken out of the record: {photo.redacted_why}"
            raise NotKnownError(message)
        path = photo_path(self.home, sha256, photo.media)
        try:
            data = path.read_bytes()
        except OSError as error:
            message = f"the file of the photo {photo.id} cannot be read: {path}. Restore a backup."
            raise NotKnownError(message) from error
        if hashlib.sha256(data).hexdigest() != sha256:
            message = f"the file of the photo {photo.id} was changed: {path}. Restore a backup."
            raise NotKnownError(message)
        return data


def _sync_folder(folder: Path) -> None:
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
