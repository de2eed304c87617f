"""Sound answers to the frozen `tailrace.site.Site`, with what follows from other answers."""

from __future__ import annotations

from datetime import datetime
from typing import Final

from tailrace.site.records import (
    Bed,
    BedKind,
    Site,
    SourceWater,
    Stock,
    Sump,
    Tank,
    Treatment,
    UnitFamily,
)
from tailrace.sitefile.answers import Answers, Notes, Said, Sheet
from tailrace.sitefile.filters import filter_of
from tailrace.sitefile.schema import tables
from tailrace.sitefile.wording import shown

WATER_DEPTH_M: Final = {BedKind.RAFT: 0.25, BedKind.GRAVEL: 0.10}
"""Water depth taken for a plant bed that gives none; judgement."""

TANK_DEPTH_M: Final = 0.8
"""Depth taken for a tank to find its open water area; judgement."""

EVAPORATION_M_DAY: Final = (0.001, 0.007)
"""Water lost a day over open water and crop: the spread of reference evapotranspiration in
temperate climates (allen_1998, from memory); a closed greenhouse sits low in it."""

_DAY_S: Final = 86400.0


def build(sheet: Sheet, notes: Notes) -> Site:
    """Return the site that the answers describe.

    Parameters
    ----------
    sheet
        Answers without a fault.
    notes
        Takes what is assumed.

    Returns
    -------
    Site
        The site.
    """
    site, water = sheet.single["site"], sheet.single["source_water"]
    tanks = tuple(Tank(a.values["name"], a.values["volume"]) for a in sheet.repeated["tanks"])
    beds = tuple(_bed(a, n, sheet, notes) for n, a in enumerate(sheet.repeated["beds"], 1))
    low, high = _evaporation(sheet, tanks, beds, notes)
    return Site(
        name=site.values["name"],
        title=_title(site, notes),
        zone=site.values["zone"],
        units=UnitFamily(site.values["units"]),
        started_at=_started(site, notes),
        altitude_m=site.values["altitude"],
        water_temperature_degc=site.values["water_temperature"],
        air_temperature_degc=_air_temperature(site, sheet.family, notes),
        evaporation_low_m3_s=low,
        evaporation_high_m3_s=high,
        source_water=_source_water(water, notes),
        tanks=tanks,
        sump=Sump(sheet.single["sump"].values["volume"]),
        beds=beds,
        filters=tuple(filter_of(a, notes) for a in sheet.repeated["filters"]),
        stock=tuple(_stock(a, n, notes) for n, a in enumerate(sheet.repeated["stock"], 1)),
        measures=sheet.measures,
        invented=site.values["invented"],
    )


def _say(notes: Notes, line: int, what: str, taken: str) -> None:
    notes.assumed.append(Said(line, f"{what} is not given; taken as {taken}"))


def _title(site: Answers, notes: Notes) -> str:
    if "title" not in site.values:
        _say(notes, site.line, "title", f"the short name, {site.values['name']}")
    return str(site.values.get("title", site.values["name"]))


def _started(site: Answers, notes: Notes) -> datetime | None:
    if "started" not in site.values:
        text = "start is not given; the description holds from the first entry of the log"
        notes.assumed.append(Said(site.line, text))
        return None
    moment: datetime = site.values["started"]
    return moment


def _air_temperature(site: Answers, family: str, notes: Notes) -> float:
    if "air_temperature" in site.values:
        return float(site.values["air_temperature"])
    water = float(site.values["water_temperature"])
    key = tables()["site"]["air_temperature"]
    _say(notes, site.line, key.words, f"that of the water, {shown(key, water, family)}")
    return water


def _source_water(water: Answers, notes: Notes) -> SourceWater:
    treatment = Treatment(water.values["treatment"])
    if treatment is Treatment.NOT_KNOWN:
        text = "a disinfectant that is not known is treated as chloramine, the harder to remove"
        notes.assumed.append(Said(water.line_of("treatment"), text))
    return SourceWater(
        kind=water.values["kind"],
        treatment=treatment,
        temperature_degc=water.get("temperature"),
        ph=water.get("ph"),
        alkalinity_eq_m3=water.get("alkalinity"),
        hardness_caco3_g_m3=water.get("hardness"),
        nitrate_n_g_m3=water.get("nitrate"),
    )


def _bed(answers: Answers, number: int, sheet: Sheet, notes: Notes) -> Bed:
    kind = BedKind(answers.values["kind"])
    name = answers.get("name")
    if name is None:
        name = f"plant bed {number}"
        _say(notes, answers.line, "name of the plant bed", name)
    depth = answers.get("water_depth")
    if depth is None:
        depth = WATER_DEPTH_M[kind]
        key = tables()["beds"]["water_depth"]
        _say(notes, answers.line, f"{key.words} ({kind.value})", shown(key, depth, sheet.family))
    return Bed(name, kind, answers.values["area"], depth, answers.values["planted"])


def _stock(answers: Answers, number: int, notes: Notes) -> Stock:
    lot = answers.get("lot")
    if lot is None:
        lot = f"lot {number}"
        _say(notes, answers.line, "name of the lot", lot)
    values = answers.values
    return Stock(
        lot=lot,
        species=values["species"],
        count=values["count"],
        mean_mass_kg=values["mean_mass"],
        ration_kg=values["ration"],
        feed_protein_frac=values["protein"],
    )


def _evaporation(
    sheet: Sheet, tanks: tuple[Tank, ...], beds: tuple[Bed, ...], notes: Notes
) -> tuple[float, float]:
    answers = sheet.single["evaporation"]
    if "rate" in answers.values:
        low, high = answers.values["rate"]
        return float(low), float(high)
    area = sum(t.volume_m3 for t in tanks) / TANK_DEPTH_M + sum(b.area_m2 for b in beds)
    low, high = (depth * area / _DAY_S for depth in EVAPORATION_M_DAY)
    key = tables()["evaporation"]["rate"]
    how = f"1 to 7 mm a day over about {area:.2g} m2 of open water and plants"
    _say(notes, answers.line, key.words, f"{shown(key, (low, high), sheet.family)} ({how})")
    return low, high
