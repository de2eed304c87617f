"""Which words a text may use: the glossary, plain English, numbers and units.

Plain English is what `wordfreq` finds at least once in a million words (Zipf 3.0).
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from wordfreq import zipf_frequency

from tailrace.quantities import subjects, suffixes

PLAIN_ZIPF = 3.0
_WORD = re.compile(r"[^\W\d_]+(?:['’-][^\W\d_]+)*")
_CODE = re.compile(r"`[^`]*`|https?://\S+")
_WITH_DIGITS = re.compile(r"\b\w*\d\w*\b")
_WORD_UNITS = (
    "gal",
    "lb",
    "oz",
    "ft",
    "uS",
    "mS",
    "std",
    "mL",
    "kPa",
    "mbar",
    "psi",
    "kWh",
    "gpm",
)


@dataclass(frozen=True, slots=True)
class Term:
    """A row of the glossary."""

    term: str
    also: tuple[str, ...]
    meaning: str
    ground: str

    @property
    def spellings(self) -> tuple[str, ...]:
        return (self.term, *self.also)


@cache
def glossary() -> tuple[Term, ...]:
    with files("tailrace.quantities").joinpath("glossary.csv").open(encoding="utf-8") as stream:
        return tuple(
            Term(
                row["term"],
                tuple(row["also"].split("|")) if row["also"] else (),
                row["meaning"],
                row["ground"],
            )
            for row in csv.DictReader(stream)
        )


def _key(spelling: str) -> str:
    # DO and the verb 'do' differ by their capitals alone, as do N and GH
    return spelling if spelling.isupper() and len(spelling) <= 2 else spelling.casefold()


@cache
def _by_spelling() -> dict[str, str]:
    return {_key(spelling): row.term for row in glossary() for spelling in row.spellings}


@cache
def _term_pattern() -> re.Pattern[str]:
    spellings = sorted((s for row in glossary() for s in row.spellings), key=len, reverse=True)
    exact = "|".join(re.escape(s) for s in spellings if _key(s) == s and s.isupper())
    loose = "|".join(
        re.escape(s).replace(r"\ ", r"\s+")
        for s in spellings
        if not (_key(s) == s and s.isupper())
    )
    return re.compile(rf"(?<![\w-])(?:(?i:{loose})|(?:{exact}))(?![\w-])")


def _term_of(match: str) -> str:
    spelling = " ".join(match.split())
    found = _by_spelling()
    return found.get(_key(spelling)) or found[spelling.casefold()]


def trade_words(text: str) -> tuple[str, ...]:
    """Glossary terms that stand in a text, each once, in the order of the text."""
    return tuple(dict.fromkeys(_term_of(m.group()) for m in _term_pattern().finditer(text)))


@cache
def _units() -> frozenset[str]:
    written = [s.unit for s in suffixes().values()]
    written += [unit for s in subjects().values() for unit in (s.us_unit, s.metric_unit)]
    written += [basis for s in subjects().values() for basis in s.bases]
    letters = {word for text in written for word in re.findall(r"[A-Za-z]+", text)}
    return frozenset(letters | set(_WORD_UNITS))


def _is_plain(word: str) -> bool:
    bare = re.sub(r"['’]s?$", "", word)
    if bare in _units() or zipf_frequency(bare, "en") >= PLAIN_ZIPF:
        return True
    parts = bare.split("-")
    return len(parts) > 1 and all(_is_plain(part) for part in parts)


def unknown_words(text: str, *, also: Iterable[str] = ()) -> tuple[str, ...]:
    """Words that are neither glossary terms, plain English, numbers nor units.

    ``also`` lists names that the text may use, such as those of an invented site.
    """
    rest = _term_pattern().sub(" ", _CODE.sub(" ", text))
    rest = _WITH_DIGITS.sub(" ", rest)
    known = {word.casefold() for name in also for word in _WORD.findall(name)}
    words = (m.group() for m in _WORD.finditer(rest))
    return tuple(dict.fromkeys(w for w in words if w.casefold() not in known and not _is_plain(w)))


# each: what must not stand in a text, and what to write instead
_HOUSE = (
    (re.compile(r"(?i)(?<!bead )(?<!plant )\bbeds?\b"), "bead bed or plant bed"),
    (re.compile(r"(?i)\bwash(?:es|ed|ing)?\b(?!\s+(?:your\s+)?hands)"), "backwash"),
    (re.compile(r"(?i)\beffluents?\b"), "filter outlet"),
    (re.compile(r"(?i)\bcharge chambers?\b"), "air chamber"),
    (re.compile(r"(?i)\btrigger(?:s|ed)?\b"), "release"),
    (re.compile(r"(?i)\bbreak(?:ing)?[ -]in\b"), "running-in"),
)


def misused_words(text: str) -> tuple[str, ...]:
    """House words that a text gets wrong, as ``found: write this instead``."""
    flat = " ".join(text.split())
    return tuple(
        f"{m.group()}: write {instead}"
        for pattern, instead in _HOUSE
        for m in pattern.finditer(flat)
    )
