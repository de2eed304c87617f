"""One typed line: what is understood, what is asked, and that no number is guessed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tailrace.errors import InputError
from tailrace.intake.time_words import told
from tailrace.intake.typed_line import Line, Piece, read_line
from tailrace.observations import Entry, Instrument
from tailrace.site import Site
from tests.test_log_import import SITE, TURNS, US

NOW = datetime(2026, 11, 20, 19, 30, tzinfo=UTC)  # 20:30 in Berlin, 12:30 in Denver


def line(text: str, site: Site = SITE, existing: tuple[Entry, ...] = ()) -> Line:
    return read_line(text, site, now=NOW, who="AB", existing=existing)


def piece(text: str, site: Site = SITE) -> Piece:
    (found,) = line(text, site).pieces
    return found


def one(text: str, site: Site = SITE) -> Entry:
    found = piece(text, site)
    assert found.clear, found
    return found.entries[0]


def asked(text: str, site: Site = SITE) -> tuple[str, list[str]]:
    question = piece(text, site).question
    assert question is not None
    return question.text, [typed for _, typed in question.choices]


EXAMPLE = (
    "tan 0.5 ppm; nitrite 0.25 ppm as N; ph 7.0; float 0.15 SCFH 20 min after backwash; "
    "drained 1.5 gal black then clear"
)


def test_a_whole_line_is_understood() -> None:
    found = line(EXAMPLE)
    assert found.clear
    assert [(e.subject, e.as_typed) for e in found.entries] == [
        ("total_ammonia", "0.5 ppm"),
        ("nitrite", "0.25 ppm as N"),
        ("ph", "7.0"),
        ("air_float", "0.15 SCFH"),
        ("backwash", ""),
        ("drain", "1.5 gal"),
    ]
    *_, air, backwash, drain = found.entries
    assert air.details == (("minutes after backwash", "20"),)
    assert backwash.taken_at == NOW - timedelta(minutes=20)
    assert backwash.flags == ("time worked out",)
    assert drain.details == (("look", "black then clear"),)
    assert {e.who for e in found.entries} == {"AB"}
    assert drain.meanings[0].interval.low == pytest.approx(1.5 * 3.785411784e-3)  # US gallon


def test_a_backwash_that_is_known_is_not_written_twice() -> None:
    (first,) = line("heard backwash 22 min ago").entries
    found = line("float 0.15 SCFH 20 min after backwash", existing=(first,))
    assert [e.subject for e in found.entries] == ["air_float"]


@pytest.mark.parametrize(
    ("text", "subject", "typed", "low"),
    [
        ("2 scoops fed", "feed", "2 scoops", 0.17),
        ("fed a scoop", "feed", "a scoop", 0.085),
        ("fed 150 g, left some", "feed", "150 g", 0.15),
        ("3 dead fish", "fish_dead", "3", 3),
        ("added 200 g baking soda", "bicarbonate_dose", "200 g", 0.2),
        ("salt 4 oz by weight", "salt_dose", "4 oz by weight", 0.11339809),
        ("topped up 3 imp gal", "top_up", "3 imp gal", 0.01363827),
        ("topped up 3 gal", "top_up", "3 gal", 0.01135624),
        ("temp 78F", "water_temperature", "78 F", 25.2778),
        ("ph: 7.1", "ph", "7.1", 7.05),
        ("ph = 7,1", "ph", "7,1", 7.05),
        ("bypass open", "bypass_set", "open", 1),
        ("bypass 60 deg", "bypass_set", "60 deg", 2 / 3),
        ("water change 1/4", "water_change", "1/4", None),
        ("water change 25 %", "water_change", "25 %", 0.5),
        ("nitrate 20-40 mg/L as N", "nitrate", "20-40 mg/L as N", 20),
        ("nitrite <0.02 mg/L as N", "nitrite", "<0.02 mg/L as N", 0),
        ("nitrite 0.25 as N", "nitrite", "0.25 as N", 0.245),
        ("ec 1.2 mS", "conductivity", "1.2 mS", 0.115),
        ("5 backwashes in 24 h", "backwash_count", "5", 5),
        ("dip depth 14 in", "dip_depth", "14 in", 0.3429),
        ("backwash took 40 s", "backwash_duration", "40 s", 39.5),
    ],
)
def test_a_thing_is_understood_however_its_words_stand(
    text: str, subject: str, typed: str, low: float | None
) -> None:
    if low is None:
        assert not piece(text).clear
        return
    entry = one(text)
    assert (entry.subject, entry.as_typed) == (subject, typed)
    assert entry.meanings[0].interval.low == pytest.approx(low, rel=1e-4)


def test_counts_over_hours_keep_the_hours_and_a_timed_flow_its_opening() -> None:
    count = one("counted 3 backwashes over 12 h")
    assert (count.subject, count.details) == ("watched_backwashes", (("hours", "12"),))
    flow = one("return flow 12 gal/min bypass half open")
    assert flow.details == (("opening", "bypass half open"),)
    drain = one("drained 2 L brown, few beads")
    assert drain.details == (("look", "brown"), ("beads", "few beads"))


def test_method_place_and_the_rest_are_kept() -> None:
    entry = one("nitrate 20 ppm as NO3 (colour chart) in tank")
    assert (entry.method, entry.place) == ("colour chart", "tank")
    assert one("ph 7.2 with the meter").method == "meter"
    assert one("fed 2 scoops, fish slow").note == "fish slow"
    assert one("note: two fish; hiding".replace(";", ",")).note == "two fish, hiding"
    kit = Instrument("blue box", "colour chart", "nitrate", "ppm as NO3", (0, 10, 25, 50))
    (found,) = read_line("nitrate 25 blue box", SITE, now=NOW, kits=(kit,)).entries
    assert (found.instrument, [m.basis for m in found.meanings]) == ("blue box", ["NO3"])


@pytest.mark.parametrize(
    ("text", "words", "instead"),
    [
        ("drained 1,250 mL", "is 1,250 1.25 or 1250", ["drained 1.25 mL", "drained 1250 mL"]),
        ("salt 4 oz", "by weight, or fluid", ["salt 4 oz by weight", "salt 4 fl oz"]),
        ("drained 12 oz", "by weight, or fluid", ["drained 12 fl oz", "drained 12 oz by weight"]),
        ("ec 500 ppm", "which scale", ["ec 500 ppm (0.5)", "ec 500 ppm (0.7)"]),
        ("drained 3", "of which unit", ["drained 3 L", "drained 3 gal"]),
        ("air temp 30", "of which unit", ["air temp 30 degC", "air temp 30 degF"]),
        ("fed 2 handfuls", "'handfuls' is no unit", None),
        ("nitrite 0.25", "counted as N or as NO2",
         ["nitrite 0.25 as N", "nitrite 0.25 as NO2", "nitrite 0.25 (not known)"]),
        ("fed 2 scoops at 7", "morning or after noon",
         ["fed 2 scoops at 7 am", "fed 2 scoops at 7 pm"]),
        ("ph 7.0 at 8:15", "morning or after noon", ["ph 7.0 08:15", "ph 7.0 8:15 pm"]),
        ("ph 7.0 at 11 pm", "still to come; was it yesterday", ["ph 7.0 yesterday 11 pm"]),
        ("ph 7.0 on 3/4", "04 Mar 2026 or 03 Apr 2026",
         ["ph 7.0 on 2026-03-04", "ph 7.0 on 2026-04-03"]),
        ("ph 7.0 yesterday", "at what time", []),
        ("fed 2 scoops last night", "when was 'last night'", []),
    ],
)  # fmt: skip
def test_what_can_be_read_two_ways_is_asked(
    text: str, words: str, instead: list[str] | None
) -> None:
    question, choices = asked(text)
    assert words in question
    assert instead is None or choices == instead


@pytest.mark.parametrize(
    "text", ["drained 1,250 mL", "salt 4 oz", "ec 500 ppm", "drained 3", "nitrite 0.25",
             "fed 2 scoops at 7", "ph 7.0 at 8:15", "ph 7.0 at 11 pm", "air temp 30"]
)  # fmt: skip
def test_the_first_answer_is_clear_when_typed(text: str) -> None:
    for typed in asked(text)[1][:1]:
        assert piece(typed).clear, piece(typed)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("wombat 7", "is no subject of the log"),
        ("ph 7 nitrite 0.2", "two things, 'ph' and 'nitrite'"),
        ("ph 70", "Was 7 meant?"),
        ("do 6 gal", "measures volume"),
        ("salt 4 fl oz", "declare it under [measures]"),
        ("8:15 am", "a time alone"),
        ("ph 7 2027-03-01 8:00", "still to come"),
        ("ph", "has no value"),
        ("counted 3 backwashes over 0 h", "over no time"),
    ],
)
def test_what_cannot_be_taken_says_why(text: str, words: str) -> None:
    assert words in " ".join(piece(text).reasons)


@pytest.mark.parametrize(
    ("text", "local"),
    [
        ("ph 7", "2026-11-20 20:30"),
        ("ph 7 just now", "2026-11-20 20:30"),
        ("ph 7 10 min ago", "2026-11-20 20:20"),
        ("ph 7 half an hour ago", "2026-11-20 20:00"),
        ("ph 7 2 days ago", "2026-11-18 20:30"),
        ("08:15 ph 7", "2026-11-20 08:15"),
        ("ph 7 at 8:15 am", "2026-11-20 08:15"),
        ("ph 7 at noon", "2026-11-20 12:00"),
        ("ph 7 yesterday 8am", "2026-11-19 08:00"),
        ("yesterday at 7 pm: ph 7", "2026-11-19 19:00"),
        ("ph 7 9:30 am yesterday", "2026-11-19 09:30"),
        ("ph 7 on 14 Mar 8:00", "2026-03-14 08:00"),
        ("ph 7 Mar 14, 2026 at noon", "2026-03-14 12:00"),
        ("ph 7 2026-03-14 18:05", "2026-03-14 18:05"),
        ("ph 7 14.3.2026 18:05", "2026-03-14 18:05"),
    ],
)
def test_a_time_is_read_in_the_zone_of_the_site(text: str, local: str) -> None:
    entry = one(text)
    assert entry.as_typed == "7"
    assert f"{entry.taken_at.astimezone(ZoneInfo(SITE.zone)):%Y-%m-%d %H:%M}" == local


def test_the_hour_that_occurs_twice_keeps_both_instants() -> None:
    found = told("ph 7 2026-10-25 02:30", "Europe/Berlin", NOW)
    assert found.at is not None
    assert found.also == found.at + timedelta(hours=1)
    with pytest.raises(InputError, match="did not exist"):
        told("ph 7 2026-03-29 02:30", "Europe/Berlin", NOW)


def test_another_person_within_half_an_hour_is_one_or_two() -> None:
    (first,) = read_line("fed 2 scoops 10 min ago", SITE, now=NOW, who="CD").entries
    (found,) = line("fed 2 scoops", existing=(first,)).pieces
    assert found.clear
    assert "CD wrote 2 scoops" in found.doubts[-1]
    assert "one or two?" in found.entries[0].flags[-1]


def test_commas_part_things_only_before_a_word_for_something() -> None:
    found = line("tan 0.5 ppm, ph 7.1, drained 1 L brown, few beads")
    assert [p.text for p in found.pieces] == [
        "tan 0.5 ppm",
        "ph 7.1",
        "drained 1 L brown, few beads",
    ]
    assert found.instead(1, "ph 7.2") == "tan 0.5 ppm; ph 7.2; drained 1 L brown, few beads"


def test_an_empty_line_and_a_moment_without_zone_are_refused() -> None:
    with pytest.raises(InputError, match="the line is empty"):
        line(" ; ")
    with pytest.raises(InputError, match="no time zone"):
        read_line("ph 7", SITE, now=datetime(2026, 1, 1))  # noqa: DTZ001  # the fault under test


WORDS = st.sampled_from(
    ["ph", "fed", "tan", "nitrite", "drained", "float", "temp", "7.0", "1,250", "<0.02", "1-2",
     "trace", "ppm", "gal", "oz", "scoops", "as", "N", "NO2", "at", "8:15", "7", "yesterday",
     "ago", "min", "after", "backwash", "(", ")", ",", ";", "%", "1/2", "0", "-", "/", "in",
     "tank", "not", "known", "now", "½", "\0", "99999999999999999999", "1e999", "3/4",
     "on", "h", "over"]
)  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.lists(WORDS, min_size=1, max_size=12).map(" ".join) | st.text(max_size=40))
def test_any_line_gives_entries_questions_or_reasons(text: str) -> None:
    for site in (SITE, US, TURNS):
        try:
            found = line(text, site)
        except InputError:
            continue
        for each in found.pieces:
            assert bool(each.entries) or each.question or each.reasons, each
            assert all(entry.taken_at <= NOW for entry in each.entries)
