"""What people ask of the record: one or two, kits, notes with photos, history, what came."""

from __future__ import annotations

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from PIL import Image
from typer.testing import CliRunner

import tailrace.cli.people as _commands  # noqa: F401  # adds its commands
from tailrace.advice.acts import Advised, attention
from tailrace.advice.air import air_advice
from tailrace.advice.drain import drain_advice
from tailrace.cli.commands import app
from tailrace.diagnosis import findings
from tailrace.errors import InputError, NotKnownError
from tailrace.estimation.today import picture
from tailrace.observations import Entry, Interval, Meaning
from tailrace.operations.kits import last_day
from tailrace.operations.notes import Note, add_note, keep_told
from tailrace.operations.pairs import answer_pair, pairs
from tailrace.operations.record import standing_at
from tailrace.operations.redact import redact, redact_person
from tailrace.records.store import Store
from tailrace.sitefile.read import read_site
from tests.logs import DEMOS
from tests.test_records_rows import with_device_data

T0 = datetime(2026, 3, 1, 8, tzinfo=UTC)
LATER = T0 + timedelta(days=2)
TEXT = (next(iter(DEMOS.values())) / "site.toml").read_text(encoding="utf-8")
READING = read_site(TEXT, "the demonstration")
NAME = READING.site.name


@pytest.fixture
def store(tmp_path: Path) -> Store:
    made = Store.open(tmp_path)
    made.add_site_version(NAME, TEXT, received_at=T0)
    return made


def feed(kg: float, minutes: float, who: str) -> Entry:
    meanings = (Meaning("", Interval(kg, kg)),)
    at = T0 + timedelta(minutes=minutes)
    return Entry("", "feed", f"{kg}", "kg", meanings, at, who=who)


def fed(store: Store) -> tuple[float, float]:
    now = standing_at(store, READING.site, LATER).feeding
    return now.middle_kg, now.high_kg


def test_two_people_are_asked_one_or_two_and_totals_use_the_answer(store: Store) -> None:
    first, second = store.add_entries(
        NAME, [feed(0.2, 0, "AB"), feed(0.3, 20, "CD")], received_at=T0
    )
    (pair,) = pairs(store, NAME)
    assert (pair.first.id, pair.second.id, pair.answer) == (first, second, "")
    low, high = fed(store)
    answer_pair(store, NAME, second, first, answer="one", who="AB", now=LATER)
    (pair,) = pairs(store, NAME)
    assert (pair.answer, pair.counts) == ("one", second)
    one, _ = fed(store)
    answer_pair(store, NAME, first, second, answer="two", now=LATER + timedelta(hours=1))
    assert pairs(store, NAME)[0].answer == "two"
    two, most = fed(store)
    assert low < one < two
    assert most == high
    assert two - low == pytest.approx(0.3 / 7)
    assert one - low == pytest.approx(0.1 / 7)
    assert len(store.entries(NAME)) == 2


def test_nobody_asks_about_entries_far_apart_or_by_one_person(store: Store) -> None:
    names = store.add_entries(
        NAME, [feed(0.2, 0, "AB"), feed(0.3, 31, "CD"), feed(0.3, 40, "CD")], received_at=T0
    )
    assert pairs(store, NAME) == ()
    with pytest.raises(InputError, match="nobody asks whether e1 and e2 are one"):
        answer_pair(store, NAME, names[0], names[1], answer="one", now=LATER)
    with pytest.raises(NotKnownError, match="no live entry e9"):
        answer_pair(store, NAME, names[0], "e9", answer="one", now=LATER)


def test_dead_fish_that_two_people_wrote_count_once_until_somebody_answers(store: Store) -> None:
    dead = [replace(feed(2, n, who), subject="fish_dead") for n, who in ((0, "AB"), (5, "CD"))]
    names = store.add_entries(NAME, dead, received_at=T0)
    before = sum(lot.count for lot in READING.site.stock)
    assert standing_at(store, READING.site, LATER).fish_count.value == before - 2
    answer_pair(store, NAME, *names, answer="two", now=LATER)
    assert standing_at(store, READING.site, LATER).fish_count.value == before - 4


def test_a_note_comes_with_photos_that_say_nothing_of_place_or_device(store: Store) -> None:
    note = Note("float sticks", T0, (with_device_data("JPEG"),), "AB", "CD", "sump")
    name = add_note(store, NAME, note, now=T0, key="k")
    assert add_note(store, NAME, note, now=T0, key="k") == name
    (entry,) = store.entries(NAME)
    assert (entry.note, entry.who, entry.sent_by, entry.place) == (
        "float sticks",
        "AB",
        "CD",
        "sump",
    )
    with Image.open(io.BytesIO(store.photo_bytes(NAME, entry.photos[0]))) as image:
        assert dict(image.getexif()) == {}
    with pytest.raises(InputError, match="the note is empty"):
        add_note(store, NAME, Note(" ", T0), now=T0)
    with pytest.raises(InputError, match="10 go with one note"):
        add_note(store, NAME, Note("x", T0, (b"",) * 11), now=T0)


def test_what_is_redacted_is_gone_and_says_so(store: Store) -> None:
    name = store.add_entry(NAME, replace(feed(0.2, 0, "AB"), note="n"), received_at=T0)
    assert redact(store, name, "note", why="asked", now=LATER) == 1
    assert redact_person(store, "ab", why="asked", now=LATER) == 1
    (entry,) = store.entries(NAME)
    assert (entry.note, entry.who, entry.text) == ("", "", "0.2")


def run(home: Path, *words: str) -> str:
    done = CliRunner().invoke(app, [*words, "--home", str(home)])
    if done.exception and not isinstance(done.exception, SystemExit):
        raise done.exception
    return done.output


def test_the_commands_say_what_they_did(store: Store, tmp_path: Path) -> None:
    home = store.home
    assert run(home, "people", "add", "Ann B") == "p1: Ann B.\n"
    assert "Ann Z" in run(home, "people", "rename", "Ann B", "Ann Z")
    assert run(home, "people", "list").split() == ["p2", "Ann", "Z"]
    kit = ("--reads", "ammonia", "--unit", "ppm as N", "--steps", "0 0.25 0.5", "--good-until")
    said = run(home, "kit", "add", NAME, "blue box", *kit, "2027-02")
    assert said == (
        "i1  blue box, kit, reads total ammonia (as N) ppm as N, in steps of 0, 0.25, 0.5, "
        "good until 2027-02-28\n"
    )
    assert "blue box" in run(home, "kit", "list", NAME)
    assert run(home, "place", "add", NAME, "return 3", "--kind", "pipe").startswith(NAME)
    assert "return 3, pipe" in run(home, "place", "list", NAME)
    photo = tmp_path / "photo.png"
    photo.write_bytes(with_device_data("PNG"))
    assert "with 1 photos" in run(home, "log", "note", NAME, "sticks", "--photo", str(photo))
    store.add_entries(NAME, [feed(0.2, 0, "AB"), feed(0.3, 20, "CD")], received_at=T0)
    assert "one or two?" in run(home, "log", "pairs", NAME)
    assert "e3 counts, e2 does not" in run(home, "log", "answer", NAME, "e3", "e2", "one")
    assert "e3 counts" in run(home, "log", "pairs", NAME)
    assert "written by AB: feed 0.2 kg" in run(home, "log", "history", NAME, "e2")
    assert "corrected: Ann Z" in run(home, "log", "history", NAME, "p1")
    with pytest.raises(NotKnownError, match="was given no advice a1"):
        run(home, "advise", "came", NAME, "a1", "done")


@pytest.mark.parametrize("text", ["2027", "soon", "2027-13", "2027-02-30"])
def test_a_last_day_that_is_none_is_said(text: str) -> None:
    with pytest.raises(InputError, match="is no last day"):
        last_day(text)


def test_a_unit_that_measures_something_else_is_said(store: Store) -> None:
    with pytest.raises(InputError, match="measures"):
        run(store.home, "kit", "add", NAME, "x", "--reads", "ammonia", "--unit", "gal")
    with pytest.raises(InputError, match="has steps but no subject"):
        run(store.home, "kit", "add", NAME, "x", "--steps", "1 2")


def test_what_a_round_tells_is_kept_with_what_it_rests_on(store: Store) -> None:
    store.add_entry(NAME, replace(feed(3, 0, "AB"), subject="fish_dead"), received_at=T0)
    seen = picture(standing_at(store, READING.site, T0 + timedelta(hours=1)))
    advised = Advised(seen, air_advice(seen), drain_advice(seen))
    lines = attention(findings(seen, None), advised)
    assert lines
    keep_told(store, seen, lines, [f"act {n}" for n in range(len(lines))])
    told = store.advice(NAME)
    assert sorted(each.text for each in told) == sorted(f"act {n}" for n in range(len(lines)))
    assert {each.kind for each in told} == {line.act for line in lines}
    (uid,) = {uid for each in told for uid in each.entries}
    assert uid == store.entries(NAME)[0].uid
    assert run(store.home, "advise", "came", NAME, told[0].id, "done", "--note", "at once")
    assert "done: at once" in run(store.home, "advise", "given", NAME)
