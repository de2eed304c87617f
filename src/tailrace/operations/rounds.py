"""The round with its forecast, and the advice on air and drain alone."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from datetime import UTC, datetime
from enum import Enum
from typing import Any

from tailrace import __version__
from tailrace.advice.acts import Advised, attention
from tailrace.advice.air import air_advice
from tailrace.advice.checks import checks
from tailrace.advice.drain import drain_advice
from tailrace.advice.next_backwash import next_backwash
from tailrace.diagnosis import findings
from tailrace.errors import RecordError
from tailrace.estimation.bands import Forecast, from_body, to_body
from tailrace.estimation.today import SEED, Picture, picture
from tailrace.operations.notes import keep_told
from tailrace.operations.record import moment, site_reading, standing_at
from tailrace.records.kept import KeptForecast
from tailrace.records.store import Store
from tailrace.reports.round import Round, round_object
from tailrace.reports.view import View
from tailrace.site import UnitFamily

Tell = Callable[[str], None]


class Ahead(Enum):
    """How a round looks ahead."""

    NOT = "not"
    SHOWN = "shown"
    KEPT = "kept"


def _silent(_text: str) -> None:
    """Tell nobody."""


def todays_round(
    store: Store,
    name: str,
    *,
    at: str | None = None,
    units: UnitFamily | None = None,
    now: datetime | None = None,
    ahead: Ahead = Ahead.KEPT,
    tell: Tell = _silent,
) -> dict[str, Any]:
    """Work out the round of a site.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    at
        Moment as typed; None for now.
    units
        Units shown; None for those that the site chose.
    now
        The moment that stands for now.
    ahead
        Whether to look ahead, and whether the forecast counts as issued and is kept.
    tell
        Told in a few words before something takes long, and when a forecast cannot be kept.

    Returns
    -------
    dict
        The round as documented in docs/round.md.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        The moment cannot be read.
    """
    reading = site_reading(store, name)
    site = reading.site
    seen = picture(standing_at(store, site, moment(at, site, now=now)))
    made_ahead, new = (
        (None, False) if ahead is Ahead.NOT else _look_ahead(store, seen, ahead, tell)
    )
    air, drain = air_advice(seen), drain_advice(seen)
    made = Round(
        seen=seen,
        attention=attention(findings(seen, made_ahead), Advised(seen, air, drain)),
        checks=checks(seen),
        air=air,
        drain=drain,
        next_backwash=next_backwash(seen),
        ahead=made_ahead,
        said_of_file=tuple(said.text for said in reading.assumed),
        version=__version__,
    )
    written = round_object(made, View(site, units or site.units))
    if new:
        _keep_told(store, made, written, tell)
    return written


def _keep_told(store: Store, made: Round, written: dict[str, Any], tell: Tell) -> None:
    """Keep what this round told to do, once for each forecast that counts as issued."""
    try:
        keep_told(store, made.seen, made.attention, [line["do"] for line in written["attention"]])
    except RecordError as error:
        tell(f"this advice could not be kept: {error}")


def _look_ahead(store: Store, seen: Picture, ahead: Ahead, tell: Tell) -> tuple[Forecast, bool]:
    """Give the forecast of this moment and this log, and whether it was kept just now."""
    entries = tuple(entry.uid for entry in seen.now.entries)
    name = seen.now.site.name
    asked = (name, store.site_text(name), seen.now.at.isoformat(), __version__, str(SEED))
    answers = sorted(f"{a.first} {a.second} {a.two}" for a in seen.now.settled)
    key = hashlib.sha256("\n".join((*asked, *entries, *answers)).encode()).hexdigest()
    known = store.kept_forecast(key)
    if known is not None:
        return from_body(known.body), False
    made = _run_ahead(seen, tell)
    if ahead is Ahead.KEPT:
        kept = KeptForecast(
            key=key,
            at=made.at,
            issued_at=datetime.now(UTC),
            version=__version__,
            seed=made.seed,
            entries=entries,
            body=to_body(made),
        )
        try:
            return made, store.keep_forecast(name, kept)
        except RecordError as error:
            tell(f"this forecast could not be kept: {error}")
    return made, False


def _run_ahead(seen: Picture, tell: Tell) -> Forecast:
    # The engine takes half a second to import; an answer that is kept does without it.
    from tailrace.estimation.forecast import forecast  # noqa: PLC0415
    from tailrace.simulation.assemble import assemble  # noqa: PLC0415
    from tailrace.simulation.run import prepare  # noqa: PLC0415

    prepare(tell, assemble(seen.now.site))
    return forecast(seen, seed=SEED)
