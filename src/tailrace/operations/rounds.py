"""The round, and the advice on air and drain alone."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tailrace import __version__
from tailrace.advice.acts import Advised, attention
from tailrace.advice.air import air_advice
from tailrace.advice.checks import checks
from tailrace.advice.drain import drain_advice
from tailrace.advice.next_backwash import next_backwash
from tailrace.diagnosis import findings
from tailrace.estimation.today import picture
from tailrace.operations.record import moment, site_reading, standing_at
from tailrace.records.store import Store
from tailrace.reports.round import Round, round_object
from tailrace.reports.view import View
from tailrace.site import UnitFamily


def todays_round(
    store: Store,
    name: str,
    *,
    at: str | None = None,
    units: UnitFamily | None = None,
    now: datetime | None = None,
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
    air, drain = air_advice(seen), drain_advice(seen)
    made = Round(
        seen=seen,
        attention=attention(findings(seen), Advised(seen, air, drain)),
        checks=checks(seen),
        air=air,
        drain=drain,
        next_backwash=next_backwash(seen),
        said_of_file=tuple(said.text for said in reading.assumed),
        version=__version__,
    )
    return round_object(made, View(site, units or site.units))
