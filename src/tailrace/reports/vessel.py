"""The filter as numbers to draw: its measures, its pressures, and where the face is now."""

from __future__ import annotations

import math
from datetime import datetime
from typing import Any

from tailrace.advice.next_backwash import NextBackwash
from tailrace.beadfilter.charge import fill_frac_at
from tailrace.beadfilter.circuit import face_pressure_pa_gauge
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount
from tailrace.reports.view import View

GRAVITY_M_S2 = 9.80665

Json = dict[str, Any]


def vessel_object(seen: Picture, coming: NextBackwash, view: View) -> Json:
    """Write the filter's measures and pressures as an object.

    Parameters
    ----------
    seen
        Everything known about now.
    coming
        The next backwash.
    view
        How the person sees the site.

    Returns
    -------
    dict
        ``backwash.vessel`` of the round: measures, ``face_depth`` below the roof of the air
        chamber (None when no backwash in the log tells it), ``pressures`` each with its label.

    Notes
    -----
    The depth of the bead bed is its volume over the hull's area; that of the sludge cone three
    times its volume over the chamber's area, as of a full cone. Pressures are those of the
    machine as described, above the local air.
    """
    machine = seen.now.site.filter.machine
    bed, chamber = machine.bed, machine.chamber
    hull_m2 = math.pi / 4.0 * bed.diameter_m**2
    heights = {
        "hull_diameter": bed.diameter_m,
        "bead_bed_depth": bed.volume_m3 / hull_m2,
        "chamber_diameter": math.sqrt(4.0 * chamber.area_m2 / math.pi),
        "roof_height": chamber.roof_height_m,
        "release_depth": chamber.trigger_depth_m,
        "cone_depth": 3.0 * chamber.cone_volume_m3 / chamber.area_m2,
        "outlet_height": machine.outlet_height_m,
    }
    face = _face_depth(seen, coming)
    return {
        **{name: _json(view, Amount("height", value)) for name, value in heights.items()},
        "cone_volume": _json(view, Amount("sludge_volume", chamber.cone_volume_m3)),
        "face_depth": None if face is None else _json(view, face),
        "pressures": [
            {"key": key, "label": label, "pressure": _json(view, Amount("pressure", value))}
            for key, label, value in _pressures(seen)
        ],
    }


def _pressures(seen: Picture) -> list[tuple[str, str, float]]:
    made, machine = seen.air.nominal, seen.now.site.filter.machine
    water, pump = made.water, machine.air_pump
    tee = water.density_kg_m3 * GRAVITY_M_S2 * water.tee_head_m
    return [
        ("tee", "Water at the tee after the pump, counted at the sump's level", tee),
        (
            "roof",
            "Water under the bead bed, counted at the roof of the air chamber",
            float(face_pressure_pa_gauge(water, machine, 0.0)),
        ),
        ("bead_bed", "Lost by the water in the bead bed", water.bed_loss_pa),
        ("return", "Lost by the water in the return", water.return_loss_pa),
        ("release", "Water against the air at the release depth", made.face_end_pa_gauge),
        ("check_valve", "Taken by the check valve", machine.check_valve_pa),
        ("air_pump", "The air pump at most", pump.maximum_pa_gauge * pump.wear_frac),
    ]


def _face_depth(seen: Picture, coming: NextBackwash) -> Amount | None:
    """Return how deep the air reaches now, from the share of the interval that is over."""
    charge, interval = seen.air.nominal, seen.air.interval
    if coming.likely is None or coming.earliest is None or coming.latest is None:
        return None
    if interval is None or not math.isfinite(charge.interval_s):
        return None
    assert interval.p05 is not None
    assert interval.p95 is not None
    depth = seen.now.site.filter.machine.chamber.trigger_depth_m

    def reached(due: datetime, interval_s: float) -> float:
        over = 1.0 - (due - seen.now.at).total_seconds() / interval_s
        return depth * fill_frac_at(charge, charge.interval_s * max(0.0, over))

    return Amount(
        "height",
        reached(coming.likely, interval.p50),
        reached(coming.latest, interval.p95),
        reached(coming.earliest, interval.p05),
    )


def _json(view: View, amount: Amount) -> dict[str, float | str]:
    return view.figure(amount).as_object()
