"""Arguments and options that several commands share, and how they write."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

Home = Annotated[
    str | None,
    typer.Option(
        "--home", help="Folder of the record; else TAILRACE_HOME, else your data folder."
    ),
]
SiteName = Annotated[str, typer.Argument(metavar="SITE", help="Short name from the site file.")]
File = Annotated[Path, typer.Argument(metavar="FILE")]
Who = Annotated[str, typer.Option("--who", help="Name or initials of who wrote it.")]
Yes = Annotated[bool, typer.Option("--yes", help="Store without asking.")]


def now() -> datetime:
    """Return this moment, aware UTC."""
    return datetime.now(UTC)


def write(lines: Iterable[str]) -> None:
    """Write lines.

    Parameters
    ----------
    lines
        Lines.
    """
    for line in lines:
        typer.echo(line)
