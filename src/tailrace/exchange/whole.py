"""A file that appears whole or not at all; the one before it stays until then."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tailrace.errors import InputError, TailraceError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Give the path of a new file beside another one, and put it in its place at the end.

    Parameters
    ----------
    path
        The file that shall be there.

    Yields
    ------
    pathlib.Path
        Where to write; it is on the disk before it takes its place, and gone after any fault.

    Raises
    ------
    InputError
        The file cannot be written.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        yield part
        with part.open("rb+") as stream:
            os.fsync(stream.fileno())
        part.replace(path)
    except TailraceError:  # of the rows; a fault of the record is an OSError too
        raise
    except OSError as error:
        raise InputError(f"{path} cannot be written: {error.strerror or error}.") from error
    finally:
        part.unlink(missing_ok=True)
