"""The pages and the one answer as JSON; each asks `tailrace.web.answers` and fills a template."""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Annotated, Any

from fastapi import APIRouter, Depends, Query, Request, Response
from fastapi.responses import HTMLResponse, RedirectResponse

from tailrace.operations.series import DAYS
from tailrace.reports import rows
from tailrace.reports.charts import events_chart, has_data, shown_limits, water_chart
from tailrace.reports.section import balance_chart, section_drawing
from tailrace.site import UnitFamily
from tailrace.web.answers import Answers, Asked
from tailrace.web.log_forms import round_acts
from tailrace.web.who import Reader, SignedIn, Visitor, Who
from tailrace.web.words import RANGES, page, stamp

router = APIRouter()


def _asked_for(
    at: Annotated[str | None, Query(max_length=40)] = None, units: UnitFamily | None = None
) -> Asked:
    """Read what an address asks for."""
    if at:  # a plus sign typed into an address arrives as a blank
        at = re.sub(r"(?<=\d:\d\d) (?=\d\d:\d\d$)", "+", at)
    return Asked(at or None, units)


AskedFor = Annotated[Asked, Depends(_asked_for)]


def _answers(request: Request) -> Answers:
    found: Answers = request.app.state.answers
    return found


def _page(
    request: Request, template: str, asked: Asked, made: dict[str, Any], *, who: Visitor
) -> HTMLResponse:
    """Fill the template of a page on one site."""
    name = made["round"]["site"]["name"]
    newest = _answers(request).newest(name, asked)
    zone = made["round"]["site"]["zone"]
    foot = {
        "site": name,
        "at": stamp(datetime.fromisoformat(made["round"]["at"]), zone),
        "newest": "none" if newest is None else stamp(newest, zone),
    }
    return page(
        template, path=request.url.path, asked=asked, foot=foot, who=who, rows=rows, **made
    )


@router.get("/")
def _sites(request: Request, asked: AskedFor, who: SignedIn) -> Response:
    """Answer with all sites, or go to the only one."""
    answers = _answers(request)
    names = tuple(name for name in answers.names() if who.rights.may_read(name))
    if len(names) == 1:
        query = f"?{request.url.query}" if request.url.query else ""
        return RedirectResponse(f"/s/{names[0]}/round{query}", status_code=307)
    listed = [
        {
            "site": found.site,
            "newest": "none" if found.newest is None else stamp(found.newest, found.site.zone),
        }
        for found in answers.sites(names)
    ]
    return page("sites.html", path="/", asked=asked, foot={}, who=who, listed=listed)


@router.get("/s/{site}/round")
def _round_page(request: Request, site: str, asked: AskedFor, who: Reader) -> Response:
    """Answer with the round."""
    made = _answers(request).round(site, asked)
    said, defaults = rows.file_defaults(made["assumed"])
    acts = round_acts(request.app.state.store, site, who)
    shown = {"round": made, "said": said, "defaults": defaults, **acts}
    return _page(request, "round.html", asked, shown, who=who)


@router.get("/s/{site}/water")
def _water_page(
    request: Request, site: str, asked: AskedFor, who: Reader, days: int = 30
) -> Response:
    """Answer with the water over the last days."""
    answers = _answers(request)
    water = answers.water(site, asked, days)
    charts = [
        {
            "series": series,
            "svg": water_chart(series, water.span) if has_data(series) else "",
            "off_scale": [
                limit.words
                for limit in series.limits
                if not has_data(series) or limit not in shown_limits(series)
            ],
        }
        for series in water.series
    ]
    events = events_chart(water.events, water.span) if water.events else ""
    shown = {
        "round": answers.round(site, asked),
        "water": water,
        "charts": charts,
        "events": events,
        "days": days,
        "ranges": [(count, RANGES[count]) for count in DAYS],
    }
    return _page(request, "water.html", asked, shown, who=who)


@router.get("/s/{site}/filter")
def _filter_page(request: Request, site: str, asked: AskedFor, who: Reader) -> Response:
    """Answer with the filter cut open."""
    made = _answers(request).round(site, asked)
    shown = {
        "round": made,
        "section": section_drawing(made["backwash"], made["drain"]),
        "balance": balance_chart(made["backwash"]),
    }
    return _page(request, "filter.html", asked, shown, who=who)


@router.get("/about")
def _about(request: Request, asked: AskedFor, who: Who) -> Response:
    """Answer with what the numbers rest on."""
    return page("about.html", path=request.url.path, asked=asked, foot={}, who=who)


@router.get("/api/v1/s/{site}/round")
def _round_json(request: Request, site: str, asked: AskedFor, _who: Reader) -> Response:
    """Answer with the round as the terminal writes it with --json."""
    made = _answers(request).round(site, asked)
    text = json.dumps(made, ensure_ascii=False, indent=2, allow_nan=False)
    return Response(f"{text}\n", media_type="application/json; charset=utf-8")
