"""The words of the round: templates of ``sentences.toml`` filled with figures."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.advice.acts import Attention
from tailrace.husbandry.limits import species
from tailrace.reports.view import Figure, View
from tailrace.reports.words import label_of

_LEVELS = {
    "danger": "Can harm within hours",
    "act": "Act today",
    "good": "Outside the comfortable range",
}


@dataclass(frozen=True, slots=True)
class Sentences:
    """One line of attention in words.

    Parameters
    ----------
    title
        A few words.
    seen, means, do, caution
        What was seen, what it means, the one act, and the caution.
    """

    title: str
    seen: str
    means: str
    do: str
    caution: str


@cache
def templates() -> dict[str, dict[str, dict[str, str]]]:
    """Return every template.

    Returns
    -------
    dict
        ``finding`` and ``act``, each name to its sentences.

    Examples
    --------
    >>> sorted(templates())
    ['act', 'finding']
    """
    text = files("tailrace.reports").joinpath("sentences.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def sentences(line: Attention, view: View) -> Sentences:
    """Put a line of attention into words.

    Parameters
    ----------
    line
        What was found and what to do.
    view
        How the person sees the site.

    Returns
    -------
    Sentences
        Ready to read.
    """
    found = templates()["finding"][line.finding.key]
    act = templates()["act"][line.act]
    words: dict[str, str | Figure] = dict(_words(line))
    words.update({name: view.figure(a) for name, a in line.finding.amounts.items()})
    figures = {name: view.figure(a) for name, a in line.amounts.items()}
    edge = line.finding.words.get("level") == "good"
    title = "{Subject}: outside the comfortable range" if edge else found["title"]
    filled = {
        "title": title.format(**words),
        "seen": found["seen"].format(**words),
        "means": found["means"].format(**words),
        "do": act["do"].format(**words | figures),
        "caution": act["caution"],
    }
    return Sentences(**filled)


def _words(line: Attention) -> dict[str, str]:
    words = dict(line.finding.words)
    if "subject" in words:
        label = label_of(words["subject"])
        words["subject"], words["Subject"] = label, label[0].upper() + label[1:]
        if label == "pH":
            words["Subject"] = label
    if "species" in words:
        words["species"] = species()[words["species"]].name
    if "level" in words:
        words["Level"] = _LEVELS[words["level"]]
    return words
