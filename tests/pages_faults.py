"""Write docs/faults.md from the tables: ``python -m tests.pages_faults``."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import groupby

from tailrace.diagnosis.catalogue import catalogue
from tailrace.diagnosis.causes import AMOUNTS, Cause, Question
from tests.logs import ROOT

PAGE = ROOT / "docs" / "faults.md"
HEAD = """# Faults and findings

Made by `python -m tests.pages_faults` from `src/tailrace/diagnosis`; do not edit.

`tailrace cause SITE` ranks these faults by what is seen. How it does so, and how far its numbers
can be trusted, stands in [the theory](theory/diagnosis.md).

## Add a fault

1. Open the file of its group in `src/tailrace/diagnosis/faults`, or begin a new file with
   `group = "its name"`.
2. Copy a `[[fault]]` with its `[fault.signs]` and give it the next free id of its letter. Ids and
   numbers never change and are never used again.
3. Say how often it begins in a unit a year (`per_year`), how many days it usually lasts before
   somebody looks for it (`unfound_days`), and what both rest on (`ground`).
4. Give each sign as `finding = "60 % low, 20 % bottom (judgement)"`: the chance that this fault
   by itself brings the level. A finding that it does not touch is left out.
5. Grounds are `model` (the direction follows from the machine or loop model; the chance is
   judged), `published` (name the source in a comment), `practice` (common practice) and
   `judgement`. An empty place is better than a guess with a fine ground.
6. Steps may name amounts in braces, worked out for each site: AMOUNTS.
7. Run `make test`. Every mistake in the tables is told with its file and line.

A new finding goes to `findings.toml` with the next free number; its first level is the usual one,
and `by_chance` says how often another is seen with nothing wrong.

## Case files

Cases of a site stand beside the record in `cases/SITE.jsonl`, one JSON object a line, only ever
added to: `case`, `at`, `act` (`begin`, `record`, `answer`, `not_sure`, `cannot`, `strike`,
`back`, `end`), and where they apply `question`, `level` and `words`. `end` carries as its level
the fault that the keeper confirmed.
"""


def page() -> str:
    """The page as it should stand."""
    return "\n".join([HEAD.replace("AMOUNTS", _amounts()), *_counts(), *_faults(), *_findings()])


def _amounts() -> str:
    return ", ".join(f"`{{{name}}}`" for name in sorted(AMOUNTS))


def _counts() -> Iterator[str]:
    causes, questions = catalogue().causes.values(), catalogue().questions.values()
    grounds = Counter(s.ground.value for c in causes for s in c.signs.values())
    told = ", ".join(f"{count} {name}" for name, count in sorted(grounds.items()))
    yield f"{len(causes)} faults with {grounds.total()} signs ({told}); {len(questions)} findings."
    yield ""


def _faults() -> Iterator[str]:
    for group, causes in groupby(catalogue().causes.values(), key=lambda cause: cause.group):
        yield f"## {group.capitalize()}"
        yield ""
        for cause in causes:
            yield from _fault(cause)


def _fault(cause: Cause) -> Iterator[str]:
    yield f"### {cause.id} {cause.title}"
    yield ""
    yield (
        f"Begins: {cause.onset}. {cause.per_year:g} a year, unfound for {cause.unfound_days:g} "
        f"days ({cause.ground.value}). Looks like: {', '.join(cause.looks_like) or 'none'}."
    )
    yield ""
    yield "| Finding | Level and chance | Ground |"
    yield "|---|---|---|"
    for key, sign in cause.signs.items():
        asked = catalogue().questions[key]
        yield f"| {asked.number} `{key}` | {_chances(sign.chances)} | {sign.ground.value} |"
    yield ""
    yield from (f"{place}. {step}" for place, step in enumerate(cause.remedy, start=1))
    yield ""
    yield from (f"- Caution: {text}" for text in cause.cautions)
    if cause.call:
        yield f"- Stop and call a licensed {cause.call}: {cause.call_when}"
    yield f"- Watch: {cause.watch} Look again after {cause.again_h:g} h: `{cause.again}`."
    yield ""


def _chances(chances: Mapping[str, float]) -> str:
    return ", ".join(f"{100 * chance:g} % {level}" for level, chance in chances.items())


def _findings() -> Iterator[str]:
    yield "## Findings"
    yield ""
    yield "| Number | Finding | Question | Levels (first the usual) | By chance | Minutes | Risk |"
    yield "|---|---|---|---|---|---|---|"
    for question in sorted(catalogue().questions.values(), key=lambda asked: asked.number):
        yield _finding(question)
    yield ""


def _finding(question: Question) -> str:
    levels = "; ".join(f"`{key}` {words}" for key, words in question.levels.items())
    filled = " (the record can fill it)" if question.record else ""
    return (
        f"| {question.number} | `{question.key}`{filled} | {question.asks} | {levels} | "
        f"{_chances(question.by_chance)} | {question.minutes:g} | {question.risk.value} |"
    )


if __name__ == "__main__":
    PAGE.write_text(page(), encoding="utf-8")
