"""The round object as lines for a terminal; nothing is worked out here."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

from tailrace.reports.rows import (
    FULL,
    NOTHING_TO_DO,
    PLACES,
    attention_head,
    attention_rows,
    backwash_rows,
    check_text,
    drain_rows,
    figure,
    file_defaults,
    water_text,
)

WIDTH = 88
IDS = 4  # ids of entries shown after a line; the JSON object holds all

Json = dict[str, Any]


def round_lines(made: Json, *, all_lines: bool = False) -> Iterator[str]:
    """Write a round object as lines.

    Parameters
    ----------
    made
        Object of `tailrace.reports.round.round_object`.
    all_lines
        Show every line of attention and every assumption in full.

    Yields
    ------
    str
        One line.
    """
    site = made["site"]
    invented = " (invented)" if site["invented"] and "invented" not in site["title"] else ""
    yield f"{site['title']}{invented} - round as of {made['at'].replace('T', ' ')}"
    yield ""
    yield from _attention(made["attention"], all_lines=all_lines)
    yield from _checks(made["checks"])
    yield from backwash_lines(made["backwash"])
    yield from drain_lines(made["drain"])
    yield from _water(made["water"], made["not_measured"])
    if made["forecast"] is not None:
        yield from forecast_lines(made["forecast"], all_lines=all_lines)
    yield from _assumed(made["assumed"], all_lines=all_lines)
    yield f"tailrace {made['version']}"


def _wrap(text: str, *, first: str = "", indent: str = "") -> Iterator[str]:
    yield from textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=indent)


def _readings(item: Json) -> str:
    ids = item["readings"]
    if not ids:
        return ""
    more = f" and {len(ids) - IDS} more" if len(ids) > IDS else ""
    return f" [{', '.join(ids[:IDS])}{more}]"


def _attention(lines: list[Json], *, all_lines: bool) -> Iterator[str]:
    yield "WHAT NEEDS ATTENTION"
    if not lines:
        yield f"  {NOTHING_TO_DO}"
        yield ""
        return
    shown = len(lines) if all_lines else FULL
    for place, line in enumerate(lines[:shown], 1):
        yield from _wrap(attention_head(line), first=f"{place}. ", indent="   ")
        for name, text in attention_rows(line):
            ids = _readings(line) if name == "Seen" else ""
            yield from _wrap(f"{name}: {text}{ids}", first="   ", indent="   ")
        yield ""
    rest = lines[shown:]
    if rest:
        yield f"{len(rest)} more (--all shows them in full):"
        for line in rest:
            yield from _wrap(
                f"{line['title']} - by {line['by_in_words']}{_readings(line)}",
                first="   - ",
                indent="     ",
            )
        yield ""


def _checks(checks: list[Json]) -> Iterator[str]:
    yield "CHECKS, IN WALKING ORDER"
    place = ""
    for check in checks:
        if check["place"] != place:
            place = check["place"]
            yield f"  {PLACES[place]}"
        box = "[ ]" if check["due_now"] else " - "
        yield from _wrap(check_text(check), first=f"   {box} ", indent="       ")
    yield ""


def backwash_lines(made: Json) -> Iterator[str]:
    """Write the section on backwash and air.

    Parameters
    ----------
    made
        Section ``backwash`` of a round object.

    Yields
    ------
    str
        One line.
    """
    yield "BACKWASH AND AIR"
    yield from _wrap(made["say"], first="  ", indent="  ")
    for name, text in backwash_rows(made):
        ids = _readings(made) if name == "Set now" else ""
        yield from _wrap(f"{name:<12}{text}{ids}", first="  ", indent=" " * 14)
    yield ""


def looks_lines(made: Json) -> Iterator[str]:
    """Write what the air float should read in the first two hours after a new setting.

    Parameters
    ----------
    made
        Section ``backwash`` of a round object.

    Yields
    ------
    str
        One line.
    """
    yield "IN THE FIRST TWO HOURS, LOOK EACH 15 MIN"
    for look in made["first_two_hours"]:
        yield f"  {figure(look['after']):>8} after a backwash: {figure(look['air_float'])}"
    yield from _wrap(
        "Lower than that: more pressure from the water, or air lost before the float. Higher: "
        "less flow through the bead bed. Also look that the return runs and that no bubbles "
        "come out of it.",
        first="  ",
        indent="  ",
    )
    yield ""


def drain_lines(made: Json) -> Iterator[str]:
    """Write the section on the drain.

    Parameters
    ----------
    made
        Section ``drain`` of a round object.

    Yields
    ------
    str
        One line.
    """
    yield "SLUDGE DRAIN"
    yield from _wrap(f"{made['say']}{_readings(made)}", first="  ", indent="  ")
    for name, text in drain_rows(made):
        yield from _wrap(f"{name:<12}{text}", first="  ", indent=" " * 14)
    yield ""


def _water(water: list[Json], missing: list[Json]) -> Iterator[str]:
    yield "WATER AGAINST THE LIMITS FOR THIS STOCK"
    for quality in water:
        if quality["reading"] is None:
            continue
        yield from _wrap(
            f"{quality['label']:<30}{water_text(quality)}{_readings(quality)}",
            first="  ",
            indent=" " * 32,
        )
    for line in missing:
        yield from _wrap(line["say"], first="  ", indent=" " * 32)
    yield ""


def _assumed(assumed: list[Json], *, all_lines: bool) -> Iterator[str]:
    yield "ASSUMED"
    said, of_file = file_defaults(assumed)
    for line in assumed if all_lines else said:
        yield from _wrap(f"{line['say']}{_readings(line)}", first="  - ", indent="    ")
    if of_file and not all_lines:
        yield f"  - {len(of_file)} defaults of the site file (--all lists them)"
    yield ""


def water_change_lines(made: Json) -> Iterator[str]:
    """Write the object of a water change as lines.

    Parameters
    ----------
    made
        Object of `tailrace.reports.water_change.water_change_object`.

    Yields
    ------
    str
        One line.
    """
    yield "WATER CHANGE"
    yield from _wrap(made["say"], first="  ", indent="  ")
    for row in made["changed"]:
        note = " (computed)" if row["computed"] else ""
        after = figure(row["after"], span=True) if row["after"] else f"not known: {row['why_not']}"
        before = figure(row["before"], span=True) if row["before"] else "not measured"
        text = f"{row['label']:<30}{before}{note} -> {after}"
        yield from _wrap(text, first="  ", indent=" " * 32)
    yield from _wrap(f"Take care: {made['caution']}", first="  ", indent="  ")


def forecast_lines(made: Json, *, all_lines: bool = True) -> Iterator[str]:
    """Write the forecast as lines.

    Parameters
    ----------
    made
        Section ``forecast`` of a round object.
    all_lines
        Write what was filled in as well.

    Yields
    ------
    str
        One line.
    """
    yield "THE WATER AHEAD"
    yield from _wrap(made["say"], first="  ", indent="  ")
    for band in made["quantities"]:
        words = "; ".join(after["say"] for after in band["in_words"])
        yield from _wrap(f"{band['label']:<30}{words}", first="  ", indent=" " * 32)
    for text in made["assumed"] if all_lines else ():
        yield from _wrap(text, first="  - ", indent="    ")
    yield ""
