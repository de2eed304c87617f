"""Rows of the round that terminal and page share, so that neither words a number of its own."""

from __future__ import annotations

from typing import Any

Json = dict[str, Any]

FULL = 3  # lines of attention shown in full; the rest are folded to their titles
PLACES = {"tank": "Fish tank", "filter": "Filter", "sump": "Sump"}
NOTHING_TO_DO = "Nothing needs doing now beyond the checks below."


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

    Examples
    --------
    >>> figure({"p05": 1.0, "p50": 2.0, "p95": 3.5, "unit": "gal"})
    '2 gal (1 to 3.5)'
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


def attention_head(line: Json, *, act_first: bool = True) -> str:
    """Write the head of a line of attention.

    Parameters
    ----------
    line
        One of ``attention`` of a round object.
    act_first
        Whether to begin with 'Act first' where it applies.

    Returns
    -------
    str
        Title and time.
    """
    first = "Act first: " if act_first and line["weight"] == "act first" else ""
    by = f"by {line['by_in_words']}" if line["by_in_words"] != "now" else "now"
    return f"{first}{line['title']} - {by}"


def attention_rows(line: Json) -> list[tuple[str, str]]:
    """Return the body of a line of attention.

    Parameters
    ----------
    line
        One of ``attention`` of a round object.

    Returns
    -------
    list of tuple
        Name and sentence of each part.
    """
    names = (("Seen", "seen"), ("Means", "means"), ("Do", "do"), ("Take care", "caution"))
    return [(name, line[key]) for name, key in names]


def check_text(check: Json) -> str:
    """Write one check as its sentence.

    Parameters
    ----------
    check
        One of ``checks`` of a round object.

    Returns
    -------
    str
        What, when due, when last done, and how.
    """
    when = f"due {check['due_in_words']}; last {check['last_in_words']}."
    return f"{check['what']}: {when} {check['how']}"


def backwash_rows(made: Json) -> list[tuple[str, str]]:
    """Return the rows on backwash and air.

    Parameters
    ----------
    made
        Section ``backwash`` of a round object.

    Returns
    -------
    list of tuple
        Name and words of each row.
    """
    setting, advised = made["setting"], made["recommended"]
    rows = [
        (
            "Set now",
            f"bypass {figure(setting['bypass'])}, air float {figure(setting['air_float'])}",
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
    return rows


def _advised(advised: Json) -> str:
    if advised["keep"]:
        return "leave bypass and air float as they are"
    return (
        f"bypass {figure(advised['bypass'])}, air float {figure(advised['air_float'])}: "
        f"backwashes {figure(advised['per_day'])}, margin {figure(advised['margin'])}"
    )


def drain_rows(made: Json) -> list[tuple[str, str]]:
    """Return the rows on the drain.

    Parameters
    ----------
    made
        Section ``drain`` of a round object.

    Returns
    -------
    list of tuple
        Name and words of each row.
    """
    beads = made["beads_at_risk"]
    return [
        ("In the cone", figure(made["sludge_now"]) if made["sludge_now"] else "not known"),
        ("Rhythm", f"set by {made['set_by']}"),
        (
            "Beads",
            f"at risk {figure(beads['best'])} at {figure(made['window']['best'])}, "
            f"{figure(beads['closes'])} at {figure(made['window']['closes'])}: waiting saves "
            "beads, but by then less of the fresh sludge comes",
        ),
        ("Take care", made["caution"]),
    ]


def water_text(quality: Json) -> str:
    """Write how one water quantity that was measured stands.

    Parameters
    ----------
    quality
        One of ``water`` of a round object, with a reading.

    Returns
    -------
    str
        Reading, state and age.
    """
    note = " (computed)" if quality["computed"] else ""
    return f"{quality['in_words']}{note}: {quality['state']}; {figure(quality['age'])} ago"


def file_defaults(assumed: list[Json]) -> tuple[list[Json], list[Json]]:
    """Part what was assumed today from the defaults of the site file.

    Parameters
    ----------
    assumed
        ``assumed`` of a round object.

    Returns
    -------
    tuple
        Both lists, in order.
    """
    of_file = [line for line in assumed if line["say"].startswith("Site file: ")]
    return [line for line in assumed if line not in of_file], of_file
