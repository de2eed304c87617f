"""The filter cut open: a labelled drawing to scale, with its pressures and where the face is.

Measures come from `tailrace.reports.vessel`. The throat, the pipes and the room around the bead
bed are not in a site file: they are sketched. `balance_chart` sets the air against the water.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from tailrace.reports.axes import number_ticks
from tailrace.reports.rows import figure
from tailrace.reports.svg import Drawing, number

Json = dict[str, Any]

WIDTH = 340.0
TOP = 26.0
TALLEST, WIDEST = 400.0, 84.0  # pixels that the vessel may take
AXIS_X = 94.0
LABEL_X = 160.0
LABEL_GAP = 38.0
THROAT, INLET_ROOM, OVER_BEADS = 0.25, 0.4, 0.2  # of the bead bed's depth; sketched
BELOW_RELEASE = 0.2  # of the release depth; sketched
TUBE = 9.0  # half width of the throat in pixels; sketched
PIPE = 5.0

_MEASURES = (
    *("hull_diameter", "bead_bed_depth", "chamber_diameter", "roof_height", "release_depth"),
    *("cone_depth", "outlet_height", "cone_volume"),
)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Label:
    """A label and the point that its leader meets."""

    at: Point
    name: str
    value: str


class _Vessel:
    """Heights above the sump, in the unit shown, and where they lie on the paper."""

    def __init__(self, vessel: Json) -> None:
        size = {
            k: float(v["value"]) for k, v in vessel.items() if isinstance(v, dict) and "value" in v
        }
        bead_bed, release = size["bead_bed_depth"], size["release_depth"]
        self.roof = size["roof_height"]
        self.release = self.roof - release
        self.floor = self.release - BELOW_RELEASE * release
        self.drain = self.floor - size["cone_depth"]
        self.hull = self.roof + THROAT * bead_bed
        self.beads = self.hull + INLET_ROOM * bead_bed
        self.screen = self.beads + bead_bed
        self.lid = self.screen + OVER_BEADS * bead_bed
        self.outlet = size["outlet_height"]
        self.top = max(self.lid, self.outlet)
        self.bottom = min(self.drain, 0.0)
        widest = max(size["hull_diameter"], size["chamber_diameter"])
        self.scale = min(TALLEST / (self.top - self.bottom), WIDEST / widest)
        self.hull_half = 0.5 * self.scale * size["hull_diameter"]
        self.chamber_half = 0.5 * self.scale * size["chamber_diameter"]
        self.cone = size["cone_depth"]
        self.cone_volume = size["cone_volume"]

    def y(self, height: float) -> float:
        return TOP + (self.top - height) * self.scale

    def sludge_level(self, volume: float) -> float:
        """Height that a volume of sludge reaches: in the cone, or above a full one."""
        share = volume / self.cone_volume
        if share <= 1.0:
            return float(self.drain + self.cone * share ** (1.0 / 3.0))
        return float(self.floor + self.cone * (share - 1.0) / 3.0)

    def half_at(self, height: float) -> float:
        """Half width of the chamber or its cone at a height."""
        return self.chamber_half * min(1.0, max(0.0, (height - self.drain) / self.cone))


def section_drawing(backwash: Json, drain: Json) -> str:
    """Draw the filter cut open.

    Parameters
    ----------
    backwash, drain
        Sections of a round object.

    Returns
    -------
    str
        SVG text.
    """
    vessel = _Vessel(backwash["vessel"])
    labels = _labels(vessel, backwash, drain)
    bases = _spread([vessel.y(0.0) if not label.name else label.at[1] for label in labels])
    height = max(vessel.y(vessel.bottom) + 26.0, bases[-1] + 34.0)
    drawing = Drawing(
        "section",
        WIDTH,
        height,
        title="The filter cut open",
        desc="; ".join(f"{label.name}: {label.value}" for label in labels) + ".",
    )
    _beads_pattern(drawing)
    _water(drawing, vessel)
    _air(drawing, vessel, backwash["vessel"]["face_depth"])
    _sludge(drawing, vessel, drain["sludge_now"])
    _walls(drawing, vessel)
    _pipes(drawing, vessel)
    for label, base in zip(labels, bases, strict=True):
        _leader(drawing, label, base)
    return drawing.svg()


def _labels(vessel: _Vessel, backwash: Json, drain: Json) -> list[_Label]:
    """Return the labels from top to bottom."""
    pressures = {row["key"]: figure(row["pressure"]) for row in backwash["vessel"]["pressures"]}
    face, sludge = backwash["vessel"]["face_depth"], drain["sludge_now"]
    right, chamber = AXIS_X + vessel.hull_half, AXIS_X + vessel.chamber_half
    window = f"{figure(drain['window']['best'])}, at last {figure(drain['window']['closes'])}"
    if face is not None:
        where = ("face now", f"{figure(face)} down")
    elif backwash["interval"] is None:
        where = ("face: not known now", "likely no backwash so set")
    else:
        where = ("face: not known now", "log a backwash to see it")
    middle = 0.5 * (vessel.screen + vessel.beads)
    depth = 0.5 * (vessel.roof - vessel.release) if face is None else face["p50"]
    level = vessel.drain if sludge is None else vessel.sludge_level(sludge["p50"])
    found = [
        _Label((AXIS_X, vessel.y(vessel.outlet)), "return outlet", f"loses {pressures['return']}"),
        _Label((right, vessel.y(middle)), "bead bed", f"loses {pressures['bead_bed']}"),
        _Label(
            (right, vessel.y(0.5 * (vessel.hull + vessel.beads))),
            "filter inlet",
            figure(backwash["filter_flow"]),
        ),
        _Label((chamber, vessel.y(vessel.roof)), "roof of the air chamber", pressures["roof"]),
        _Label(
            (chamber - 6.0, vessel.y(vessel.roof - depth)),
            *where,
        ),
        _Label((chamber, vessel.y(vessel.release)), "release depth", pressures["release"]),
        _Label(
            (AXIS_X + 0.7 * vessel.half_at(level), vessel.y(level)),
            "sludge",
            figure(sludge) if sludge else "not known",
        ),
        _Label(
            (AXIS_X + 5.0, vessel.y(vessel.drain) + 8.0),
            "drain after a backwash",
            "not now" if drain["refused"] else window,
        ),
    ]
    return sorted(found, key=lambda label: label.at[1])


def _spread(wanted: Sequence[float]) -> list[float]:
    """Move labels apart so that no two meet, as little as may be."""
    placed: list[float] = []
    for y in wanted:
        placed.append(y if not placed else max(y, placed[-1] + LABEL_GAP))
    if len(placed) > 1:  # share what the last ones were pushed down among all
        pushed = max(0.0, placed[-1] - wanted[-1])
        placed[-1] -= 0.5 * pushed
        for place in range(len(placed) - 2, -1, -1):
            placed[place] = max(TOP, min(placed[place], placed[place + 1] - LABEL_GAP))
    return placed


def _leader(drawing: Drawing, label: _Label, base: float) -> None:
    x, y = label.at
    drawing.line("leader", [(x, y), (LABEL_X - 14.0, base), (LABEL_X - 4.0, base)])
    drawing.add("circle", "leader-end", cx=x, cy=y, r=2.0)
    drawing.text("label", LABEL_X, base + 1.0, label.name)
    drawing.text("value", LABEL_X, base + 16.0, label.value)


def _beads_pattern(drawing: Drawing) -> None:
    pattern = drawing.add(
        "pattern", "", id="beads", width=7.0, height=7.0, patternUnits="userSpaceOnUse"
    )
    for x, y in ((1.8, 1.8), (5.3, 5.3)):
        dot = drawing.add("circle", "bead", cx=x, cy=y, r=1.6)
        drawing.move_into(pattern, dot)


def _box(drawing: Drawing, name: str, half: float, *, upper: float, lower: float) -> None:
    drawing.line(
        name,
        [
            (AXIS_X - half, upper),
            (AXIS_X + half, upper),
            (AXIS_X + half, lower),
            (AXIS_X - half, lower),
        ],
        closed=True,
    )


def _water(drawing: Drawing, v: _Vessel) -> None:
    _box(drawing, "water", v.hull_half, upper=v.y(v.lid), lower=v.y(v.hull))
    _box(drawing, "water", v.chamber_half, upper=v.y(v.roof), lower=v.y(v.floor))
    drawing.line("water", _cone(v, v.floor), closed=True)
    drawing.add(
        "rect",
        "beads",
        fill="url(#beads)",
        x=AXIS_X - v.hull_half,
        y=v.y(v.screen),
        width=2.0 * v.hull_half,
        height=v.y(v.beads) - v.y(v.screen),
    )


def _cone(v: _Vessel, level: float) -> list[Point]:
    half = v.half_at(level)
    return [
        (AXIS_X - half, v.y(level)),
        (AXIS_X + half, v.y(level)),
        (AXIS_X + 3.0, v.y(v.drain)),
        (AXIS_X - 3.0, v.y(v.drain)),
    ]


def _air(drawing: Drawing, v: _Vessel, face: Json | None) -> None:
    """Draw the air down to the face; where it is not known, down to the release depth."""
    depth = v.roof - v.release if face is None else float(face["p50"])
    name = "air unknown" if face is None else "air"
    _box(drawing, name, v.chamber_half, upper=v.y(v.roof), lower=v.y(v.roof - depth))
    if face is None:
        return
    x = AXIS_X + v.chamber_half - 6.0
    drawing.line("bar", [(x, v.y(v.roof - face["p05"])), (x, v.y(v.roof - face["p95"]))])


def _sludge(drawing: Drawing, v: _Vessel, sludge: Json | None) -> None:
    if sludge is None:
        return
    level = min(v.sludge_level(sludge["p50"]), v.release)
    drawing.line("sludge", _cone(v, min(level, v.floor)), closed=True)
    if level > v.floor:
        _box(drawing, "sludge", v.chamber_half, upper=v.y(level), lower=v.y(v.floor))


def _walls(drawing: Drawing, v: _Vessel) -> None:
    left, right = AXIS_X - v.hull_half, AXIS_X + v.hull_half
    deep = v.y(v.release - 0.1 * (v.roof - v.release))
    hull, roof, floor, foot = v.y(v.hull), v.y(v.roof), v.y(v.floor), v.y(v.drain)
    near, far = AXIS_X - v.chamber_half, AXIS_X + v.chamber_half
    _box(drawing, "throat", TUBE, upper=hull, lower=deep)
    drawing.line("wall", [(AXIS_X - TUBE, hull), (left, hull), (left, v.y(v.lid))])
    drawing.line("wall", [(left, v.y(v.lid)), (right, v.y(v.lid)), (right, hull)])
    drawing.line("wall", [(right, hull), (AXIS_X + TUBE, hull), (AXIS_X + TUBE, deep)])
    drawing.line("wall", [(AXIS_X - TUBE, hull), (AXIS_X - TUBE, deep)])
    for sign, side in ((-1.0, near), (1.0, far)):
        way = [
            (AXIS_X + sign * TUBE, roof),
            (side, roof),
            (side, floor),
            (AXIS_X + sign * 3.0, foot),
        ]
        drawing.line("wall", way)
    drawing.line("screen", [(left, v.y(v.screen)), (right, v.y(v.screen))])
    drawing.line("depth", [(near, v.y(v.release)), (far, v.y(v.release))])


def _pipes(drawing: Drawing, v: _Vessel) -> None:
    """Sketch the pipes with the way of the water and the air."""
    left, outlet = AXIS_X - v.hull_half, v.y(v.outlet)
    lid, inlet = v.y(v.lid), v.y(0.5 * (v.hull + v.beads))
    drawing.line("pipe", [(AXIS_X, lid), (AXIS_X, outlet), (14.0, outlet), (14.0, outlet + 14.0)])
    _arrow(drawing, (14.0, outlet + 20.0), 0.0, 1.0)
    drawing.line("pipe", [(4.0, inlet), (left, inlet)])
    _arrow(drawing, (left + 6.0, inlet), 1.0, 0.0)
    _arrow(drawing, (AXIS_X, v.y(v.beads) + 3.0), 0.0, -1.0)
    roof = v.y(v.roof) + 7.0
    near = AXIS_X - v.chamber_half
    drawing.line("hose", [(4.0, roof), (near, roof)])
    _arrow(drawing, (near + 6.0, roof), 1.0, 0.0)
    drawing.line("pipe", [(AXIS_X, v.y(v.drain)), (AXIS_X, v.y(v.drain) + 12.0)])
    level = v.y(0.0)
    drawing.line("sump", [(2.0, level), (AXIS_X + v.hull_half + 4.0, level)])
    drawing.text("tick", 2.0, outlet - 8.0, "to the tank")
    drawing.text("tick", 2.0, inlet - 8.0, "water")
    drawing.text("tick", 2.0, roof + 15.0, "air")
    drawing.text("tick", 2.0, level - 4.0, "sump")
    drawing.text("tick", 2.0, level + 14.0, "level")


def _arrow(drawing: Drawing, tip: Point, right: float, down: float) -> None:
    x, y = tip
    back = (x - PIPE * right, y - PIPE * down)
    side = (PIPE * 0.7 * down, PIPE * 0.7 * right)
    drawing.line(
        "arrow",
        [tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])],
        closed=True,
    )


def balance_chart(backwash: Json) -> str:
    """Set the air pump's pressure against the water's at the release depth.

    Parameters
    ----------
    backwash
        Section ``backwash`` of a round object.

    Returns
    -------
    str
        SVG text.
    """
    water, margin = backwash["face_pressure"], backwash["margin"]
    against = float(water["value"])
    ends = {key: against + float(margin[key]) for key in ("p05", "p50", "p95")}
    top = 1.08 * max(against, *ends.values(), 1e-9)
    desc = f"Water {figure(water)}; margin of the air {figure(margin)}."
    drawing = Drawing("balance", WIDTH, 164.0, title="Air against water", desc=desc)
    left, right = 4.0, WIDTH - 8.0

    def x(pressure: float) -> float:
        return left + (right - left) * max(0.0, pressure) / top

    for value in number_ticks(0.0, top):
        drawing.line("grid", [(x(value), 14.0), (x(value), 136.0)])
        unit = f" {water['unit']}" if value == 0.0 else ""
        anchor = "start" if value == 0.0 else "middle"
        drawing.text("tick", x(value), 154.0, f"{value:g}{unit}", anchor=anchor)
    drawing.text("label", left, 12.0, f"water at the release depth: {figure(water)}")
    drawing.add("rect", "water-bar", x=left, y=20.0, width=x(against) - left, height=22.0)
    drawing.text("label", left, 64.0, "air pump, less its check valve")
    drawing.text("value", left, 112.0, f"margin {figure(margin)}")
    drawing.add("rect", "air-bar", x=left, y=72.0, width=x(ends["p50"]) - left, height=22.0)
    drawing.line("meets", [(x(against), 14.0), (x(against), 136.0)])
    low, high = x(ends["p05"]), x(ends["p95"])
    drawing.add(
        "path",
        "whisker",
        d=f"M{number(low)} 76v14M{number(low)} 83H{number(high)}M{number(high)} 76v14",
    )
    return drawing.svg()
