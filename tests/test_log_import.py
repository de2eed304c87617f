"""Log files as people save them: what is taken, what is doubted, what is kept aside and why."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tailrace.errors import FileFaultsError, InputError
from tailrace.intake.dates import clock_time, localise
from tailrace.intake.logfile import read_log
from tailrace.intake.result import ImportResult
from tailrace.observations import Entry
from tailrace.site import (
    Filter,
    Measure,
    Site,
    SourceWater,
    Start,
    Sump,
    Tank,
    Treatment,
    UnitFamily,
)
from tests.machines import MACHINE

NOW = datetime(2026, 11, 20, tzinfo=UTC)
SITE = Site(
    name="lantern-school",
    title="Lantern School (invented)",
    zone="Europe/Berlin",
    units=UnitFamily.METRIC,
    started_at=None,
    altitude_m=0.0,
    water_temperature_degc=25.0,
    air_temperature_degc=22.0,
    evaporation_low_m3_s=0.0,
    evaporation_high_m3_s=1e-7,
    source_water=SourceWater("well", Treatment.NONE),
    tanks=(Tank("tank", 1.85),),
    sump=Sump(0.15),
    beds=(),
    filters=(Filter("filter", MACHINE, None, Start(0.5, 2e-6)),),
    stock=(),
    measures=(Measure("scoop", 0.085, "_kg", "feed"), Measure("bucket", 0.009, "_m3")),
    invented=True,
)
TURNS = replace(SITE, filters=(replace(SITE.filter, bypass_turns=4.0),))
US = replace(SITE, units=UnitFamily.US, zone="America/Denver")


def read(text: str | bytes, site: Site = SITE, existing: tuple[Entry, ...] = ()) -> ImportResult:
    data = text.encode() if isinstance(text, str) else text
    return read_log(data, "log.csv", site, existing=existing, received_at=NOW)


def one(row: str, site: Site = SITE, header: str = "when,what,value,unit,method,basis") -> Entry:
    found = read(f"{header}\n{row}\n", site)
    assert not found.asides, found.asides
    return found.entries[0]


def why_aside(row: str, site: Site = SITE, header: str = "when,what,value,unit,method") -> str:
    found = read(f"{header}\n{row}\n", site)
    assert not found.entries
    return " ".join(found.asides[0].reasons)


# values


@pytest.mark.parametrize(
    ("row", "low", "high"),
    [
        # meters: half of the last digit either way
        ("2026-03-01 8:00,ph,7.2,,meter", 7.15, 7.25),
        ("2026-03-01 8:00,do,8,mg/L,meter", 7.5, 8.5),
        ("2026-03-01 8:00,nitrate,12.0,mg/L as N,meter", 11.95, 12.05),
        # charts: to the middle of the neighbouring steps, zero below the first, top at least
        ("2026-03-01 8:00,ammonia,0.5,ppm as N,colour chart", 0.35, 0.75),
        ("2026-03-01 8:00,ammonia,0,ppm as N,colour chart", 0.0, 0.1),
        ("2026-03-01 8:00,ammonia,10,ppm as N,colour chart", 7.5, math.inf),
        ("2026-03-01 8:00,nitrate,40,ppm as N,strip", 20, 50),
        # intervals as typed
        ("2026-03-01 8:00,ammonia,<0.02,mg/L as N,meter", 0, 0.02),
        ("2026-03-01 8:00,ammonia,1-2,mg/L as N,meter", 1, 2),
        ("2026-03-01 8:00,ammonia,trace,mg/L as N,chart", 0, 0.1),
        # events: as typed
        ("2026-03-01 8:00,fed,2 scoops,,", 0.17, 0.17),
        ("2026-03-01 8:00,fed,150,g,", 0.15, 0.15),
        ("2026-03-01 8:00,top up,2 buckets,,", 0.018, 0.018),
        ("2026-03-01 8:00,water change,25 %,,", 0.5, 0.5),
        ("2026-03-01 8:00,bypass,60 deg,,", 2 / 3, 2 / 3),
        ("2026-03-01 8:00,bypass,2/3,,", 2 / 3, 2 / 3),
        ("2026-03-01 8:00,bypass,open,,", 1, 1),
        ("2026-03-01 8:00,fish dead,3,,", 3, 3),
        ("2026-03-01 8:00,backwashes,5,,", 5, 5),
    ],
)
def test_a_value_becomes_the_interval_it_stands_for(row: str, low: float, high: float) -> None:
    entry = one(row, header="when,what,value,unit,method")
    assert len(entry.meanings) == 1
    interval = entry.meanings[0].interval
    assert (interval.low, interval.high) == pytest.approx((low, high))


def test_turns_of_a_handle_need_a_handle_with_turns() -> None:
    entry = one("2026-03-01 8:00,bypass,3 turns,,,", TURNS)
    assert entry.meanings[0].interval.low == pytest.approx(0.75)
    assert "says no turns for its handle" in why_aside("2026-03-01 8:00,bypass,3 turns,,")
    assert "60 has no unit; write degrees" in why_aside("2026-03-01 8:00,bypass,60,,")
    assert "takes 4 turns" in why_aside("2026-03-01 8:00,bypass,60 deg,,", TURNS)


# molar masses N 14.007, O 15.999, H 1.008: IUPAC, from memory
NO2_N = 14.007 / (14.007 + 2 * 15.999)
NO3_N = 14.007 / (14.007 + 3 * 15.999)


@pytest.mark.parametrize(
    ("row", "basis", "middle"),
    [
        ("2026-03-01 8:00,nitrite,1-1,ppm as N,,", "N", 1),
        ("2026-03-01 8:00,nitrite,1-1,mg/L NO2,,", "NO2", NO2_N),
        ("2026-03-01 8:00,nitrite,1-1 mg/L NO2,,,", "NO2", NO2_N),
        ("2026-03-01 8:00,NO3-N,1-1,mg/L,,", "N", 1),
        ("2026-03-01 8:00,nitrate,1-1,ppm NO3,,", "NO3", NO3_N),
        ("2026-03-01 8:00,nitrate,1-1,mg/L,photometer reads NO3,", "NO3", NO3_N),
        ("2026-03-01 8:00,nitrate,1-1,mg/L,,NO3-N", "N", 1),
        ("2026-03-01 8:00,TAN,1-1,mg/L,,", "N", 1),
        ("2026-03-01 8:00,nitrate (ppm NO3),1-1,,,", "NO3", NO3_N),
    ],
)
def test_the_basis_is_found_wherever_it_is_written(row: str, basis: str, middle: float) -> None:
    (meaning,) = one(row).meanings
    assert meaning.basis == basis
    assert meaning.interval.middle == pytest.approx(middle, rel=1e-4)


@pytest.mark.parametrize(
    ("subject", "bases"),
    [("ammonia", ["N", "NH4"]), ("nitrite", ["N", "NO2"]), ("nitrate", ["N", "NO3"])],
)
def test_an_unknown_basis_keeps_both_meanings(subject: str, bases: list[str]) -> None:
    entry = one(f"2026-03-01 8:00,{subject},1,ppm,,")
    assert [m.basis for m in entry.meanings] == bases
    assert "basis not known" in entry.flags


def test_ammonia_is_total_unless_the_method_says_un_ionised() -> None:
    assert one("2026-03-01 8:00,ammonia,0.5,ppm as N,drops,").subject == "total_ammonia"
    entry = one("2026-03-01 8:00,ammonia,0.05,ppm as N,un-ionized probe,")
    assert entry.subject == "un_ionised_ammonia"


@pytest.mark.parametrize(
    ("row", "site", "unit_low", "flag"),
    [
        ("2026-03-01 8:00,temp,78,,,", SITE, 25, "unit inferred"),
        ("2026-03-01 8:00,temp,25,,,", US, 24, "unit inferred"),
        ("2026-03-01 8:00,fed,2,,,", US, 0.9, "unit assumed"),
        ("2026-03-01 8:00,fed,150,,,", SITE, 0.15, "unit assumed"),
        ("2026-03-01 8:00,kh,5,,drops,", SITE, 1.6, "unit inferred"),
        ("2026-03-01 8:00,alkalinity,100,,,", SITE, 1.9, "unit assumed"),
    ],
)
def test_a_missing_unit_is_taken_and_said(
    row: str, site: Site, unit_low: float, flag: str
) -> None:
    entry = one(row, site)
    assert flag in entry.flags
    assert entry.unit == ""
    assert unit_low <= entry.meanings[0].interval.low <= unit_low * 1.1


def test_a_temperature_that_fits_both_units_keeps_both() -> None:
    entry = one("2026-03-01 8:00,air temp,30,,,")
    assert [m.basis for m in entry.meanings] == ["degC", "degF"]
    assert "unit not known" in entry.flags


def test_a_unit_in_the_header_holds_for_the_subjects_that_it_suits() -> None:
    found = read("when,what,value (ppm)\n2026-03-01 8:00,do,6\n2026-03-01 8:00,ph,7\n")
    assert [e.flags for e in found.entries] == [(), ()]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("2026-03-01 8:00,ph,70,,", "pH is 70, outside 0 to 14. Was 7 meant?"),
        ("2026-03-01 8:00,temp,80,degC,", "80 degC, outside -1 to 50 degC. Was it degF?"),
        ("2026-03-01 8:00,ammonia,-1,ppm as N,", "total ammonia.*-1|below zero|outside"),
        ("2026-03-01 8:00,amonia,1,ppm,", "Was 'ammonia'"),
        ("2026-03-01 8:00,do,6,gal,", "measures volume, not concentration"),
        ("2026-03-01 8:00,do,,,", "dissolved oxygen has no value"),
        ("2026-03-01 8:00,nitrite,1,ppm as NO3,", "can be counted as one of N, NO2"),
        ("2026-03-01 8:00,do,6 mg/L,gal,", "write one unit"),
        ("2026-03-01 8:00,salt,2 scoops,,", "is a measure of feed"),
        ('2026-03-01 8:00,drain,"1,250",L,', "1.25 or as 1250"),
        ("2026-03-01 8:00,,6,mg/L,", "does not say what it is"),
    ],
)
def test_an_impossible_value_is_kept_aside_with_a_guess(row: str, said: str) -> None:
    reason = why_aside(row)
    assert any(part in reason for part in said.split("|")) or said in reason


def test_an_unlikely_value_is_taken_and_flagged() -> None:
    found = read("when,what,value\n2026-03-01 8:00,ph,4.5\n2026-03-01 9:00,temp,41 degC\n")
    assert [e.flags for e in found.entries] == [("outside plausible range",)] * 2
    assert "water temperature is 41 degC, outside 5 to 35 degC" in found.doubts[1].reasons[0]


def test_an_event_without_amount_is_kept_as_not_known_never_as_zero() -> None:
    entry = one("2026-03-01 8:00,fed,,,,")
    assert entry.meanings == ()
    assert entry.flags == ("amount not given",)


def test_thousands_are_settled_by_the_values_that_allow_one_reading() -> None:
    found = read('when,what,value\n1.3.2026,ph,7.2\n1.3.2026,drain,"1,250 mL"\n')
    assert found.entries[1].meanings[0].interval.low == pytest.approx(1.25e-3)
    mixed = read('when;what;value\n1.3.2026;ph;7,2\n1.3.2026;ph;7.3\n1.3.2026;drain;"1,250 L"\n')
    assert [aside.row for aside in mixed.asides] == [4]
    assert "some values have a decimal comma and some a point" in mixed.understood.decimal


# dates and times


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-14 08:00",
        "2026-03-14T08:00",
        "3/14/2026 8:00",
        "3/14/26 8am",
        "14.3.2026 8:00",
        "14.03.26 08:00",
        "14 Mar 2026 8:00 am",
        "Mar 14 8:00",
        "March 14th 8am",
        "14. März 2026 8:00",
        "Sat 14 Mar 2026 8:00",
        "2026-03-14T07:00:00Z",
        "2026-03-14T08:00+01:00",
    ],
)
def test_a_moment_is_read_as_people_write_it(text: str) -> None:
    assert one(f"{text},walked,,,,").taken_at == datetime(2026, 3, 14, 7, tzinfo=UTC)


@pytest.mark.parametrize(
    ("text", "hour", "minute"),
    [("8am", 8, 0), ("12 am", 0, 0), ("12:05 pm", 12, 5), ("noon", 12, 0), ("14h30", 14, 30)],
)
def test_a_time_of_day_is_read(text: str, hour: int, minute: int) -> None:
    assert (clock_time(text).hour, clock_time(text).minute) == (hour, minute)


def test_the_order_of_dates_is_settled_by_rows_that_allow_one_reading() -> None:
    month = read("date,time,what\n3/4/2026,8am,walked\n3/14/2026,8am,walked\n")
    day = read("date,time,what\n3/4/2026,8am,walked\n14/3/2026,8am,walked\n")
    assert month.entries[0].taken_at.month == 3
    assert day.entries[0].taken_at.month == 4
    for rows in ("3/4/2026", "3/4/2026,8am,walked\n14/3/2026,8am,walked\n3/14/2026"):
        found = read(f"date,time,what\n{rows},8am,walked\n")
        assert "04 Mar 2026 (month first) or 03 Apr 2026 (day first)" in found.asides[0].reasons[0]


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (",8am,walked", "the time '8am' has no date"),
        (",,walked", "the row has no date"),
        ("2026-03-14,25:00,walked", "the time '25:00' cannot be read"),
        ("2026-02-30,8am,walked", "the date '2026-02-30' cannot be read"),
        ("2027-01-01,8am,walked", "later than the file was received"),
        ("31/31/2026,8am,walked", "cannot be read"),
        ("46095,8am,walked", "cannot be read"),
    ],
)
def test_a_moment_that_cannot_be_is_kept_aside(row: str, said: str) -> None:
    assert said in why_aside(row, header="date,time,what")


def test_a_date_without_time_is_noon_and_says_so() -> None:
    entry = one("2026-03-14,walked,,,,")
    assert (entry.taken_at, entry.flags) == (
        datetime(2026, 3, 14, 11, tzinfo=UTC),
        ("time of day not given",),
    )


# source: the IANA time zone database, through zoneinfo: last Sunday of March and October in the
# EU, second Sunday of March and first of November in the US
@pytest.mark.parametrize(
    ("site", "twice", "skipped"),
    [
        (SITE, "2026-10-25 02:30", "2026-03-29 02:30"),
        (US, "2026-11-01 01:30", "2026-03-08 02:30"),
    ],
)
def test_the_hours_of_the_clock_change(site: Site, twice: str, skipped: str) -> None:
    entry = one(f"{twice},walked,,,,", site)
    assert entry.flags == ("this hour occurred twice",)
    assert entry.taken_also is not None
    zone = ZoneInfo(site.zone)
    assert entry.taken_also - entry.taken_at == timedelta(hours=1)
    assert {
        t.astimezone(zone).isoformat(" ")[:16] for t in (entry.taken_at, entry.taken_also)
    } == {twice}
    assert "did not exist" in why_aside(f"{skipped},walked,,,", site)


@given(st.datetimes(*(datetime(year, 1, 1) for year in (2000, 2037))))  # noqa: DTZ001  # local
def test_a_local_time_names_instants_that_read_so_again(local: datetime) -> None:
    for name in ("Europe/Berlin", "America/Denver", "Australia/Lord_Howe"):
        try:
            found = localise(local, name)
        except InputError:
            continue
        for moment in (found.first, found.second or found.first):
            assert moment.astimezone(ZoneInfo(name)).replace(tzinfo=None) == local


# the same twice


def test_exact_doubles_are_kept_aside_and_named() -> None:
    text = (
        "when,what,value,who\n2026-03-01 8:00,fed,2 scoops,AB\n2026-03-01 8:00,fed,2 scoops,AB\n"
    )
    found = read(text)
    assert "stand in row 2 already" in found.asides[0].reasons[0]
    stored = tuple(replace(entry, id="e17") for entry in found.entries)
    again = read(text + "2026-03-01 18:00,fed,2 scoops,AB\n", existing=stored)
    assert [e.row for e in again.entries] == [4]
    assert all("stand in e17 already" in aside.reasons[0] for aside in again.asides)


def test_two_people_within_half_an_hour_are_asked_one_or_two() -> None:
    rows = ["2026-03-01 8:00,fed,2 scoops,AB", "2026-03-01 8:30,fed,2 scoops,CD"]
    found = read("\n".join(["when,what,value,who", *rows]))
    assert [e.flags for e in found.entries] == [
        ("possibly the same as row 3: one or two?",),
        ("possibly the same as row 2: one or two?",),
    ]
    stored = (replace(found.entries[0], id="e17"),)
    later = read("\n".join(["when,what,value,who", rows[1]]), existing=stored)
    assert later.entries[0].flags == ("possibly the same as e17: one or two?",)
    apart = read("when,what,value,who\n2026-03-01 8:00,fed,1,AB\n2026-03-01 8:31,fed,1,CD\n")
    assert all("possibly" not in " ".join(e.flags) for e in apart.entries)


def test_two_feedings_of_one_day_without_time_are_both_kept_and_asked_about() -> None:
    found = read("date,what,value\n2026-03-01,fed,2 scoops\n2026-03-01,fed,2 scoops\n")
    assert len(found.entries) == 2
    assert "possibly the same as row 2: one or two?" in found.entries[1].flags


# the file


def test_a_messy_spreadsheet_is_read() -> None:
    text = (
        "\ufeffInvented log of the Lantern School;;;;;\r\n"
        ";;;;;\r\n"
        "Date;Time;What;Value;Remarks;Weather;\r\n"
        '14.3.2026;8:00;pH;7,2;"said: ""calm"";\r\nall well";sunny;\r\n'
        ";;;;;;\r\n"
        "14.3.2026;8:05;Water_Temp;25,5 °C;;;\r\n"
    )
    found = read(text)
    assert [e.subject for e in found.entries] == ["ph", "water_temperature"]
    assert found.entries[0].note == 'said: "calm"; all well; Weather: sunny'
    assert [e.row for e in found.entries] == [4, 6]
    assert (found.understood.delimiter, found.understood.decimal) == ("semicolon", "comma")
    assert ("Weather", "") in found.understood.columns
    assert found.understood.header_row == 3


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
def test_a_file_in_any_usual_encoding_is_read(encoding: str) -> None:
    text = "when;what;value;note\n2026-03-14 8:00;temp;25 °C;Größe und Gefäß geprüft, Prüfung ok\n"
    entry = read(text.encode(encoding)).entries[0]
    assert (entry.text, entry.note) == ("25 °C", "Größe und Gefäß geprüft, Prüfung ok")


def test_a_row_with_broken_signs_is_kept_aside_and_the_others_are_taken() -> None:
    good = "when,what,value\n2026-03-14 8:00,temp,25 °C\n".encode()
    found = read(good + b"2026-03-14 9:00,temp,25 \xb0C\n2026-03-14 9:00,ph,7\x00.1\n")
    assert [e.row for e in found.entries] == [2, 4]
    assert "cannot be decoded" in found.asides[0].reasons[0]
    assert "NUL bytes were left out" in found.understood.remarks


def test_an_open_quote_does_not_swallow_the_rows_below() -> None:
    rows = "".join(f"2026-03-{day:02} 8:00,ph,7.{day % 10},ok\n" for day in range(2, 29))
    found = read(f'when,what,value,note\n2026-03-01 8:00,ph,7.1,"open\n{rows}')
    assert len(found.entries) + len(found.asides) == 28
    assert len(found.entries) >= 27


def test_inches_as_a_quote_are_no_open_quote() -> None:
    found = read('when,what,value\n2026-03-01 8:00,clarity,12"\n2026-03-02 8:00,clarity,14"\n')
    assert [e.meanings[0].interval.middle for e in found.entries] == pytest.approx(
        [0.3048, 0.3556]
    )


def test_a_decimal_comma_in_a_comma_file_is_kept_aside_with_the_cause() -> None:
    assert "Does a number hold a decimal comma?" in why_aside(
        "2026-03-01 8:00,ph,7,2", header="when,what,value"
    )


@pytest.mark.parametrize("data", [b"", b"\n\n", b"a,b\n1,2\n", b"\xff\xfe", b"what,value\nph,7\n"])
def test_a_file_without_usable_header_is_one_fault(data: bytes) -> None:
    with pytest.raises(FileFaultsError, match="no header was found; expected is") as caught:
        read(data)
    assert len(caught.value.faults) == 1


def test_two_columns_of_one_meaning_are_a_fault() -> None:
    with pytest.raises(FileFaultsError, match="'value' and 'amount' both mean 'value'"):
        read("when,what,value,amount\n")


def test_every_row_is_taken_or_kept_aside_and_nothing_of_it_is_lost() -> None:
    found = read("when,what,value\n2026-03-01 8:00,ph,7\nxx,yy,zz\n\n2026-03-01 9:00,ph,\n")
    assert sorted([e.row for e in found.entries] + [a.row for a in found.asides]) == [2, 3, 5]
    assert found.asides[0].text == "xx,yy,zz"
    assert len(found.asides[0].reasons) == 2


def test_what_is_before_the_site_began_and_where_nobody_knows_is_flagged() -> None:
    site = replace(SITE, started_at=datetime(2026, 6, 1, tzinfo=UTC))
    entry = one("2026-03-01 8:00,walked,shed", site, header="when,what,place")
    assert entry.flags == ("before the site began", "place not known")


def test_a_moment_of_receipt_without_zone_is_refused() -> None:
    with pytest.raises(InputError, match="no time zone"):
        read_log(b"when,what\n", "log.csv", SITE, received_at=datetime(2026, 3, 1))  # noqa: DTZ001  # the fault under test


PIECES = st.sampled_from(
    ["when", "what", "value", "date", "ph", "fed", "temp", "ammonia", "7,2", "1,250", "<", "-",
     "2026-03-01", "3/4/26", "8am", ",", ";", "\t", '"', "\n", "\r\n", "%", "ppm", "NO3", "\0",
     "°", "½", "trace", "\u0663", "99999999999", "1e999", "0", "/", ":", " ", "scoops"]
)  # fmt: skip


@settings(max_examples=150, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.one_of(st.binary(max_size=120), st.lists(PIECES, max_size=40).map("".join)))
def test_any_bytes_give_a_result_or_one_sentence(noise: bytes | str) -> None:
    data = noise if isinstance(noise, bytes) else noise.encode()
    for head in (b"", b"when,what,value\n2026-03-01,ph,7\n", b"date;time;what;value;unit;basis\n"):
        try:
            found = read(head + data)
        except FileFaultsError:
            continue
        for entry in found.entries:
            assert entry.taken_at <= NOW
