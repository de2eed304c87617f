"""`tailrace sensors`: listen to sensors, take in a file of theirs, show what their series hold.

Importing this module adds its commands to `tailrace.cli.commands.app`.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from datetime import datetime
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from tailrace.cli.commands import app
from tailrace.cli.options import File, Home, SiteName, Who, Yes, now, write
from tailrace.operations import sensors
from tailrace.operations.backwashes import Found, backwashes_found, is_sure, log_backwashes
from tailrace.operations.listen import Broker, Listener, check_topic
from tailrace.operations.record import moment, open_record, site_reading
from tailrace.operations.sensor_messages import take_senml
from tailrace.operations.sensors import SeriesView, SeriesWords, Troubles
from tailrace.operations.sites import file_bytes

PASSWORD = "TAILRACE_BROKER_PASSWORD"

sensors_app = typer.Typer(
    help="Sensors: listen, show series, find gaps, stuck sensors and backwashes.",
    no_args_is_help=True,
)
app.add_typer(sensors_app, name="sensors")

SeriesName = Annotated[
    str, typer.Argument(metavar="SERIES", help="Such as s3, or its name as it is sent.")
]
Days = Annotated[float, typer.Option("--days", min=0.1, max=400.0, help="How far to look back.")]
At = Annotated[
    str | None, typer.Option("--at", help="End of the time looked at, local to the site.")
]


@sensors_app.command("listen")
def sensors_listen(
    broker: Annotated[str, typer.Option("--broker", help="Address of the broker.")] = "127.0.0.1",
    port: Annotated[int, typer.Option("--port", min=1, max=65535)] = 1883,
    topic: Annotated[str, typer.Option("--topic", help="Messages come under TOPIC/SITE.")] = (
        "tailrace"
    ),
    client: Annotated[
        str, typer.Option("--client", help="Name of this listener; the broker keeps its messages.")
    ] = "tailrace",
    user: Annotated[str, typer.Option("--user", help=f"Password: {PASSWORD}.")] = "",
    tls: Annotated[bool, typer.Option("--tls", help="Encrypt; check its certificate.")] = False,
    home: Home = None,
) -> None:
    """Take in what sensors send to a broker, until Ctrl-C; what waits there is not lost."""
    where = Broker(
        host=broker,
        port=port,
        client=client,
        topic=check_topic(topic),
        user=user,
        password=os.environ.get(PASSWORD, ""),
        tls=tls,
    )
    listener = Listener(
        open_record(home),
        where,
        tell=lambda text: typer.echo(f"{now():%H:%M:%S} {text}", err=True),
    )
    try:
        listener.run()
    finally:
        taken = listener.taken
        typer.echo(
            f"{taken.new} samples stored, {taken.again} came again, {taken.aside} kept aside."
        )


@sensors_app.command("take")
def sensors_take(site: SiteName, file: File, home: Home = None) -> None:
    """Take in a file of sensor measurements (SenML, JSON or CBOR); again, it is stored once."""
    taken = take_senml(open_record(home), site, file_bytes(file), now=now())
    typer.echo(
        f"{site}: {taken.new} samples stored, {taken.again} were there, {taken.aside} aside."
    )
    write(f"  {reason}" for reason in taken.reasons)


@sensors_app.command("show")
def sensors_show(site: SiteName, home: Home = None) -> None:
    """List the series of a site with their newest value, and what could not be used."""
    store = open_record(home)
    zone = ZoneInfo(site_reading(store, site).site.zone)
    write(_series_lines(sensors.series_of(store, site), zone))
    for aside in sensors.sensor_asides(store, site):
        typer.echo(f"kept aside {_local(aside.received_at, zone)}: {aside.text[:100]}")
        typer.echo(f"    {aside.reason}")


@sensors_app.command("say")
def sensors_say(
    site: SiteName,
    series: SeriesName,
    what: Annotated[
        str | None,
        typer.Option(
            "--what",
            help="A reading such as water_temperature; or pressure, level or sound of the filter.",
        ),
    ] = None,
    place: Annotated[str | None, typer.Option("--place", help="Where it is.")] = None,
    instrument: Annotated[str | None, typer.Option("--instrument", help="With what.")] = None,
    who: Who = "",
    home: Home = None,
) -> None:
    """Say what a series measures; from pressure, level and sound backwashes are found."""
    store = open_record(home)
    made = sensors.say_series(
        store, site, series, SeriesWords(what, place, instrument), who=who, now=now()
    )
    words = [made.subject or "not said", made.place, made.instrument]
    typer.echo(f"{made.id} ({made.name}): {', '.join(word for word in words if word)}.")


@sensors_app.command("gaps")
def sensors_gaps(site: SiteName, days: Days = 7.0, at: At = None, home: Home = None) -> None:
    """Say where readings are missing and where a sensor repeated one value for too long."""
    store = open_record(home)
    where = site_reading(store, site).site
    until = moment(at, where)
    zone = ZoneInfo(where.zone)
    lines = list(
        _trouble_lines(sensors.sensor_troubles(store, site, until=until, days=days), zone)
    )
    write(lines or [f"{site}: no gaps and no stuck sensors in {days:g} days."])


@sensors_app.command("backwashes")
def sensors_backwashes(
    site: SiteName, days: Days = 7.0, at: At = None, home: Home = None, yes: Yes = False
) -> None:
    """Find backwashes in pressure, level or sound of the filter; put the sure ones in the log."""
    store = open_record(home)
    where = site_reading(store, site).site
    found = backwashes_found(store, site, until=moment(at, where), days=days)
    write(_found_lines(found, ZoneInfo(where.zone)))
    new = [one for one in found if is_sure(one) and not one.in_log]
    if not new:
        typer.echo("Nothing to put into the log.")
        return
    if not yes and not (sys.stdin.isatty() and typer.confirm("Put the sure ones in the log?")):
        typer.echo("Nothing stored: say --yes to put the sure ones in the log.")
        return
    names = log_backwashes(store, site, found, now=now())
    typer.echo(f"{site}: {len(names)} backwashes are in the log now.")


def _series_lines(views: tuple[SeriesView, ...], zone: ZoneInfo) -> Iterator[str]:
    if not views:
        yield "no series yet; 'tailrace sensors listen' or 'take' brings some."
    for view in views:
        one = view.series
        what = ", ".join(word for word in (one.subject, one.place, one.instrument) if word)
        line = f"{one.id:>5}  {one.name}: {view.count} samples"
        if view.newest is not None and view.newest_at is not None:
            unit = f" {view.unit}" if view.unit else ""
            line += f", newest {view.newest:g}{unit} at {_local(view.newest_at, zone)}"
        yield f"{line}; {what or 'not said what it measures'}"


def _trouble_lines(found: tuple[Troubles, ...], zone: ZoneInfo) -> Iterator[str]:
    for one in found:
        name = f"{one.series.id} ({one.series.name})"
        for gap in one.gaps:
            span = f"{_clock(gap.begin_s, zone)} to {_clock(gap.end_s, zone)}"
            yield f"{name}: no readings from {span}, about {gap.missing} missing"
        for stuck in one.stuck:
            span = f"{_clock(stuck.begin_s, zone)} to {_clock(stuck.end_s, zone)}"
            yield f"{name}: {stuck.value:g} without change from {span}; look whether it is stuck"


def _found_lines(found: tuple[Found, ...], zone: ZoneInfo) -> Iterator[str]:
    for one in found:
        state = "in the log" if one.in_log else ("new" if is_sure(one) else "doubtful")
        yield (
            f"{_local(one.at, zone)} within {one.within_s:.0f} s, confidence "
            f"{one.confidence:.2f}, {one.series.id}: {state}"
        )
    if not found:
        yield "no backwash found."


def _local(at: datetime, zone: ZoneInfo) -> str:
    return f"{at.astimezone(zone):%Y-%m-%d %H:%M:%S}"


def _clock(at_s: float, zone: ZoneInfo) -> str:
    return f"{datetime.fromtimestamp(at_s, zone):%Y-%m-%d %H:%M}"
