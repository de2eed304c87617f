"""What an answer took for granted, each in one sentence with the entries behind it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tailrace.estimation.quality import newest
from tailrace.estimation.today import Picture
from tailrace.quantities import Amount
from tailrace.reports.view import View
from tailrace.site import Treatment


def assumptions(
    seen: Picture, said_of_file: tuple[str, ...], view: View
) -> Iterator[dict[str, Any]]:
    """Yield what the round took for granted.

    Parameters
    ----------
    seen
        Everything known about now.
    said_of_file
        What the site's file left to defaults, in words.
    view
        How the person sees the site.

    Yields
    ------
    dict
        ``say`` and ``readings``.
    """
    for text, readings in (*_of_log(seen, view), *_of_machine(seen)):
        yield {"say": text, "readings": list(readings)}
    for text in said_of_file:
        yield {"say": f"Site file: {text}", "readings": []}


Said = tuple[str, tuple[str, ...]]


def _of_log(seen: Picture, view: View) -> Iterator[Said]:
    now, built = seen.now, seen.now.site.filter
    yield from _setting("Bypass", "bypass_set", now.bypass, built.start.bypass_open_frac, view)
    yield from _setting("Air float", "air_float", now.air_float, built.start.air_float_m3_s, view)
    fed = now.feeding
    if fed.days_not_written:
        yield (
            f"On {fed.days_not_written} of the last {fed.days_written + fed.days_not_written} "
            "days no feed was written: the usual ration, give or take half.",
            fed.entries,
        )
    for earlier, later in now.same_thing_twice():
        if now.age_s(later) < 7 * 86400:
            yield (
                "Two entries within half an hour by two people are counted as one at the least "
                "and two at the most.",
                (earlier.id, later.id),
            )
    for answer in now.settled:
        how = "both count" if answer.two else "the first of them counts"
        yield f"Asked 'one or two?' about two entries: {how}.", (answer.first, answer.second)


def _setting(name: str, kind: str, known: Any, began: float, view: View) -> Iterator[Said]:
    value, start = view.figure(Amount(kind, known.value)), view.figure(Amount(kind, began))
    if known.from_file:
        yield f"{name} at {value:mid}, as the site file began; no setting is in the log.", ()
    elif f"{value:mid}" != f"{start:mid}":
        yield (
            f"{name} at {value:mid} by the log; the site file began at {start:mid}. The log wins.",
            known.entries,
        )


def _of_machine(seen: Picture) -> Iterator[Said]:
    now = seen.now
    if not now.air_float.from_file:
        yield (
            "The mark of the air float was set just after a backwash.",
            now.air_float.entries,
        )
    yield "The bead bed is clean: deposits are not computed yet.", ()
    if now.site.source_water.treatment is Treatment.NOT_KNOWN:
        yield "The treatment of the make-up water is not known: taken as chloramine.", ()
    if newest(now, "conductivity") is None:
        yield (
            "No conductivity reading: as much salt is assumed as such water usually holds; it "
            "lowers the toxic part by about a twentieth.",
            (),
        )
    yield "How many beads go with a drain is a guess: their geometry was never measured.", ()
