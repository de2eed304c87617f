"""Writing the log in a browser: said back first, stored once, corrected with its history.

Every form becomes one typed line, so that a page understands what the terminal understands. A
form carries a key of the server: sent again, it is stored once.
"""

from __future__ import annotations

import re
import secrets
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any

from fastapi import APIRouter, Form, Query, Request, Response
from fastapi.responses import RedirectResponse

from tailrace.errors import InputError, KeyUsedError, NotKnownError
from tailrace.intake.typed_line import Line
from tailrace.observations import Entry
from tailrace.operations.entry import Tap, store_line, store_tap, understand_line
from tailrace.operations.logs import correct_entry, withdraw_entry
from tailrace.operations.notes import Note, add_note
from tailrace.operations.record import site_reading
from tailrace.quantities import subjects
from tailrace.records.store import Store
from tailrace.site import UnitFamily
from tailrace.web.answers import Asked
from tailrace.web.who import Reader, Visitor, Writer, now
from tailrace.web.words import page, stamp

router = APIRouter()
Field = Annotated[str, Form(max_length=2000)]
Fields = Annotated[list[str], Form(max_length=60)]
Key = Annotated[str, Form(pattern=r"^[0-9a-f]{32}$")]

SHOWN = 40
OLDEST_FORM = timedelta(days=2)
_IDS = re.compile(r"e\d{1,12}(?:,e\d{1,12}){0,60}")
TESTS = (
    "water_temperature", "ph", "total_ammonia", "nitrite", "nitrate", "alkalinity", "oxygen",
    "air_float",
)  # fmt: skip
DOSES = ("bicarbonate_dose", "potassium_bicarbonate_dose", "salt_dose")
SETTINGS = ("air_set", "bypass_set")
OTHERS = ("feed", "drain", "water_change", "top_up")
_BASES = {"N": "as N", "NO2": "as NO2", "NO3": "as NO3", "NH3": "as NH3", "NH4": "as NH4"}
_MORE_UNITS = {
    "feed": ("g", "kg", "lb", "oz", "scoops"),
    "bypass_set": ("turns open", "% open"),
    "drain": ("gal", "L"),
    "water_change": ("gal", "L"),
    "top_up": ("gal", "L"),
    "water_temperature": ("degC", "degF"),
    "air_float": ("SCFH", "L/min"),
    "air_set": ("SCFH", "L/min"),
    "alkalinity": ("mg/L as CaCO3", "ppm as CaCO3", "dKH", "meq/L"),
    "oxygen": ("mg/L", "ppm"),
}
# What each check of a round asks for, by its key; the others are taps.
CHECKS = {
    "fish": "feed",
    "water_temperature": "water_temperature",
    "oxygen": "oxygen",
    "ph": "ph",
    "total_ammonia": "total_ammonia",
    "nitrite": "nitrite",
    "alkalinity": "alkalinity",
    "nitrate": "nitrate",
    "air_float": "air_float",
    "drain": "drain",
    "level": "top_up",
}
_TAPS = {tap.name.lower().replace("_", " "): tap for tap in Tap}


def new_key() -> str:
    """Return a fresh key for a form.

    Returns
    -------
    str
        32 hexadecimal digits.
    """
    return secrets.token_hex(16)


def units_of(subject: str, units: UnitFamily, last: Entry | None = None) -> tuple[str, ...]:
    """Return units to choose from, the one of the last entry first.

    Parameters
    ----------
    subject
        Key of a subject.
    units
        Units of the site.
    last
        Its last entry; None without one.

    Returns
    -------
    tuple
        Units as they are typed; one empty text where none is needed.
    """
    known = subjects()[subject]
    own = known.us_unit if units is UnitFamily.US else known.metric_unit
    plain = own.split(" as ")[0]
    bases = [f"{plain} {_BASES[basis]}" for basis in known.bases if basis in _BASES]
    offered = [own, *_MORE_UNITS.get(subject, ()), *bases]
    if last is not None and last.unit:
        offered.insert(0, last.unit)
    return tuple(dict.fromkeys(offered))


def line_from(
    whats: Sequence[str], values: Sequence[str], units: Sequence[str], *, when: str, more: str
) -> str:
    """Write the fields of a form as one typed line.

    Parameters
    ----------
    whats, values, units
        Subject, value and unit of each row; a row without a value is left out.
    when
        When, as typed; empty for just now.
    more
        Further words for each, such as how the water looked.

    Returns
    -------
    str
        The line.

    Raises
    ------
    InputError
        No row has a value, or the rows do not fit together.

    Examples
    --------
    >>> line_from(["ph", "feed"], ["7.1", ""], ["", "g"], when="10 min ago", more="")
    'ph 7.1 10 min ago'
    """
    if not len(whats) == len(values) == len(units):
        raise InputError("the form came in pieces; load the page again and fill it anew.")
    if unknown := [what for what in whats if what not in subjects()]:
        raise InputError(f"{unknown[0]!r} is nothing that the log knows; load the page again.")
    tail = [part.replace(";", ",").strip() for part in (more, when) if part.strip()]
    parts = [
        " ".join([what.replace("_", " "), value.strip(), *([unit] if unit else []), *tail])
        for what, value, unit in zip(whats, values, units, strict=True)
        if value.strip()
    ]
    if not parts:
        raise InputError("no number was filled in; write at least one.")
    return "; ".join(parts)


def last_of(entries: Sequence[Entry]) -> dict[str, Entry]:
    """Return the newest entry of each subject.

    Parameters
    ----------
    entries
        Entries in the order of time.

    Returns
    -------
    dict
        Subject to entry.
    """
    return {entry.subject: entry for entry in entries}


def _store(request: Request) -> Store:
    found: Store = request.app.state.store
    return found


def form_rows(store: Store, name: str, keys: Sequence[str]) -> list[dict[str, Any]]:
    """Return what a form shows for each subject.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    keys
        Subjects.

    Returns
    -------
    list of dict
        Key, label, units, and the last value in words (empty without one).
    """
    site = site_reading(store, name).site
    last = last_of(store.entries(name))
    return [
        {
            "key": key,
            "label": subjects()[key].label.split(" (")[0],
            "units": units_of(key, site.units, last.get(key)),
            "last": f"{last[key].as_typed}, {stamp(last[key].taken_at, site.zone)}"
            if key in last
            else "",
        }
        for key in keys
    ]


def round_acts(store: Store, name: str, who: Visitor) -> dict[str, Any]:
    """Return what a round needs so that its checks can be written down on the spot.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    who
        Who looks.

    Returns
    -------
    dict
        ``writes``; ``keys``, which gives a fresh key for each form; ``boxes``, a row of a form
        for each check that asks for a number, by the key of the check.
    """
    writes = who.closed and who.rights.may_write(name)
    rows = form_rows(store, name, tuple(CHECKS.values())) if writes else []
    boxes = dict(zip(CHECKS, rows, strict=True)) if writes else {}
    return {"writes": writes, "keys": new_key, "boxes": boxes}


def _log_page(
    request: Request, name: str, who: Visitor, *, template: str = "log.html", status: int = 200,
    **shown: Any,
) -> Response:  # fmt: skip
    """Fill a page of the log."""
    store = _store(request)
    site, entries = site_reading(store, name).site, store.entries(name)
    newest = stamp(entries[-1].taken_at, site.zone) if entries else "none"
    foot = {"site": name, "at": stamp(now(request), site.zone), "newest": newest}
    shown = {"typed": "", "said": "", "stored": (), "key": new_key(), "line": None} | shown
    return page(
        template,
        path=f"/s/{name}/log",  # links of the foot ask for a page, never an act
        asked=Asked(),
        foot=foot,
        who=who,
        status=status,
        site=site,
        writes=who.closed and who.rights.may_write(name),
        entries=entries[: -SHOWN - 1 : -1],
        count=len(entries),
        subjects=subjects(),
        local=lambda moment: stamp(moment, site.zone),
        rows_of=lambda *keys: form_rows(store, name, keys),
        tests=TESTS,
        doses=DOSES,
        settings=SETTINGS,
        **shown,
    )


@router.get("/s/{site}/log")
def _log(
    request: Request,
    site: str,
    who: Reader,
    stored: Annotated[str, Query(max_length=900)] = "",
) -> Response:
    """Answer with the newest entries and the forms."""
    names = tuple(stored.split(",")) if _IDS.fullmatch(stored) else ()
    return _log_page(request, site, who, stored=names)


def _read(request: Request, name: str, text: str, who: Visitor, typed_at: datetime) -> Line:
    """Read a line as of the moment it was typed, so that it reads the same when sent again."""
    line = understand_line(
        _store(request),
        name,
        text,
        now=typed_at.replace(second=0, microsecond=0),  # pages answer as of the whole minute
        who=who.rights.login,
        known_at=typed_at,
    )
    return Line(tuple(replace(piece, entries=_unreceived(piece.entries)) for piece in line.pieces))


def _unreceived(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Leave it to the record to say when it received them; a line was only read before."""
    return tuple(replace(entry, received_at=None) for entry in entries)


def _preview(request: Request, name: str, who: Visitor, text: str) -> Response:
    """Answer with what a line was understood to mean; nothing is stored."""
    typed_at = now(request)
    try:
        line = _read(request, name, text, who, typed_at)
    except InputError as error:
        return _log_page(request, name, who, typed=text, said=str(error), status=400)
    return _log_page(
        request, name, who, template="log_look.html", typed=text, line=line,
        typed_at=typed_at.isoformat(),
    )  # fmt: skip


@router.post("/s/{site}/log/look")
def _look(request: Request, site: str, who: Writer, text: Field = "") -> Response:
    """Say back a typed line."""
    return _preview(request, site, who, text)


@router.post("/s/{site}/log/fill")
def _fill(  # noqa: PLR0913, PLR0917  # a form's fields are its screen
    request: Request,
    site: str,
    who: Writer,
    what: Fields,
    value: Fields,
    unit: Fields,
    when: Field = "",
    more: Field = "",
) -> Response:
    """Say back what a form holds."""
    try:
        text = line_from(what, value, unit, when=when, more=more)
    except InputError as error:
        return _log_page(request, site, who, said=str(error), status=400)
    return _preview(request, site, who, text)


@router.post("/s/{site}/log")
def _keep(
    request: Request, site: str, who: Writer, text: Field, typed_at: Field, key: Key
) -> Response:
    """Store a line that was said back; the same key again stores nothing twice."""
    at = _typed_at(typed_at, now(request))
    if at is None:
        return _preview(request, site, who, text)  # too old to store unseen: say it back anew
    line = _read(request, site, text, who, at)
    try:
        names = store_line(_store(request), site, line, now=now(request), key=key)
    except InputError as error:
        return _log_page(request, site, who, typed=text, said=str(error), status=400)
    except KeyUsedError as error:
        return _log_page(request, site, who, typed=text, said=str(error), status=409)
    return _done(site, names)


def _typed_at(text: str, at: datetime) -> datetime | None:
    try:
        given = datetime.fromisoformat(text)
    except ValueError:
        return None
    if given.tzinfo is None or not timedelta() <= at - given <= OLDEST_FORM:
        return None
    return given.astimezone(UTC)


def _done(site: str, names: Sequence[str]) -> Response:
    return RedirectResponse(f"/s/{site}/log?stored={','.join(names)}", status_code=303)


@router.post("/s/{site}/log/note")
def _note(request: Request, site: str, who: Writer, text: Field, key: Key) -> Response:
    """Store a note as it was typed."""
    at = now(request)
    note = Note(text, at.replace(second=0, microsecond=0), who=who.rights.login)
    try:
        name = add_note(_store(request), site, note, now=at, key=key)
    except InputError as error:
        return _log_page(request, site, who, said=str(error), status=400)
    except KeyUsedError:
        said = "a note of this form is stored already; see the newest entries."
        return _log_page(request, site, who, note=text, said=said, status=409)
    return _done(site, (name,))


@router.post("/s/{site}/log/tap")
def _tap(
    request: Request,
    site: str,
    who: Writer,
    seen: Field,
    key: Key,
    minutes: Annotated[int, Form(ge=0, le=1440)] = 0,
) -> Response:
    """Store what one tap says, such as a backwash seen; then show the round again."""
    if seen not in _TAPS:
        raise InputError(f"{seen!r} is nothing that one tap can write; load the page again.")
    at = now(request)
    taken_at = at.replace(second=0, microsecond=0) - timedelta(minutes=minutes)
    store_tap(
        _store(request),
        site,
        _TAPS[seen],
        taken_at=taken_at,
        who=who.rights.login,
        now=at,
        key=key,
    )
    return RedirectResponse(f"/s/{site}/round", status_code=303)


def _history(request: Request, name: str, entry: str) -> Any:
    """Return the versions of an entry, if it is of this site."""
    store = _store(request)
    if entry not in {each.id for each in store.all_entries(name)}:
        raise NotKnownError(f"{name} has no entry {entry}; its log lists them.")
    return store.history(entry)


def _entry_page(request: Request, name: str, who: Visitor, entry: str, **shown: Any) -> Response:
    versions = _history(request, name, entry)
    live = next((each.entry for each in versions if each.holds), None)
    return _log_page(
        request, name, who, template="log_entry.html", versions=versions, live=live,
        entry=entry, **({"value": None, "why": ""} | shown),
    )  # fmt: skip


@router.get("/s/{site}/log/{entry}")
def _entry(request: Request, site: str, entry: str, who: Reader) -> Response:
    """Answer with an entry and its history."""
    return _entry_page(request, site, who, entry)


@router.post("/s/{site}/log/{entry}/correct")
def _correct(  # a form's fields are its screen
    request: Request,
    site: str,
    entry: str,
    who: Writer,
    value: Field = "",
    unit: Field = "",
    why: Field = "",
) -> Response:
    """Correct an entry; the old one stays in its history."""
    try:
        reason = _reason(why, who)
        new = correct_entry(
            _store(request), site, entry, value=value, unit=unit, why=reason, now=now(request)
        )
    except InputError as error:
        return _entry_page(
            request, site, who, entry, value=value, why=why, said=str(error), status=400
        )
    return RedirectResponse(f"/s/{site}/log/{new}", status_code=303)


@router.post("/s/{site}/log/{entry}/withdraw")
def _withdraw(request: Request, site: str, entry: str, who: Writer, why: Field = "") -> Response:
    """Withdraw an entry; it stays in its history."""
    try:
        reason = _reason(why, who)
        withdraw_entry(_store(request), site, entry, why=reason, now=now(request))
    except InputError as error:
        return _entry_page(request, site, who, entry, why=why, said=str(error), status=400)
    return RedirectResponse(f"/s/{site}/log/{entry}", status_code=303)


def _reason(why: str, who: Visitor) -> str:
    if not why.strip():
        raise InputError("write in a few words why; it stays in the history.")
    return f"{why.strip()} ({who.rights.login})"
