"""Charts of the water over time, as SVG text drawn for the width of a phone.

Each chart carries a title and a description; limits are told apart by their words and dashes,
never by colour alone. Open `tailrace.reports.series` for what goes in.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, product

from tailrace.reports.axes import number_ticks, time_ticks
from tailrace.reports.series import Event, LimitLine, Series, Span
from tailrace.reports.svg import Drawing, number

WIDTH, HEIGHT = 330.0, 190.0
LEFT, RIGHT, TOP, BOTTOM = 42.0, 10.0, 20.0, 24.0
ROW = 34.0
LETTER = 6.9  # pixels that a letter of the limits' words takes, at most
_CLASSES = {
    "not comfortable": "limit edge",
    "act today": "limit act",
    "can harm within hours": "limit harm",
}
_NEAR = 0.6  # a limit within this share of the data's span beyond it is shown
_PAD = 0.08
_LEAST_GAP = 14.0  # between two lines of text


@dataclass(frozen=True, slots=True)
class _Frame:
    """Where values and times lie on the paper."""

    low: float
    high: float
    span: Span

    def x(self, share: float) -> float:
        return LEFT + (WIDTH - LEFT - RIGHT) * share

    def y(self, value: float) -> float:
        inside = (value - self.low) / (self.high - self.low)
        return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * min(1.0, max(0.0, inside))


@dataclass(frozen=True, slots=True)
class _Box:
    """Where words lie: their left end, base line and length."""

    left: float
    base: float
    length: float

    def meets(self, x: float, top: float, bottom: float) -> bool:
        """Tell whether an upright stroke runs through the words."""
        beside = self.left - 3.0 <= x <= self.left + self.length + 3.0
        return beside and bottom >= self.base - 11.0 and top <= self.base + 3.0

    def overlaps(self, other: _Box) -> bool:
        """Tell whether two lines of words run into each other."""
        beside = self.left < other.left + other.length and other.left < self.left + self.length
        return beside and abs(self.base - other.base) < _LEAST_GAP


def shown_limits(series: Series) -> tuple[LimitLine, ...]:
    """Return the limits that a chart has room for: the nearest one, and those near the data.

    Parameters
    ----------
    series
        What the chart shows.

    Returns
    -------
    tuple of LimitLine
        In rising order.
    """
    low, high = _data_range(series)
    near = _NEAR * max(high - low, 0.02 * abs(high))

    def away(limit: LimitLine) -> float:
        return max(low - limit.value, limit.value - high, 0.0)

    nearest = min(map(away, series.limits), default=0.0)
    chosen = [limit for limit in series.limits if away(limit) <= max(near, nearest)]
    return tuple(sorted(chosen, key=lambda limit: limit.value))


def has_data(series: Series) -> bool:
    """Tell whether there is anything to draw.

    Parameters
    ----------
    series
        What the chart would show.

    Returns
    -------
    bool
        True with a reading or a forecast.
    """
    return bool(series.marks) or series.band is not None


def _data_range(series: Series) -> tuple[float, float]:
    values = [value for mark in series.marks for value in (mark.low, mark.top)]
    if series.band is not None:
        values += [*series.band.p05, *series.band.p95]
    return min(values), max(values)


def water_chart(series: Series, span: Span) -> str:
    """Draw one water quantity.

    Parameters
    ----------
    series
        Its readings, limits and forecast; with at least one reading or a forecast.
    span
        The stretch of time.

    Returns
    -------
    str
        SVG text.
    """
    limits = shown_limits(series)
    low, high = _data_range(series)
    ends = [low, high, *(limit.value for limit in limits)]
    low, high = min(ends), max(ends)
    room = _PAD * (high - low) or 0.05 * abs(high) or 1.0
    frame = _Frame(max(0.0, low - room) if low >= 0.0 else low - room, high + room, span)
    unit = f" [{series.unit}]" if series.unit else ""
    heading = f"{series.label[0].upper()}{series.label[1:]}" if series.label != "pH" else "pH"
    drawing = Drawing(
        f"chart-{series.quantity}", WIDTH, HEIGHT, title=f"{heading}{unit}", desc=series.say
    )
    _axes(drawing, frame, unit=series.unit or "pH")
    _band(drawing, frame, series)
    for limit in limits:
        y = frame.y(limit.value)
        drawing.line(_CLASSES[limit.level], [(LEFT, y), (WIDTH - RIGHT, y)])
    _marks(drawing, frame, series)
    _limit_words(drawing, frame, limits, series)
    return drawing.svg()


def _axes(drawing: Drawing, frame: _Frame, *, unit: str) -> None:
    drawing.text("unit", LEFT, 12.0, unit)
    for value in number_ticks(frame.low, frame.high):
        y = frame.y(value)
        drawing.line("grid", [(LEFT, y), (WIDTH - RIGHT, y)])
        drawing.text("tick", LEFT - 6.0, y + 4.0, f"{value:g}", anchor="end")
    _time_axis(drawing, frame.span, HEIGHT)


def _time_axis(drawing: Drawing, span: Span, height: float) -> None:
    bottom = height - BOTTOM
    drawing.line("axis", [(LEFT, bottom), (WIDTH - RIGHT, bottom)])
    width = WIDTH - LEFT - RIGHT
    for at, label in time_ticks(span.start, span.end, span.zone):
        x = LEFT + width * span.share(at)
        drawing.line("axis", [(x, bottom), (x, bottom + 4.0)])
        beside = "end" if x > WIDTH - 24.0 else "start" if x < LEFT + 4.0 else "middle"
        drawing.text("tick", x, bottom + 17.0, label, anchor=beside)
    if span.end > span.now:
        x = LEFT + width * span.share(span.now)
        drawing.line("now", [(x, TOP - 6.0), (x, bottom)])
        drawing.text("tick", x, TOP - 8.0, "now", anchor="middle")


def _band(drawing: Drawing, frame: _Frame, series: Series) -> None:
    band = series.band
    if band is None:
        return
    xs = [frame.x(frame.span.share(at)) for at in band.times]
    upper = [(x, frame.y(value)) for x, value in zip(xs, band.p95, strict=True)]
    lower = [(x, frame.y(value)) for x, value in zip(xs, band.p05, strict=True)]
    drawing.line("band", [*upper, *reversed(lower)], closed=True)
    drawing.line("middle", [(x, frame.y(value)) for x, value in zip(xs, band.p50, strict=True)])


def _limit_words(
    drawing: Drawing, frame: _Frame, limits: Sequence[LimitLine], series: Series
) -> None:
    """Write each limit beside its line, where all together cover the fewest readings."""
    places = [_places(frame, limit) for limit in limits]
    hidden = {box: _hidden(box, frame, series) for boxes in places for box in boxes}

    def cost(chosen: tuple[_Box, ...]) -> int:
        clashes = sum(one.overlaps(other) for one, other in combinations(chosen, 2))
        return 1000 * clashes + sum(hidden[box] for box in chosen)

    best = min(product(*places), key=cost)  # a chart shows few limits, of four places each
    for limit, box in zip(limits, best, strict=True):
        drawing.text("limit-words", box.left, box.base, limit.words)


def _places(frame: _Frame, limit: LimitLine) -> list[_Box]:
    """Return where the words of a limit may stand: above or below its line, left or right."""
    line, length = frame.y(limit.value), LETTER * len(limit.words)
    right = WIDTH - RIGHT - 2.0
    return [
        _Box(left, base, length)
        for base in (line - 4.0, line + 13.0)
        if TOP - 6.0 <= base <= HEIGHT - BOTTOM - 2.0
        for left in (right - length, LEFT + 4.0)
    ]


def _hidden(box: _Box, frame: _Frame, series: Series) -> int:
    """Return how many readings and moments of the band the words would cover."""
    strokes = [(mark.at, mark.top, mark.low) for mark in series.marks]
    if series.band is not None:
        strokes += zip(series.band.times, series.band.p95, series.band.p05, strict=True)
    return sum(
        box.meets(frame.x(frame.span.share(at)), frame.y(high), frame.y(low))
        for at, high, low in strokes
    )


def _marks(drawing: Drawing, frame: _Frame, series: Series) -> None:
    """Draw a bar from end to end of each reading, a dot where both meet, an arrow if open."""
    bars, dots, open_ends = [], [], []
    for mark in series.marks:
        x = frame.x(frame.span.share(mark.at))
        low, high = frame.y(mark.low), frame.y(mark.top)
        if mark.high is None:
            open_ends.append(f"M{number(x)} {number(low)}v-14m-4 5l4-5 4 5")
        elif low - high < 1.0:
            dots.append(f"M{number(x)} {number(low)}h0")
        else:
            bars.append(f"M{number(x)} {number(low)}V{number(high)}")
    for name, parts in (("bar", bars), ("dot", dots), ("at-least", open_ends)):
        if parts:
            drawing.add("path", name, d="".join(parts))


def events_chart(events: Sequence[Event], span: Span) -> str:
    """Draw what was done and seen, one row a kind.

    Parameters
    ----------
    events
        At least one event.
    span
        The stretch of time.

    Returns
    -------
    str
        SVG text.
    """
    kinds = list(dict.fromkeys(event.kind for event in events))
    height = TOP + ROW * len(kinds) + BOTTOM
    counts = [(kind, sum(event.kind == kind for event in events)) for kind in kinds]
    desc = "; ".join(f"{kind}: {count}" for kind, count in counts) + "."
    drawing = Drawing("chart-events", WIDTH, height, title="Done and seen", desc=desc)
    _time_axis(drawing, span, height)
    for place, kind in enumerate(kinds):
        base = TOP + ROW * (place + 1) - 10.0
        drawing.text("tick", LEFT, base - 9.0, kind)
        drawing.line("grid", [(LEFT, base), (WIDTH - RIGHT, base)])
        drawing.add("path", "event", d="".join(_ticks(events, kind, span, base)))
    return drawing.svg()


def _ticks(events: Sequence[Event], kind: str, span: Span, base: float) -> Iterator[str]:
    for event in events:
        if event.kind == kind:
            x = LEFT + (WIDTH - LEFT - RIGHT) * span.share(event.at)
            yield f"M{number(x)} {number(base - 5.0)}v10"
