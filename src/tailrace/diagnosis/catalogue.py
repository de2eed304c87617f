"""Read the tables of causes, questions and cautions; every fault of them with file and line."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import TypeVar

from tailrace.diagnosis.causes import AMOUNTS, Catalogue, Cause, Ground, Question, Risk, Sign
from tailrace.diagnosis.tables import Row, faults_of, rows

_CHANCE = re.compile(r"(\d+(?:\.\d+)?) % (\w+)")
_SIGN = re.compile(r"(?P<chances>[^()]*?)\s*\((?P<ground>\w+)\)")
_AMOUNT = re.compile(r"\{(\w*)\}")
_MOST = 0.98  # nothing is seen with certainty
_FINDINGS, _CAUTIONS = "findings.toml", "cautions.toml"
_Thing = TypeVar("_Thing", Cause, Question)


@cache
def catalogue() -> Catalogue:
    """Return the tables that come with Tailrace.

    Returns
    -------
    Catalogue
        Every cause and question.
    """
    folder = files("tailrace.diagnosis")
    of_faults = sorted(folder.joinpath("faults").iterdir(), key=lambda entry: entry.name)
    entries = [entry for entry in of_faults if entry.name.endswith(".toml")]
    entries += [folder.joinpath(name) for name in (_FINDINGS, _CAUTIONS)]
    return read_catalogue({entry.name: entry.read_text(encoding="utf-8") for entry in entries})


def read_catalogue(texts: Mapping[str, str]) -> Catalogue:
    """Read tables from their texts.

    Parameters
    ----------
    texts
        Text by file name: ``findings.toml``, ``cautions.toml``, and any number of others, each
        a group of faults.

    Returns
    -------
    Catalogue
        Every cause and question.

    Raises
    ------
    FileFaultsError
        The tables have faults; all of them, each with its file and line.
    """
    with faults_of("the tables of faults and findings") as found:
        read = {name: rows(text, name, found) for name, text in texts.items()}
        cautions = read.pop(_CAUTIONS).top.pairs()
        of_questions = read.pop(_FINDINGS).each
        questions = _by_name("key", ((row, _question(row)) for row in of_questions))
        _same_number(of_questions, questions.values())
        pairs = [
            (row, _cause(row, table.top.text("group"), cautions, questions))
            for table in read.values()
            for row in table.each
        ]
        causes = _by_name("id", pairs)
        for row, cause in pairs:
            for other in set(cause.looks_like) - set(causes):
                row.wrong("looks_like", f"{other} is no fault of the tables")
    return Catalogue(MappingProxyType(causes), MappingProxyType(questions))


def _by_name(name: str, made: Iterable[tuple[Row, _Thing]]) -> dict[str, _Thing]:
    found: dict[str, _Thing] = {}
    for row, thing in made:
        key = getattr(thing, name)
        if key in found:
            row.wrong(name, f"{key} stands in the tables twice; give it a name of its own")
        found[key] = thing
    return found


def _same_number(each: Iterable[Row], questions: Iterable[Question]) -> None:
    taken: dict[int, str] = {}
    for row, question in zip(each, questions, strict=False):
        other = taken.setdefault(question.number, question.key)
        if other != question.key:
            row.wrong("number", f"{question.number} is taken by {other}; take the next free one")


def _question(row: Row) -> Question:
    inner = row.inner("levels", needed=True)
    levels = inner.pairs()
    if len(levels) < 2:
        row.wrong("levels", "needs the usual level and at least one other")
        levels = {"usual": "", "other": "", **levels}
    usual = next(iter(levels))
    complaints = row.inner("complaints")
    question = Question(
        number=int(row.number("number", low=1, high=9999)),
        key=row.text("key"),
        asks=_with_amounts(row, "asks", row.text("asks")),
        how=row.text("how"),
        levels=MappingProxyType(levels),
        by_chance=_chances(row, "by_chance", row.text("by_chance"), levels),
        minutes=row.number("minutes", low=0.1, high=240),
        tools=row.texts("tools"),
        risk=Risk(row.one_of("risk", (risk.value for risk in Risk), "none")),
        record=row.flag("record"),
        drawing=row.text("drawing", "").strip("\n"),
        complaints=MappingProxyType(complaints.pairs()),
    )
    for level in question.complaints:
        if level not in levels or level == usual:
            complaints.wrong(level, "is no level other than the usual one")
    row.nothing_else()
    return question


def _cause(
    row: Row, group: str, cautions: Mapping[str, str], questions: Mapping[str, Question]
) -> Cause:
    named = row.texts("cautions")
    for name in set(named) - set(cautions):
        row.wrong("cautions", f"{name} is not known; there are {', '.join(cautions)}")
    call = row.one_of("call", ("", "electrician", "vet"), "")
    cause = Cause(
        id=row.text("id"),
        title=row.text("title"),
        group=group,
        onset=row.text("onset"),
        per_year=row.number("per_year", low=0.001, high=50),
        unfound_days=row.number("unfound_days", low=0.01, high=120),
        ground=Ground(row.one_of("ground", (ground.value for ground in Ground))),
        looks_like=row.texts("looks_like"),
        remedy=tuple(
            _with_amounts(row, "remedy", step) for step in row.texts("remedy", needed=True)
        ),
        cautions=tuple(cautions[name] for name in named if name in cautions),
        call=call,
        call_when=row.text("call_when", None if call else ""),
        watch=_with_amounts(row, "watch", row.text("watch")),
        again=row.one_of("again", questions),
        again_h=row.number("again_h", low=0.25, high=1000),
        signs=_signs(row.inner("signs", needed=True), questions),
    )
    if cause.odds >= 1.0:
        row.wrong("per_year", "with unfound_days it would be there nearly always")
    row.nothing_else()
    return cause


def _signs(row: Row, questions: Mapping[str, Question]) -> Mapping[str, Sign]:
    signs = {}
    for key, text in row.pairs().items():
        if key not in questions:
            row.wrong(key, "is no finding of findings.toml")
            continue
        halves = _SIGN.fullmatch(text)
        grounds = [ground.value for ground in Ground]
        if halves is None or halves["ground"] not in grounds:
            row.wrong(
                key,
                f"{text!r} cannot be read; write it like '60 % low, 20 % bottom (judgement)' "
                f"with one of {', '.join(grounds)}",
            )
            continue
        levels = questions[key].levels
        chances = _chances(row, key, halves["chances"], levels)
        signs[key] = Sign(chances, Ground(halves["ground"]))
    return MappingProxyType(signs)


def _chances(row: Row, key: str, text: str, levels: Mapping[str, str]) -> Mapping[str, float]:
    """Read ``60 % low, 20 % bottom``: chances of levels other than the usual one."""
    usual, *others = levels
    chances: dict[str, float] = {}
    for part in text.split(","):
        match = _CHANCE.fullmatch(part.strip())
        if match is None:
            row.wrong(key, f"{part.strip()!r} cannot be read; write it like '60 % {others[0]}'")
        elif match[2] not in others:
            there = ", ".join(others)
            row.wrong(key, f"{match[2]!r} is no level other than {usual}; there are {there}")
        else:
            chances[match[2]] = float(match[1]) / 100.0
    if sum(chances.values()) > _MOST + 1e-9 or 0.0 in chances.values():
        row.wrong(key, f"chances lie above 0 and sum to at most {100 * _MOST:g} %")
    return MappingProxyType(chances)


def _with_amounts(row: Row, key: str, text: str) -> str:
    for name in set(_AMOUNT.findall(text)) - AMOUNTS:
        row.wrong(key, f"{{{name}}} is no amount; there are {', '.join(sorted(AMOUNTS))}")
    return text
