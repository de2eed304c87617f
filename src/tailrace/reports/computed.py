"""What the machine as described does at its start, for a site file that is being checked."""

from __future__ import annotations

from collections.abc import Iterator

from tailrace.advice.air import steady_setting
from tailrace.beadfilter.charge import charge
from tailrace.beadfilter.circuit import water_state
from tailrace.beadfilter.machine import Day, Setting
from tailrace.beadfilter.setting import needle_gap_for_float_m
from tailrace.quantities import Amount
from tailrace.reports.view import View


def computed_lines(view: View, day: Day) -> Iterator[str]:
    """Yield what the filter as described does at its starting settings.

    Parameters
    ----------
    view
        The site and the units shown.
    day
        The day the machine works in.

    Yields
    ------
    str
        One sentence.
    """
    built = view.site.filter
    machine, start = built.machine, built.start
    state = water_state(machine, start.bypass_open_frac, day)
    flows = [Amount("water_flow", f) for f in (state.filter_flow_m3_s, state.bypass_flow_m3_s)]
    yield (
        f"The loop holds {view.figure(Amount('water_volume', view.site.volume_m3))}; "
        f"{view.figure(flows[0])} go through the filter and {view.figure(flows[1])} through "
        "the bypass."
    )
    gap = needle_gap_for_float_m(machine, start.bypass_open_frac, start.air_float_m3_s, day)
    made = charge(machine, Setting(start.bypass_open_frac, gap), day, water=state)
    if made.per_day > 0:
        yield (
            f"At the starting setting the filter backwashes {made.per_day:.2g} times a day, each "
            f"{view.figure(Amount('duration', made.interval_s))}, with a margin of "
            f"{view.figure(Amount('pressure', made.margin_end_pa))} at the release depth."
        )
    else:
        yield f"At the starting setting: {made.outcome.text}"
    opening, enough = steady_setting(built, day)
    if not enough:
        yield (
            "No opening of the bypass leaves the air pump the wanted margin: the best is "
            f"{view.figure(Amount('bypass_set', opening))}. A stronger air pump is due."
        )
    yield from _measured(view, day)


def _measured(view: View, day: Day) -> Iterator[str]:
    built = view.site.filter
    measured = built.measured
    if measured.bypass_open_frac is None:
        return
    state = water_state(built.machine, measured.bypass_open_frac, day)
    for name, timed, computed in (
        ("return", measured.return_flow_m3_s, state.filter_flow_m3_s),
        ("bypass", measured.bypass_flow_m3_s, state.bypass_flow_m3_s),
    ):
        if timed is not None:
            yield (
                f"Timed at the {name}: {view.figure(Amount('water_flow', timed))}; computed "
                f"{view.figure(Amount('water_flow', computed))}."
            )
