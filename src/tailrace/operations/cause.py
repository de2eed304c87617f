"""Find the cause of trouble: one question at a time, to the steps that mend it.

`begin` and `resume` open a case, `act` adds what the keeper said, and `shown` is the answer as
one plain object, the same for every screen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

from tailrace.advice.air import air_advice
from tailrace.advice.drain import drain_advice
from tailrace.diagnosis.case import Case, Event, case_of
from tailrace.diagnosis.catalogue import catalogue
from tailrace.diagnosis.causes import Cause, Question
from tailrace.diagnosis.inference import ELSE, NOTHING, Network, network
from tailrace.diagnosis.next_check import NextCheck, next_checks
from tailrace.diagnosis.ranking import Belief, alike, believe, does_not_fit, verdict
from tailrace.diagnosis.recorded import recorded
from tailrace.diagnosis.upkeep import CROWDED_KG_M3
from tailrace.errors import InputError, NotKnownError
from tailrace.estimation.today import Picture, picture
from tailrace.husbandry.limits import limits
from tailrace.operations.case_file import CaseFile
from tailrace.operations.record import moment, site_reading, standing_at
from tailrace.quantities import Amount
from tailrace.records.store import Store
from tailrace.reports.view import View
from tailrace.site import UnitFamily
from tailrace.water.chemicals import product
from tailrace.water.dosing import dose_for_alkalinity_g_m3

DAY_S = 86400.0
ALKALINITY_STEP_EQ_M3 = 25.0 / 50.043
CHANGE_FRAC, TOP_UP_FRAC = 0.25, 0.1
SHOWN = 6
_TITLES = {NOTHING: "Nothing is wrong", ELSE: "Something that is not in the tables"}


@dataclass(frozen=True, slots=True)
class Search:
    """A case on its site.

    Parameters
    ----------
    file, id
        Where the case is kept, and its id.
    case
        How it stands.
    seen
        Everything the record knows at its moment.
    view
        How the keeper sees the site.
    remarks
        What could not be used.
    """

    file: CaseFile
    id: str
    case: Case
    seen: Picture
    view: View
    remarks: tuple[str, ...]


@cache
def _network() -> Network:
    return network(catalogue())


def complaints() -> dict[str, tuple[str, str]]:
    """Return what a search can begin from.

    Returns
    -------
    dict
        Question and level, by a short name such as ``12-low``.
    """
    return {
        f"{question.number}-{level}": (question.key, level)
        for question in catalogue().questions.values()
        for level in question.complaints
    }


def search(
    store: Store,
    name: str,
    folder: Path,
    *,
    case: str | None = None,
    at: str | None = None,
    units: UnitFamily | None = None,
) -> Search:
    """Begin a case from what the record shows, or take one up again.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    folder
        Folder of the record; cases stand beside it in ``cases``.
    case
        Id of the case to take up; None for a new one.
    at
        Moment as typed; None for now.
    units
        Units shown; None for those that the site chose.

    Returns
    -------
    Search
        The case.

    Raises
    ------
    NotKnownError
        The record holds no such site, or there is no such case.
    RecordError
        The case file cannot be read or written.
    """
    site = site_reading(store, name).site
    seen = picture(standing_at(store, site, moment(at, site)))
    view = View(site, units or site.units)
    file = CaseFile(folder / "cases" / f"{site.name}.jsonl")
    kept, odd = file.read()
    if case is not None and case not in kept:
        there = ", ".join(kept) or "none yet"
        message = f"there is no case {case} of {site.name}; there are: {there}."
        raise NotKnownError(message)
    remarks = (*odd, *_of_filters(seen))
    if case is not None:
        return Search(file, case, case_of(kept[case]), seen, view, remarks)
    begun = Search(file, f"c{len(kept) + 1}", Case(), seen, view, remarks)
    return act(begun, Event("begin"), *_from_record(seen, view))


def _of_filters(seen: Picture) -> tuple[str, ...]:
    filters = seen.now.site.filters
    if len(filters) == 1:
        return ()
    others = ", ".join(built.name for built in filters[1:])
    return (f"The record's readings were taken as of {filters[0].name}, not of {others}.",)


def _from_record(seen: Picture, view: View) -> tuple[Event, ...]:
    return tuple(
        Event(
            "record",
            found.question,
            found.level,
            found.words.format(**{k: view.figure(a) for k, a in found.amounts.items()}),
        )
        for found in recorded(seen)
    )


def act(found: Search, *events: Event) -> Search:
    """Add what happened, and see it to the disk before anything else.

    Parameters
    ----------
    found
        The case.
    *events
        What happened.

    Returns
    -------
    Search
        The case after it.

    Raises
    ------
    NotKnownError
        A question, level or cause is not in the tables; nothing was added.
    RecordError
        The case file cannot be written.
    """
    for event in events:
        _checked(event)
    found.file.add(found.id, events, at=datetime.now(UTC))
    return replace(found, case=case_of((*found.case.events, *events)))


def _checked(event: Event) -> None:
    if event.act in ("answer", "record"):
        _network().row(event.question, event.level)
    elif event.question and event.question not in catalogue().questions:
        raise NotKnownError(f"{event.question!r} is no finding; docs/faults.md lists them all")
    known = {*catalogue().causes, NOTHING, ELSE, ""}
    if event.act == "end" and event.level not in known:
        raise NotKnownError(f"{event.level!r} is no cause; docs/faults.md lists them all")


def answered(found: Search, number: int, choice: int) -> Search:
    """Answer a question by its number.

    Parameters
    ----------
    found
        The case.
    number
        Number of the question.
    choice
        Place of the level in the list shown, counted from 1.

    Returns
    -------
    Search
        The case after it.

    Raises
    ------
    InputError
        There is no such question or choice; nothing was added.
    """
    question = catalogue().numbered(number)
    if question is None:
        raise InputError(f"there is no question {number}; docs/faults.md lists them all.")
    levels = list(question.levels)
    if not 1 <= choice <= len(levels):
        message = f"question {number} has answers 1 to {len(levels)}, not {choice}."
        raise InputError(message)
    return act(found, Event("answer", question.key, levels[choice - 1]))


def shown(found: Search) -> dict[str, Any]:
    """Return how a case stands, ready for any screen.

    Parameters
    ----------
    found
        The case.

    Returns
    -------
    dict
        ``case``, ``state``, ``ranking`` (title and chance), ``evidence``, ``question`` with the
        reason it comes next, ``alike`` pairs, ``doubts``, ``remarks``, and ``remedies`` once
        something is found.
    """
    net, questions = _network(), catalogue().questions
    seen, closed = found.case.seen, found.case.closed_questions | found.case.struck
    belief = believe(net, seen)
    prices = {key: q.price_min for key, q in questions.items() if key not in closed}
    checks = next_checks(net, belief, prices)
    said = verdict(belief, pays=bool(checks))
    amounts = _amounts(found.seen, found.view)
    pairs = alike(
        net, belief, readings=[k for k, q in questions.items() if q.record], prices=prices
    )
    return {
        "case": found.id,
        "site": found.seen.now.site.name,
        "state": said.state.value,
        "ranking": _ranking(belief),
        "evidence": _evidence(found.case),
        "question": _asked(checks, amounts) if said.state.value == "open" else None,
        "alike": [
            {
                "one": _title(pair.one),
                "other": _title(pair.other),
                "number": questions[pair.parts].number if pair.parts else None,
                "asks": questions[pair.parts].asks.format(**amounts) if pair.parts else None,
            }
            for pair in pairs
        ],
        "doubts": _doubts(net, found.case),
        "remarks": list(found.remarks),
        "causes": list(said.causes),
        "remedies": [_remedy(catalogue().causes[name], amounts) for name in said.causes],
        "outcome": found.case.outcome,
    }


def _title(name: str) -> str:
    return _TITLES.get(name) or catalogue().causes[name].title


def _ranking(belief: Belief) -> list[dict[str, Any]]:
    first = list(belief.chances.items())[:SHOWN]
    return [{"id": n, "title": _title(n), "chance": round(c, 3)} for n, c in first]


def _evidence(case: Case) -> list[dict[str, Any]]:
    """List every finding with where it comes from and whether it counts."""
    rows = []
    for key, event in {**case.recorded, **case.answered}.items():
        question = catalogue().questions[key]
        rows.append(
            {
                "number": question.number,
                "asks": question.asks.partition("?")[0] + "?",
                "level": question.levels[event.level],
                "from": "you" if key in case.answered else "record",
                "why": event.words,
                "counts": key not in case.struck,
            }
        )
    return rows


def _asked(checks: tuple[NextCheck, ...], amounts: dict[str, str]) -> dict[str, Any] | None:
    if not checks:
        return None
    best = checks[0]
    question: Question = catalogue().questions[best.question]
    return {
        "number": question.number,
        "key": question.key,
        "asks": question.asks.format(**amounts),
        "how": question.how,
        "answers": list(question.levels.values()),
        "minutes": question.minutes,
        "tools": list(question.tools),
        "risk": question.risk.value,
        "drawing": question.drawing,
        "bits": round(best.bits, 3),
        "settles": round(best.settles, 3),
    }


def _doubts(net: Network, case: Case) -> list[str]:
    questions = catalogue().questions
    told = [
        f"Question {questions[key].number}: what you saw differs from the record; yours counts."
        for key in case.disputed
    ]
    told += [
        f"Question {questions[key].number} hardly goes with the other answers: look again, or "
        "strike it out."
        for key in does_not_fit(net, case.seen)
    ]
    return told


def _remedy(cause: Cause, amounts: dict[str, str]) -> dict[str, Any]:
    again = catalogue().questions[cause.again]
    return {
        "id": cause.id,
        "title": cause.title,
        "cautions": list(cause.cautions),
        "steps": [step.format(**amounts) for step in cause.remedy],
        "call": cause.call,
        "call_when": cause.call_when,
        "watch": cause.watch.format(**amounts),
        "again": {"number": again.number, "asks": again.asks.format(**amounts)},
        "again_h": cause.again_h,
    }


def _amounts(seen: Picture, view: View) -> dict[str, str]:
    """Work out every amount that steps may name, in the keeper's units."""
    site = seen.now.site
    air, drain = air_advice(seen), drain_advice(seen)
    ration, volume = site.ration_kg / DAY_S, site.volume_m3
    base_g = dose_for_alkalinity_g_m3(product("NaHCO3"), ALKALINITY_STEP_EQ_M3) * volume
    floors = [
        limit.value
        for lot in site.stock
        for limit in limits(lot.species)
        if limit.quantity == "oxygen" and limit.level == "good"
    ]
    window = drain.window
    found = {
        "bicarbonate": Amount("feed_mass", base_g / 1000.0),
        "bypass": Amount("bypass_set", air.bypass_open_frac),
        "change": Amount("water_volume", CHANGE_FRAC * volume),
        "drain": drain.draw,
        "drain_from": Amount("minutes", window.opens_s),
        "drain_until": Amount("minutes", window.closes_s),
        "float": Amount("air_float", air.air_float_m3_s),
        "half_ration": Amount("feed_rate", 0.5 * ration),
        "most_feed": Amount(
            "feed_rate", CROWDED_KG_M3 * site.filter.machine.bed.volume_m3 / DAY_S
        ),
        "oxygen": Amount("oxygen", max(floors, default=5.0)),
        "per_day": air.outlook.per_day,
        "quarter_ration": Amount("feed_rate", 0.25 * ration),
        "ration": Amount("feed_rate", ration),
        "top_up": Amount("water_volume", TOP_UP_FRAC * volume),
    }
    return {name: f"{view.figure(amount)}" for name, amount in found.items()}
