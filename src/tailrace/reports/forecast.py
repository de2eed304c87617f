"""The forecast as an object: bands in the units shown, and what they say in words."""

from __future__ import annotations

from typing import Any

from tailrace.estimation.bands import Band, Forecast
from tailrace.quantities import Amount
from tailrace.reports.view import View
from tailrace.reports.words import label_of

Json = dict[str, Any]

NOT_SCORED = "90 % band, not yet scored against outcomes"


def forecast_object(made: Forecast, view: View) -> Json:
    """Write a forecast as an object.

    Parameters
    ----------
    made
        The forecast.
    view
        How the person sees the site.

    Returns
    -------
    dict
        Section ``forecast`` of the round, documented in docs/round.md.
    """
    if made.failed:
        return {
            "say": f"No forecast: {made.failed}.",
            "quantities": [],
            "assumed": [],
            "readings": [],
        }
    members = view.figure(Amount("count", float(made.members)))
    return {
        "say": (
            f"{NOT_SCORED}: {members} members run through the last days of the log and 7 days on."
        ),
        "quantities": [_band(band, made, view) for band in made.bands],
        "assumed": list(made.assumed),
        "readings": list(made.entries),
    }


def _band(band: Band, made: Forecast, view: View) -> Json:
    def shown(values: Any) -> list[float]:
        return [view.figure(Amount(band.subject, float(v))).middle for v in values]

    return {
        "quantity": band.subject,
        "label": label_of(band.subject),
        "unit": view.figure(band.after[3 * 86400.0]).unit,
        "times": [view.iso(moment) for moment in made.times],
        "p05": shown(band.p05),
        "p50": shown(band.p50),
        "p95": shown(band.p95),
        "in_words": [_after(seconds, amount, view) for seconds, amount in band.after.items()],
    }


def _after(seconds: float, amount: Amount, view: View) -> Json:
    figure = view.figure(amount)
    return {
        "after": view.figure(Amount("days", seconds)).as_object(),
        "amount": figure.as_object(),
        "say": f"in {seconds / 86400:.0f} days {figure}",
    }
