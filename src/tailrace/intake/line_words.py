"""The words of one typed thing: its subject, value, unit, method, place, and what is left.

Nothing is converted here; `tailrace.intake.log_row` reads the value as it reads one of a file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tailrace.errors import InputError
from tailrace.intake.chosen_units import measures_for
from tailrace.intake.kits import kit_of
from tailrace.intake.log_row import subject_of
from tailrace.intake.scales import is_chart
from tailrace.intake.time_words import span
from tailrace.observations import Instrument
from tailrace.quantities import Subject, subjects, words
from tailrace.site import Site
from tailrace.units import basis_of, find_unit, from_unit, own_measure, plain_text, split_basis
from tailrace.units.numbers import NUMBER

_LONGEST = 5
_GENERAL = frozenset({"other_dose", "other_setting", "note"})
_FILLERS = frozenset(
    {"a", "an", "the", "i", "we", "saw", "heard", "seen", "gave", "did", "took", "made", "put",
     "have", "had", "just", "some", "counted", "measured", "read", "watched"}
)  # fmt: skip
_SHORT_WORDS = frozenset({"in", "a", "d", "m", "h", "s", "x", "-", "head", "times", "c", "f"})
_LEAD = re.compile(r"^(?:[:=]+|was\b|is\b|of\b|to\b|at\b|reads?\b|set to\b|,)* *", re.I)
_BOUND = (
    r"(?:<=?|>=?|≤|≥|~|≈|about|approx\.?|approximately|around|roughly|ca\.?|less than|below|under"
    r"|more than|above|over|at least|up to|at most)? *"
)
_VALUE = re.compile(
    rf"(?P<number>{_BOUND}(?:(?:{NUMBER})(?: *(?:-|to) *(?:{NUMBER}))?)|traces?\b)", re.I
)
_ARTICLE = re.compile(r"^(?:an?|none|no|zero|nil)$", re.I)
_HANDLE = re.compile(r"^(?:fully open|half open|open|shut|closed)\b", re.I)
_HOURS = re.compile(
    rf"\b(?:over|in|within|during|for)(?: the)?(?: last)? *(?P<number>{NUMBER})? *"
    r"(?P<span>minutes?|mins?|hours?|hrs?|h|days?|d)\b",
    re.I,
)
_METERS = re.compile(r"\b(?:meter|probe|photometer|thermometer|refractometer|sensor)\b", re.I)
_BY = re.compile(r"\b(?:by|with|using) (?:the |a |an )?(?P<method>[^,]+)$", re.I)
_TIMED = frozenset({"return_flow", "bypass_flow"})
_OPENING = re.compile(
    r"\b(?:with |at )?(?:the )?bypass\b.*|\b(?:at )?[\d.,/]+ *(?:deg\w*|°|turns?|%)(?: open)?",
    re.I,
)
_NOT_KNOWN = re.compile(r"[ (]*\b(?:basis|unit)? ?not known\b\)?", re.I)


@dataclass(frozen=True, slots=True)
class Words:
    """The words of one thing.

    Parameters
    ----------
    word
        Word for its subject.
    value
        Value with its unit, as typed; empty when none.
    unit
        The unit alone.
    unknown
        Word behind the number that is no unit known here.
    method, place
        How and where it was read.
    note
        What is left.
    details
        Pairs of what an event has besides.
    settled
        Whether the text says that unit or basis are not known.
    """

    word: str
    value: str = ""
    unit: str = ""
    unknown: str = ""
    method: str = ""
    place: str = ""
    note: str = ""
    details: tuple[tuple[str, str], ...] = ()
    settled: bool = False

    @property
    def subject(self) -> Subject:
        """Its subject."""
        return subjects()[subject_of(self.word)]


def split_words(text: str, site: Site, kits: Sequence[Instrument] = ()) -> Words:
    """Split one thing into its words.

    Parameters
    ----------
    text
        One thing as typed, without the words for its time.
    site
        The site: its measures and places.
    kits
        Kits, meters and probes that a person described.

    Returns
    -------
    Words
        Its words; nothing of the text is dropped.

    Raises
    ------
    InputError
        No word for a subject is in it, or it says two things.
    """
    plain = plain_text(text)
    settled = _NOT_KNOWN.search(plain)
    plain = _NOT_KNOWN.sub(" ", plain).strip() if settled else plain
    word, before, after = _subject(plain)
    subject = subjects()[subject_of(word)]
    found = Words(word, settled=bool(settled))
    if subject.key in {"backwash_count", "watched_backwashes"}:
        found, before, after = _watched(found, before, after)
        subject = found.subject
    if subject.has_value:
        found, rest = _with_value(found, subject, before, after, site)
    else:
        rest = _joined(before, after)
    found, rest = _with_method(found, rest, kits)
    found, rest = _with_place(found, rest, site)
    return _with_rest(found, rest)


def _joined(*parts: str) -> str:
    return " ".join(part.strip(" ,") for part in parts if part.strip(" ,"))


def _subject(text: str) -> tuple[str, str, str]:
    """Return the word for the subject, and the text before and behind it."""
    tokens = text.split()
    found = [
        (start, length)
        for start in range(len(tokens))
        for length in range(1, min(_LONGEST, len(tokens) - start) + 1)
        if _as_word(tokens[start : start + length]) in words()
    ]
    if not found:
        head = " ".join(t for t in tokens if not re.search(r"\d", t))[:40]
        subject_of(head or text[:40])  # raises, naming the nearest words
    first = next((p for p, t in enumerate(tokens) if t.casefold() not in _FILLERS), 0)
    start, length = max(found, key=lambda each: _rank(each, tokens, first))
    word = _as_word(tokens[start : start + length])
    before = [t for t in tokens[:start] if t.casefold() not in _FILLERS - {"a", "an"}]
    if start and before and not _VALUE.match(" ".join(before)):
        before = [t for t in before if t.casefold() not in {"a", "an"}]
    return word, " ".join(before), " ".join(tokens[start + length :])


def _as_word(tokens: Sequence[str]) -> str:
    return " ".join(tokens).replace("_", " ").casefold().strip(" :.*=,?!")


def _rank(each: tuple[int, int], tokens: Sequence[str], first: int) -> tuple[bool, bool, int, int]:
    start, length = each
    general = words()[_as_word(tokens[start : start + length])] in _GENERAL
    return (not general, start <= first, length, -start)


def _watched(found: Words, before: str, after: str) -> tuple[Words, str, str]:
    """Take the hours over which backwashes were counted out of the text."""
    match = _HOURS.search(after)
    if match is None:
        return found, before, after
    hours = span(match["number"] or "1", match["span"]).total_seconds() / 3600.0
    if hours == 0.0:
        raise InputError("backwashes were counted over no time; write such as 'over 6 h'.")
    rest = _joined(after[: match.start()], after[match.end() :])
    if hours == 24.0:
        return replace(found, word="backwash count"), before, rest
    word = "backwashes watched"
    return replace(found, word=word, details=(("hours", f"{hours:g}"),)), before, rest


def _with_value(
    found: Words, subject: Subject, before: str, after: str, site: Site
) -> tuple[Words, str]:
    """Find the value behind the subject, else before it."""
    after = after[len(_LEAD.match(after)[0]) :]  # type: ignore[index]  # it matches anything
    handle = _HANDLE.match(after) if subject.suffix == "_frac" else None
    if handle:
        return replace(found, value=handle[0]), _joined(before, after[handle.end() :])
    for text, other, behind in ((after, before, True), (before, after, False)):
        match = _VALUE.match(text) if behind else _VALUE.search(text)
        if match is None:
            continue
        number = match["number"].rstrip(" ,.")
        unit, rest = _unit(text[match.start() + len(number) :], subject, site)
        if _ARTICLE.match(number) and not unit and subject.suffix:
            continue
        unknown = "" if unit or not subject.suffix else _first_word(rest)
        value, plain = f"{number} {unit}".strip(), split_basis(unit)[0]
        made = replace(found, value=value, unit=plain, unknown=unknown)
        return made, _joined(other, text[: match.start()], rest)
    return found, _joined(before, after)


def _unit(text: str, subject: Subject, site: Site) -> tuple[str, str]:
    """Return the unit at the beginning of a text, and the rest; the longest that is known."""
    tokens = text.split()
    measures = measures_for(subject, site)
    every = {m.word: (m.amount, m.suffix) for m in site.measures} | measures
    for length in range(min(_LONGEST, len(tokens)), 0, -1):
        typed = " ".join(tokens[:length])
        unit = typed.rstrip(",.:")
        if own_measure(unit, every) is not None or _is_unit(unit, subject):
            rest = " ".join(tokens[length:])
            return unit, rest.removeprefix("of ") if length < len(tokens) else rest
    return "", text.strip()


def _is_unit(text: str, subject: Subject) -> bool:
    plain, basis = split_basis(text)
    if not plain or (text.casefold().startswith("as ") and basis_of(text)):
        return bool(basis)
    row = find_unit(plain)
    if row is None:
        return False
    try:
        from_unit(1.0, plain, subject.suffix)
    except InputError:
        return plain.casefold() not in _SHORT_WORDS and subject.suffix != ""
    return True


def _first_word(text: str) -> str:
    match = re.match(r"[^\W\d_]+", text)
    return match[0] if match else ""


def _with_method(found: Words, rest: str, kits: Sequence[Instrument]) -> tuple[Words, str]:
    bracket = re.search(r"\(([^()]+)\)", rest)
    if bracket:
        return replace(found, method=bracket[1].strip()), _joined(
            rest[: bracket.start()], rest[bracket.end() :]
        )
    match = _BY.search(rest)
    for text, start in ((match["method"], match.start()) if match else ("", 0), (rest, 0)):
        if text and (kit_of(text, found.subject.key, kits) or _is_method(text)):
            return replace(found, method=text.strip()), rest[:start].strip(" ,")
    return found, rest


def _is_method(text: str) -> bool:
    return len(text.split()) <= _LONGEST and (is_chart(text) or bool(_METERS.search(text)))


def _with_place(found: Words, rest: str, site: Site) -> tuple[Words, str]:
    for place in sorted(_places(site), key=len, reverse=True):
        match = re.search(
            rf"(?:^|\b(?:in|at|from|on|of|into|to) +)(?:the +)?(?P<place>{re.escape(place)})\b",
            rest,
            re.I,
        )
        if match:
            kept = _joined(rest[: match.start()], rest[match.end() :])
            return replace(found, place=match["place"]), kept
    return found, rest


def _places(site: Site) -> Iterable[str]:
    tanks, beds = (tank.name for tank in site.tanks), (bed.name for bed in site.beds)
    return ("sump", *tanks, *beds, *(each.name for each in site.filters))


def _with_rest(found: Words, rest: str) -> Words:
    rest = rest.strip(" ,.:")
    _refuse_second(found, rest)
    if found.subject.key in _TIMED and (opening := _OPENING.search(rest)):
        note = _joined(rest[: opening.start()], rest[opening.end() :])
        return replace(found, note=note, details=(*found.details, ("opening", opening[0])))
    if found.subject.key != "drain":
        return replace(found, note=rest)
    told: dict[str, list[str]] = {}
    for part in re.split(r",| and (?=[^,]*\bbeads?\b)", rest):
        if part.strip():
            kind = "beads" if re.search(r"\bbeads?\b", part, re.I) else "look"
            told.setdefault(kind, []).append(part.strip())
    details = tuple((kind, ", ".join(kept)) for kind, kept in told.items())
    return replace(found, details=(*found.details, *details))


def _refuse_second(found: Words, rest: str) -> None:
    """Refuse a rest that says a value of something else, which a note would hide."""
    tokens = rest.split()
    for start in range(len(tokens) - 1):
        word = _as_word(tokens[start : start + 1])
        key = words().get(word, "")
        if key and subjects()[key].has_value and re.match(r"[<>~]?\d", tokens[start + 1]):
            raise InputError(
                f"it says two things, {found.word!r} and {word!r}; put a semicolon between them."
            )
