"""The parcel and the archive of a whole record: any order, any number of times, one outcome."""

from __future__ import annotations

import io
import json
import random
import shutil
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from tailrace.errors import FileFaultsError, InputError, NotKnownError, RecordError
from tailrace.exchange.archive import write_archive
from tailrace.exchange.parcel import FORM, Label, open_parcel, write_parcel
from tailrace.intake.result import Aside
from tailrace.observations import Entry
from tailrace.operations.export import archive_record
from tailrace.operations.parcel import pack_site, unpack
from tailrace.records.photos import bare_media, photo_path
from tailrace.records.redaction import Mark
from tailrace.records.samples import add_samples
from tailrace.records.series import act, series_numbers
from tailrace.records.store import Store
from tests.full_record import HOUR, SITE, T0, fill, ph, picture

NOW = datetime(2026, 6, 1, tzinfo=UTC)


def sense(store: Store, minutes: range, *, at: datetime = T0) -> None:
    """Let a sensor send its readings."""
    with act(store, write=True) as connection:
        number = series_numbers(connection, SITE, [("tank:temp", "Cel")], at=at)
        taken = np.array([1_772_000_000_000_000 + 60_000_000 * n for n in minutes])
        series = np.full(taken.size, number["tank:temp", "Cel"])
        add_samples(connection, series, taken, 24.0 + 0.1 * np.array(minutes))


def archived(store: Store) -> bytes:
    out = io.BytesIO()
    write_archive(store.rows(), out)
    return out.getvalue()


# an archive of a whole record


def test_an_archive_goes_through_either_engine_byte_for_byte(
    tmp_path: Path, record_address: str
) -> None:
    store = Store.open(tmp_path / "first")
    fill(store)
    sense(store, range(50))
    path = tmp_path / "record.jsonl"
    written = archive_record(store, path)
    assert dict(written.rows) | {"entries": 6, "samples": 50} == dict(written.rows)
    other = Store.open(record_address)
    assert unpack(other, path).merged.added == written.count
    again = tmp_path / "again.jsonl"
    archive_record(other, again)
    assert again.read_bytes() == path.read_bytes()
    assert unpack(other, path).merged.added == 0
    other.close()
    with pytest.raises(InputError, match="cannot be written"):
        archive_record(store, tmp_path / "nowhere" / "record.jsonl")


def test_an_archive_that_is_cut_stores_nothing(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "first")
    fill(store)
    path = tmp_path / "record.jsonl"
    archive_record(store, path)
    path.write_bytes(path.read_bytes()[:-200])
    other = Store.open(tmp_path / "other")
    with pytest.raises(FileFaultsError, match="cut short or changed"):
        unpack(other, path)
    assert other.site_names() == ()


# copies that grew apart


@dataclass(frozen=True)
class Grown:
    """Parcels of three copies of one record, an empty record, and what all must come to."""

    parcels: tuple[Path, ...]
    empty: Path
    whole: bytes
    conflicts: int


def grow(store: Store, seed: int) -> None:
    """Let a copy grow: readings, corrections, undos, redactions, answers, an import."""
    draw = random.Random(seed)
    for step in range(12):
        at = T0 + timedelta(days=2 + seed, minutes=7 * step)
        holding = [entry.id for entry in store.entries(SITE)]
        act = draw.choice(("add", "add", "correct", "undo", "redact", "version"))
        if act == "add":
            store.add_entry(SITE, ph(f"7.{step}", who=f"P{seed}", at=at), received_at=at)
        elif act == "correct" and holding:
            new = ph(f"6.{step}", note=f"copy {seed}", at=at)
            store.correct(draw.choice(holding), new, received_at=at, why="misread")
        elif act == "undo" and holding:
            store.undo_entry(draw.choice(holding), at=at, why="written twice")
        elif act == "redact" and holding:
            store.redact(draw.choice(holding), "note", Mark("asked", "AB", at))
        elif act == "version":
            store.add_site_version(SITE, f"copy {seed}, step {step}", received_at=at)
    at = T0 + timedelta(days=20 + seed)
    rows: list[Entry | Aside] = [ph("7.9", at=T0), Aside(3, "x", ("y",))]
    store.add_stream(SITE, rows, file="same.csv", sha256="f" * 64, received_at=at, who="AB")
    store.add_photo(SITE, picture(("red", "green", "blue")[seed % 3]), received_at=at)


@pytest.fixture(scope="module")
def grown(tmp_path_factory: pytest.TempPathFactory) -> Grown:
    home = tmp_path_factory.mktemp("grown")
    origin = Store.open(home / "origin")
    fill(origin)
    parcels = []
    both = origin.entries(SITE)[0].id
    for seed in (1, 2, 3):
        shutil.copytree(home / "origin", home / f"copy{seed}")
        copy = Store.open(home / f"copy{seed}")
        at = T0 + timedelta(days=1, hours=seed)
        copy.correct(both, ph(f"7.{seed}", at=T0), received_at=at, why=f"copy {seed}")
        half = home / f"half{seed}.zip"
        pack_site(copy, SITE, half, now=NOW)
        grow(copy, seed)
        late = home / f"late{seed}.zip"
        pack_site(copy, SITE, late, now=NOW, since=T0 + timedelta(days=1))
        parcels += [half, late]
    Store.open(home / "empty").close()
    shutil.copytree(home / "empty", home / "all")
    merged = Store.open(home / "all")
    said = [unpack(merged, parcel).merged.conflicts for parcel in parcels]
    return Grown(tuple(parcels), home / "empty", archived(merged), sum(map(len, said)))


@settings(
    max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.permutations(range(6)), st.lists(st.integers(0, 5), max_size=3))
def test_parcels_in_any_order_any_number_of_times_come_to_the_same_record(
    grown: Grown, tmp_path_factory: pytest.TempPathFactory, order: list[int], more: list[int]
) -> None:
    home = tmp_path_factory.mktemp("order") / "home"
    shutil.copytree(grown.empty, home)
    store = Store.open(home)
    for place in [*more, *order]:
        unpack(store, grown.parcels[place])
    assert archived(store) == grown.whole
    assert all(unpack(store, parcel).merged.added == 0 for parcel in grown.parcels[:2])
    shutil.rmtree(home)


def test_what_three_copies_changed_is_said_and_one_version_holds(
    grown: Grown, tmp_path: Path
) -> None:
    assert grown.conflicts >= 1
    shutil.copytree(grown.empty, tmp_path / "home")
    store = Store.open(tmp_path / "home")
    first = unpack(store, grown.parcels[0])
    assert first.merged.conflicts == ()
    second = unpack(store, grown.parcels[2])
    assert len(second.merged.conflicts) == 1
    assert "correct the same entry" in second.merged.conflicts[0]
    assert "received last, holds" in second.merged.conflicts[0]
    holding = [entry.text for entry in store.entries(SITE) if entry.text in {"7.1", "7.2"}]
    assert holding == ["7.2"]
    assert unpack(store, grown.parcels[2]).merged.conflicts == ()


def test_merging_there_and_back_gives_the_same_on_both(grown: Grown, tmp_path: Path) -> None:
    here, there = grown.parcels[1].parent / "copy1", grown.parcels[1].parent / "copy2"
    for name, folder in (("a", here), ("b", there)):
        shutil.copytree(folder, tmp_path / name)
    a, b = Store.open(tmp_path / "a"), Store.open(tmp_path / "b")
    unpack(a, grown.parcels[3])
    unpack(b, grown.parcels[1])
    assert archived(a) == archived(b)
    assert {e.uid for e in a.entries(SITE)} == {e.uid for e in b.entries(SITE)}
    assert a.site_text(SITE) == b.site_text(SITE)


def test_a_correction_of_what_another_copy_withdrew_is_said(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "a")
    fill(store)
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    other = Store.open(tmp_path / "b")
    name = store.entries(SITE)[0].id
    corrected = store.correct(name, ph("7.1"), received_at=NOW, why="misread")
    other.undo_entry(name, at=NOW - HOUR, why="written twice")
    path = tmp_path / "b.zip"
    pack_site(other, SITE, path, now=NOW)
    said = f"{SITE}: {corrected} corrects {name}, which was withdrawn in another copy"
    assert [text.split(";")[0] for text in unpack(store, path).merged.conflicts] == [said]
    assert unpack(store, path).merged.conflicts == ()
    assert not {name, corrected} & {entry.id for entry in store.entries(SITE)}
    pack_site(store, SITE, path, now=NOW)
    assert len(unpack(other, path).merged.conflicts) == 1
    assert archived(other) == archived(store)


def test_a_sensor_that_sent_to_both_copies_counts_once(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "a")
    fill(store)
    shutil.copytree(tmp_path / "a", tmp_path / "b")
    other = Store.open(tmp_path / "b")
    sense(store, range(30))
    sense(other, range(20, 60), at=T0 + HOUR)
    path = tmp_path / "b.zip"
    pack_site(other, SITE, path, now=NOW)
    found = unpack(store, path).merged
    assert (found.added, found.conflicts) == (30, ())
    lines = archived(store).decode().splitlines()
    assert sum('"table":"samples"' in line for line in lines) == 60
    assert unpack(store, path).merged.added == 0


# photos, and what does not fit


def test_photos_go_along_by_choice_and_come_back_whole(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "home")
    fill(store)
    sha256 = store.photos(SITE)[0].sha256
    full, bare = tmp_path / "full.zip", tmp_path / "bare.zip"
    assert pack_site(store, SITE, full, now=NOW).photos == (sha256,)
    assert pack_site(store, SITE, bare, now=NOW, photos=False).photos_left_out == 1
    other = Store.open(tmp_path / "other")
    assert unpack(other, bare).photos == 0
    with pytest.raises(NotKnownError, match="cannot be read"):
        other.photo_bytes(SITE, sha256)
    assert unpack(other, full).photos == 1
    assert other.photo_bytes(SITE, sha256) == store.photo_bytes(SITE, sha256)


def test_a_photo_taken_out_here_does_not_come_back(tmp_path: Path) -> None:
    store = Store.open(tmp_path / "home")
    fill(store)
    photo = store.photos(SITE)[0]
    path = tmp_path / "before.zip"
    pack_site(store, SITE, path, now=NOW)
    store.redact(photo.id, "file", Mark("shows a face", "AB", T0 + 9 * HOUR))
    found = unpack(store, path)
    assert found.photos == 0
    assert "taken out of this record before" in found.refused[0]
    assert not photo_path(store.home, photo.sha256, photo.media).exists()
    assert pack_site(store, SITE, tmp_path / "after.zip", now=NOW).photos == ()


def test_a_photo_with_more_than_its_pixels_is_not_taken() -> None:
    out = io.BytesIO()
    exif = Image.Exif()
    exif[0x010F] = "an invented camera"
    Image.new("RGB", (8, 8)).save(out, "JPEG", exif=exif)
    with pytest.raises(InputError, match="more than its pixels"):
        bare_media(out.getvalue())
    assert bare_media(picture()) == "image/jpeg"
    assert bare_media(picture(kind="PNG")) == "image/png"
    assert bare_media(picture(kind="WEBP")) == "image/webp"


def test_a_site_of_the_same_name_is_taken_for_the_same_only_when_said(tmp_path: Path) -> None:
    here, there = Store.open(tmp_path / "here"), Store.open(tmp_path / "there")
    fill(here)
    fill(there, seed="b")
    path = tmp_path / "there.zip"
    pack_site(there, SITE, path, now=NOW)
    before = archived(here)
    with pytest.raises(RecordError, match=r"begun by itself.*--same-site"):
        unpack(here, path)
    assert archived(here) == before
    found = unpack(here, path, same_site=True)
    assert found.merged.added > 10
    assert unpack(here, path, same_site=True).merged.added == 0
    assert here.site_names() == (SITE,)


@pytest.fixture
def parcel(tmp_path: Path) -> Path:
    store = Store.open(tmp_path / "packed")
    fill(store)
    path = tmp_path / "site.zip"
    label = pack_site(store, SITE, path, now=NOW, since=T0)
    assert label.since == "2026-03-01T08:00:00.000000Z"
    with open_parcel(path) as opened:
        assert opened.label == label
        assert opened.check().rows == label.rows
    return path


def _change(path: Path, member: str, made: Callable[[bytes], bytes]) -> None:
    with zipfile.ZipFile(path) as old:
        parts = {name: old.read(name) for name in old.namelist()}
    with zipfile.ZipFile(path, "w") as new:
        for name, data in parts.items():
            new.writestr(name, made(data) if name.startswith(member) else data)


def _label_with(**values: object) -> Callable[[bytes], bytes]:
    return lambda data: json.dumps({**json.loads(data), **values}).encode()


@pytest.mark.parametrize(
    ("member", "made", "said"),
    [
        ("rows.jsonl", lambda data: data[:-90], "cut short or changed"),
        ("rows.jsonl", lambda data: data.replace(b'"7.3"', b'"7.8"'), "digest does not fit"),
        ("photos/", lambda data: data[:-1] + b"x", "does not fit its digest"),
        ("parcel.json", lambda _: b"{}", "label cannot be read"),
        ("parcel.json", lambda _: b"[" * 99_999, "label cannot be read"),
        ("parcel.json", _label_with(parcel="x"), "not one of a parcel"),
        ("parcel.json", _label_with(form=FORM + 1), "newer version of this software"),
        ("parcel.json", _label_with(rows={"entries": 1}), "label does not fit its rows"),
        ("parcel.json", _label_with(photos=["../../x"]), "cannot be read"),
    ],
)
def test_a_changed_parcel_is_refused_and_stores_nothing(
    parcel: Path, tmp_path: Path, member: str, made: Callable[[bytes], bytes], said: str
) -> None:
    _change(parcel, member, made)
    store = Store.open(tmp_path / "new")
    with pytest.raises(FileFaultsError, match=said):
        unpack(store, parcel)
    assert store.site_names() == ()


def test_a_parcel_cut_or_spoilt_anywhere_is_refused_or_is_still_whole(
    parcel: Path, tmp_path: Path
) -> None:
    data = parcel.read_bytes()
    draw = random.Random(6)
    spoilt = tmp_path / "spoilt.zip"
    for _ in range(150):
        place = draw.randrange(len(data))
        changed = bytearray(data)
        changed[place] ^= draw.randrange(1, 256)
        for bad in (bytes(changed), data[:place]):
            spoilt.write_bytes(bad)
            try:
                with open_parcel(spoilt) as opened:
                    opened.check()
            except FileFaultsError:
                continue
            assert bad != data[:place]  # a byte that no reader looks at may differ


def test_a_parcel_that_cannot_be_written_or_read_is_said(tmp_path: Path) -> None:
    label = Label(SITE, "", "", "")
    with pytest.raises(InputError, match="cannot be written"):
        write_parcel(tmp_path / "nowhere" / "p.zip", label, rows=[], photos={})
    with pytest.raises(InputError, match="cannot be read"):
        unpack(Store.open(tmp_path / "home"), tmp_path / "none.zip")
    made = write_parcel(tmp_path / "p.zip", label, rows=[], photos={"a" * 64: lambda: b""})
    assert made == replace(label, rows=(), photos=())
