"""Rows of the record on both engines: written, superseded, shared, blanked, brought over."""

from __future__ import annotations

import io
import random
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tailrace.errors import InputError, NotKnownError, RecordError
from tailrace.migrations import env
from tailrace.observations import Instrument
from tailrace.records import tables
from tailrace.records.home import find_place
from tailrace.records.kept import KeptAdvice, NamedPlace, Outcome
from tailrace.records.photos import LONGEST_SIDE, clean_photo, photo_path
from tailrace.records.plain_rows import PlainRow
from tailrace.records.redaction import Mark
from tailrace.records.store import Store
from tailrace.records.upgrade import change_form, found_version
from tailrace.records.verify import verify_record
from tests.full_record import HOUR, SITE, T0, fill, ph, picture

MARK = Mark("asked by the person", "AB", T0 + 9 * HOUR)


@pytest.fixture
def store(record_address: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setenv("TAILRACE_HOME", str(tmp_path / "photos of a server"))
    made = Store.open(record_address)
    made.add_site_version(SITE, "first", received_at=T0)
    yield made
    made.close()


def new_store(folder: Path) -> Store:
    return Store.open(folder)


# entries


def test_what_an_event_has_besides_its_value_comes_back(store: Store) -> None:
    entry = replace(
        ph(),
        sent_by="CD",
        instrument="blue box",
        photos=("ab" * 32,),
        details=(("look", "black, then clear"), ("beads", "none")),
    )
    name = store.add_entry(SITE, entry, received_at=T0)
    found = store.entries(SITE)[0]
    assert found == replace(entry, id=name, uid=found.uid, received_at=T0)


def test_the_same_key_stores_once_and_another_body_is_refused(store: Store) -> None:
    first = store.add_entries(SITE, [ph(), ph("7.4")], received_at=T0, key="k1")
    again = store.add_entries(SITE, [ph(), ph("7.4")], received_at=T0 + HOUR, key="k1")
    assert again == first == ("e1", "e2")
    with pytest.raises(RecordError, match="'k1' came before with other entries"):
        store.add_entries(SITE, [ph("9")], received_at=T0, key="k1")
    assert len(store.all_entries(SITE)) == 2
    assert store.add_entries(SITE, [ph()], received_at=T0, key="k2") == ("e3",)


def test_entries_are_asked_for_by_time_and_subject(store: Store) -> None:
    entries = [ph(f"7.{n}", at=T0 + n * HOUR) for n in range(4)]
    store.add_entries(SITE, [*entries, replace(ph(), subject="nitrite")], received_at=T0)
    found = store.entries(SITE, since=T0 + HOUR, until=T0 + 3 * HOUR, subjects=("ph",))
    assert [entry.text for entry in found] == ["7.1", "7.2"]


def test_moments_are_right_across_a_change_of_the_clocks(store: Store) -> None:
    zone = ZoneInfo("America/Denver")
    spring = [datetime(2026, 3, 8, 1, 59, tzinfo=zone), datetime(2026, 3, 8, 3, 1, tzinfo=zone)]
    autumn = [datetime(2026, 11, 1, 1, 30, tzinfo=zone, fold=fold) for fold in (0, 1)]
    later = T0 + timedelta(days=365)
    for moment in (*spring, *autumn):
        store.add_entry(SITE, ph(at=moment), received_at=later)
    found = [entry.taken_at for entry in store.entries(SITE)]
    assert all(moment.utcoffset() == timedelta(0) for moment in found)
    assert found[1] - found[0] == timedelta(minutes=2)
    assert found[3] - found[2] == HOUR
    assert [m.astimezone(zone).strftime("%H:%M %Z") for m in found] == [
        "01:59 MST",
        "03:01 MDT",
        "01:30 MDT",
        "01:30 MST",
    ]


def test_a_year_before_one_thousand_sorts_as_time(store: Store) -> None:
    early = datetime(999, 1, 1, tzinfo=UTC)
    store.add_entries(SITE, [ph(), ph(at=early)], received_at=T0)
    assert [entry.taken_at for entry in store.entries(SITE)] == [early, T0]


# what entries speak of


def test_a_person_is_a_name_and_nothing_else(store: Store) -> None:
    ann = store.add_person("  Ann   B ", received_at=T0)
    assert store.add_person("ann b", received_at=T0) == ann
    assert ann.name == "Ann B"
    with pytest.raises(InputError, match="a person has no name"):
        store.add_person(" ", received_at=T0)
    store.add_person("Cy", received_at=T0)
    with pytest.raises(InputError, match="somebody is called 'Cy' already"):
        store.rename_person("Ann B", "cy", received_at=T0, why="")
    store.rename_person("Ann B", "Ann Z", received_at=T0 + HOUR, why="married")
    assert [person.name for person in store.people()] == ["Ann Z", "Cy"]
    assert [step.text for step in store.steps_of(ann.id)] == ["Ann B", "Ann Z"]
    with pytest.raises(NotKnownError, match="nobody is called"):
        store.rename_person("Ann B", "Q", received_at=T0, why="")


def test_a_kit_has_steps_and_a_last_day_and_versions(store: Store) -> None:
    kit = Instrument("blue box", "kit", "ph", "", (6.0, 6.5), date(2026, 5, 1))
    store.set_instrument(kit, site=None, received_at=T0)
    store.set_instrument(kit, site=None, received_at=T0)
    own = replace(kit, steps=(6.0, 7.0, 8.0))
    store.set_instrument(own, site=SITE, received_at=T0 + HOUR, why="another bottle")
    (found,) = store.instruments(SITE)
    assert found == replace(own, id=found.id)
    assert found.expired(date(2026, 5, 2))
    assert not found.expired(date(2026, 5, 1))
    other = replace(kit, subject="nitrite")
    store.set_instrument(other, site=None, received_at=T0)
    assert [each.subject for each in store.instruments(SITE)] == ["nitrite", "ph"]
    with pytest.raises(InputError, match="give two or more, each above the last"):
        store.set_instrument(replace(kit, steps=(2.0, 1.0)), site=None, received_at=T0)


def test_places_and_mappings_have_versions(store: Store) -> None:
    store.set_place(SITE, NamedPlace("", "return 3"), received_at=T0, why="")
    store.set_place(SITE, NamedPlace("", "Return 3", "pipe"), received_at=T0 + HOUR, why="said")
    (place,) = store.places(SITE)
    assert (place.name, place.kind) == ("Return 3", "pipe")
    assert [step.what for step in store.steps_of(place.id)] == ["written", "corrected"]
    assert store.mapping(SITE, "time;what") is None
    for body in ({"time": "when"}, {"time": "date"}):
        store.keep_mapping(SITE, "time;what", body, received_at=T0)
    store.keep_mapping(SITE, "time;what", {"time": "date"}, received_at=T0)
    assert store.mapping(SITE, "time;what") in ({"time": "when"}, {"time": "date"})


def test_an_advice_is_kept_with_what_came_of_it(store: Store) -> None:
    told = KeptAdvice("", T0, "drain", "Drain 1 gal.", ("e" * 32,), {"volume_m3": 0.0038}, "0.1")
    name = store.keep_advice(SITE, told, received_at=T0)
    came = Outcome("partly", "half a gallon", "", "AB", T0 + HOUR)
    store.add_outcome(name, came)
    assert store.advice(SITE) == (replace(told, id=name, received_at=T0, outcomes=(came,)),)
    with pytest.raises(InputError, match="say one of done, partly, not done"):
        store.add_outcome(name, replace(came, what="perhaps"))
    with pytest.raises(NotKnownError, match="'a9' is not in the record"):
        store.add_outcome("a9", came)


def test_the_last_answer_holds(store: Store) -> None:
    first, second = store.add_entries(SITE, [ph(), ph(who="CD")], received_at=T0)
    store.answer_pair(first, second, "two", received_at=T0)
    store.answer_pair(second, first, "one", received_at=T0 + HOUR, who="AB")
    uids = {entry.id: entry.uid for entry in store.entries(SITE)}
    (answer,) = store.answers(SITE)
    assert (answer.first, answer.second) == (uids[second], uids[first])
    assert (answer.answer, answer.who) == ("one", "AB")
    with pytest.raises(InputError, match="say 'one' or 'two'"):
        store.answer_pair(first, second, "three", received_at=T0)
    with pytest.raises(InputError, match="no two entries"):
        store.answer_pair(first, first, "one", received_at=T0)


# photos


def with_device_data(kind: str) -> bytes:
    image = Image.new("RGB", (60, 40), "green")
    image.putpixel((0, 0), (255, 0, 0))
    exif = Image.Exif()
    exif[0x0110] = "Invented camera"  # model
    exif[0x0112] = 6  # turned by a quarter
    exif.get_ifd(0x8825)[1] = "N"  # position
    out = io.BytesIO()
    image.save(out, kind, exif=exif, **({"comment": b"Invented"} if kind == "JPEG" else {}))
    return out.getvalue()


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_loses_position_and_device_and_stands_upright(kind: str) -> None:
    data = with_device_data(kind)
    assert b"Invented" in data
    photo = clean_photo(data)
    assert b"Invented" not in photo.data
    with Image.open(io.BytesIO(photo.data)) as image:
        assert image.format == kind
        assert dict(image.getexif()) == {}
        assert "comment" not in image.info
        assert "exif" not in image.info
        assert image.size == (photo.width, photo.height) == (40, 60)


def test_a_photo_that_cannot_be_taken_is_said() -> None:
    with pytest.raises(InputError, match="is no JPEG, PNG or WebP photo"):
        clean_photo(b"when,what,value\n")
    with pytest.raises(InputError, match="damaged"):
        clean_photo(picture()[:300])
    with pytest.raises(InputError, match=r"up to 20 MB are taken"):
        clean_photo(b"\xff" * 20_000_001)
    huge = io.BytesIO()
    Image.new("1", (20_000, 20_000)).save(huge, "PNG")
    with pytest.raises(InputError, match="million points"):
        clean_photo(huge.getvalue())
    assert clean_photo(picture(size=(3000, 30))).width == LONGEST_SIDE


def test_a_photo_lies_by_its_hash_and_is_kept_once(store: Store) -> None:
    sha256 = store.add_photo(SITE, picture(), received_at=T0, who="AB")
    assert store.add_photo(SITE, picture(), received_at=T0 + HOUR) == sha256
    (photo,) = store.photos(SITE)
    path = photo_path(store.home, sha256, photo.media)
    assert store.photo_bytes(SITE, sha256) == path.read_bytes()
    path.write_bytes(b"changed")
    with pytest.raises(NotKnownError, match="was changed"):
        store.photo_bytes(SITE, sha256)
    path.unlink()
    with pytest.raises(NotKnownError, match="cannot be read"):
        store.photo_bytes(SITE, sha256)
    with pytest.raises(NotKnownError, match="has no photo"):
        store.photo_bytes(SITE, "0" * 64)


# redaction


def test_a_note_is_blanked_in_every_version_and_the_value_stays(store: Store) -> None:
    first = store.add_entry(SITE, ph(note="Ann was ill"), received_at=T0)
    second = store.correct(first, ph("7.4", note="Ann was ill"), received_at=T0, why="misread")
    assert store.redact(second, "note", MARK) == 2
    assert [entry.note for entry in store.all_entries(SITE)] == ["", ""]
    assert [entry.text for entry in store.all_entries(SITE)] == ["7,2", "7.4"]
    redacted = [step for step in store.steps_of(first) if step.what == "redacted"]
    assert {(step.why, step.who, step.text) for step in redacted} == {
        ("asked by the person", "AB", "note")
    }
    with pytest.raises(InputError, match="'text' of e1 cannot be blanked"):
        store.redact(first, "text", MARK)
    with pytest.raises(InputError, match="needs a reason"):
        store.redact(first, "note", replace(MARK, why=" "))


def test_a_name_is_blanked_wherever_it_stands_by_itself(store: Store) -> None:
    store.add_person("Ann", received_at=T0)
    store.add_entries(SITE, [ph(who="ann"), replace(ph(who="CD"), sent_by="Ann")], received_at=T0)
    assert store.redact_person("Ann", MARK) == 3
    assert [(e.who, e.sent_by) for e in store.entries(SITE)] == [("", ""), ("CD", "")]
    assert [person.name for person in store.people()] == [""]
    with pytest.raises(NotKnownError, match="stands nowhere"):
        store.redact_person("Ann", MARK)


def test_a_photo_is_taken_out_with_its_file(store: Store, record_address: str) -> None:
    sha256 = store.add_photo(SITE, picture(), received_at=T0)
    store.add_entry(SITE, replace(ph(), photos=(sha256,)), received_at=T0)
    assert store.redact("f1", "file", MARK) == 1
    (photo,) = store.photos(SITE)
    assert photo.redacted_why == "asked by the person"
    assert not photo_path(store.home, sha256, photo.media).exists()
    with pytest.raises(NotKnownError, match="was taken out of the record: asked by the person"):
        store.photo_bytes(SITE, sha256)
    assert verify_record(record_address).faults == ()


def test_a_row_kept_aside_can_be_blanked(store: Store) -> None:
    fill(store)
    assert store.redact("b1:9", "text", MARK) == 1
    with pytest.raises(NotKnownError, match="no row 8 of b1"):
        store.redact("b1:8", "text", MARK)


def test_nothing_can_be_blanked_without_a_tombstone(store: Store) -> None:
    fill(store)
    with pytest.raises(RecordError, match="append-only"), store._writing() as connection:
        connection.execute(tables.entries.update().values(note=""))
    with pytest.raises(RecordError, match="append-only"), store._writing() as connection:
        connection.execute(tables.tombstones.delete())


# rows out and in


def copy_of(store: Store, folder: Path) -> Store:
    made = new_store(folder)
    made.merge(store.rows())
    return made


def test_every_row_goes_out_and_comes_in_as_it_was(store: Store, tmp_path: Path) -> None:
    fill(store)
    rows = list(store.rows())
    assert {table for table, _ in rows} >= {table.name for table in tables.APPEND_ONLY}
    other = new_store(tmp_path / "other")
    merged = other.merge(rows)
    assert (merged.added, merged.already, merged.conflicts) == (len(rows), 0, ())
    assert list(other.rows()) == rows
    again = other.merge(rows)
    assert (again.added, again.already, again.conflicts) == (0, len(rows), ())
    assert [e.text for e in other.entries(SITE)] == [e.text for e in store.entries(SITE)]


def test_rows_of_one_site_leave_the_others_out(store: Store) -> None:
    fill(store)
    store.add_site_version("harbour", "another", received_at=T0)
    store.add_entry("harbour", ph(who="Zoe", note="not yours"), received_at=T0)
    store.add_person("Zoe", received_at=T0)
    said = str(list(store.rows(site=SITE)))
    assert "Zoe" not in said
    assert "harbour" not in said
    recent = [t for t, _ in store.rows(site=SITE, since=T0 + 4 * HOUR)]
    assert sorted(recent) == ["site_versions", "site_versions", "sites", "tombstones"]


def test_a_correction_that_comes_first_waits_for_what_it_corrects(
    store: Store, tmp_path: Path
) -> None:
    old = store.add_entry(SITE, ph(), received_at=T0)
    store.correct(old, ph("7.9"), received_at=T0 + HOUR, why="misread")
    rows = list(store.rows())
    late = [row for row in rows if row[0] == "entries" and row[1]["supersedes"] is None]
    other = new_store(tmp_path / "other")
    other.merge([row for row in rows if row not in late])
    assert [entry.text for entry in other.entries(SITE)] == ["7.9"]
    other.merge(late)
    assert [entry.text for entry in other.entries(SITE)] == ["7.9"]
    assert [v.entry.text for v in other.history("e1")] == ["7,2", "7.9"]


def test_of_two_corrections_the_one_received_last_holds_and_is_said(
    store: Store, tmp_path: Path
) -> None:
    old = store.add_entry(SITE, ph(), received_at=T0)
    other = copy_of(store, tmp_path / "other")
    store.correct(old, ph("7.5"), received_at=T0 + 2 * HOUR, why="here")
    other.correct("e1", ph("7.9"), received_at=T0 + HOUR, why="there")
    there, here = list(other.rows()), list(store.rows())
    merged = store.merge(there)
    assert merged.conflicts == (
        f"{SITE}: e2, e3 correct the same entry; e2, received last, holds.",
    )
    other.merge(here)
    for each in (store, other):
        assert [entry.text for entry in each.entries(SITE)] == ["7.5"]
        assert len(each.conflicts(SITE)) == 1
        texts = [(v.entry.text, v.holds) for v in each.history("e1")]
        assert texts == [("7,2", False), ("7.9", False), ("7.5", True)]
    assert list(store.rows()) == list(other.rows())
    (winner, _loser) = store.conflicts(SITE)[0]
    store.undo_entry(winner, at=T0 + 3 * HOUR, why="the other one was right")
    assert [entry.text for entry in store.entries(SITE)] == ["7.9"]


def test_the_same_file_on_two_copies_counts_once(store: Store, tmp_path: Path) -> None:
    other = copy_of(store, tmp_path / "other")
    for each, hours in ((store, 1), (other, 2)):
        rows = [ph(f"7.{n}") for n in range(2)]
        at = T0 + hours * HOUR
        each.add_stream(SITE, rows, file="log.csv", sha256="d" * 64, received_at=at)
    store.merge(other.rows())
    assert len(store.entries(SITE)) == 2
    assert [b.undone_why for b in store.batches(SITE)] == ["", "the same file as b1"]


def test_a_redaction_reaches_the_other_copy_whichever_comes_first(
    store: Store, tmp_path: Path
) -> None:
    sha256 = store.add_photo(SITE, picture(), received_at=T0)
    name = store.add_entry(SITE, ph(note="Ann was ill"), received_at=T0)
    before = list(store.rows())
    other = copy_of(store, tmp_path / "other")
    other.put_photo_file(store.photo_bytes(SITE, sha256), "image/jpeg")
    store.redact(name, "note", MARK)
    store.redact("f1", "file", MARK)
    after = list(store.rows())
    other.merge(after)
    assert [entry.note for entry in other.entries(SITE)] == [""]
    assert not photo_path(other.home, sha256, "image/jpeg").exists()
    stones = [row for row in after if row[0] in {"sites", "tombstones"}]
    third = new_store(tmp_path / "third")
    third.merge(stones)
    third.merge(before)
    assert [entry.note for entry in third.entries(SITE)] == [""]
    merged = store.merge(before)
    assert (merged.added, merged.conflicts) == (0, ())
    assert list(other.rows()) == list(store.rows())


def test_two_sites_of_one_name_are_never_mixed_unasked(store: Store, tmp_path: Path) -> None:
    other = new_store(tmp_path / "other")
    other.add_site_version(SITE, "begun by itself", received_at=T0 + HOUR)
    other.add_entry(SITE, ph("8.1"), received_at=T0)
    with pytest.raises(RecordError, match="begun by itself"):
        store.merge(other.rows())
    assert store.entries(SITE) == ()
    uid = next(row["uid"] for table, row in other.rows() if table == "sites")
    store.merge(other.rows(), same={uid: SITE})
    assert [entry.text for entry in store.entries(SITE)] == ["8.1"]


@pytest.mark.parametrize(
    ("spoil", "said"),
    [
        (lambda row: row | {"surplus": 1}, "other columns than this version"),
        (lambda row: row | {"uid": "short"}, "cannot be read"),
        (lambda row: row | {"taken_at": "yesterday"}, "cannot be read"),
        (lambda row: row | {"meanings": [["", "2", "1"]]}, "cannot be read"),
        (lambda row: row | {"text": None}, "cannot be read"),
        (lambda row: row | {"row": 2**70}, "cannot be read"),
        (lambda row: row | {"site": "f" * 32}, "neither here nor among these rows"),
    ],
)
def test_a_spoilt_row_is_said_and_nothing_is_stored(
    store: Store, tmp_path: Path, spoil: object, said: str
) -> None:
    assert callable(spoil)
    store.add_entry(SITE, ph(), received_at=T0)
    rows = [(t, spoil(row) if t == "entries" else row) for t, row in store.rows()]
    other = new_store(tmp_path / "other")
    with pytest.raises(RecordError, match=said):
        other.merge(rows)
    assert other.site_names() == ()
    with pytest.raises(RecordError, match="not known to this version"):
        other.merge([("recipes", {"uid": "0" * 32})])


def grown(
    folder: Path, rows: list[PlainRow], random_: random.Random, hours: int
) -> list[PlainRow]:
    """Let a copy of a record grow by itself, and return its rows."""
    copy = new_store(folder)
    copy.merge(rows)
    for step in range(3):
        at = T0 + (hours + step) * HOUR
        live = [entry.id for entry in copy.entries(SITE)]
        act = random_.choice(("add", "correct", "undo", "redact")) if live else "add"
        if act == "add":
            copy.add_entry(SITE, ph(f"{hours}.{step}", note="n"), received_at=at)
        elif act == "correct":
            name = random_.choice(live)
            copy.correct(name, ph(f"{hours}.{step}", note="m"), received_at=at, why="w")
        elif act == "undo":
            copy.undo_entry(random_.choice(live), at=at, why="w")
        else:
            copy.redact(random_.choice(live), "note", Mark("w", "", at))
    return list(copy.rows())


@settings(
    max_examples=4, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(seed=st.integers(0, 2**32))
def test_copies_that_all_grew_meet_in_any_order(
    tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    random_ = random.Random(seed)
    folder = tmp_path_factory.mktemp("merge")
    origin = new_store(folder / "origin")
    origin.add_site_version(SITE, "first", received_at=T0)
    origin.add_entries(SITE, [ph(f"7.{n}", note="n") for n in range(3)], received_at=T0)
    rows = list(origin.rows())
    parcels = [grown(folder / f"copy{n}", rows, random_, 5 * n + 1) for n in range(3)]
    found = []
    for order in range(2):
        everything = [row for parcel in (*parcels, *parcels[:order]) for row in parcel]
        random_.shuffle(everything)
        made = new_store(folder / f"met{order}")
        made.merge(everything)
        made.merge(everything[: len(everything) // 2])
        found.append((list(made.rows()), [entry.uid for entry in made.entries(SITE)]))
    assert found[0][0] == found[1][0]
    assert sorted(found[0][1]) == sorted(found[1][1])


# how the tables grew


def test_the_steps_go_down_and_up_with_rows_in_the_record(
    store: Store, record_address: str, request: pytest.FixtureRequest
) -> None:
    fill(store)
    before = {
        entry.id: (entry.text, entry.supersedes, entry.batch) for entry in store.all_entries(SITE)
    }
    holding = [entry.id for entry in store.entries(SITE)]
    forecast = store.forecasts(SITE)
    store.close()
    place = find_place(record_address)
    change_form(place, env.BEFORE_STEPS + 1)
    assert found_version(place) == env.BEFORE_STEPS + 1
    again = Store.open(record_address)
    request.addfinalizer(again.close)
    assert {e.id: (e.text, e.supersedes, e.batch) for e in again.all_entries(SITE)} == before
    assert [entry.id for entry in again.entries(SITE)] == holding
    assert again.forecasts(SITE) == forecast
    assert again.site_text(SITE) == store.site_text(SITE)
    assert again.batches(SITE)[0].undone_why == "wrong file"
    last = max(int(name[1:]) for name in before)
    assert again.add_entry(SITE, ph(), received_at=T0) == f"e{last + 1}"
    uids = [row["uid"] for _, row in again.rows()]
    assert len(set(uids)) == len(uids)
    assert verify_record(record_address).faults == ()
