"""What a search for a cause is made of: causes, questions with their levels, and cautions.

They are data: `faults/*.toml`, `findings.toml` and `cautions.toml`, read and checked by
`tailrace.diagnosis.catalogue`. docs/faults.md shows them and says how to add one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum


class Ground(Enum):
    """What a number rests on."""

    MODEL = "model"
    PUBLISHED = "published"
    PRACTICE = "practice"
    JUDGEMENT = "judgement"


class Risk(Enum):
    """Risk of a check to people or animals, priced in minutes [judgement]."""

    NONE = "none"
    LOW = "low"
    SOME = "some"
    HIGH = "high"

    @property
    def minutes(self) -> float:
        """Minutes that a check of this risk must save before it pays."""
        return {"none": 0.0, "low": 1.0, "some": 4.0, "high": 15.0}[self.value]


@dataclass(frozen=True, slots=True)
class Question:
    """One thing that can be seen, asked, tested or read from the record.

    Parameters
    ----------
    number
        Short number that never changes: the same on screen, in the terminal and on paper.
    key
        Name in the tables.
    asks, how
        The question, and how to look.
    levels
        Answers by key with their words; the first is the usual one.
    by_chance
        Chance of each other level with nothing wrong.
    minutes
        Time it takes.
    tools
        What it takes.
    risk
        Risk to people or animals.
    record
        Whether the record can fill it by itself.
    drawing
        A drawing where words fail; empty for none.
    complaints
        Levels that can begin a search, with the words of a complaint.
    """

    number: int
    key: str
    asks: str
    how: str
    levels: Mapping[str, str]
    by_chance: Mapping[str, float]
    minutes: float
    tools: tuple[str, ...] = ()
    risk: Risk = Risk.NONE
    record: bool = False
    drawing: str = ""
    complaints: Mapping[str, str] = field(default_factory=dict)

    @property
    def usual(self) -> str:
        """The level seen when nothing is wrong."""
        return next(iter(self.levels))

    @property
    def price_min(self) -> float:
        """Minutes with one to get there and those that its risk adds."""
        return self.minutes + 1.0 + self.risk.minutes


@dataclass(frozen=True, slots=True)
class Sign:
    """What a cause brings about in one finding.

    Parameters
    ----------
    chances
        Chance of each level that the cause brings about by itself.
    ground
        What the chances rest on.
    """

    chances: Mapping[str, float]
    ground: Ground


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that can be wrong.

    Parameters
    ----------
    id, title, group
        Short name that never changes, words, and the group it stands in.
    onset
        How it begins.
    per_year
        How often it begins in a unit a year.
    unfound_days
        Days that it usually lasts before somebody looks for it.
    ground
        What these two rest on.
    looks_like
        Ids of causes that it is mistaken for.
    remedy
        Steps, with amounts in braces that are worked out for the site.
    cautions
        Sentences that stand beside the steps.
    call, call_when
        ``electrician``, ``vet`` or empty; and when to stop and call.
    watch
        What to watch and when it should show.
    again, again_h
        Question of the follow-up check, and hours until it.
    signs
        What it brings about, by question.
    """

    id: str
    title: str
    group: str
    onset: str
    per_year: float
    unfound_days: float
    ground: Ground
    looks_like: tuple[str, ...]
    remedy: tuple[str, ...]
    cautions: tuple[str, ...]
    call: str
    call_when: str
    watch: str
    again: str
    again_h: float
    signs: Mapping[str, Sign]

    @property
    def odds(self) -> float:
        """Odds that it is there at a moment: how often it begins times how long it lasts."""
        return self.per_year * self.unfound_days / 365.25


@dataclass(frozen=True, slots=True)
class Catalogue:
    """Every cause and every question.

    Parameters
    ----------
    causes, questions
        By id and by key, in the order of the tables.
    """

    causes: Mapping[str, Cause]
    questions: Mapping[str, Question]

    def numbered(self, number: int) -> Question | None:
        """Return the question of a number."""
        return next((q for q in self.questions.values() if q.number == number), None)


# Amounts that steps and questions may name; `tailrace.operations.cause` works each out.
AMOUNTS = frozenset(
    {
        "bicarbonate",
        "bypass",
        "change",
        "drain",
        "drain_from",
        "drain_until",
        "float",
        "half_ration",
        "most_feed",
        "oxygen",
        "per_day",
        "quarter_ration",
        "ration",
        "top_up",
    }
)
