"""Templates filled, and the few words that pages add: times, states' marks, links."""

from __future__ import annotations

from datetime import datetime
from functools import cache
from typing import Any
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context
from markupsafe import Markup

from tailrace import __version__
from tailrace.sources import sources
from tailrace.web.answers import Asked
from tailrace.web.assets import asset_address
from tailrace.web.who import FORM_TOKEN, Visitor

RANGES = {1: "24 hours", 7: "7 days", 30: "30 days", 365: "1 year"}
IDS = 4
_BEYOND = ("not comfortable", "act today", "can harm within hours")


def stamp(moment: datetime, zone: str) -> str:
    """Write a moment in full, in the zone of a site.

    Parameters
    ----------
    moment
        Aware.
    zone
        Time zone.

    Returns
    -------
    str
        Such as ``Mon 9 Nov 2026 08:24``.

    Examples
    --------
    >>> stamp(datetime.fromisoformat("2026-11-09T15:24+00:00"), "America/Denver")
    'Mon 9 Nov 2026 08:24'
    """
    local = moment.astimezone(ZoneInfo(zone))
    return f"{local:%a} {local.day} {local:%b %Y %H:%M}"


def state_mark(state: str) -> str:
    """Return the name of the mark that stands before a state of the water.

    Parameters
    ----------
    state
        ``state`` of a water quantity in a round.

    Returns
    -------
    str
        ``beyond``, ``across``, ``within`` or ``open``.

    Examples
    --------
    >>> state_mark("not comfortable (perhaps), old"), state_mark("within the limits, old")
    ('across', 'within')
    """
    if state.startswith(_BEYOND):
        return "across" if "(perhaps)" in state else "beyond"
    return "within" if state.startswith("within") else "open"


def entry_ids(readings: list[str]) -> str:
    """Write the ids of entries, the first few of them.

    Parameters
    ----------
    readings
        Ids.

    Returns
    -------
    str
        Such as ``e1, e2``; empty without any.

    Examples
    --------
    >>> entry_ids(["e1", "e2", "e3", "e4", "e5", "e6"])
    'e1, e2, e3, e4 and 2 more'
    """
    more = f" and {len(readings) - IDS} more" if len(readings) > IDS else ""
    return ", ".join(readings[:IDS]) + more


def link(path: str, asked: Asked, **more: object) -> str:
    """Return an address on this server that asks for the same moment and units.

    Parameters
    ----------
    path
        Path.
    asked
        What the present page was asked for.
    **more
        Further fields; they win.

    Returns
    -------
    str
        Address.

    Examples
    --------
    >>> link("/s/pond/water", Asked(at="2026-11-09"), days=7)
    '/s/pond/water?at=2026-11-09&days=7'
    """
    fields = {"at": asked.at, "units": asked.units.value if asked.units else None, **more}
    query = urlencode({key: value for key, value in fields.items() if value is not None})
    return f"{path}?{query}" if query else path


def capitalize_first(text: str) -> str:
    """Write a sentence of an error with its first letter large.

    Parameters
    ----------
    text
        The sentence.

    Returns
    -------
    str
        The same, but for that letter.

    Examples
    --------
    >>> capitalize_first("the pH is 70.")
    'The pH is 70.'
    """
    return text[:1].upper() + text[1:]


@pass_context
def _form_token_field(context: Context) -> Markup:
    """Return the hidden field that every form of a session carries."""
    field = '<input type="hidden" name="{}" value="{}">'
    return Markup(field).format(FORM_TOKEN, context["who"].form_token)  # escaped by format


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("tailrace.web"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(state_mark=state_mark, ids=entry_ids, capitalize_first=capitalize_first)
    made.globals.update(
        link=link, asset=asset_address, version=__version__, form_token_field=_form_token_field
    )
    return made


def page(
    template: str,
    *,
    path: str,
    asked: Asked,
    foot: dict[str, str],
    who: Visitor,
    status: int = 200,
    **shown: Any,
) -> HTMLResponse:
    """Fill a template.

    Parameters
    ----------
    template
        Its file.
    path
        Path of the page.
    asked
        What the page was asked for.
    foot
        What its foot says of a site; empty for none.
    who
        Who is asking.
    status
        HTTP status.
    **shown
        What the template shows.

    Returns
    -------
    HTMLResponse
        The page.
    """
    opened = sum(source.obtained == "opened" for source in sources().values())
    text = (
        _environment()
        .get_template(template)
        .render(
            path=path,
            asked=asked,
            foot=foot,
            who=who,
            sources_count=len(sources()),
            sources_opened=opened,
            **shown,
        )
    )
    return HTMLResponse(text, status_code=status)
