"""The history of any row: when it was written, corrected, undone or redacted, by whom and why."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, RowMapping, Table, select

from tailrace.errors import NotKnownError
from tailrace.records import tables as t
from tailrace.records.kept import Step
from tailrace.records.part import Part, uid_of
from tailrace.records.rows import number_of
from tailrace.records.undone import chain

LETTERS: dict[str, tuple[Table, tuple[str, ...]]] = {
    "e": (t.entries, ("subject", "text", "unit", "note")),
    "b": (t.batches, ("file",)),
    "v": (t.site_versions, ("site", "sha256")),
    "p": (t.people, ("name",)),
    "l": (t.places, ("name", "kind", "note")),
    "i": (t.instruments, ("name", "kind", "subject", "unit", "steps", "expires_on", "note")),
    "f": (t.photos, ("media", "sha256")),
    "a": (t.advice, ("kind", "text")),
}
"""First letter of a short name, to its table and the columns that say what a row says."""


class HistoryPart(Part):
    """The history of rows."""

    def steps_of(self, name: str) -> tuple[Step, ...]:
        """Return the history of a row.

        Parameters
        ----------
        name
            Short name of any row: ``e17``, ``b3``, ``v2``, ``p1``, ``l4``, ``i3``, ``f7``, ``a5``.

        Returns
        -------
        tuple
            Steps of the row, of what it corrects and of what corrects it, oldest first.

        Raises
        ------
        NotKnownError
            There is no such row.
        """
        if name[:1] not in LETTERS:
            letters = ", ".join(f"{letter}1" for letter in LETTERS)
            raise NotKnownError(f"{name!r} is no name of a row; it is such as {letters}.")
        table, columns = LETTERS[name[0]]
        with self._reading() as connection:
            uid, _ = uid_of(connection, table, number_of(name, name[0]), name)
            uids = _versions(connection, table, uid)
            steps = list(_written(connection, table, uids, name[0], columns))
            names = {step_uid: step.id for step_uid, step in steps}
            found = [step for _, step in steps]
            found += _undone(connection, names)
            found += _redacted(connection, names)
        return tuple(sorted(found, key=lambda step: step.at))


def _versions(connection: Connection, table: Table, uid: str) -> tuple[str, ...]:
    if table is t.site_versions:
        site = select(table.c.site).where(table.c.uid == uid).scalar_subquery()
        query = select(table.c.uid).where(table.c.site == site).order_by(table.c.received_at)
        return tuple(connection.execute(query).scalars())
    if "supersedes" not in table.c:
        return (uid,)
    query = (
        select(table.c.uid, table.c.supersedes)
        .where(table.c.supersedes.is_not(None))
        .order_by(table.c.received_at, table.c.number)
    )
    return chain([(row[0], row[1]) for row in connection.execute(query)], uid)


def _written(
    connection: Connection,
    table: Table,
    uids: tuple[str, ...],
    letter: str,
    columns: tuple[str, ...],
) -> Iterator[tuple[str, Step]]:
    rows = connection.execute(select(table).where(table.c.uid.in_(uids))).mappings()
    for row in rows:
        yield (
            row["uid"],
            Step(
                id=f"{letter}{row['number']}",
                at=row["received_at"],
                what="corrected" if row.get("supersedes") else "written",
                why=row.get("why") or "",
                who=row.get("sent_by") or row.get("who") or "",
                text=_said(row, columns),
            ),
        )


def _said(row: RowMapping, columns: tuple[str, ...]) -> str:
    parts = (row[name] for name in columns)
    return " ".join(str(part).replace("_", " ") for part in parts if part not in ("", [], None))


def _undone(connection: Connection, names: dict[str, str]) -> Iterator[Step]:
    table = t.undos
    of: Any = table.c.entry.in_(names) | table.c.batch.in_(names)
    for row in connection.execute(select(table).where(of)).mappings():
        name = names[row["entry"] or row["batch"]]
        yield Step(name, row["received_at"], "undone", row["why"], "", "")


def _redacted(connection: Connection, names: dict[str, str]) -> Iterator[Step]:
    table = t.tombstones
    query = select(table).where(table.c.row_uid.in_(names))
    for row in connection.execute(query).mappings():
        name = names[row["row_uid"]]
        yield Step(name, row["received_at"], "redacted", row["why"], row["who"], row["field"])
