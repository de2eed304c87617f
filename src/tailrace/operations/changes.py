"""What a water change does, worked out for a site at a moment."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from tailrace import __version__
from tailrace.advice.water_change import USUAL_SHARE, water_change
from tailrace.estimation.today import picture
from tailrace.operations.record import moment, site_reading, standing_at
from tailrace.records.store import Store
from tailrace.reports.view import View
from tailrace.reports.water_change import water_change_object
from tailrace.site import Site, UnitFamily
from tailrace.units import parse, parse_number


def advise_water_change(
    store: Store,
    name: str,
    *,
    amount: str | None = None,
    at: str | None = None,
    units: UnitFamily | None = None,
    now: datetime | None = None,
) -> dict[str, Any]:
    """Work out what a water change does.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    amount
        ``1/4``, ``30 %`` or a volume such as ``200 gal``; a quarter when None.
    at
        Moment as typed; None for now.
    units
        Units shown; None for those that the site chose.
    now
        The moment that stands for now.

    Returns
    -------
    dict
        ``site``, ``at``, ``units``, ``water_change``, ``version``.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    InputError
        The amount or the moment cannot be read, or is more than half of the water.
    """
    site = site_reading(store, name).site
    seen = picture(standing_at(store, site, moment(at, site, now=now)))
    view = View(site, units or site.units)
    made = water_change(seen, _share(amount, site))
    return {
        "site": name,
        "at": view.iso(seen.now.at),
        "units": view.family.value,
        "water_change": water_change_object(made, view),
        "version": __version__,
    }


def _share(amount: str | None, site: Site) -> float:
    if amount is None:
        return USUAL_SHARE
    text = amount.strip()
    if text.endswith("%"):
        return parse_number(text.removesuffix("%")) / 100.0
    if all(sign.isdigit() or sign in "./ " for sign in text):
        return parse_number(text)
    measures = {m.word: (m.amount, m.suffix) for m in site.measures}
    return parse(text, "_m3", measures=measures).middle / site.volume_m3
