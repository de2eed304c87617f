"""What was undone at a site, and which of its entries hold; read within one transaction."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, or_, select
from sqlalchemy.orm import aliased

from tailrace.observations import Entry
from tailrace.records import tables as t
from tailrace.records.holding import Held, Link, held
from tailrace.records.rows import to_entry


@dataclass(frozen=True, slots=True)
class State:
    """What is to be known of a site to tell which of its entries hold.

    Parameters
    ----------
    undone
        Name everywhere of a row or import that was undone, to the reason.
    held
        Which of the entries that correct or are corrected hold.
    names
        Name everywhere to local name, of imports and of entries that correct or are corrected.
    """

    undone: dict[str, str]
    held: Held
    names: dict[str, str]

    def holds(self, uid: str, batch: str | None) -> bool:
        """Return whether an entry holds."""
        return not (uid in self.undone or batch in self.undone or uid in self.held.dead)


def state(connection: Connection, site: str) -> State:
    """Read what was undone and superseded at a site.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        Name of the site.

    Returns
    -------
    State
        What holds there.
    """
    names = _batch_names(connection, site)
    undone = _undone(connection, site, names)
    links = []
    for row in connection.execute(_linked(site)):
        links.append(Link(row.uid, row.supersedes or "", row.batch or "", row.received_at))
        names[row.uid] = f"e{row.number}"
    return State(undone, held(links, undone), names)


def load(
    connection: Connection,
    site: str,
    known: State,
    *where: ColumnElement[bool],
    holding: bool = False,
) -> Iterator[Entry]:
    """Yield the entries of a site, as they were added.

    Parameters
    ----------
    connection
        Connection to the record.
    site
        Name of the site.
    known
        Its state.
    *where
        Conditions.
    holding
        Whether to leave out those that do not hold.

    Yields
    ------
    Entry
        One entry.
    """
    query = select(t.entries).where(t.entries.c.site == site, *where).order_by(t.entries.c.number)
    for row in connection.execute(query).mappings():
        if not holding or known.holds(row["uid"], row["batch"]):
            yield to_entry(row, known.names)


def _batch_names(connection: Connection, site: str) -> dict[str, str]:
    query = select(t.batches.c.uid, t.batches.c.number).where(t.batches.c.site == site)
    return {row.uid: f"b{row.number}" for row in connection.execute(query)}


def _undone(connection: Connection, site: str, names: dict[str, str]) -> dict[str, str]:
    query = select(t.undos).where(t.undos.c.site == site).order_by(t.undos.c.received_at.desc())
    undone = {
        row["batch"] or row["entry"]: row["why"] for row in connection.execute(query).mappings()
    }
    # the same file taken in on two copies of the record counts once
    query = select(t.batches).where(t.batches.c.site == site)
    first: dict[str, Any] = {}
    rows = connection.execute(query).mappings().all()
    for row in sorted(rows, key=lambda row: (row["received_at"], row["uid"])):
        if row["uid"] in undone:
            continue
        before = first.setdefault(row["sha256"], row)
        if before is not row:
            undone[row["uid"]] = f"the same file as {names[before['uid']]}"
    return undone


def _linked(site: str) -> Any:
    """Select the entries that correct or are corrected."""
    entry, later = t.entries, aliased(t.entries)
    corrected = select(later.c.supersedes).where(
        later.c.site == site, later.c.supersedes.is_not(None)
    )
    columns = (
        entry.c.number,
        entry.c.uid,
        entry.c.supersedes,
        entry.c.batch,
        entry.c.received_at,
    )
    return select(*columns).where(
        entry.c.site == site, or_(entry.c.supersedes.is_not(None), entry.c.uid.in_(corrected))
    )


def chain(links: Iterable[tuple[str, str]], uid: str) -> tuple[str, ...]:
    """Return a row, what it corrects, and what corrects it, the first version first.

    Parameters
    ----------
    links
        Pairs of a row and the row that it corrects, in the order they were received.
    uid
        Any row of the chain.

    Returns
    -------
    tuple
        Names everywhere; a first version that has not arrived is not among them.

    Examples
    --------
    >>> chain([("b", "a"), ("c", "b"), ("d", "b")], "c")
    ('a', 'b', 'c', 'd')
    """
    pairs = list(links)
    before = dict(pairs)
    first = uid
    passed = {uid}
    while before.get(first) and before[first] not in passed:
        first = before[first]
        passed.add(first)
    found, wave = [first], [first]
    while wave:
        wave = [new for old in wave for new, of in pairs if of == old and new not in found]
        found += wave
    return tuple(found)
