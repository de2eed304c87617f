"""One search for a cause: what was answered, skipped and struck out, told by its events.

A case is the list of its events and nothing else, so that it can be taken up again, and every
step back is one more event. docs/faults.md says what each event looks like in the file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, Literal

Act = Literal["begin", "record", "answer", "not_sure", "cannot", "strike", "back", "end"]
ACTS: tuple[Act, ...] = (
    "begin",
    "record",
    "answer",
    "not_sure",
    "cannot",
    "strike",
    "back",
    "end",
)
_KEEPERS = ("answer", "not_sure", "cannot", "strike")


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened in a case.

    Parameters
    ----------
    act
        ``begin``, ``record`` (the record filled a finding), ``answer``, ``not_sure``,
        ``cannot`` (not now), ``strike`` (a finding no longer counts), ``back``, or ``end``.
    question
        Key of the question; empty for begin, back and end.
    level
        Level of an answer; the cause confirmed, for end.
    words
        What says so; a remark.
    """

    act: Act
    question: str = ""
    level: str = ""
    words: str = ""


@dataclass(frozen=True, slots=True)
class Case:
    """How a case stands after its events.

    Parameters
    ----------
    recorded, answered
        Findings by question: from the record, and from the keeper, whose word stands.
    skipped
        Questions answered with not sure or cannot, by what was said.
    struck
        Questions whose finding no longer counts.
    outcome
        Cause confirmed; None while the case is open.
    events
        All events.
    """

    recorded: Mapping[str, Event] = field(default_factory=dict)
    answered: Mapping[str, Event] = field(default_factory=dict)
    skipped: Mapping[str, Act] = field(default_factory=dict)
    struck: frozenset[str] = frozenset()
    outcome: str | None = None
    events: tuple[Event, ...] = ()

    @property
    def seen(self) -> dict[str, str]:
        """Level by question of everything that counts."""
        both = {**self.recorded, **self.answered}
        return {key: event.level for key, event in both.items() if key not in self.struck}

    @property
    def closed_questions(self) -> set[str]:
        """Questions that are not asked any more."""
        return set(self.seen) | set(self.skipped)

    @property
    def disputed(self) -> tuple[str, ...]:
        """Questions on which the keeper's word differs from the record's."""
        return tuple(
            key
            for key, event in self.answered.items()
            if key in self.recorded and self.recorded[key].level != event.level
        )


def case_of(events: Iterable[Event]) -> Case:
    """Fold events to how the case stands.

    Parameters
    ----------
    events
        In their order; a step back takes away the keeper's newest act before it.

    Returns
    -------
    Case
        The case.
    """
    every = tuple(events)
    standing: list[Event] = []
    for event in every:
        if event.act != "back":
            standing.append(event)
            continue
        undone = next((e for e in reversed(standing) if e.act in _KEEPERS), None)
        if undone is not None:
            standing.reverse()
            standing.remove(undone)
            standing.reverse()
    return _folded(standing, every)


def _folded(standing: Iterable[Event], every: tuple[Event, ...]) -> Case:
    recorded: dict[str, Event] = {}
    answered: dict[str, Event] = {}
    skipped: dict[str, Act] = {}
    struck: set[str] = set()
    outcome: str | None = None
    for event in standing:
        key = event.question
        if event.act == "record":
            recorded[key] = event
        elif event.act == "answer":
            answered[key] = event
            skipped.pop(key, None)
            struck.discard(key)
        elif event.act in ("not_sure", "cannot"):
            skipped[key] = event.act
        elif event.act == "strike":
            struck.add(key)
        elif event.act == "end":
            outcome = event.level
    return Case(recorded, answered, skipped, frozenset(struck), outcome, every)


def to_object(event: Event) -> dict[str, Any]:
    """Return an event as it stands in a case file.

    Parameters
    ----------
    event
        The event.

    Returns
    -------
    dict
        Its act, and what else it has.
    """
    names = ("act", "question", "level", "words")
    return {name: getattr(event, name) for name in names if getattr(event, name)}


def from_object(given: Any) -> Event | None:
    """Return an event of a case file.

    Parameters
    ----------
    given
        One line, as JSON gives it.

    Returns
    -------
    Event or None
        None for what is no event.
    """
    if not isinstance(given, dict) or given.get("act") not in ACTS:
        return None
    texts = {name: given.get(name, "") for name in ("question", "level", "words")}
    if not all(isinstance(text, str) for text in texts.values()):
        return None
    return Event(given["act"], **texts)
