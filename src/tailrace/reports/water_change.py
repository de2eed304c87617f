"""A water change as one object."""

from __future__ import annotations

from typing import Any

from tailrace.advice.water_change import Changed, WaterChange
from tailrace.quantities import Amount
from tailrace.reports.view import View
from tailrace.reports.words import label_of
from tailrace.site import Treatment

Json = dict[str, Any]

_CAUTIONS = {
    Treatment.CHLORAMINE: (
        "Remove chlorine and chloramine first: taking chloramine apart leaves ammonia, so use a "
        "conditioner made for it by its label and test total ammonia after."
    ),
    Treatment.CHLORINE: "Remove chlorine first: stand and aerate it for a day, or neutralise it.",
    Treatment.NONE: "No disinfectant is expected; aerate well water first, it may lack oxygen.",
}
_USUAL = (
    "Pour slowly, away from the fish; unplug heaters and pumps that would fall dry. Discharge the "
    "old water by local rules."
)


def water_change_object(made: WaterChange, view: View) -> Json:
    """Write a water change as one object.

    Parameters
    ----------
    made
        The water change.
    view
        How the person sees the site.

    Returns
    -------
    dict
        ``share``, ``volume``, ``changed``, ``temperature_step``, ``say``, ``caution``,
        ``readings``.
    """
    volume = view.figure(Amount("water_volume", made.volume_m3))
    share = view.figure(Amount("share", made.share))
    step = None if made.temperature_step is None else view.figure(made.temperature_step)
    say = f"Changing {volume} ({share}) of the water:"
    if step is not None and made.step_too_large:
        say += f" bring the new water near the tank's temperature first, it would step by {step};"
    return {
        "share": share.as_object(),
        "volume": volume.as_object(),
        "changed": [_row(row, view) for row in made.changed],
        "temperature_step": None if step is None else step.as_object(),
        "say": say,
        "caution": f"{_CAUTIONS[made.treatment]} {_USUAL}",
        "readings": list(made.entries),
    }


def _row(row: Changed, view: View) -> Json:
    before, after = (
        None if amount is None else view.figure(amount).as_object()
        for amount in (row.before, row.after)
    )
    return {
        "quantity": row.subject,
        "label": label_of(row.subject),
        "before": before,
        "after": after,
        "computed": row.computed,
        "why_not": row.why_not,
    }
