"""People, kits and places; two people's entries side by side; notes, history, what came of advice.

Importing this module adds its commands to `tailrace.cli.commands.app`.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated
from zoneinfo import ZoneInfo

import typer

from tailrace.cli import say
from tailrace.cli.commands import advise_app, app
from tailrace.cli.log import log_app
from tailrace.cli.options import Home, SiteName, now, write
from tailrace.errors import InputError
from tailrace.observations import Instrument
from tailrace.operations import accounts, kits, notes
from tailrace.operations.pairs import QUESTION, Pair, answer_pair, pairs
from tailrace.operations.people import add_person, people, rename_person
from tailrace.operations.record import moment, open_record, site_reading
from tailrace.quantities import subjects
from tailrace.records.accounts import Account, Accounts, Role
from tailrace.records.kept import KeptAdvice, NamedPlace, Outcome, Step

people_app = typer.Typer(help="Who writes in the record: names or initials.", no_args_is_help=True)
kit_app = typer.Typer(help="Kits, meters and probes of a site.", no_args_is_help=True)
place_app = typer.Typer(help="Places where readings are taken.", no_args_is_help=True)
app.add_typer(people_app, name="people")
app.add_typer(kit_app, name="kit")
app.add_typer(place_app, name="place")

Name = Annotated[str, typer.Argument(metavar="NAME", help="Name or initials.")]
Who = Annotated[str, typer.Option("--who", help="Who says so.")]
Why = Annotated[str, typer.Option("--why", help="Reason.")]


@people_app.command("list")
def people_list(home: Home = None) -> None:
    """List everybody."""
    write(f"{each.id:>6}  {each.name or '(name redacted)'}" for each in people(open_record(home)))


@people_app.command("add")
def people_add(name: Name, home: Home = None) -> None:
    """Add a person; nothing but a name or initials is asked."""
    person = add_person(open_record(home), name, now=now())
    typer.echo(f"{person.id}: {person.name}.")


@people_app.command("rename")
def people_rename(
    old: Name,
    new: Annotated[str, typer.Argument(metavar="NEW", help="New name or initials.")],
    why: Why = "",
    home: Home = None,
) -> None:
    """Give a person another name; entries keep the name they were written under."""
    person = rename_person(open_record(home), old, new, why=why, now=now())
    typer.echo(f"{person.id}: {person.name}; entries written before keep the old name.")


@kit_app.command("list")
def kit_list(site: SiteName, home: Home = None) -> None:
    """List the kits, meters and probes of a site."""
    write(_kit(each) for each in open_record(home).instruments(site))


def _kit(kit: Instrument) -> str:
    parts = [f"{kit.id:>6}  {kit.name}", kit.kind]
    if kit.subject:
        parts.append(f"reads {subjects()[kit.subject].label} {kit.unit}".strip())
    if kit.steps:
        parts.append(f"in steps of {', '.join(f'{step:g}' for step in kit.steps)}")
    if kit.expires_on:
        parts.append(f"good until {kit.expires_on}")
    return ", ".join([*parts, *([kit.note] if kit.note else [])])


@kit_app.command("add")
def kit_add(  # noqa: PLR0913, PLR0917  # what can be said of a kit
    site: SiteName,
    name: Annotated[str, typer.Argument(metavar="NAME", help="As you call it in entries.")],
    reads: Annotated[str, typer.Option("--reads", help="What it reads, such as ammonia.")] = "",
    unit: Annotated[str, typer.Option("--unit", help="Unit of its scale: 'ppm as N'.")] = "",
    steps: Annotated[str, typer.Option("--steps", help="Steps: '0 0.25 0.5 1 2 4'.")] = "",
    good_until: Annotated[
        str, typer.Option("--good-until", help="Last day or month: 2027-01.")
    ] = "",
    kind: Annotated[str, typer.Option("--kind", help="kit, meter, probe or other words.")] = "kit",
    note: Annotated[str, typer.Option("--note", help="Free words.")] = "",
    everywhere: Annotated[
        bool, typer.Option("--everywhere", help="It is carried about and serves every site.")
    ] = False,
    who: Who = "",
    why: Why = "",
    home: Home = None,
) -> None:
    """Describe a kit by its scale and last day, or describe it anew."""
    last = kits.last_day(good_until) if good_until else None
    kit = Instrument(name, kind, reads, unit, kits.steps_of(steps), last, note)
    store = open_record(home)
    made = kits.describe_kit(store, site, kit, everywhere=everywhere, who=who, why=why, now=now())
    typer.echo(_kit(made).strip())


@place_app.command("list")
def place_list(site: SiteName, home: Home = None) -> None:
    """List the places that were added to those of the site's description."""
    for each in open_record(home).places(site):
        words = [f"{each.id:>6}  {each.name}", each.kind, each.note]
        typer.echo(", ".join(word for word in words if word))


@place_app.command("add")
def place_add(
    site: SiteName,
    name: Annotated[str, typer.Argument(metavar="NAME", help="As you call it in entries.")],
    kind: Annotated[str, typer.Option("--kind", help="Such as tank, pipe, plant bed.")] = "",
    note: Annotated[str, typer.Option("--note", help="Free words.")] = "",
    why: Why = "",
    home: Home = None,
) -> None:
    """Add a place where readings are taken, or describe it anew."""
    place = NamedPlace("", name, kind, note)
    kits.describe_place(open_record(home), site, place, why=why, now=now())
    typer.echo(f"{site}: {name} is a place.")


@log_app.command("pairs")
def log_pairs(site: SiteName, home: Home = None) -> None:
    """Show what two people wrote of one moment, side by side, and ask: one or two."""
    store = open_record(home)
    zone = site_reading(store, site).site.zone
    found = pairs(store, site)
    write(line for pair in found for line in _pair(pair, zone))
    if not found:
        typer.echo("No two people wrote of the same thing within half an hour.")


def _pair(pair: Pair, zone: str) -> Iterator[str]:
    yield f"{pair.first.id:>6}  {say.one(pair.first, zone)}"
    yield f"{pair.second.id:>6}  {say.one(pair.second, zone)}"
    if not pair.answer:
        yield f"        {QUESTION} Until somebody says, one at the least and two at the most."
    elif pair.answer == "one":
        yield f"        one, as was answered: {pair.counts} counts."
    else:
        yield "        two, as was answered: both count."


@log_app.command("answer")
def log_answer(
    site: SiteName,
    first: Annotated[str, typer.Argument(metavar="FIRST", help="Entry that counts if one.")],
    second: Annotated[str, typer.Argument(metavar="SECOND", help="The other entry.")],
    answer: Annotated[str, typer.Argument(metavar="one|two", help="One thing, or two.")],
    who: Who = "",
    home: Home = None,
) -> None:
    """Say whether two entries are one thing or two."""
    store = open_record(home)
    answer_pair(store, site, first, second, answer=answer, who=who, now=now())
    typer.echo(f"{first} counts, {second} does not." if answer == "one" else "Both count.")


@log_app.command("note")
def log_note(
    site: SiteName,
    text: Annotated[str, typer.Argument(metavar="TEXT", help="A few words.")] = "",
    photo: Annotated[
        list[Path] | None, typer.Option("--photo", help="A photo; as often as needed.")
    ] = None,
    at: Annotated[str | None, typer.Option("--at", help="When; now if not said.")] = None,
    place: Annotated[str, typer.Option("--place", help="Where.")] = "",
    who: Who = "",
    home: Home = None,
) -> None:
    """Write a note, with photos; position and device data are taken out of them."""
    store = open_record(home)
    site_of = site_reading(store, site).site
    data = [_bytes(path) for path in photo or []]
    note = notes.Note(text, moment(at, site_of), data, who, place=place)
    name = notes.add_note(store, site, note, now=now())
    typer.echo(f"{site}: stored as {name}, with {len(data)} photos.")


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        message = f"the photo {path} cannot be read: {error.strerror or error}."
        raise InputError(message) from error


@log_app.command("history")
def log_history(
    site: SiteName,
    row: Annotated[
        str, typer.Argument(metavar="ROW", help="Such as e17, b3, p1, i2, l4, f7, a5 or v2.")
    ],
    home: Home = None,
) -> None:
    """Show when a row was written, corrected, undone and redacted, by whom and why."""
    store = open_record(home)
    zone = site_reading(store, site).site.zone
    write(_step(step, zone) for step in notes.history(store, row))


def _step(step: Step, zone: str) -> str:
    local = step.at.astimezone(ZoneInfo(zone))
    by = f" by {step.who}" if step.who else ""
    said = f": {step.text}" if step.text else ""
    why = f" ({step.why})" if step.why else ""
    return f"{step.id:>6}  {local:%Y-%m-%d %H:%M} {step.what}{by}{said}{why}"


@advise_app.command("given")
def advise_given(site: SiteName, home: Home = None) -> None:
    """List the advice that was given, and what came of it."""
    store = open_record(home)
    zone = site_reading(store, site).site.zone
    write(line for each in notes.advice_given(store, site) for line in _told(each, zone))


def _told(told: KeptAdvice, zone: str) -> Iterator[str]:
    yield f"{told.id:>6}  {told.at.astimezone(ZoneInfo(zone)):%Y-%m-%d %H:%M} {told.text}"
    for came in told.outcomes:
        by = f" by {came.who}" if came.who else ""
        yield f"        {came.what}{by}" + (f": {came.text}" if came.text else "")


@advise_app.command("came")
def advise_came(
    site: SiteName,
    advice: Annotated[str, typer.Argument(metavar="ADVICE", help="Such as a5.")],
    what: Annotated[str, typer.Argument(metavar="WHAT", help="done, partly or 'not done'.")],
    text: Annotated[str, typer.Option("--note", help="Free words.")] = "",
    entry: Annotated[str, typer.Option("--entry", help="Entry that shows it.")] = "",
    who: Who = "",
    home: Home = None,
) -> None:
    """Write down what came of an advice."""
    store = open_record(home)
    came = Outcome(what, text, entry, who, now())
    notes.what_came(store, site, advice, came)
    typer.echo(f"{advice}: {what}.")


@people_app.command("invite")
def people_invite(
    login: Annotated[str, typer.Argument(metavar="LOGIN", help="Name to sign in with.")],
    role: Annotated[Role, typer.Option("--role", help="What they may do.")] = Role.GROWER,
    sites: Annotated[
        list[str] | None, typer.Option("--site", help="Short name of a site of theirs.")
    ] = None,
    home: Home = None,
) -> None:
    """Let someone sign in to the pages; prints where they set a password, once."""
    store = open_record(home)
    name = login.strip().lower()
    for site in sites or []:
        store.site_text(site)  # a wrong name is told now
    account = Account(name, name, role, tuple(sites or ()))
    _say_once(name, accounts.invite(Accounts(store), account, at=now()))


@people_app.command("reset")
def people_reset(
    login: Annotated[str, typer.Argument(metavar="LOGIN", help="Name to sign in with.")],
    home: Home = None,
) -> None:
    """Make an address at which a forgotten password is set anew."""
    name = login.strip().lower()
    _say_once(name, accounts.reset_key(Accounts(open_record(home)), name, at=now()))


def _say_once(login: str, secret: str) -> None:
    typer.echo(f"{login} sets a password at this path of the pages, once within three days:")
    typer.echo(f"  /once/{secret}")
    typer.echo("Write the address of the pages before it, such as http://127.0.0.1:8640")
