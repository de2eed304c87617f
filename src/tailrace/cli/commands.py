"""The commands; each asks `tailrace.operations` and writes what comes back."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any

import typer

from tailrace import __version__
from tailrace.cli import say
from tailrace.cli.calculators import flow_app, water_app
from tailrace.cli.serve import serve
from tailrace.operations.changes import advise_water_change
from tailrace.operations.logs import (
    correct_entry,
    preview_log,
    store_log,
    withdraw_entry,
)
from tailrace.operations.record import open_record, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.operations.sites import check_site_file, load_site_file
from tailrace.reports.terminal import (
    backwash_lines,
    drain_lines,
    forecast_lines,
    looks_lines,
    round_lines,
    water_change_lines,
)
from tailrace.site import UnitFamily

app = typer.Typer(
    help="What to do today on a loop of fish and plants behind a self-washing bead filter.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
site_app = typer.Typer(help="Check and load site files.", no_args_is_help=True)
log_app = typer.Typer(help="Import, show, correct and undo the log.", no_args_is_help=True)
advise_app = typer.Typer(help="Advice on one thing alone.", no_args_is_help=True)
app.add_typer(site_app, name="site")
app.add_typer(log_app, name="log")
app.add_typer(advise_app, name="advise")
app.add_typer(water_app, name="water")
app.add_typer(flow_app, name="flow")
app.command("serve")(serve)

Home = Annotated[
    str | None,
    typer.Option(
        "--home", help="Folder of the record; else TAILRACE_HOME, else your data folder."
    ),
]
At = Annotated[
    str | None,
    typer.Option(
        "--at", help="Answer as of this moment, local to the site; nothing later is used."
    ),
]
Units = Annotated[UnitFamily | None, typer.Option("--units", help="Units shown.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the answer as one JSON object.")]
SiteName = Annotated[str, typer.Argument(metavar="SITE", help="Short name from the site file.")]
File = Annotated[Path, typer.Argument(metavar="FILE")]


def _now() -> datetime:
    return datetime.now(UTC)


def _tell(text: str) -> None:
    typer.echo(f"tailrace: {text} ...", err=True)


def _write(lines: Iterable[str]) -> None:
    for line in lines:
        typer.echo(line)


def _as_json(made: dict[str, Any]) -> None:
    typer.echo(json.dumps(made, ensure_ascii=False, indent=2, allow_nan=False))


@app.callback(invoke_without_command=True)
def root(
    version: Annotated[bool, typer.Option("--version", help="Show the version and end.")] = False,
) -> None:
    """Answer ``--version``."""
    if version:
        typer.echo(f"tailrace {__version__}")
        raise typer.Exit


@app.command("round")
def round_command(
    site: SiteName,
    home: Home = None,
    at: At = None,
    units: Units = None,
    as_json: AsJson = False,
    all_lines: Annotated[bool, typer.Option("--all", help="Show every line in full.")] = False,
) -> None:
    """Today's round: what needs attention, the checks, the air, the drain, the water."""
    made = todays_round(open_record(home), site, at=at, units=units, tell=_tell)
    if as_json:
        _as_json(made)
    else:
        _write(round_lines(made, all_lines=all_lines))


@app.command("forecast")
def forecast_command(
    site: SiteName, home: Home = None, at: At = None, units: Units = None, as_json: AsJson = False
) -> None:
    """Show where ammonia, nitrite, pH, oxygen and clarity are going, with bands."""
    made = todays_round(open_record(home), site, at=at, units=units, tell=_tell)
    if as_json:
        _as_json(
            {key: made[key] for key in ("site", "at", "units", "forecast", "seed", "version")}
        )
    else:
        _write(forecast_lines(made["forecast"]))


@advise_app.command("air")
def advise_air(
    site: SiteName, home: Home = None, at: At = None, units: Units = None, as_json: AsJson = False
) -> None:
    """How to set needle and bypass, with the margin, and what to see in the first two hours."""
    made = todays_round(open_record(home), site, at=at, units=units, ahead=Ahead.NOT)
    if as_json:
        _as_json({key: made[key] for key in ("site", "at", "units", "backwash", "version")})
    else:
        _write([*backwash_lines(made["backwash"]), *looks_lines(made["backwash"])])


@advise_app.command("drain")
def advise_drain(
    site: SiteName, home: Home = None, at: At = None, units: Units = None, as_json: AsJson = False
) -> None:
    """How often to drain sludge, how much, and at which minutes after a backwash."""
    made = todays_round(open_record(home), site, at=at, units=units, ahead=Ahead.NOT)
    if as_json:
        _as_json({key: made[key] for key in ("site", "at", "units", "drain", "version")})
    else:
        _write(drain_lines(made["drain"]))


@advise_app.command("water-change")
def advise_water_change_command(
    site: SiteName,
    amount: Annotated[
        str | None, typer.Argument(metavar="[AMOUNT]", help="1/4, 30 %, or such as '200 gal'.")
    ] = None,
    home: Home = None,
    at: At = None,
    units: Units = None,
    as_json: AsJson = False,
) -> None:
    """Work out a water change with the make-up water's own chemistry and temperature."""
    made = advise_water_change(open_record(home), site, amount=amount, at=at, units=units)
    if as_json:
        _as_json(made)
    else:
        _write(water_change_lines(made["water_change"]))


@site_app.command("check")
def site_check(file: File) -> None:
    """Say what a site file says, what is assumed and what looks wrong; faults with their line."""
    _write(say.checked(check_site_file(file, now=_now())))


@site_app.command("load")
def site_load(file: File, home: Home = None) -> None:
    """Add a site, or a new version of it, to the record."""
    name, new = load_site_file(open_record(home, create=True), file, now=_now())
    typer.echo(f"{name}: {'loaded' if new else 'already in the record as it stands'}.")


@log_app.command("import")
def log_import(
    site: SiteName,
    file: File,
    home: Home = None,
    yes: Annotated[bool, typer.Option("--yes", help="Store without asking.")] = False,
) -> None:
    """Show how a log file is understood, then store it as one batch that can be undone."""
    store = open_record(home)
    result = preview_log(store, site, file, now=_now())
    _write(say.preview(result, site_reading(store, site).site))
    if not result.entries and not result.asides:
        typer.echo("Nothing to store.")
        return
    if not yes:
        if not sys.stdin.isatty():
            typer.echo("Nothing stored yet: say --yes to store these rows.")
            return
        if not typer.confirm(f"Store {len(result.entries)} rows?"):
            typer.echo("Nothing stored.")
            return
    batch = store_log(store, site, result)
    typer.echo(f"{site}: stored {len(result.entries)} rows as {batch}.")
    typer.echo(f"'tailrace log undo {site} {batch}' takes them back.")


@log_app.command("show")
def log_show(
    site: SiteName,
    entry: Annotated[
        str | None, typer.Argument(metavar="[ENTRY]", help="Entry such as e17.")
    ] = None,
    home: Home = None,
) -> None:
    """List the log, or one entry with its history; rows kept aside stand at the end."""
    store = open_record(home)
    zone = site_reading(store, site).site.zone
    if entry is None:
        _write(say.log(store.entries(site), store.asides(site), store.batches(site), zone))
    else:
        _write(say.history(store.history(entry), zone))


@log_app.command("correct")
def log_correct(
    site: SiteName,
    entry: Annotated[str, typer.Argument(metavar="ENTRY", help="Entry such as e17.")],
    why: Annotated[str, typer.Option("--why", help="Reason.")],
    value: Annotated[str | None, typer.Option("--value", help="Value as it should be.")] = None,
    unit: Annotated[str | None, typer.Option("--unit", help="Unit as it should be.")] = None,
    withdraw: Annotated[
        bool, typer.Option("--withdraw", help="Withdraw the entry, as one written twice.")
    ] = False,
    home: Home = None,
) -> None:
    """Correct or withdraw an entry; the old one stays in its history."""
    store = open_record(home)
    if withdraw == (value is not None):
        raise typer.BadParameter("give either --value TEXT or --withdraw")
    if withdraw:
        withdraw_entry(store, site, entry, why=why, now=_now())
        typer.echo(f"{entry}: withdrawn; it stays in the history.")
        return
    assert value is not None
    new = correct_entry(store, site, entry, value=value, unit=unit, why=why, now=_now())
    typer.echo(f"{entry}: corrected by {new}; the old value stays in the history.")


@log_app.command("undo")
def log_undo(
    site: SiteName,
    batch: Annotated[str, typer.Argument(metavar="BATCH", help="Import such as b3.")],
    why: Annotated[str, typer.Option("--why", help="Reason.")] = "undone by hand",
    home: Home = None,
) -> None:
    """Undo one import; its rows stay in the record but count no more."""
    store = open_record(home)
    say.own_batch(store.batches(site), site, batch)
    store.undo_batch(batch, at=_now(), why=why)
    typer.echo(f"{batch}: undone; its rows count no more.")
