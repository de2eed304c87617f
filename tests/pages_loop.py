"""Write docs/theory/loop-against-prototype.md: ``python -m tests.pages_loop``."""

from __future__ import annotations

from pathlib import Path

from tests.loop_cases import (
    INTERVALS_H,
    at_interval,
    best_interval_h,
    days_until,
    event,
    ladder,
    opened_on_day_8,
    start_up,
)
from tests.loops import DAY_S

PAGE = Path(__file__).parents[1] / "docs" / "theory" / "loop-against-prototype.md"

# The prototype's printed results: feed g/d -> TAN, nitrite, pH, oxygen, rise of nitrate a day.
# Where it was coded twice the second coding stands behind the first.
LADDER: dict[float, tuple[tuple[float, ...], ...]] = {
    150.0: ((0.43, 0.41), (0.33, 0.32), (7.36, 7.38), (7.2, 7.3), (0.0,)),
    300.0: ((0.85, 0.77), (0.60, 0.57), (7.04, 7.08), (6.6, 6.65), (1.4,)),
    400.0: ((1.26,), (0.84,), (6.90,), (6.2,), (2.3,)),
    450.0: ((1.52, 1.34), (0.98, 0.90), (6.83, 6.87), (5.9, 6.0), (2.8,)),
    600.0: ((2.64, 2.21), (1.52, 1.36), (6.67, 6.71), (5.3, 5.4), (4.2,)),
}
# Interval h -> solids, TAN, nitrite at 150, 300, 450 g/d with plant bed, 450 without.
SHAPES: dict[float, tuple[tuple[float, float, float], ...]] = {
    0.5: ((3.5, 0.76, 0.49), (7.2, 1.55, 1.07), (10.8, 2.81, 1.70), (17.2, 6.7, 4.4)),
    1.0: ((2.7, 0.65, 0.50), (5.4, 1.20, 0.90), (8.0, 2.21, 1.37), (11.6, 3.44, 2.35)),
    4.0: ((1.9, 0.43, 0.34), (3.7, 0.85, 0.60), (5.5, 1.53, 0.98), (7.1, 2.01, 1.37)),
    6.0: ((1.8, 0.40, 0.30), (3.4, 0.82, 0.56), (5.1, 1.49, 0.95), (6.5, 1.96, 1.32)),
    8.0: ((1.7, 0.38, 0.28), (3.3, 0.81, 0.55), (4.9, 1.51, 0.95), (6.2, 2.04, 1.35)),
    12.0: ((1.6, 0.37, 0.26), (3.1, 0.84, 0.56), (4.7, 1.61, 1.01), (5.9, 2.36, 1.54)),
    24.0: ((1.5, 0.39, 0.27), (3.1, 1.01, 0.65), (5.0, 2.03, 1.25), (7.0, 3.81, 2.41)),
}
BEST = {(150.0, True): 12.0, (300.0, True): 8.0, (450.0, True): 6.0, (450.0, False): 6.0}
# degC -> TAN peak and day, nitrite peak and day, day by which both are below 1.
START_UP = {
    28.0: (6.5, 12.0, 17.0, 27.0, 34.0),
    25.0: (8.2, 16.0, 21.0, 35.0, 42.0),
    22.0: (10.0, 21.0, 26.0, 44.0, 54.0),
    18.0: (15.0, 31.0, 35.0, 63.0, 75.0),
}


class Tally:
    """Counts which comparisons meet their aim, for the head of the page."""

    def __init__(self) -> None:
        self.met: dict[str, list[bool]] = {}

    def factor(self, aim: str, here: float, there: tuple[float, ...], most: float) -> str:
        """Compare by ratio with the nearer of the prototype's values."""
        ok = any(1.0 / most <= here / value <= most for value in there)
        return self._mark(aim, ok, here, there)

    def within(self, aim: str, here: float, there: tuple[float, ...], most: float) -> str:
        """Compare by difference with the nearer of the prototype's values."""
        ok = any(abs(here - value) <= most for value in there)
        return self._mark(aim, ok, here, there)

    def yes(self, aim: str, ok: bool) -> None:
        """Count one that is met or not."""
        self.met.setdefault(aim, []).append(ok)

    def _mark(self, aim: str, ok: bool, here: float, there: tuple[float, ...]) -> str:
        self.yes(aim, ok)
        digits = "; ".join(f"{value:g}" for value in there)
        return f"{here:.2f} / {digits}{'' if ok else ' **off**'}"


def _ladder(tally: Tally) -> list[str]:
    lines = [
        "## Feed ladder",
        "",
        "27 degC, steady feed, alkalinity held towards 0.6 eq/m3, drained daily, 60 days, mean of "
        "the last three. Here / prototype (first coding; second).",
        "",
        "| feed g/d | total ammonia | nitrite | pH | oxygen | nitrate rise a day |",
        "|---|---|---|---|---|---|",
    ]
    for feed, (tan, nitrite, ph, oxygen, rise) in LADDER.items():
        run = ladder(feed)
        cells = (
            tally.factor("total ammonia within a factor 1.5", run.total_ammonia, tan, 1.5),
            tally.factor("nitrite within a factor 1.5", run.nitrite, nitrite, 1.5),
            tally.within("pH within 0.3", run.ph, ph, 0.3),
            tally.within("oxygen within 1 mg/L", run.oxygen, oxygen, 1.0),
            f"{run.nitrate_day:.1f} / {rise[0]:g}",
        )
        lines.append(f"| {feed:g} | " + " | ".join(cells) + " |")
    return [*lines, ""]


def _shapes(tally: Tally) -> list[str]:
    lines = [
        "## Interval of backwashes",
        "",
        "The interval is moved by scaling the air that a backwash takes, so the bead bed can lock "
        "up here, while the prototype imposed the interval. Solids, total ammonia, nitrite in "
        "mg/L; here / prototype (first coding).",
        "",
        "| interval h | 150 g/d | 300 g/d | 450 g/d | 450 g/d, no plant bed |",
        "|---|---|---|---|---|",
    ]
    cases = ((150.0, True), (300.0, True), (450.0, True), (450.0, False))
    for hours, there in SHAPES.items():
        cells = []
        for (feed, plants), (solids, tan, nitrite) in zip(cases, there, strict=True):
            run = at_interval(feed, hours, plants=plants)
            cells.append(
                f"{run.solids:.1f} {run.total_ammonia:.2f} {run.nitrite:.2f} / "
                f"{solids:g} {tan:g} {nitrite:g}"
            )
        lines.append(f"| {hours:g} | " + " | ".join(cells) + " |")
    lines += ["", "Interval with the least total ammonia, of those tried:", ""]
    for (feed, plants), there_h in BEST.items():
        here = best_interval_h(feed, plants=plants)
        text = tally.factor("best interval within a factor 2", here, (there_h,), 2.0)
        lines.append(f"- {feed:g} g/d{'' if plants else ', no plant bed'}: {text} h")
    listed = ", ".join(f"{h:g}" for h in INTERVALS_H)
    return [*lines, "", f"Tried: {listed} h.", ""]


def _start_up(tally: Tally) -> list[str]:
    lines = [
        "## Start-up",
        "",
        "100 g/d steady, alkalinity 2 eq/m3 held, hardly any film at first, nitrate 10 g N/m3. "
        "Peak in mg/L and its day; here / prototype. Heights depend on the nitrate at the start.",
        "",
        "| degC | ammonia peak | its day | nitrite peak | its day | both below 1 by |",
        "|---|---|---|---|---|---|",
    ]
    aim = "start-up peak days within 30 %"
    for degc, (ammonia, ammonia_day, nitrite, nitrite_day, done) in START_UP.items():
        run = start_up(degc)
        cells = (
            f"{run.ammonia:.1f} / {ammonia:g}",
            tally.factor(aim, run.ammonia_day, (ammonia_day,), 1.3),
            f"{run.nitrite:.1f} / {nitrite:g}",
            tally.factor(aim, run.nitrite_day, (nitrite_day,), 1.3),
            f"{run.done_day:.0f} / {done:g}",
        )
        lines.append(f"| {degc:g} | " + " | ".join(cells) + " |")
    return [*lines, ""]


def _stall(tally: Tally) -> list[str]:
    lines = [
        "## Overpowered by the water, and opened on day 8",
        "",
        "300 g/d, needle fixed. Prototype with the bypass shut: 110 g in the bead bed on day 2, "
        "198 g on day 8, backwashes within hours of opening, clean in under 2 days.",
        "",
        "| bypass | backwashes in 8 days | first after opening, h | in the bead bed on day 2, 8, "
        "10, g |",
        "|---|---|---|---|",
    ]
    for bypass in (0.30, 0.40, 0.65):
        found = opened_on_day_8(bypass)
        before = int((found.backwash_s < 8.0 * DAY_S).sum())
        after = found.backwash_s[found.backwash_s > 8.0 * DAY_S]
        wait_h = (float(after[0]) - 8.0 * DAY_S) / 3600.0 if after.size else float("inf")
        held = found["deposit_on_beads"]
        days = ", ".join(f"{held[4 * day]:.0f}" for day in (2, 8, 10))
        lines.append(f"| {bypass:g} | {before} | {wait_h:.1f} | {days} |")
        if bypass == 0.30:
            tally.yes("stall at bypass 0.30", before == 0)
            tally.yes("recovery within 2 days of opening", bool(wait_h < 48.0 and held[40] < 50.0))
        if bypass == 0.65:
            tally.yes("no stall at bypass 0.65", before > 8)
    return [*lines, ""]


_EVENTS = {
    "150 g uneaten each day": "6.8",
    "water pump off": "1.5",
    "no backwashes": "8.3",
}


def _events() -> list[str]:
    lines = [
        "## Events",
        "",
        "300 g/d, ripe, event on day 20 of the run; days until nitrite passes 1 g N/m3.",
        "",
        "| event | here | prototype |",
        "|---|---|---|",
    ]
    for name, there in _EVENTS.items():
        days = days_until(event(name), "nitrite", 1.0)
        here = "not in 12 days" if days is None else f"{days:.1f}"
        lines.append(f"| {name} | {here} | {there} |")
    return [*lines, ""]


_WHY = """## Where it differs, and why

- **Nitrite is lower, total ammonia somewhat.** The prototype adds the resistances of growth, film
  and flow at the concentration of the water (1/r = 1/r_growth + 1/(k A c) + ...). Here growth is
  taken at the concentration inside the film and both are solved together, a quadratic; half
  saturation then weighs less. With the prototype's sum put in its place, everything else left
  alone, 300, 450 and 600 g/d gave total ammonia 0.90, 1.55, 2.86 and nitrite 0.57, 0.88, 1.37:
  the prototype's own. The quadratic is exact for what it describes, so it was kept, and no
  constant was moved to make up for it. Real nitrite lies nearer to the prototype's ratio of 0.6
  to 0.8 of total ammonia (one abstract) than to the 0.4 to 0.6 found here, so the constants of
  nitrite oxidisers deserve a fit before this loop is trusted on nitrite.
- **pH is 0.1 to 0.2 lower.** Not taken apart; candidates are activity coefficients at 8 mol/m3
  (some 0.04), carbon dioxide from decaying film, which the prototype left out, and its other
  carbonate constants.
- **Oxygen is lower by 0.2 to 0.6 mg/L.** Not taken apart; decay of all film takes oxygen here,
  not that of heterotrophs alone, and air and water meet in three places instead of one.
- **Events do not pass 1 mg/L nitrite** in 12 days, because nitrite starts lower.
- **A stopped water pump** parts the tank from the plant bed here, so that nothing nitrifies in the
  tank: total ammonia rises and nitrite does not. The prototype was one mixed volume in which
  the raft went on working.
- **Long intervals without a plant bed** lock the bead bed here (no backwash at all), because the
  interval follows from the air; the prototype imposed it.
- **Start-up heights** depend on the nitrate at the start and on the crop.
"""


def page() -> str:
    """The page as it should stand."""
    tally = Tally()
    body = [*_ladder(tally), *_shapes(tally), *_start_up(tally), *_stall(tally), *_events()]
    counts = [f"| {aim} | {sum(met)} of {len(met)} |" for aim, met in tally.met.items()]
    return "\n".join(
        [
            "# The loop against the prototype",
            "",
            "Made by `python -m tests.pages_loop`; do not edit. A comparison with another model "
            "of the same invented site, not a published check: agreement shows that equations "
            "were coded alike, not that they are right. Nothing was measured. **off** marks what "
            "misses its aim.",
            "",
            "| aim | met |",
            "|---|---|",
            *counts,
            "",
            *body,
            _WHY,
        ]
    )


def main() -> None:
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(page(), encoding="utf-8")


if __name__ == "__main__":
    main()
