"""What two people wrote of one moment, side by side: 'one or two?'."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

from tailrace.errors import InputError
from tailrace.estimation.standing import standing
from tailrace.observations import Entry
from tailrace.operations.logs import find_entry
from tailrace.operations.record import site_reading
from tailrace.records.store import Store

QUESTION = "one or two?"
_END = datetime.max.replace(tzinfo=UTC)


@dataclass(frozen=True, slots=True)
class Pair:
    """Two entries of the same kind and place within half an hour by two people.

    Parameters
    ----------
    first, second
        The entries, the earlier one first.
    answer
        ``one`` (it is the same thing, `counts` alone counts), ``two`` (both count), or empty while
        nobody has answered: then a total counts one at the least and two at the most.
    counts
        Id of the entry that counts after the answer ``one``; else empty.
    """

    first: Entry
    second: Entry
    answer: str = ""
    counts: str = ""


def pairs(store: Store, name: str) -> tuple[Pair, ...]:
    """Return what two people may have written of one thing, newest first.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.

    Returns
    -------
    tuple
        Pairs, those that were answered too.

    Raises
    ------
    NotKnownError
        The record holds no such site.
    """
    site = site_reading(store, name).site
    entries = store.entries(name)
    ids = {entry.uid: entry.id for entry in entries}
    answers = {frozenset((a.first, a.second)): a for a in store.answers(name)}
    found = []
    for first, second in standing(site, entries, _END).same_thing_twice():
        answer = answers.get(frozenset((first.uid, second.uid)))
        if answer is None:
            found.append(Pair(first, second))
        else:
            counts = ids[answer.first] if answer.answer == "one" else ""
            found.append(Pair(first, second, answer.answer, counts))
    return tuple(found)


def answer_pair(
    store: Store,
    name: str,
    first: str,
    second: str,
    *,
    answer: str,
    who: str = "",
    now: datetime,
) -> None:
    """Answer 'one or two?'; every total uses the answer from then on.

    Parameters
    ----------
    store
        The record.
    name
        Short name of the site.
    first, second
        Ids of the two entries; after ``one`` the first counts.
    answer
        ``one`` or ``two``; a later answer takes the place of an earlier one, both stay.
    who
        Who answers.
    now
        When the record receives it.

    Raises
    ------
    NotKnownError
        The site has no such live entry.
    InputError
        The answer is another word, or nobody asks about these two.
    """
    asked = {frozenset((pair.first.id, pair.second.id)) for pair in pairs(store, name)}
    for entry in (first, second):
        find_entry(store, name, entry)
    if frozenset((first, second)) not in asked:
        message = (
            f"nobody asks whether {first} and {second} are one: they are of another kind or "
            f"place, more than half an hour apart, or by the same person. 'tailrace log pairs "
            f"{name}' lists what is asked."
        )
        raise InputError(message)
    store.answer_pair(first, second, answer, received_at=now, who=who)
