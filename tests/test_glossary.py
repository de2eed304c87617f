"""The glossary is complete, plain and kept to; its page is current."""

from __future__ import annotations

import pytest

from tailrace.quantities import subjects
from tailrace.sources import sources
from tests.pages_glossary import PAGE, page
from tests.words import glossary, misused_words, trade_words, unknown_words


def test_page_is_current() -> None:
    assert PAGE.read_text(encoding="utf-8") == page()


def test_no_spelling_stands_for_two_things() -> None:
    spellings = [spelling for row in glossary() for spelling in row.spellings]
    assert len(spellings) == len(set(spellings))


@pytest.mark.parametrize("row", glossary(), ids=lambda row: row.term)
def test_meaning_is_one_plain_sentence(row) -> None:  # type: ignore[no-untyped-def]
    assert row.meaning.endswith(".")
    assert row.meaning.count(". ") == 0
    assert len(row.meaning) <= 150
    assert unknown_words(row.meaning, also=("Oreochromis niloticus", "Perca flavescens")) == ()
    assert misused_words(row.meaning) == ()


@pytest.mark.parametrize("row", glossary(), ids=lambda row: row.term)
def test_ground_is_named(row) -> None:  # type: ignore[no-untyped-def]
    if row.ground in ("common practice", "own word"):
        return
    assert sources()[row.ground].obtained == "opened", "a published use must have been read"


def test_labels_of_the_log_are_glossary_or_plain_words() -> None:
    assert {
        key: unknown_words(s.label) for key, s in subjects().items() if unknown_words(s.label)
    } == {}


def test_trade_words_are_found_longest_first_and_once() -> None:
    text = (
        "Open the bypass, watch the Air Float; the bypass   valve and total ammonia (as N) follow."
    )
    assert trade_words(text) == ("bypass", "air float", "total ammonia")
    assert trade_words("A top-up is no water change. Do it; DO is low.") == (
        "top-up",
        "water change",
        "dissolved oxygen",
    )
    assert trade_words("Nothing here but plain words.") == ()


def test_unknown_words_are_told_from_plain_ones() -> None:
    assert unknown_words("Drain 1.5 gal of sludge at 25 °C, don't wait: 3 mg/L as N.") == ()
    assert unknown_words("The zymogenic frobnicator; the frobnicator again") == (
        "zymogenic",
        "frobnicator",
    )
    assert unknown_words("Brackwaterholm is fine", also=("Brackwaterholm",)) == ()
    assert unknown_words("run `tailrace qzxv` then wait") == ()
    assert unknown_words("the keeper's re-filled tank") == ()


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("Look at the bed.", ("bed: write bead bed or plant bed",)),
        ("The bead bed and the plant\nbed.", ()),
        ("It washes six times; wash your hands.", ("washes: write backwash",)),
        ("It backwashes; wash hands after.", ()),
        ("The effluent is clear.", ("effluent: write filter outlet",)),
        (
            "Trigger and charge chamber.",
            ("charge chamber: write air chamber", "Trigger: write release"),
        ),
        ("Break-in takes a week.", ("Break-in: write running-in",)),
    ],
)
def test_house_words(text: str, found: tuple[str, ...]) -> None:
    assert misused_words(text) == found


def test_words_of_design_are_all_explained() -> None:
    wanted = """loop, tank, sump, plant bed, raft, bead bed, backwash, air charge, air chamber,
    release, running-in, air float, rotameter, needle, bypass, sludge drain, ripening, toxic part,
    total ammonia (as N), un-ionised ammonia, TAN, alkalinity, hardness, make-up water, top-up,
    water change, round, lot, feed ration, filter outlet, nitrite, nitrate, dissolved oxygen,
    chloramine, chlorine, dip test, check valve, non-return valve, return, face, margin, SCFH, ppm,
    meq, dKH, pH"""
    known = {spelling for row in glossary() for spelling in row.spellings}
    assert [
        word for part in wanted.split(",") if (word := " ".join(part.split())) not in known
    ] == []
