"""A site file is read, explained, and refused with every fault and its line."""

from __future__ import annotations

import dataclasses
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from tailrace.errors import FileFaultsError, InputError
from tailrace.site.records import BedKind, Site, Treatment, UnitFamily
from tailrace.sitefile import SiteReading, read_site
from tests.machines import MACHINE

FIXTURE = Path(__file__).parent / "fixtures" / "prototype" / "site.toml"

LEAST = """\
[site]
name = "willow-shed"
zone = "America/Chicago"
water_temperature = "78 degF"
[[tanks]]
volume = "310 gal"
[sump]
volume = "30 gal"
[[filters]]
bead_volume = "0.8 ft3"
hull_diameter = "13.5 in"
[filters.water_pump]
head = "13 ft"
flow = "33 gal/min"
[filters.return]
outlet_height = "50 in"
[filters.chamber]
roof_height = "18 in"
area = "0.7 ft2"
depth = "8 in"
[filters.air_pump]
pressure = "84 in H2O"
flow = "24 SCFH"
[filters.air_meter]
full_scale = "1 SCFH"
[filters.start]
bypass = "2/3"
air_float = "0.15 SCFH"
"""


BYPASS = "[filters.bypass]\n"
STOCK = """\
[[stock]]
lot = "a"
species = "nile_tilapia"
count = 9
mean_mass = "1 lb"
ration = "70 g"
"""


def edited(*changes: tuple[str, str], add: str = "") -> str:
    text = LEAST
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text + add


def read(text: str | bytes) -> SiteReading:
    return read_site(text, "yard.toml")


def faults(text: str | bytes) -> list[tuple[int, str]]:
    with pytest.raises(FileFaultsError) as caught:
        read(text)
    assert caught.value.file == "yard.toml"
    return [(fault.line, fault.text) for fault in caught.value.faults]


def only_fault(text: str | bytes) -> tuple[int, str]:
    found = faults(text)
    assert len(found) == 1, found
    return found[0]


def said(told: tuple[Any, ...]) -> str:
    return "\n".join(str(line) for line in told)


def numbers(record: Any, path: str = "") -> dict[str, Any]:
    if not dataclasses.is_dataclass(record):
        return {path: record}
    found: dict[str, Any] = {}
    for field in dataclasses.fields(record):
        found |= numbers(getattr(record, field.name), f"{path}.{field.name}")
    return found


def test_prototype_gives_exactly_its_machine() -> None:
    site = read_site(FIXTURE.read_bytes(), "site.toml").site
    made, wanted = numbers(site.filter.machine), numbers(MACHINE)
    # the record rounds 70 degF (294.261 K) to two decimals
    assert made.pop(".rotameter.base_temperature_degc") == pytest.approx(21.1111, abs=1e-4)
    assert wanted.pop(".rotameter.base_temperature_degc") == pytest.approx(21.11)
    # machines.py writes the cubic foot to nine digits
    scale = ".rotameter.full_scale_m3_s"
    assert made.pop(scale) == pytest.approx(wanted.pop(scale), rel=1e-8)
    words = {name for name, value in wanted.items() if not isinstance(value, float)}
    assert {name: made.pop(name) for name in words} == {name: wanted.pop(name) for name in words}
    assert made == pytest.approx(wanted, rel=1e-12, abs=0.0)


def test_prototype_loop() -> None:
    site = read_site(FIXTURE.read_bytes(), "site.toml").site
    assert site.tanks[0].volume_m3 == pytest.approx(2.0)
    assert site.sump.volume_m3 == pytest.approx(0.150)
    assert site.beds[0].kind is BedKind.RAFT
    assert site.beds[0].area_m2 == pytest.approx(7.0)
    assert site.volume_m3 == pytest.approx(3.55)
    assert site.ration_kg == pytest.approx(0.300)
    assert site.stock[0].feed_protein_frac == pytest.approx(0.35)
    assert site.filter.start.bypass_open_frac == pytest.approx(0.70)
    assert site.invented


def test_least_file_lists_every_default() -> None:
    reading = read(LEAST)
    site = reading.site
    assert (site.name, site.title, site.units) == ("willow-shed", "willow-shed", UnitFamily.METRIC)
    assert site.started_at is None
    assert site.air_temperature_degc == site.water_temperature_degc
    assert site.source_water.treatment is Treatment.NOT_KNOWN
    assert site.source_water.treatment.taken_as is Treatment.CHLORAMINE
    assert site.stock == ()
    assert site.beds == ()
    told = said(reading.assumed)
    for part in (
        "title is not given; taken as the short name, willow-shed",
        "altitude is not given; taken as 0 m",
        "treated as chloramine",
        "bore of the inlet pipe is not given; taken as 26 mm",
        "name of the tank is not given; taken as tank",
        "1 to 7 mm a day",
        "taken as new",
    ):
        assert part in told
    assert reading.implausible == ()


def test_evaporation_default_is_depth_times_open_area() -> None:
    bed = '[[beds]]\nkind = "raft"\narea = "4 m2"\n'
    site = read(edited(('"310 gal"', '"800 L"'), add=bed)).site
    # 0.8 m3 over 0.8 m of depth is 1 m2, with 4 m2 of raft: 5 mm3/m2 and 35 L/day
    assert site.evaporation_low_m3_s * 86400.0 == pytest.approx(0.005)
    assert site.evaporation_high_m3_s * 86400.0 == pytest.approx(0.035)


def test_understood_says_value_in_the_site_units_and_as_written() -> None:
    reading = read(edited(('name = "willow-shed"', 'name = "willow-shed"\nunits = "us"')))
    assert "line 7: tank volume: 310 gal" in said(reading.understood)
    metric = said(read(LEAST).understood)
    assert "line 6: tank volume: 1170 L (written 310 gal)" in metric


TEN = edited(
    ('name = "willow-shed"', 'name = "Willow Shed"'),  # 2: capital letters
    ('"America/Chicago"', '"America/Chicagoo"'),  # 3: no such zone
    ('"78 degF"', '"78 degC"'),  # 4: hotter than can be
    ("[[tanks]]\nvolume", "[[tanks]]\nvolum"),  # 6: not a key
    ('[sump]\nvolume = "30 gal"', "[sump]\nvolume = 30 gal"),  # 8: no quotes
    ('"0.8 ft3"', '"0.8 ft2"'),  # 10: an area
    ('flow = "33 gal/min"', "flow = 33"),  # 14: no unit
    ('depth = "8 in"\n', ""),  # 17: missing
    ('bypass = "2/3"', 'bypass = "3 turns"'),  # 26: not a gate valve
    ('air_float = "0.15 SCFH"', 'air_float = "0.15 SCFH"\nair_float = "0.2 SCFH"'),  # 28: twice
)


def test_ten_faults_are_ten_faults_with_their_lines() -> None:
    found = faults(TEN)
    assert [line for line, _ in found] == [2, 3, 4, 6, 8, 10, 14, 17, 26, 28]
    texts = [text for _, text in found]
    for text, part in zip(
        texts,
        (
            'like "willow-shed"',
            "Was America/Chicago meant?",
            "0 to 45 degC",
            "Was volume meant?",
            'volume = "30 gal"',
            "measures area",
            'without a unit; write it like "40 gal/min"',
            "chamber.depth is missing",
            'write valve = "gate"',
            "given twice, first on line 27",
        ),
        strict=True,
    ):
        assert part in text


def test_ten_faults_of_syntax_are_all_found() -> None:
    broken = edited(
        ("[site]", "[site"),
        ('"willow-shed"', "willow-shed"),
        ('"America/Chicago"', '"America/Chicago'),
        ('"78 degF"', "“78 degF”"),
        ("[[tanks]]", "[[tanks]"),
        ('volume = "310 gal"', "volume ="),
        ("[sump]", "sump]"),
        ("[[filters]]", "[[filters"),
        ('hull_diameter = "13.5 in"', 'hull_diameter "13.5 in"'),
        ('head = "13 ft"', 'head = ["13 ft"'),
    )
    assert [line for line, _ in faults(broken)] == [1, 2, 3, 4, 5, 6, 7, 9, 11, 13]


@pytest.mark.parametrize(
    ("change", "line", "part"),
    [
        (('"310 gal"', '"310 gallns"'), 6, "Was gal meant?"),
        (('"310 gal"', '"0 gal"'), 6, "which cannot be"),
        (('"310 gal"', '"1,250 L"'), 6, "can be read as"),
        (('"310 gal"', '"<310 gal"'), 6, "not one value"),
        (('"310 gal"', '"300-320 gal"'), 6, "not one value"),
        (('"310 gal"', '"a lot"'), 6, "is not known"),
        (('"310 gal"', '""'), 6, "empty"),
        (('"310 gal"', "true"), 6, 'write it like volume = "480 gal"'),
        (('"310 gal"', '["310 gal"]'), 6, "not one plain value"),
        (('"310 gal"', '{ v = "310 gal" }'), 6, "not one plain value"),
        (('"310 gal"', "2026-02-30"), 6, "not a TOML value"),
        (('"310 gal"', '"310 gal" "x"'), 6, "something follows"),
        (('"310 gal"', "nan"), 6, "without a unit"),
        (("[sump]", "[sumps]"), 0, "[sump] is missing"),
        (("[sump]", "[[sump]]"), 7, "single brackets"),
        (('bypass = "2/3"', 'bypass = "120 deg"'), 27, "0 to 100 %"),
        (('bypass = "2/3"', 'bypass = "67"'), 27, "36 %"),
        (('"0.15 SCFH"', '"1.5 SCFH"'), 28, "above the top"),
        (('area = "0.7 ft2"', 'area = "0.7 ft2"\nvolume = "4 gal"'), 20, "both area and volume"),
        (('area = "0.7 ft2"\n', ""), 17, "neither area nor volume"),
        (('"84 in H2O"', '"84 in"'), 22, "in H2O"),
        (
            ("[filters.start]", '[filters.bypass]\nvalve = "gate"\n[filters.start]'),
            27,
            "turns = 6",
        ),
        (("[filters.start]", f"{BYPASS}turns = 6\n[filters.start]"), 27, "quarter-turn"),
        (("[[tanks]]\n", "[tanks]\n"), 5, "double brackets"),
        (("[site]", 'colour = "red"\n[site]'), 1, "above all tables"),
        (("[site]", "[weather]\n[site]"), 1, "weather is not a table"),
        (("[filters.chamber]", "[chamber]"), 17, "Was filters.chamber meant?"),
        (("[filters.start]", "[filters.begin]"), 26, "not a table"),
        (("[site]", "[site]\nstarted = 2026-03-08T02:30:00"), 2, "clocks skip"),
        (("[site]", '[site]\nstarted = "last spring"'), 2, "started = 2026-03-02T08:00:00"),
        (("[site]", '[site]\ninvented = "yes"'), 2, "invented = true"),
        (("[sump]", '[[tanks]]\nname = "two"\nvolume = "9 gal"\n[sump]'), 7, "next releases"),
    ],
)
def test_a_fault_is_told_with_line_and_remedy(
    change: tuple[str, str], line: int, part: str
) -> None:
    found = faults(edited(change))
    assert any(where == line and part in text for where, text in found), found


@pytest.mark.parametrize("zone", ["Mars/Olympus", "", 5])
def test_wrong_zone_does_not_hide_the_rest(zone: object) -> None:
    written = f'"{zone}"' if isinstance(zone, str) else str(zone)
    assert [line for line, _ in faults(edited(('"America/Chicago"', written)))] == [3]


def test_second_filter_is_refused_in_one_sentence() -> None:
    second = LEAST[LEAST.index("[[filters]]") :]
    line, text = only_fault(LEAST + second)
    assert line == 29
    assert text == "a second filter cannot be described until the next releases"


def test_names_of_places_and_lots_are_each_their_own() -> None:
    bed = '[[beds]]\nname = "tank"\nkind = "raft"\narea = "4 m2"\n'
    found = faults(edited(add=bed + STOCK + STOCK))
    assert [line for line, _ in found] == [30, 40]
    assert "two places" in found[0][1]
    assert "given twice" in found[1][1]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (LEAST.replace("[sump]", "# caf\u00e9\n[sump]").encode("latin-1"), 7),
        (LEAST.encode("utf-16"), 1),
        (LEAST.replace("willow-shed", "willow\u2013shed").encode("cp1252"), 2),
    ],
)
def test_wrong_encoding_is_one_fault_with_its_line(text: bytes, line: int) -> None:
    found = [fault for fault in faults(text) if "UTF-8" in fault[1]]
    assert [fault[0] for fault in found] == [line]


@pytest.mark.parametrize(
    "text",
    [
        b"\xef\xbb\xbf" + LEAST.encode(),
        LEAST.replace("\n", "\r\n").encode(),
        LEAST.replace("\n", "\r").encode(),
        LEAST.replace(" = ", "\t=\t").replace("\n", "\t\n\n").encode(),
        LEAST.replace("0.15", "0,15").replace("13.5", "13,5").encode(),
        LEAST.replace("78 degF", "25.5555555555555556 \u00b0C").encode(),
        LEAST.replace('[sump]\nvolume = "30 gal"\n', "")
        .replace("[[tanks]]\n", "")
        .replace('volume = "310 gal"\n', "")
        .replace("[site]", 'tanks = [{ volume = "310 gal" }]\nsump.volume = "30 gal"\n[site]')
        .encode(),
    ],
)
def test_messy_but_sound_files_give_the_same_site(text: bytes) -> None:
    made, wanted = numbers(read(text).site), numbers(read(LEAST).site)
    assert made[".water_temperature_degc"] == pytest.approx(wanted.pop(".water_temperature_degc"))
    assert made[".air_temperature_degc"] == pytest.approx(wanted.pop(".air_temperature_degc"))
    assert {key: made[key] for key in wanted} == wanted


def test_lines_count_right_with_any_line_end() -> None:
    for end in ("\n", "\r\n", "\r"):
        assert [line for line, _ in faults(TEN.replace("\n", end).encode())] == [
            line for line, _ in faults(TEN)
        ]


@pytest.mark.parametrize(
    ("written", "travel", "share"),
    [
        ('"60 deg"', "", 60 / 90),
        ('"60\u00b0"', "", 60 / 90),
        ('"2/3 open"', "", 2 / 3),
        ('"67 %"', "", 0.67),
        ("0.67", "", 0.67),
        ('"0,67"', "", 0.67),
        ('"shut"', "", 0.0),
        ('"open"', "", 1.0),
        ('"3 turns"', 'valve = "gate"\nturns = 6', 0.5),
        ('"1 1/2 turns"', 'valve = "gate"\nturns = 6', 0.25),
        ('"50 %"', 'valve = "gate"\nturns = 6', 0.5),
    ],
)
def test_openings(written: str, travel: str, share: float) -> None:
    text = edited(
        ('bypass = "2/3"', f"bypass = {written}"),
        ("[filters.start]", f"[filters.bypass]\n{travel}\n[filters.start]"),
    )
    filter_ = read(text).site.filter
    assert filter_.start.bypass_open_frac == pytest.approx(share)
    assert filter_.bypass_turns == (6.0 if travel else None)


def test_gate_valve_in_degrees_is_refused() -> None:
    gate = '[filters.bypass]\nvalve = "gate"\nturns = 6\n[filters.start]'
    text = edited(("[filters.start]", gate), ('"2/3"', '"60 deg"'))
    assert "counted in turns" in only_fault(text)[1]


MEASURES = """\
[measures]
scoop = "85 g feed"
bucket = "9 L"
"salt mug" = "1/2 lb of salt"
[[stock]]
species = "Nile tilapia"
count = 40
mean_mass = "300 g"
ration = "2 1/2 scoops a day"
"""


def test_own_measures_serve_for_the_ration() -> None:
    site = read(edited(add=MEASURES)).site
    words = [(m.word, m.suffix, m.of) for m in site.measures]
    assert words == [
        ("scoop", "_kg", "feed"),
        ("bucket", "_m3", ""),
        ("salt mug", "_kg", "salt"),
    ]
    # half a pound: international avoirdupois pound of 0.45359237 kg
    amounts = [m.amount for m in site.measures]
    assert amounts == pytest.approx([0.085, 0.009, 0.45359237 / 2])
    assert site.stock[0].species == "nile_tilapia"
    assert site.stock[0].ration_kg == pytest.approx(0.2125)


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        ('scoop = "85 g feed"', 'scoop = "feed"', "holds no number"),
        ('scoop = "85 g feed"', 'scoop = "85 degC"', "neither a mass nor a volume"),
        ('scoop = "85 g feed"', "scoop = 85", "write it like scoop"),
        ('scoop = "85 g feed"', 'scoop = "0 g"', "above zero"),
        ('bucket = "9 L"', 'cup = "9 L"', "is a unit already"),
        ("2 1/2 scoops", "2 buckets", "'buckets'"),
        ("2 1/2 scoops", "1 salt mug", "'salt mug'"),
        ("Nile tilapia", "nile talapia", "Was nile_tilapia meant?"),
        ("count = 40", "count = 40.5", "whole number"),
    ],
)
def test_measures_and_stock_at_fault(old: str, new: str, part: str) -> None:
    found = faults(edited(add=MEASURES.replace(old, new)))
    assert any(part in text for _, text in found), found


@pytest.mark.parametrize(
    ("change", "part"),
    [
        (('"310 gal"', '"20000 gal"'), "outside the usual 50 to 50000 L"),
        (('"13.5 in"', '"40 in"'), "cm thick"),
        (('"84 in H2O"', '"30 in H2O"'), "could never backwash"),
        (('outlet_height = "50 in"', 'outlet_height = "17 in"'), "not below the return outlet"),
    ],
)
def test_implausible_is_told_and_kept(change: tuple[str, str], part: str) -> None:
    reading = read(edited(change))
    assert isinstance(reading.site, Site)
    assert part in said(reading.implausible)


def test_odd_ration_is_told() -> None:
    reading = read(edited(add=MEASURES.replace("2 1/2", "25")))
    assert "% of the mass of the fish a day" in said(reading.implausible)


def test_measured_flows_take_the_opening_of_the_start() -> None:
    measured = '[filters.measured]\nreturn_flow = "9 gal/min"\ndip_pressure = "1.9 m H2O"\n'
    reading = read(edited(add=measured))
    found = reading.site.filter.measured
    assert found.bypass_open_frac == pytest.approx(2 / 3)
    assert found.bypass_flow_m3_s is None
    # a metre of water at its conventional 1000 kg/m3 is 9806.65 Pa
    assert found.dip_pressure_pa_gauge == pytest.approx(1.9 * 9806.65, rel=1e-4)
    assert "taken as the one at the start" in said(reading.assumed)


@pytest.mark.parametrize(
    ("written", "moment"),
    [
        ("2026-03-02", datetime(2026, 3, 2, 6, tzinfo=UTC)),
        ("2026-07-02T08:00:00", datetime(2026, 7, 2, 13, tzinfo=UTC)),
        ('"2026-07-02 08:00"', datetime(2026, 7, 2, 13, tzinfo=UTC)),
        ("2026-07-02T08:00:00Z", datetime(2026, 7, 2, 8, tzinfo=UTC)),
    ],
)
def test_start_is_local_to_the_zone(written: str, moment: datetime) -> None:
    text = edited(("[site]", f"[site]\nstarted = {written}"))
    assert read(text).site.started_at == moment


def test_faults_are_one_input_error_with_a_head() -> None:
    with pytest.raises(InputError, match=r"^yard.toml has 10 faults:\n  line 2: "):
        read(TEN)


def test_empty_file_says_what_must_be_there() -> None:
    texts = [text for _, text in faults("")]
    assert texts == sorted(texts)
    assert {text.partition(" ")[0] for text in texts} == {
        "[site]",
        "[sump]",
        "[[tanks]]",
        "[[filters]]",
    }


def test_file_of_the_wrong_kind_is_refused_at_once() -> None:
    line, text = only_fault("x\n" * 3000)
    assert line == 2001
    assert "one page" in text
    line, text = only_fault("x = 1\n" + "a." * 600 + "b = 1")
    assert line == 2
    assert "Is this a site file?" in text


def test_deep_nesting_is_a_fault() -> None:
    deep = "[" * 400 + "]" * 400
    assert any("too deep" in text for _, text in faults(edited(add=f"note = {deep}\n")))
