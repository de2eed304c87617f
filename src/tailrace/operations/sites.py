"""Site files: check one, load one into the record, and what the computed machine says of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from tailrace.errors import InputError
from tailrace.estimation.standing import standing
from tailrace.estimation.today import day_of
from tailrace.records.store import Store
from tailrace.reports.computed import computed_lines
from tailrace.reports.view import View
from tailrace.sitefile.read import SiteReading, read_site


@dataclass(frozen=True, slots=True)
class Checked:
    """A site file that can be used.

    Parameters
    ----------
    reading
        The site, what was understood, assumed and is implausible.
    computed
        What the machine as described does, in words.
    """

    reading: SiteReading
    computed: tuple[str, ...]


def file_bytes(path: Path) -> bytes:
    """Read a file that a person named.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    bytes
        Its bytes.

    Raises
    ------
    InputError
        It cannot be read.
    """
    try:
        return path.read_bytes()
    except OSError as error:
        reason = error.strerror or "it cannot be read"
        message = f"{path}: {reason[0].lower()}{reason[1:]}; name a file that can be read."
        raise InputError(message) from error


def check_site_file(path: Path, *, now: datetime) -> Checked:
    """Read a site file and say what was understood, assumed and is implausible.

    Parameters
    ----------
    path
        The file.
    now
        The moment it is checked for.

    Returns
    -------
    Checked
        What is to be told.

    Raises
    ------
    InputError
        The file cannot be read.
    FileFaultsError
        It has faults; every one with its line.
    """
    reading = read_site(file_bytes(path), path.name)
    day = day_of(standing(reading.site, (), now))
    return Checked(reading, tuple(computed_lines(View(reading.site, reading.site.units), day)))


def load_site_file(store: Store, path: Path, *, now: datetime) -> tuple[str, bool]:
    """Add a site, or a new version of it, to the record.

    Parameters
    ----------
    store
        The record.
    path
        The file.
    now
        When the record receives it.

    Returns
    -------
    tuple
        Short name of the site, and whether the record took a new version.

    Raises
    ------
    InputError
        The file cannot be read.
    FileFaultsError
        It has faults; every one with its line.
    RecordError
        The record cannot be written.
    """
    raw = file_bytes(path)
    name = read_site(raw, path.name).site.name
    new = store.add_site_version(name, raw.decode("utf-8-sig"), received_at=now)
    return name, new
