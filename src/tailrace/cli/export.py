"""What goes out and comes back whole: tables, the archive, parcels, the calendar.

Importing this module adds its commands to the groups they belong to.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from tailrace.cli.commands import At, Units, app
from tailrace.cli.log import log_app
from tailrace.cli.options import File, Home, SiteName, now
from tailrace.cli.record import record_app
from tailrace.errors import InputError
from tailrace.operations.calendar import round_calendar
from tailrace.operations.export import archive_record, export_log, first_moment
from tailrace.operations.parcel import Unpacked, pack_site, unpack
from tailrace.operations.record import open_record, site_reading

Since = Annotated[
    str | None, typer.Option("--since", help="Only from this moment on, local to the site.")
]


@log_app.command("export")
def log_export(
    site: SiteName,
    file: Annotated[
        Path, typer.Argument(metavar="FILE", help="Ending in .csv, .xlsx or .parquet.")
    ],
    since: Since = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Corrected and withdrawn entries too.")
    ] = False,
    units: Units = None,
    home: Home = None,
) -> None:
    """Write the log as a table for reading; 'record archive' writes what is exact."""
    store = open_record(home)
    first = first_moment(since, site_reading(store, site).site)
    count = export_log(store, site, file, units=units, since=first, everything=everything)
    typer.echo(f"{file}: {count} entries of {site}.")


@record_app.command("archive")
def record_archive(file: File, home: Home = None) -> None:
    """Write the whole record as lines of JSON, exact; photos are not in it, a backup has them."""
    written = archive_record(open_record(home), file)
    typer.echo(f"{file}: {written.count} rows, digest {written.sha256[:16]}.")


@record_app.command("pack")
def record_pack(
    site: SiteName,
    file: File,
    since: Since = None,
    photos: Annotated[
        bool, typer.Option("--photos/--no-photos", help="Take photos along.")
    ] = True,
    home: Home = None,
) -> None:
    """Write what the record holds of a site into one file, to be unpacked elsewhere."""
    store = open_record(home)
    first = first_moment(since, site_reading(store, site).site)
    label = pack_site(store, site, file, now=now(), since=first, photos=photos)
    rows = sum(count for _, count in label.rows)
    left = f", {label.photos_left_out} left out" if label.photos_left_out else ""
    typer.echo(f"{file}: {rows} rows of {site}, {len(label.photos)} photos{left}.")
    typer.echo("It holds names and notes as they were written; give it to nobody else.")


@record_app.command("unpack")
def record_unpack(
    file: File,
    same_site: Annotated[
        bool,
        typer.Option(
            "--same-site",
            help="The site of the same name, begun here by itself, is the same one.",
        ),
    ] = False,
    home: Home = None,
) -> None:
    """Merge a parcel or an archive into the record; the same file again adds nothing."""
    _say(file, unpack(open_record(home, create=True), file, same_site=same_site))


def _say(file: Path, found: Unpacked) -> None:
    merged = found.merged
    if found.label is not None:
        since = f" since {found.label.since}" if found.label.since else ""
        typer.echo(f"{file}: {found.label.site}{since}, packed {found.label.packed_at}.")
    typer.echo(f"{merged.added} rows are new, {merged.already} were here already.")
    if found.photos:
        typer.echo(f"{found.photos} photos lie beside them.")
    for said in found.refused:
        typer.echo(f"  {said}")
    if merged.conflicts:
        typer.echo(f"CHANGED ON BOTH SIDES ({len(merged.conflicts)}); look at each")
        for said in merged.conflicts:
            typer.echo(f"  {said}")


@app.command("calendar")
def calendar_command(
    site: SiteName,
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="Ending in .ics; else it is shown.")
    ] = None,
    at: At = None,
    home: Home = None,
) -> None:
    """Write the next due time of each check as a calendar file."""
    made = round_calendar(open_record(home), site, at=at)
    if file is None:
        sys.stdout.buffer.write(made)
        return
    try:
        file.write_bytes(made)
    except OSError as error:
        raise InputError(f"{file} cannot be written: {error.strerror or error}.") from error
    typer.echo(f"{file}: the next due time of each check of {site}.")
