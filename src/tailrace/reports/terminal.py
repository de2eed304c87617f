"""The round object as lines for a terminal; nothing is worked out here."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Any

FULL = 3  # lines of attention shown in full; the rest are folded to their titles
WIDTH = 88
IDS = 4  # ids of entries shown after a line; the JSON object holds all
_PLACES = {"tank": "Fish tank", "filter": "Filter", "sump": "Sump"}

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
    yield from _assumed(made["assumed"], all_lines=all_lines)
    yield f"tailrace {made['version']}"


def figure(number: Json | None, *, span: bool = False) -> str:
    """Write a number object: the value, or its middle with the range.

    Parameters
    ----------
    number
        ``value`` or ``p05``, ``p50``, ``p95``, with ``unit``.
    span
        Show the range alone.

    Returns
    -------
    str
        Words.
    """
    if number is None:
        return "none"
    unit = f" {number['unit']}" if number["unit"] else ""
    if "value" in number:
        return f"{number['value']:g}{unit}"
    low, high = f"{number['p05']:g}", f"{number['p95']:g}"
    if low == high:
        return f"{low}{unit}"
    if span:
        return f"{low} to {high}{unit}"
    return f"{number['p50']:g}{unit} ({low} to {high})"


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
        yield "  Nothing needs doing now beyond the checks below."
        yield ""
        return
    shown = len(lines) if all_lines else FULL
    for place, line in enumerate(lines[:shown], 1):
        first = "Act first: " if line["weight"] == "act first" else ""
        by = f"by {line['by_in_words']}" if line["by_in_words"] != "now" else "now"
        yield from _wrap(f"{first}{line['title']} - {by}", first=f"{place}. ", indent="   ")
        yield from _wrap(f"Seen: {line['seen']}{_readings(line)}", first="   ", indent="   ")
        yield from _wrap(f"Means: {line['means']}", first="   ", indent="   ")
        yield from _wrap(f"Do: {line['do']}", first="   ", indent="   ")
        yield from _wrap(f"Take care: {line['caution']}", first="   ", indent="   ")
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
            yield f"  {_PLACES[place]}"
        box = "[ ]" if check["due_now"] else " - "
        text = f"{check['what']}: due {check['due_in_words']}; last {check['last_in_words']}."
        yield from _wrap(f"{text} {check['how']}", first=f"   {box} ", indent="       ")
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
    setting, advised = made["setting"], made["recommended"]
    yield "BACKWASH AND AIR"
    yield from _wrap(made["say"], first="  ", indent="  ")
    rows = [
        (
            "Set now",
            f"bypass {figure(setting['bypass'])}, air float "
            f"{figure(setting['air_float'])}{_readings(made)}",
        ),
        ("Backwashes", figure(made["per_day"])),
        (
            "Air float",
            f"{figure(made['float_after'])} just after a backwash, "
            f"{figure(made['float_before'])} just before the next",
        ),
        (
            "Margin",
            f"{figure(made['margin'])} above the water at the release depth; "
            f"chance that the water overpowers the air {figure(made['stall_chance'])}",
        ),
        ("Advised", _advised(advised)),
    ]
    if not advised["margin_enough"]:
        rows.append(("Beware", "no opening gives the wanted margin: a stronger air pump is due"))
    for name, text in rows:
        yield from _wrap(f"{name:<12}{text}", first="  ", indent=" " * 14)
    yield ""


def _advised(advised: Json) -> str:
    if advised["keep"]:
        return "leave bypass and air float as they are"
    return (
        f"bypass {figure(advised['bypass'])}, air float {figure(advised['air_float'])}: "
        f"backwashes {figure(advised['per_day'])}, margin {figure(advised['margin'])}"
    )


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
    beads = made["beads_at_risk"]
    yield "SLUDGE DRAIN"
    yield from _wrap(f"{made['say']}{_readings(made)}", first="  ", indent="  ")
    rows = [
        ("In the cone", figure(made["sludge_now"]) if made["sludge_now"] else "not known"),
        ("Rhythm", f"set by {made['set_by']}"),
        (
            "Beads",
            f"at risk {figure(beads['best'])} at the best minute, "
            f"{figure(beads['closes'])} at the last",
        ),
        ("Take care", made["caution"]),
    ]
    for name, text in rows:
        yield from _wrap(f"{name:<12}{text}", first="  ", indent=" " * 14)
    yield ""


def _water(water: list[Json], missing: list[Json]) -> Iterator[str]:
    yield "WATER AGAINST THE LIMITS FOR THIS STOCK"
    for quality in water:
        if quality["reading"] is None:
            continue
        note = " (computed)" if quality["computed"] else ""
        age = figure(quality["age"])
        yield from _wrap(
            f"{quality['label']:<30}{quality['in_words']}{note}: {quality['state']}; "
            f"{age} ago{_readings(quality)}",
            first="  ",
            indent=" " * 32,
        )
    for line in missing:
        yield from _wrap(line["say"], first="  ", indent=" " * 32)
    yield ""


def _assumed(assumed: list[Json], *, all_lines: bool) -> Iterator[str]:
    yield "ASSUMED"
    of_file = [line for line in assumed if line["say"].startswith("Site file: ")]
    for line in assumed:
        if all_lines or line not in of_file:
            yield from _wrap(f"{line['say']}{_readings(line)}", first="  - ", indent="    ")
    if of_file and not all_lines:
        yield f"  - {len(of_file)} defaults of the site file (--all lists them)"
    yield ""
