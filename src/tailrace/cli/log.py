"""`tailrace log`: write down, import, show, correct, undo."""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import typer

from tailrace.cli import say, say_intake
from tailrace.cli.options import File, Home, SiteName, Who, Yes, now, write
from tailrace.errors import InputError
from tailrace.intake.questions import Question
from tailrace.intake.typed_line import Line
from tailrace.operations.entry import store_line, understand_line
from tailrace.operations.imports import Answers, Preview, Progress, preview_file, store_file
from tailrace.operations.logs import correct_entry, withdraw_entry
from tailrace.operations.record import open_record, site_reading
from tailrace.records.store import Store

log_app = typer.Typer(
    help="Write down, import, show, correct and undo the log.", no_args_is_help=True
)


@log_app.command("add")
def log_add(
    site: SiteName,
    line: Annotated[
        str,
        typer.Argument(
            metavar="LINE",
            help="What was seen or done, parted by semicolons, such as "
            "'tan 0.5 ppm; ph 7.0; fed 2 scoops 10 min ago'.",
        ),
    ],
    who: Who = "",
    home: Home = None,
    yes: Yes = False,
    key: Annotated[
        str, typer.Option("--key", help="Name of this act: sent again, it is stored once.")
    ] = "",
) -> None:
    """Say back what a line was understood to mean, ask what is doubtful, then store it."""
    store, at = open_record(home), now()
    zone = site_reading(store, site).site.zone
    found = understand_line(store, site, line, now=at, who=who)
    asks = sys.stdin.isatty() and not yes
    while asks and (place := _first_question(found)) is not None:
        text = _answer(found.pieces[place].text, found.pieces[place].question)
        found = understand_line(store, site, found.instead(place, text), now=at, who=who)
    write(say_intake.line(found, zone))
    if not found.clear:
        raise InputError("nothing was stored; write what is asked, or leave that part out.")
    if not yes and not (asks and typer.confirm("Store this?", default=True)):
        typer.echo("Nothing stored yet." if asks else "Nothing stored yet: say --yes to store it.")
        return
    names = store_line(store, site, found, now=at, key=key)
    typer.echo(f"{site}: {say_intake.stored(names, found.entries)}")


def _first_question(found: Line) -> int | None:
    return next((p for p, piece in enumerate(found.pieces) if piece.question), None)


def _answer(text: str, question: Question | None) -> str:
    """Ask one question; return what is typed instead."""
    assert question is not None
    typer.echo(f"{text}: {question.text}")
    for number, (answer, _) in enumerate(question.choices, 1):
        typer.echo(f"  {number}  {answer}")
    said = str(typer.prompt("Number of the answer, or the whole thing anew")).strip()
    if said.isdecimal() and 1 <= int(said) <= len(question.choices):
        return question.choices[int(said) - 1][1]
    return said


@log_app.command("import")
def log_import(  # noqa: PLR0913, PLR0917  # a command's options are its screen
    site: SiteName,
    file: File,
    columns: Annotated[
        list[str] | None,
        typer.Option(
            "--map",
            metavar="COLUMN=USE",
            help="Use of a column: when, value, note ..., a quantity with its unit such as "
            "'Temp=temp degF', or nothing. As often as needed.",
        ),
    ] = None,
    dates: Annotated[
        str | None, typer.Option("--dates", help="'month first' or 'day first'.")
    ] = None,
    decimal: Annotated[str | None, typer.Option("--decimal", help="'comma' or 'point'.")] = None,
    sheet: Annotated[str, typer.Option("--sheet", help="Sheet of a workbook.")] = "",
    anew: Annotated[
        bool, typer.Option("--anew", help="Forget how the last file of this kind was read.")
    ] = False,
    who: Who = "",
    home: Home = None,
    yes: Yes = False,
) -> None:
    """Show how a file is understood, then store it as one batch that can be undone."""
    store = open_record(home)
    answers = Answers(_pairs(columns or []), dates, decimal, sheet, anew)
    found = _previewed(store, site, file, answers, asks=sys.stdin.isatty() and not yes)
    write(say_intake.preview(found))
    if not found.tally.taken and not found.tally.aside:
        typer.echo("Nothing to store.")
        return
    if not yes and not _confirmed(found.tally.taken):
        return
    batch = store_file(store, found, who=who, tell=_progress())
    typer.echo(f"{site}: stored {found.tally.taken} rows as {batch}.")
    typer.echo(f"'tailrace log undo {site} {batch}' takes them back.")


def _previewed(store: Store, site: str, file: Path, answers: Answers, *, asks: bool) -> Preview:
    """Read a file, and again with the answers to what its rows do not settle."""
    found = preview_file(store, site, file, now=now(), answers=answers, tell=_progress())
    if not asks or not found.questions:
        return found
    for text, option, choices in found.questions:
        typer.echo(f"{file.name}: {text}")
        for number, choice in enumerate(choices, 1):
            typer.echo(f"  {number}  {choice}")
        said = str(typer.prompt("Number of the answer, or nothing", default="")).strip()
        if said.isdecimal() and 1 <= int(said) <= len(choices):
            answers = _with_answer(answers, option, choices[int(said) - 1])
    return preview_file(store, site, file, now=now(), answers=answers, tell=_progress())


def _with_answer(answers: Answers, option: str, said: str) -> Answers:
    if option == "dates":
        return replace(answers, dates=said)
    return replace(answers, decimal=said)


def _confirmed(rows: int) -> bool:
    if not sys.stdin.isatty():
        typer.echo("Nothing stored yet: say --yes to store these rows.")
        return False
    if not typer.confirm(f"Store {rows} rows?"):
        typer.echo("Nothing stored.")
        return False
    return True


def _pairs(columns: list[str]) -> tuple[tuple[str, str], ...]:
    pairs = []
    for each in columns:
        header, sign, use = each.rpartition("=")
        if not sign:
            raise InputError(f"--map is {each!r}; write it such as --map 'Temp=temp degF'.")
        pairs.append((header, use))
    return tuple(pairs)


def _progress() -> Progress | None:
    """Return what shows progress on a terminal; None elsewhere."""
    if not sys.stderr.isatty():
        return None

    def tell(what: str, number: int, total: int) -> None:
        typer.echo(f"\rtailrace: {what} {number:,} of {total:,} rows", nl=False, err=True)

    return tell


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
        write(say.log(store.entries(site), store.asides(site), store.batches(site), zone))
    else:
        write(say.history(store.history(entry), zone))


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
        withdraw_entry(store, site, entry, why=why, now=now())
        typer.echo(f"{entry}: withdrawn; it stays in the history.")
        return
    assert value is not None
    new = correct_entry(store, site, entry, value=value, unit=unit, why=why, now=now())
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
    store.undo_batch(batch, at=now(), why=why)
    typer.echo(f"{batch}: undone; its rows count no more.")
