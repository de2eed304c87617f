"""Where the record lives: an option, else the environment, else the user's data folder.

A record is a folder (SQLite, photos and backups in it) or a database of PostgreSQL by its
address; photos and backups of the latter stand in the folder.
"""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

import platformdirs
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError

from tailrace.errors import InputError

VARIABLE = "TAILRACE_HOME"
ADDRESS_VARIABLE = "TAILRACE_RECORD"
FILE = "record.sqlite3"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a record is.

    Parameters
    ----------
    url
        Address of its database.
    home
        Folder of its photos and backups.
    """

    url: URL
    home: Path

    @property
    def file(self) -> Path | None:
        """The file of an SQLite database; None on PostgreSQL."""
        return Path(str(self.url.database)) if self.url.get_backend_name() == "sqlite" else None

    def __str__(self) -> str:
        """Return the folder, file or address, without its password."""
        if self.file is None:
            return self.url.set(drivername="postgresql").render_as_string()
        return str(self.home if self.file.name == FILE else self.file)


def home_folder(option: str | None = None) -> Path:
    """Return the folder of the record.

    Parameters
    ----------
    option
        The folder named by ``--home``; None or empty when it was not given.

    Returns
    -------
    pathlib.Path
        The option, else the environment variable ``TAILRACE_HOME``, else the data folder that
        the operating system gives to this user. It need not exist yet.

    Examples
    --------
    >>> str(home_folder("/srv/record"))
    '/srv/record'
    """
    named = option or os.environ.get(VARIABLE, "")
    if named:
        return Path(named).expanduser()
    return Path(platformdirs.user_data_dir("tailrace", appauthor=False))


def record_address(option: str | None = None) -> str:
    """Return the address of the record.

    Parameters
    ----------
    option
        The folder named by ``--home``; None or empty when it was not given.

    Returns
    -------
    str
        The option, else the environment variable ``TAILRACE_RECORD`` (a folder, or an address
        that begins with ``postgresql://``), else the folder of `home_folder`.

    Examples
    --------
    >>> record_address("/srv/record")
    '/srv/record'
    """
    return option or os.environ.get(ADDRESS_VARIABLE, "") or str(home_folder())


def find_place(address: Path | str) -> Place:
    """Return where a record is.

    Parameters
    ----------
    address
        A folder; a file that ends in ``.sqlite3``, such as that of a backup; or an address that
        begins with ``postgresql://``.

    Returns
    -------
    Place
        The place; nothing is opened.

    Raises
    ------
    InputError
        The address is none of these.

    Examples
    --------
    >>> str(find_place("/srv/r"))
    '/srv/r'
    >>> str(find_place("postgresql://ann:secret@db/loop"))
    'postgresql://ann:***@db/loop'
    """
    text = str(address)
    if "://" in text:
        return _on_server(text)
    path = Path(text).expanduser()
    file = path if path.suffix == ".sqlite3" else path / FILE
    return Place(URL.create("sqlite", database=str(file)), file.parent)


def _on_server(text: str) -> Place:
    try:
        url = make_url(text)
    except ArgumentError:
        url = None
    if url is None or url.get_backend_name() not in {"postgresql", "postgres"} or not url.database:
        kind = text.split(":", maxsplit=1)[0]  # the rest may hold a password
        message = (
            f"the address that begins with {kind}: is none of a record; give a folder, or such "
            "as postgresql://name@host/database."
        )
        raise InputError(message)
    return Place(url.set(drivername="postgresql+psycopg"), home_folder())
