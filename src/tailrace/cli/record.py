"""Keep the record safe: backup, restore, verify, move, redact."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from tailrace.cli.commands import app
from tailrace.cli.options import Home, now
from tailrace.errors import InputError, RecordError
from tailrace.operations import keeping
from tailrace.operations.record import open_record
from tailrace.operations.redact import redact, redact_person
from tailrace.records.home import find_place, record_address
from tailrace.records.verify import Verified

record_app = typer.Typer(
    help="Back up, restore, verify and move the record; blank what must not stay.",
    no_args_is_help=True,
)
app.add_typer(record_app, name="record")


@record_app.command("backup")
def record_backup(
    folder: Annotated[
        Path | None,
        typer.Argument(metavar="[FOLDER]", help="Where to; another disk is better than this one."),
    ] = None,
    home: Home = None,
) -> None:
    """Copy the record and its photos while it is in use, and prove the copy by restoring it."""
    made = keeping.back_up(record_address(home), folder, now=now())
    rows = sum(made.counts.values())
    typer.echo(f"{made.folder}: {rows} rows, {made.photos} photos; restored once, and sound.")


@record_app.command("restore")
def record_restore(
    backup: Annotated[Path, typer.Argument(metavar="BACKUP", help="Folder of the backup.")],
    home: Home = None,
    replace: Annotated[
        bool, typer.Option("--replace", help="Put it in the place of the record that is there.")
    ] = False,
) -> None:
    """Put a record back from a backup; a record that is replaced is kept beside it."""
    address = record_address(home)
    found = keeping.restore(backup, address, replace=replace, now=now())
    _say(f"{find_place(address)}, from {backup}", found)


@record_app.command("verify")
def record_verify(
    home: Home = None,
    accept_loss: Annotated[
        bool,
        typer.Option(
            "--accept-loss", help="Go on with what is left after confirmed acts were lost."
        ),
    ] = False,
) -> None:
    """Check the record row by row, and its photos; say what is wrong."""
    address = record_address(home)
    _say(str(find_place(address)), keeping.verify(address, accept_loss=accept_loss))


@record_app.command("move")
def record_move(
    new: Annotated[
        str,
        typer.Argument(
            metavar="NEW", help="An empty folder, or such as postgresql://name@host/database."
        ),
    ],
    home: Home = None,
) -> None:
    """Carry the record to another folder or database; the old one stays as it is."""
    old = record_address(home)
    counts = keeping.move(old, new)
    typer.echo(f"{sum(counts.values())} rows are in {find_place(new)}, each as it was.")
    typer.echo(f"The record in {find_place(old)} stays; from now on write in the new one only:")
    typer.echo("set TAILRACE_RECORD to its address.")


@record_app.command("redact")
def record_redact(
    what: Annotated[
        str,
        typer.Argument(
            metavar="WHAT",
            help="A row such as e17, b3 or f7; or a name or initials with --person.",
        ),
    ],
    why: Annotated[str, typer.Option("--why", help="Reason; it stays, with the date.")],
    field: Annotated[
        str, typer.Option("--field", help="note, who or sent_by; file of a photo.")
    ] = "note",
    person: Annotated[
        bool, typer.Option("--person", help="Blank this name wherever it stands by itself.")
    ] = False,
    who: Annotated[str, typer.Option("--who", help="Who asks for it.")] = "",
    home: Home = None,
) -> None:
    """Blank a name, note or photo in place; the values stay, and a dated mark says why."""
    store = open_record(home)
    if person:
        places = redact_person(store, what, why=why, who=who, now=now())
    else:
        places = redact(store, what, field, why=why, who=who, now=now())
    if not places:
        raise InputError(f"{what} stands nowhere; nothing was blanked.")
    typer.echo(f"{what}: blanked in {places} places.")
    typer.echo("Automatic backups lose it as they are replaced, within five weeks; backups made")
    typer.echo("by hand, parcels and files given away keep it: remove those yourself.")


def _say(place: str, found: Verified) -> None:
    for remark in found.remarks:
        typer.echo(f"  {remark}")
    if found.faults:
        lines = "\n".join(f"  {fault}" for fault in found.faults)
        raise RecordError(f"{place} is not sound:\n{lines}")
    rows = sum(found.counts.values())
    typer.echo(f"{place}: sound; {rows} rows, {found.photos} photos, version {found.version}.")
