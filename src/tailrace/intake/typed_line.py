"""One typed line to entries: `tan 0.5 ppm as N; ph 7.0; drained 1.5 gal black then clear`.

Things are parted by semicolons. What is understood is said back before it is stored; what can be
read two ways becomes a question with the words to type instead, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from tailrace.errors import InputError
from tailrace.intake import flags as f
from tailrace.intake.doubles import Seen, said_as
from tailrace.intake.line_words import Words, split_words
from tailrace.intake.log_row import Context, Fields, Outcome, read_row
from tailrace.intake.moments import Calendar
from tailrace.intake.questions import Question, question_of
from tailrace.intake.text_table import Row
from tailrace.intake.time_words import Told, span, told
from tailrace.intake.trend import Trend
from tailrace.observations import Entry, Instrument
from tailrace.quantities import subjects, words
from tailrace.site import Site

_PART = re.compile(r"\s*(?:;|\n)\s*")
_COMMA = re.compile(r", +(?=([A-Za-z][A-Za-z0-9 /-]*))")
_AFTER_BACKWASH = re.compile(
    r"\b(?P<about>about )?(?P<number>[\d.,/]+|half an|an?) *"
    r"(?P<span>seconds?|secs?|minutes?|mins?|hours?|hrs?|h) after (?:the |a |last |the last )?"
    r"(?:backwash|release)\b",
    re.I,
)
_SAME_BACKWASH = timedelta(minutes=10)


@dataclass(frozen=True, slots=True)
class Piece:
    """One thing of a line.

    Parameters
    ----------
    text
        As typed.
    entries
        Entries that it gives; none while something has to be asked.
    doubts
        Sentences about what is doubtful though it can be stored.
    reasons
        Why it cannot be taken.
    question
        What has to be asked first; None when it is clear.
    """

    text: str
    entries: tuple[Entry, ...] = ()
    doubts: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    question: Question | None = None

    @property
    def clear(self) -> bool:
        """Whether it can be stored as it stands."""
        return bool(self.entries) and self.question is None and not self.reasons


@dataclass(frozen=True, slots=True)
class Line:
    """A typed line as understood; nothing is stored yet.

    Parameters
    ----------
    pieces
        What it says, in order.
    """

    pieces: tuple[Piece, ...]

    @property
    def clear(self) -> bool:
        """Whether every thing can be stored as it stands."""
        return bool(self.pieces) and all(piece.clear for piece in self.pieces)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """Entries of all pieces."""
        return tuple(entry for piece in self.pieces for entry in piece.entries)

    def text(self) -> str:
        """Return the line as it would be typed to give the same."""
        return "; ".join(piece.text for piece in self.pieces)

    def instead(self, place: int, text: str) -> str:
        """Return the line with another text for one thing.

        Parameters
        ----------
        place
            Its place, from 0.
        text
            What is typed instead.

        Returns
        -------
        str
            The whole line.
        """
        parts = [piece.text for piece in self.pieces]
        parts[place] = text
        return "; ".join(parts)


def read_line(
    text: str,
    site: Site,
    *,
    now: datetime,
    who: str = "",
    kits: Sequence[Instrument] = (),
    existing: Iterable[Entry] = (),
) -> Line:
    """Read a typed line.

    Parameters
    ----------
    text
        The line.
    site
        The site.
    now
        When it was typed, aware; what says no time was just now.
    who
        Who wrote it.
    kits
        Kits, meters and probes that a person described.
    existing
        Entries that the record holds for this site.

    Returns
    -------
    Line
        What each part says, what is doubtful, and what has to be asked.

    Raises
    ------
    InputError
        `now` has no time zone, or the line is empty.
    """
    if now.tzinfo is None:
        raise InputError(f"the moment {now} has no time zone; give it with its zone.")
    now = now.replace(microsecond=0)
    parts = [part for whole in _PART.split(text) if whole for part in _at_commas(whole)]
    if not parts:
        raise InputError("the line is empty; write such as 'ph 7.0; fed 2 scoops'.")
    context = Context(site, Calendar(site.zone, now), kits=tuple(kits))
    reader = _LineReader(context, who, tuple(existing))
    return Line(tuple(reader.piece(part) for part in parts))


def _at_commas(text: str) -> list[str]:
    """Part at a comma only where a word for something begins behind it."""
    parts, start = [], 0
    for match in _COMMA.finditer(text):
        first = match[1].casefold().split()
        heads = (" ".join(first[:length]) for length in range(len(first), 0, -1))
        if any(head in words() for head in heads):
            parts.append(text[start : match.start()])
            start = match.end()
    return [*parts, text[start:]]


class _LineReader:
    """The parts of a line one after the other; each may repeat or doubt those before it."""

    def __init__(self, context: Context, who: str, existing: tuple[Entry, ...]) -> None:
        self._context, self._who = context, who
        self._existing = existing
        self._seen, self._trend = Seen(existing), Trend(existing)

    @property
    def _now(self) -> datetime:
        return self._context.calendar.received_at

    def piece(self, text: str) -> Piece:
        try:
            return self._piece(text)
        except InputError as error:
            return Piece(text, reasons=(str(error),))

    def _piece(self, text: str) -> Piece:
        note = re.match(r"(?:note|remark|comment)s?\b[: ]*(.*)", text, re.I | re.S)
        if note and note[1]:
            return self._entry(text, Words("note", "", note=note[1]), Told(""))
        rest, after = _after_backwash(text)
        when = told(rest, self._context.site.zone, self._now)
        if when.question:
            return Piece(text, question=_time_question(text, when))
        if when.at and not when.rest.strip(" :,"):
            reason = f"{text!r} is a time alone; write it beside what was seen or done."
            return Piece(text, reasons=(reason,))
        found = split_words(when.rest, self._context.site, self._context.kits)
        asked = question_of(text, found, self._context.site)
        if asked:
            return Piece(text, question=asked)
        return self._entry(text, found, when, after)

    def _entry(self, text: str, found: Words, when: Told, after: timedelta | None = None) -> Piece:
        at = when.at or self._now
        cells = {
            "when": at.isoformat(),
            "what": found.word,
            "value": found.value,
            "method": found.method,
            "place": found.place,
            "who": self._who,
            "note": found.note,
        }
        outcome = read_row(Fields(Row(0, (), text), cells), self._context)
        if outcome.entry is None:
            return Piece(text, reasons=outcome.reasons)
        asked = question_of(text, found, self._context.site, outcome.entry)
        if asked:
            return Piece(text, question=asked)
        details = (*found.details, *_after_detail(after))
        entry = replace(outcome.entry, taken_also=when.also, details=details)
        return self._checked(text, entry, outcome, after)

    def _checked(
        self, text: str, entry: Entry, outcome: Outcome, after: timedelta | None
    ) -> Piece:
        marks, doubts = list(entry.flags), list(outcome.doubts)
        same = self._seen.exact(entry)
        if same:
            return Piece(text, reasons=(f"the same stands in {same} already.",))
        near = self._seen.near(entry)
        if near is not None:
            marks.append(f"{f.SAME} {said_as(near)}: one or two?")
            doubts.append(f"{near.who or 'someone'} wrote {near.as_typed} in {said_as(near)} "
                          f"within half an hour: one or two?")  # fmt: skip
        for flag, sentence in self._trend.doubts(entry):
            marks.append(flag)
            doubts.append(sentence)
        kept = replace(entry, flags=tuple(marks))
        self._seen.add(kept)
        return Piece(text, (kept, *self._backwash(entry, after)), tuple(doubts))

    def _backwash(self, entry: Entry, after: timedelta | None) -> Iterable[Entry]:
        """Return the backwash that '20 min after backwash' tells of, unless it is known."""
        if after is None:
            return ()
        at = entry.taken_at - after
        for known in self._existing:
            if known.subject == "backwash" and abs(known.taken_at - at) <= _SAME_BACKWASH:
                return ()
        return (
            Entry(
                id="", subject="backwash", text="", unit="", meanings=(), taken_at=at,
                received_at=self._now, who=self._who, flags=(f.WORKED_OUT,),
                note=f"from: {subjects()[entry.subject].label} {entry.text}, "
                     f"{round(after.total_seconds() / 60)} min after a backwash",
            ),
        )  # fmt: skip


def _after_backwash(text: str) -> tuple[str, timedelta | None]:
    match = _AFTER_BACKWASH.search(text)
    if match is None:
        return text, None
    rest = f"{text[: match.start()].rstrip(' ,')} {text[match.end() :].lstrip(' ,')}".strip()
    return rest, span(match["number"], match["span"])


def _after_detail(after: timedelta | None) -> tuple[tuple[str, str], ...]:
    if after is None:
        return ()
    return (("minutes after backwash", f"{after.total_seconds() / 60:g}"),)


def _time_question(text: str, when: Told) -> Question:
    choices = tuple(
        (choice.strip(), " ".join(text.replace(when.words, f" {choice.strip()} ").split()))
        for choice in when.choices
    )
    return Question(when.question, choices)
