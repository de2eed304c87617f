"""The commands; each asks `tailrace.operations` and writes what comes back."""

from __future__ import annotations

import json
import os
from typing import Annotated, Any

import typer

from tailrace import __version__
from tailrace.cli import say
from tailrace.cli.calculators import flow_app, water_app
from tailrace.cli.log import log_app
from tailrace.cli.options import File, Home, SiteName, now, write
from tailrace.cli.serve import serve
from tailrace.operations.changes import advise_water_change
from tailrace.operations.record import open_record
from tailrace.operations.rounds import Ahead, todays_round
from tailrace.operations.sites import check_site_file, load_site_file
from tailrace.records.home import ADDRESS_VARIABLE
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
advise_app = typer.Typer(help="Advice on one thing alone.", no_args_is_help=True)
app.add_typer(site_app, name="site")
app.add_typer(log_app, name="log")
app.add_typer(advise_app, name="advise")
app.add_typer(water_app, name="water")
app.add_typer(flow_app, name="flow")
app.command("serve")(serve)

At = Annotated[
    str | None,
    typer.Option(
        "--at", help="Answer as of this moment, local to the site; nothing later is used."
    ),
]
Units = Annotated[UnitFamily | None, typer.Option("--units", help="Units shown.")]
AsJson = Annotated[bool, typer.Option("--json", help="Write the answer as one JSON object.")]


def _tell(text: str) -> None:
    typer.echo(f"tailrace: {text} ...", err=True)


def _as_json(made: dict[str, Any]) -> None:
    typer.echo(json.dumps(made, ensure_ascii=False, indent=2, allow_nan=False))


@app.callback(invoke_without_command=True)
def root(
    version: Annotated[bool, typer.Option("--version", help="Show the version and end.")] = False,
    record: Annotated[
        str | None,
        typer.Option(
            "--record",
            metavar="ADDRESS",
            help="The record: a folder, or such as postgresql://name@host/database; else "
            "TAILRACE_RECORD.",
        ),
    ] = None,
) -> None:
    """Answer ``--version``, and take the address of the record for every command."""
    if version:
        typer.echo(f"tailrace {__version__}")
        raise typer.Exit
    if record is not None:
        os.environ[ADDRESS_VARIABLE] = record


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
        write(round_lines(made, all_lines=all_lines))


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
        write(forecast_lines(made["forecast"]))


@advise_app.command("air")
def advise_air(
    site: SiteName, home: Home = None, at: At = None, units: Units = None, as_json: AsJson = False
) -> None:
    """How to set needle and bypass, with the margin, and what to see in the first two hours."""
    made = todays_round(open_record(home), site, at=at, units=units, ahead=Ahead.NOT)
    if as_json:
        _as_json({key: made[key] for key in ("site", "at", "units", "backwash", "version")})
    else:
        write([*backwash_lines(made["backwash"]), *looks_lines(made["backwash"])])


@advise_app.command("drain")
def advise_drain(
    site: SiteName, home: Home = None, at: At = None, units: Units = None, as_json: AsJson = False
) -> None:
    """How often to drain sludge, how much, and at which minutes after a backwash."""
    made = todays_round(open_record(home), site, at=at, units=units, ahead=Ahead.NOT)
    if as_json:
        _as_json({key: made[key] for key in ("site", "at", "units", "drain", "version")})
    else:
        write(drain_lines(made["drain"]))


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
        write(water_change_lines(made["water_change"]))


@site_app.command("check")
def site_check(file: File) -> None:
    """Say what a site file says, what is assumed and what looks wrong; faults with their line."""
    write(say.checked(check_site_file(file, now=now())))


@site_app.command("load")
def site_load(file: File, home: Home = None) -> None:
    """Add a site, or a new version of it, to the record."""
    name, new = load_site_file(open_record(home, create=True), file, now=now())
    typer.echo(f"{name}: {'loaded' if new else 'already in the record as it stands'}.")
