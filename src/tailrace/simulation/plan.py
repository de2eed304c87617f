"""How a site is laid out: places, surfaces, filters, and the pipes between them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from tailrace.beadfilter.machine import Day
from tailrace.errors import InputError
from tailrace.hydraulics.pipes import STANDARD_GRAVITY
from tailrace.simulation.built import Built, Plan, Row, build
from tailrace.simulation.circuits import beads_area_m2, bed_plan_m2, deposit_top_g, pressure_top_pa
from tailrace.simulation.fittings import BYPASS, GRAVITY, PUMPED, RETURN
from tailrace.simulation.stoichiometry import PROTEIN_N
from tailrace.site.records import Bed, BedKind, Filter, Site, Stage, StageKind
from tailrace.water.properties import density_kg_m3

WALL_PER_RAFT: Final = 22.0 / 7.0  # film area of raft, roots, tank and pipes per raft area
WALL_PER_GRAVEL: Final = 11.4  # per plan area of a gravel bed; so its uptake is 4 m/day
WALL_PER_TRICKLED: Final = 60.0  # per plan area of a trickling bed, some 0.4 m deep
WALL_WITHOUT_BED_M2: Final = 5.0  # for some 2 m3
_SETTLING_WITHOUT_BED: Final = 0.1  # of that of a raft of 7 m2, for some 2 m3
_TRICKLED_AIR_FRAC: Final = 0.8
# Exchange of oxygen and of carbon dioxide over that of the loop's usual water; judgement.
_TRICKLING: Final = (30.0, 60.0)
_DEGASSING: Final = (30.0, 90.0)
_STILL: Final = (1.0, 1.0)
_SPILL_FRAC: Final = 0.5  # of the tanks' water, that the loop takes up before it runs over
SUMP: Final = "sump"


def built(site: Site, day: Day) -> Built:
    """Lay out a site.

    Parameters
    ----------
    site
        The site.
    day
        Temperatures and air pressure.

    Returns
    -------
    Built
        Arrays of what is built.

    Raises
    ------
    InputError
        Pipes name a place that is not there, or water has nowhere to go.
    """
    surface = {place: _open_m2(site, place) for place in _volumes(site)}
    names = list(surface)
    plan = Plan(
        places=_places(site, surface),
        filters={f.name: _filter(f, names, day) for f in site.filters},
        surfaces=dict(_surfaces(site, names)),
        pipes=tuple(_pipes(site, names)),
        level=names.index(SUMP),
    )
    return build(
        plan, barometric_pa_abs=day.barometric_pa_abs, open_water_m2=sum(surface.values())
    )


def _volumes(site: Site) -> dict[str, float]:
    volumes = {tank.name: tank.volume_m3 for tank in site.tanks}
    volumes |= {bed.name: bed.volume_m3 for bed in site.beds}
    volumes |= {stage.name: stage.volume_m3 for stage in site.stages}
    if len(volumes) < len(site.tanks) + len(site.beds) + len(site.stages) or SUMP in volumes:
        message = "two places have one name; give each tank, plant bed and stage its own."
        raise InputError(message)
    return volumes | {SUMP: site.sump.volume_m3}


def _open_m2(site: Site, place: str) -> float:
    """Open surface: a plant bed's area; elsewhere as if the water stood 1 m deep."""
    areas = {bed.name: bed.area_m2 for bed in site.beds}
    return areas.get(place, _volumes(site)[place])


def _places(site: Site, surface: dict[str, float]) -> dict[str, Row]:
    tanks = sum(tank.volume_m3 for tank in site.tanks)
    nitrogen = sum(lot.ration_kg * lot.feed_protein_frac for lot in site.stock) * PROTEIN_N
    rows: dict[str, Row] = {}
    for name, volume in _volumes(site).items():
        oxygen, stripping = _exchange(site, name)
        rows[name] = {
            "usual_m3": volume,
            "most_m3": volume + _SPILL_FRAC * tanks,
            "oxygen_factor": oxygen,
            "stripping_factor": stripping,
            "evaporation_frac": surface[name] / sum(surface.values()),
        }
    for bed in site.beds:
        rows[bed.name]["crop_m2"] = bed.area_m2 * bed.planted_frac
    for tank in site.tanks:
        share = tank.volume_m3 / tanks
        rows[tank.name] |= {
            "holds_fish": 1,
            "ration_frac": share,
            "ration_g_s": 1000.0 * share * site.ration_kg / 86400.0,
            "ration_n_g_s": 1000.0 * share * nitrogen / 86400.0,
        }
    return rows


def _exchange(site: Site, name: str) -> tuple[float, float]:
    for bed in site.beds:
        if bed.name == name and bed.kind is BedKind.TRICKLING:
            return _TRICKLING
    for stage in site.stages:
        if stage.name == name and stage.kind is StageKind.DEGASSING:
            return _DEGASSING
    return _STILL


def _film_m2(bed: Bed) -> float:
    per_area = {
        BedKind.RAFT: WALL_PER_RAFT,
        BedKind.GRAVEL: WALL_PER_GRAVEL,
        BedKind.TRICKLING: WALL_PER_TRICKLED,
    }
    return per_area[bed.kind] * bed.area_m2


def _surfaces(site: Site, names: list[str]) -> Iterator[tuple[str, Row]]:
    for bed in site.beds:
        trickled = bed.kind is BedKind.TRICKLING
        yield (
            f"surfaces of {bed.name}",
            {
                "from_place": names.index(bed.name),
                "film_m2": _film_m2(bed),
                "settling_m2": 0.0 if trickled else bed.area_m2,
                "air_frac": _TRICKLED_AIR_FRAC if trickled else 0.0,
            },
        )
    for stage in site.stages:
        settling = stage.area_m2 if stage.kind is StageKind.SETTLING else 0.0
        row = {"from_place": names.index(stage.name), "film_m2": stage.area_m2}
        yield f"surfaces of {stage.name}", row | {"settling_m2": settling}
    if not site.beds:
        for tank in site.tanks:
            share = tank.volume_m3 / 2.0
            row = {"from_place": names.index(tank.name), "film_m2": WALL_WITHOUT_BED_M2 * share}
            settling = 7.0 * _SETTLING_WITHOUT_BED * share
            yield f"surfaces of {tank.name}", row | {"settling_m2": settling}


def _filter(of: Filter, names: list[str], day: Day) -> Row:
    bed, chamber = of.machine.bed, of.machine.chamber
    weight = density_kg_m3(day.water_temperature_degc) * STANDARD_GRAVITY
    returned = of.returns_to or (names[0],)
    return {
        "from_place": _number(names, of.draws_from or SUMP),
        "to_place": _number(names, returned[0]),
        "bead_m2": beads_area_m2(bed),
        "bead_m3": bed.volume_m3,
        "bead_plan_m2": bed_plan_m2(bed),
        "bead_depth_m": bed.volume_m3 / bed_plan_m2(bed),
        "void_frac": bed.void_frac,
        "deposit_density_kg_m3": bed.deposit_density_kg_m3,
        "chamber_m3": chamber.volume_m3,
        "chamber_pa": weight * chamber.trigger_depth_m,
        "residual_fill_frac": chamber.residual_fill_frac,
        "cone_m3": chamber.cone_volume_m3,
        "trigger_flow_m3_s": chamber.trigger_flow_m3_s,
        "deposit_top_g": deposit_top_g(bed),
        "pressure_top_pa": pressure_top_pa(of.machine),
    }


def _number(names: list[str], place: str) -> int:
    if place not in names:
        message = f"a pipe names '{place}'; the places are {', '.join(names)}."
        raise InputError(message)
    return names.index(place)


def _pipes(site: Site, names: list[str]) -> Iterator[Row]:
    """Ways of the water out of each filter, then between places."""
    tanks = {tank.name: tank.volume_m3 for tank in site.tanks}
    for number, of in enumerate(site.filters):
        ends = of.returns_to or tuple(tanks)
        total = sum(tanks.get(end, 1.0) for end in ends)
        for end in ends:
            share = tanks.get(end, 1.0) / total
            ways = {"from_place": number, "to_place": _number(names, end), "share_frac": share}
            yield {"kind": RETURN} | ways
        back = _number(names, of.draws_from or SUMP)
        yield {"kind": BYPASS, "from_place": number, "to_place": back, "share_frac": 1.0}
    yield from _named(site, names) if site.pipes else _usual(site, names)


def _named(site: Site, names: list[str]) -> Iterator[Row]:
    """Pipes that the site names."""
    for pipe in site.pipes:
        yield {
            "kind": PUMPED if pipe.pumped_m3_s > 0.0 else GRAVITY,
            "from_place": _number(names, pipe.from_place),
            "to_place": _number(names, pipe.to_place),
            "share_frac": pipe.share_frac,
            "pumped_m3_s": pipe.pumped_m3_s,
        }


def _usual(site: Site, names: list[str]) -> Iterator[Row]:
    """Pipes in the usual order: each place of a row to each of the next."""
    rows = [[tank.name for tank in site.tanks], *_between(site), [SUMP]]
    weights = {bed.name: bed.area_m2 for bed in site.beds}
    for above, below in pairwise(rows):
        total = sum(weights.get(name, 1.0) for name in below)
        for start in above:
            for end in below:
                share = weights.get(end, 1.0) / total
                way = {"from_place": names.index(start), "to_place": names.index(end)}
                yield {"kind": GRAVITY, "share_frac": share} | way


def _between(site: Site) -> Iterator[list[str]]:
    """Rows of places between tanks and sump where the site names no pipes."""

    def stages(kind: StageKind) -> list[Stage]:
        return [stage for stage in site.stages if stage.kind is kind]

    for stage in stages(StageKind.SETTLING):
        yield [stage.name]
    if site.beds:
        yield [bed.name for bed in site.beds]
    for stage in stages(StageKind.DEGASSING):
        yield [stage.name]
