"""`tailrace cause SITE`: one question at a time to the cause, and to the steps that mend it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Annotated, Any

import typer

from tailrace.cli.commands import app
from tailrace.diagnosis.case import Event
from tailrace.errors import InputError, NotKnownError
from tailrace.operations.cause import Search, act, answered, complaints, search, shown
from tailrace.operations.record import open_record
from tailrace.site import UnitFamily

KEYS = (
    "number = answer, ? = not sure, - = cannot do that now, b = back, s N = strike out N, q = stop"
)


@app.command("cause")
def cause(  # noqa: PLR0913, PLR0917  # one option each, as typer asks
    site: Annotated[str, typer.Argument(metavar="SITE", help="Short name from the site file.")],
    complaint: Annotated[
        str | None,
        typer.Option("--complaint", help="What brings you here, such as '1-low'; '?' lists them."),
    ] = None,
    case: Annotated[
        str | None, typer.Option("--case", help="Take up a case again, such as c3.")
    ] = None,
    confirm: Annotated[
        str | None,
        typer.Option("--confirm", help="Close the case with what it was: A5, nothing or else."),
    ] = None,
    home: Annotated[str | None, typer.Option("--home", help="Folder of the record.")] = None,
    at: Annotated[str | None, typer.Option("--at", help="Answer as of this moment.")] = None,
    units: Annotated[UnitFamily | None, typer.Option("--units", help="Units shown.")] = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Write how the case stands as JSON, and ask nothing.")
    ] = False,
) -> None:
    """Find the cause of trouble, one question at a time, and what to do about it."""
    if complaint == "?":
        _write(_complaint_lines())
        return
    start = _complaint(complaint)
    store = open_record(home)
    found = search(store, site, store.home, case=case, at=at, units=units)
    found = act(found, *start) if start else found
    if confirm is not None:
        act(found, Event("end", level=confirm))
        typer.echo(f"Case {found.id} is closed with: {confirm}. It is kept for learning.")
        return
    if as_json:
        typer.echo(json.dumps(shown(found), ensure_ascii=False, indent=2))
        return
    _walk(found)


def _write(lines: Iterator[str]) -> None:
    for line in lines:
        typer.echo(line)


def _complaint(name: str | None) -> tuple[Event, ...]:
    if name is None:
        return ()
    if name not in complaints():
        message = f"--complaint is {name!r}; 'tailrace cause SITE --complaint ?' lists them."
        raise InputError(message)
    question, level = complaints()[name]
    return (Event("answer", question, level, "complaint"),)


def _complaint_lines() -> Iterator[str]:
    from tailrace.diagnosis.catalogue import catalogue  # noqa: PLC0415  # only for this list

    for question in catalogue().questions.values():
        for level, words in question.complaints.items():
            yield f"{f'{question.number}-{level}':<14} {words}"


def _walk(found: Search) -> None:
    """Ask until something is found, no check pays, or the keeper stops."""
    while True:
        stands = shown(found)
        _write(_standing_lines(stands))
        if stands["question"] is None:
            _write(_end_lines(stands))
            return
        _write(_question_lines(stands["question"]))
        said = _prompt()
        if said in (None, "q"):
            typer.echo(f"Kept. Go on with: tailrace cause {stands['site']} --case {found.id}")
            return
        try:
            found = _said(found, stands["question"], said or "")
        except (InputError, NotKnownError) as error:
            typer.echo(f"  {error} ({KEYS})")


def _prompt() -> str | None:
    try:
        return str(typer.prompt("Your answer", prompt_suffix=": ")).strip()
    except typer.Abort:  # the input has ended
        return None


def _said(found: Search, question: dict[str, Any], said: str) -> Search:
    if said == "?":
        return act(found, Event("not_sure", question["key"]))
    if said == "-":
        return act(found, Event("cannot", question["key"]))
    if said == "b":
        return act(found, Event("back"))
    head, _, number = said.partition(" ")
    if head == "s" and number.strip().isdecimal():
        return act(found, Event("strike", _key_of(found, int(number))))
    if said.isdecimal():
        return answered(found, question["number"], int(said))
    raise InputError(f"{said!r} is no answer.")


def _key_of(found: Search, number: int) -> str:
    from tailrace.diagnosis.catalogue import catalogue  # noqa: PLC0415  # only for this list

    question = catalogue().numbered(number)
    if question is None or question.key not in found.case.seen:
        raise InputError(f"nothing that counts has the number {number}.")
    return question.key


def _standing_lines(stands: dict[str, Any]) -> Iterator[str]:
    yield ""
    yield f"CASE {stands['case']} of {stands['site']}"
    for row in stands["evidence"]:
        struck = "" if row["counts"] else "  (struck out)"
        why = f"; {row['why']}" if row["why"] else ""
        yield f"  {row['number']:>3} {row['level']} [{row['from']}{why}]{struck}"
    yield "LIKELIEST"
    for row in stands["ranking"]:
        yield f"  {100 * row['chance']:>3.0f} %  {row['title']}"
    for pair in stands["alike"]:
        how = f"question {pair['number']} parts them" if pair["number"] else "no check parts them"
        yield f"  Readings cannot part: {pair['one']} / {pair['other']}; {how}."
    for text in (*stands["doubts"], *stands["remarks"]):
        yield f"  ! {text}"


def _question_lines(question: dict[str, Any]) -> Iterator[str]:
    yield ""
    needs = f"; needs {', '.join(question['tools'])}" if question["tools"] else ""
    risk = "" if question["risk"] == "none" else "; take care"
    yield f"{question['number']}. {question['asks']} ({question['minutes']:g} min{needs}{risk})"
    yield f"   {question['how']}"
    if question["drawing"]:
        yield from (f"     {line}" for line in question["drawing"].splitlines())
    for place, words in enumerate(question["answers"], start=1):
        yield f"   {place}  {words}"
    yield f"   ({KEYS})"


_ENDS = {
    "found": "FOUND",
    "nothing": "Nothing is wrong, as far as these answers go.",
    "not listed": "It is something that is not in the tables: ask somebody who knows the loop.",
    "stuck": "No check that is left would tell more. These stay open:",
}


def _end_lines(stands: dict[str, Any]) -> Iterator[str]:
    yield ""
    yield _ENDS[stands["state"]]
    for remedy in stands["remedies"]:
        yield ""
        yield f"{remedy['id']}  {remedy['title']}"
        yield from (f"  ! {text}" for text in remedy["cautions"])
        yield from (f"  {n}. {step}" for n, step in enumerate(remedy["steps"], start=1))
        if remedy["call"]:
            yield f"  Stop and call a licensed {remedy['call']}: {remedy['call_when']}"
        yield f"  Watch: {remedy['watch']}"
        yield f"  When you know: --case {stands['case']} --confirm {remedy['id']} (or what it was)"
        yield (
            f"  Look again in {remedy['again_h']:g} h, question {remedy['again']['number']}: "
            f"{remedy['again']['asks']}"
        )
