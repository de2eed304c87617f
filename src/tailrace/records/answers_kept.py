"""Answers to 'one or two?' for what two people wrote of one moment."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select

from tailrace.errors import InputError
from tailrace.records import tables as t
from tailrace.records.kept import Answer
from tailrace.records.part import Part, add_row, uid_of
from tailrace.records.rows import number_of

ANSWERS = ("one", "two")


class AnswersPart(Part):
    """The answers of the record."""

    def answer_pair(
        self, first_id: str, second_id: str, answer: str, *, received_at: datetime, who: str = ""
    ) -> None:
        """Keep the answer to 'one or two?'; a later answer takes its place, both stay.

        Parameters
        ----------
        first_id, second_id
            Names of the entries; with ``one`` the first counts and the second does not.
        answer
            ``one`` or ``two``.
        received_at
            When, aware.
        who
            Who answers.

        Raises
        ------
        NotKnownError
            There is no such entry.
        InputError
            The answer is another word, or the entries are of different sites or the same one.
        """
        if answer not in ANSWERS:
            raise InputError(f"the answer is {answer!r}; say 'one' or 'two'.")
        with self._writing() as connection:
            first, site = uid_of(connection, t.entries, number_of(first_id, "e"), first_id)
            second, other = uid_of(connection, t.entries, number_of(second_id, "e"), second_id)
            if site != other or first == second:
                message = f"{first_id} and {second_id} are no two entries of one site."
                raise InputError(message)
            values = {"first": first, "second": second, "answer": answer, "who": who}
            add_row(connection, t.answers, received_at=received_at, site=site, **values)

    def answers(self, site: str) -> tuple[Answer, ...]:
        """Return the answer that holds for each pair of entries, oldest first."""
        table = t.answers
        query = (
            select(table).where(table.c.site == site).order_by(table.c.received_at, table.c.uid)
        )
        with self._reading() as connection:
            self._check_site(connection, site)
            rows = connection.execute(query).mappings().all()
        latest = {frozenset((row["first"], row["second"])): row for row in rows}
        return tuple(
            Answer(row["first"], row["second"], row["answer"], row["who"], row["received_at"])
            for row in latest.values()
        )
