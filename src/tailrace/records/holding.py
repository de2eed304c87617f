"""Which rows hold: not undone, and not superseded by a later one.

Two copies of a record may each correct the same row before they are merged. Then the version
that was received last holds, whatever the order in which the copies were merged, and the case
can be shown (`Held.conflicts`).
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Link:
    """What decides whether a row holds.

    Parameters
    ----------
    uid
        Its name everywhere.
    supersedes
        Name everywhere of the row it corrects, which may not have arrived; empty for none.
    batch
        Name everywhere of its import; empty for none.
    received_at
        When it was received.
    """

    uid: str
    supersedes: str
    batch: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class Held:
    """Which of the linked rows hold.

    Parameters
    ----------
    dead
        Names everywhere of the rows that do not hold.
    conflicts
        Groups of newest versions of one row, the one that holds first.
    withdrawn
        Pairs of a newest version that nobody undid, and the row behind it that was undone.
    """

    dead: frozenset[str]
    conflicts: tuple[tuple[str, ...], ...]
    withdrawn: tuple[tuple[str, str], ...] = ()


def held(links: Iterable[Link], undone: Collection[str]) -> Held:
    """Return which rows of a chain hold.

    Parameters
    ----------
    links
        Every row that supersedes another one, and those that are superseded, in any order.
    undone
        Names everywhere of the rows and imports that were undone.

    Returns
    -------
    Held
        A row is dead when it or its import was undone, when what it corrects is dead so, when a
        row that is not dead corrects it, or when another newest version of the same row was
        received later.

    Examples
    --------
    >>> from datetime import UTC
    >>> noon = datetime(2026, 3, 1, 12, tzinfo=UTC)
    >>> old, new = Link("a", "", "", noon), Link("b", "a", "", noon)
    >>> sorted(held([new, old], ()).dead), sorted(held([new, old], {"b"}).dead)
    (['a'], ['b'])
    """
    by_uid = {link.uid: link for link in links}
    gone = {uid for uid in by_uid if _is_gone(uid, by_uid, undone)}
    corrected = {link.supersedes for link in by_uid.values() if link.uid not in gone}
    newest: dict[str, list[Link]] = {}
    for uid, link in by_uid.items():
        if uid not in gone and uid not in corrected:
            newest.setdefault(_path(uid, by_uid)[-1], []).append(link)
    holding, conflicts = set(), []
    for versions in newest.values():
        versions.sort(key=lambda link: (link.received_at, link.uid), reverse=True)
        holding.add(versions[0].uid)
        if len(versions) > 1:
            conflicts.append(tuple(link.uid for link in versions))
    later = {link.supersedes for link in by_uid.values()}
    tips = (link for link in by_uid.values() if link.uid in gone - later)
    return Held(
        frozenset(by_uid.keys() - holding),
        tuple(sorted(conflicts)),
        tuple(sorted(_withdrawn(tips, by_uid, undone))),
    )


def _withdrawn(
    tips: Iterable[Link], by_uid: Mapping[str, Link], undone: Collection[str]
) -> Iterator[tuple[str, str]]:
    """Yield corrections that fell only because what they correct was undone elsewhere."""
    for tip in tips:
        path = _path(tip.uid, by_uid)
        behind = next((uid for uid in path[1:] if uid in undone), None)
        by_itself = tip.uid in undone or any(
            uid in by_uid and by_uid[uid].batch in undone for uid in path
        )
        if behind is not None and not by_itself:
            yield tip.uid, behind


def _path(uid: str, by_uid: Mapping[str, Link]) -> list[str]:
    """Return a row, what it corrects, what that corrects, and so on; a ring ends it."""
    path = [uid]
    while path[-1] in by_uid:
        before = by_uid[path[-1]].supersedes
        if not before or before in path:
            break
        path.append(before)
    return path


def _is_gone(uid: str, by_uid: Mapping[str, Link], undone: Collection[str]) -> bool:
    return any(
        step in undone or (step in by_uid and by_uid[step].batch in undone)
        for step in _path(uid, by_uid)
    )
