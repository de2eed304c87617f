"""What must hold between the keys of a site file, and what is odd when it does not.

Only facts of the file itself: no flow is computed here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import Final

from tailrace.sitefile.answers import Answers, Notes, Said, Sheet

_BED_DEPTH_M: Final = (0.10, 1.2)  # judgement: thinner channels, thicker does not tumble
_RATION_FRAC: Final = (0.002, 0.08)  # judgement: feed a day per mass of fish, adults to fry
_WATER_PA_M: Final = 9790.0  # weight of 1 m of water at room temperature, to three digits

Found = Iterator[tuple[int, str]]


def apply_rules(sheet: Sheet, notes: Notes) -> None:
    """Check what must hold between keys.

    Parameters
    ----------
    sheet
        All answers; keys that are missing or at fault are passed over.
    notes
        Takes the faults and what is implausible.
    """
    for line, text in _same_names(sheet):
        notes.fault(line, text)
    for filter_ in sheet.repeated["filters"]:
        for fault in _FILTER_FAULTS:
            for line, text in fault(filter_):
                notes.fault(line, text)
        for oddity in _FILTER_ODDITIES:
            notes.implausible.extend(Said(line, text) for line, text in oddity(filter_))
    for lot in sheet.repeated["stock"]:
        notes.implausible.extend(Said(line, text) for line, text in _ration(lot))


def _same_names(sheet: Sheet) -> Found:
    places = [a for name in ("tanks", "beds", "filters") for a in sheet.repeated[name]]
    seen: dict[str, int] = {"sump": sheet.single["sump"].line}
    for answers in places:
        name = str(answers.get("name") or "").casefold()
        if name and name in seen:
            text = f'the name "{name}" stands for two places, first on line {seen[name]}'
            yield answers.line_of("name"), f"{text}; give each its own"
        seen.setdefault(name, answers.line_of("name"))
    lots: dict[str, int] = {}
    for answers in sheet.repeated["stock"]:
        lot = str(answers.get("lot") or "").casefold()
        if lot and lot in lots:
            text = f'the lot "{lot}" is given twice, first on line {lots[lot]}'
            yield answers.line_of("lot"), f"{text}; give each its own name"
        lots.setdefault(lot, answers.line_of("lot"))


def _valve(filter_: Answers) -> Found:
    bypass = filter_.inner["bypass"]
    gate = bypass.get("valve") == "gate"
    if gate and "turns" not in bypass.lines:
        text = "a gate valve needs its turns from shut to open; count them and write turns = 6"
        yield bypass.line_of("valve"), f"filters.bypass.turns is missing: {text}"
    if bypass.get("valve") == "quarter-turn" and "turns" in bypass.lines:
        text = 'a quarter-turn valve has none; write valve = "gate", or take turns away'
        yield bypass.line_of("turns"), f"filters.bypass.turns is given: {text}"


def _chamber(filter_: Answers) -> Found:
    chamber = filter_.inner["chamber"]
    given = [key for key in ("area", "volume") if key in chamber.lines]
    if len(given) == 2:
        text = "filters.chamber gives both area and volume; keep the one that was measured"
        yield max(chamber.line_of(key) for key in given), text
    if not given and chamber.lines:
        text = "filters.chamber gives neither area nor volume; write one, like"
        yield chamber.line, f'{text} area = "1 ft2" or volume = "5 gal"'


def _float(filter_: Answers) -> Found:
    reading = filter_.inner["start"].get("air_float")
    top = filter_.inner["air_meter"].get("full_scale")
    if reading is not None and top is not None and reading > top * (1 + 1e-9):
        text = "filters.start.air_float is above the top of the air meter's scale; read it again"
        yield filter_.inner["start"].line_of("air_float"), text


def _bed_depth(filter_: Answers) -> Found:
    volume, diameter = filter_.get("bead_volume"), filter_.get("hull_diameter")
    if volume is None or diameter is None:
        return
    depth = volume / (math.pi / 4.0 * diameter**2)
    if not _BED_DEPTH_M[0] <= depth <= _BED_DEPTH_M[1]:
        text = f"bead volume and hull diameter make a bead bed {100 * depth:.3g} cm thick"
        yield filter_.line_of("hull_diameter"), f"{text}; check both"


def _heights(filter_: Answers) -> Found:
    outlet = filter_.inner["return"].get("outlet_height")
    roof = filter_.inner["chamber"].get("roof_height")
    if outlet is None or roof is None:
        return
    if roof >= outlet:
        text = "the chamber roof is not below the return outlet, so water cannot fill it"
        yield filter_.inner["chamber"].line_of("roof_height"), f"{text}; check both heights"


def _air_pressure(filter_: Answers) -> Found:
    outlet = filter_.inner["return"].get("outlet_height")
    roof = filter_.inner["chamber"].get("roof_height")
    depth = filter_.inner["chamber"].get("depth")
    pressure = filter_.inner["air_pump"].get("pressure")
    if None in (outlet, roof, depth, pressure):
        return
    needed = _WATER_PA_M * (outlet - roof + depth)
    if pressure <= needed:
        text = (
            f"the air pump gives {pressure / 1e3:.3g} kPa, but standing water alone asks "
            f"{needed / 1e3:.3g} kPa at the level of release; it could never backwash"
        )
        yield filter_.inner["air_pump"].line_of("pressure"), f"{text}; check heights and pump"


def _ration(lot: Answers) -> Found:
    count, mass, ration = lot.get("count"), lot.get("mean_mass"), lot.get("ration")
    if not count or not mass or ration is None:
        return
    share = ration / (count * mass)
    if not _RATION_FRAC[0] <= share <= _RATION_FRAC[1]:
        text = f"the ration is {100 * share:.2g} % of the mass of the fish a day"
        yield lot.line_of("ration"), f"{text}; check ration, count and mean mass"


_Rule = Callable[[Answers], Found]
_FILTER_FAULTS: Final[tuple[_Rule, ...]] = (_valve, _chamber, _float)
_FILTER_ODDITIES: Final[tuple[_Rule, ...]] = (_bed_depth, _heights, _air_pressure)
