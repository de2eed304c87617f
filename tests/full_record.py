"""A record with a row in every table, of an invented site; every name and number is made up."""

from __future__ import annotations

import io
from datetime import UTC, date, datetime, timedelta

from PIL import Image

from tailrace.intake.result import Aside
from tailrace.observations import Entry, Instrument, Interval, Meaning
from tailrace.records.kept import KeptAdvice, KeptForecast, NamedPlace, Outcome
from tailrace.records.redaction import Mark
from tailrace.records.store import Store

SITE = "lantern"
T0 = datetime(2026, 3, 1, 8, tzinfo=UTC)
HOUR = timedelta(hours=1)


def ph(text: str = "7,2", *, who: str = "AB", at: datetime = T0, note: str = "") -> Entry:
    """Return a reading of pH as a person typed it."""
    meanings = (Meaning("", Interval(7.15, 7.25)),)
    return Entry("", "ph", text, "", meanings, at, who=who, note=note)


def picture(colour: str = "green", kind: str = "JPEG", size: tuple[int, int] = (40, 30)) -> bytes:
    """Return the bytes of a small photo."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, kind)
    return out.getvalue()


def fill(store: Store, *, seed: str = "") -> None:
    """Give a record a row in every table that is only added to."""
    store.add_site_version(SITE, f"the description {seed}", received_at=T0)
    store.add_person(f"Ann {seed}".strip(), received_at=T0)
    store.set_place(
        SITE, NamedPlace("", "north tank", "tank", "by the door"), received_at=T0, why=""
    )
    kit = Instrument(
        "blue box", "kit", "ph", "", (6.0, 6.5, 7.0), date(2027, 1, 31), "in the shed"
    )
    store.set_instrument(kit, site=SITE, received_at=T0)
    store.keep_mapping(SITE, "time;what", {"time": "when"}, received_at=T0)
    rows = [ph(f"7.{n}", at=T0 + n * HOUR) for n in range(3)]
    store.add_stream(
        SITE,
        [*rows, Aside(9, "tomorrow,ph,7", ("no date",))],
        file="log.csv",
        sha256=(seed or "a")[0] * 64,
        received_at=T0,
    )
    names = store.add_entries(
        SITE,
        [ph(who="AB", note="calm"), ph("7.4", who="CD", at=T0 + HOUR / 4)],
        received_at=T0 + HOUR,
        key=f"key {seed}",
    )
    store.answer_pair(names[0], names[1], "one", received_at=T0 + 2 * HOUR, who="AB")
    store.correct(names[0], ph("7.3", note="calm"), received_at=T0 + 2 * HOUR, why="misread")
    photo = store.add_photo(SITE, picture(), received_at=T0, who="AB")
    assert photo
    store.keep_forecast(SITE, _forecast(seed))
    told = KeptAdvice("", T0, "drain", "Drain 1 gal.", ("e" * 32,), {"volume_m3": 0.0038}, "0.1")
    advice = store.keep_advice(SITE, told, received_at=T0)
    store.add_outcome(advice, Outcome("done", "black, then clear", "", "AB", T0 + 3 * HOUR))
    store.undo_batch("b1", at=T0 + 3 * HOUR, why="wrong file")
    store.redact(names[1], "who", Mark("asked by the person", "AB", T0 + 4 * HOUR))


def _forecast(seed: str) -> KeptForecast:
    return KeptForecast(
        key=f"{seed:k>64}",
        at=T0,
        issued_at=T0,
        version="0.1.0",
        seed=7,
        entries=("e" * 32,),
        body={"say": "invented"},
    )
