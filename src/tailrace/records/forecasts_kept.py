"""Forecasts issued, advice given, and what came of it."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import asdict
from datetime import datetime
from typing import Any

from sqlalchemy import RowMapping, select

from tailrace.errors import InputError
from tailrace.records import tables as t
from tailrace.records.kept import KeptAdvice, KeptForecast, Outcome
from tailrace.records.part import Part, add_row, uid_of
from tailrace.records.rows import number_of

CAME = ("done", "partly", "not done")
_FORECAST_COLUMNS = [
    c for c in t.forecasts.c if c.name not in {"number", "uid", "site", "received_at"}
]


class ForecastsPart(Part):
    """The forecasts and the advice of the record."""

    def keep_forecast(self, site: str, forecast: KeptForecast) -> bool:
        """Keep a forecast that was issued, once for its key.

        Parameters
        ----------
        site
            Name of the site.
        forecast
            The forecast with what it was based on.

        Returns
        -------
        bool
            False when one with this key is kept already.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        row = asdict(forecast) | {"site": site, "entries": list(forecast.entries)}
        with self._writing() as connection:
            self._check_site(connection, site)
            known = select(t.forecasts.c.number).where(t.forecasts.c.key == forecast.key)
            if connection.execute(known).first() is not None:
                return False
            add_row(connection, t.forecasts, received_at=forecast.issued_at, **row)
            return True

    def kept_forecast(self, key: str) -> KeptForecast | None:
        """Return the forecast kept under a key, the one issued first; or None."""
        query = (
            select(*_FORECAST_COLUMNS)
            .where(t.forecasts.c.key == key)
            .order_by(t.forecasts.c.issued_at, t.forecasts.c.uid)
        )
        with self._reading() as connection:
            row = connection.execute(query).mappings().first()
        return None if row is None else _to_forecast(row)

    def forecasts(self, site: str) -> tuple[KeptForecast, ...]:
        """Return every forecast kept for a site, in the order of their moments."""
        query = select(*_FORECAST_COLUMNS).where(t.forecasts.c.site == site)
        with self._reading() as connection:
            self._check_site(connection, site)
            rows = connection.execute(query.order_by(t.forecasts.c.at, t.forecasts.c.number))
            return tuple(_to_forecast(row) for row in rows.mappings())

    def keep_advice(self, site: str, advice: KeptAdvice, *, received_at: datetime) -> str:
        """Keep an advice that was given.

        Parameters
        ----------
        site
            Name of the site.
        advice
            The advice with what it rests on; its id and outcomes are not used.
        received_at
            When it was given, aware.

        Returns
        -------
        str
            Its name, such as ``a5``.

        Raises
        ------
        NotKnownError
            There is no such site.
        """
        with self._writing() as connection:
            self._check_site(connection, site)
            number = add_row(
                connection,
                t.advice,
                received_at=received_at,
                site=site,
                at=advice.at,
                kind=advice.kind,
                text=advice.text,
                entries=list(advice.entries),
                body=advice.body,
                version=advice.version,
            )
        return f"a{number}"

    def add_outcome(self, advice_id: str, outcome: Outcome) -> None:
        """Add what came of an advice.

        Parameters
        ----------
        advice_id
            Name of the advice, such as ``a5``.
        outcome
            What came of it.

        Raises
        ------
        NotKnownError
            There is no such advice.
        InputError
            It is said in another word than ``done``, ``partly`` or ``not done``.
        """
        if outcome.what not in CAME:
            message = (
                f"what came of {advice_id} is {outcome.what!r}; say one of {', '.join(CAME)}."
            )
            raise InputError(message)
        with self._writing() as connection:
            number = number_of(advice_id, "a")
            uid, site = uid_of(connection, t.advice, number, advice_id)
            row: dict[str, Any] = asdict(outcome) | {"entry": outcome.entry or None}
            add_row(connection, t.outcomes, site=site, advice=uid, **row)

    def advice(self, site: str) -> tuple[KeptAdvice, ...]:
        """Return every advice kept for a site with what came of it, in the order of moments."""
        given = select(t.advice).where(t.advice.c.site == site)
        came = select(t.outcomes).where(t.outcomes.c.site == site)
        outcomes: dict[str, list[Outcome]] = defaultdict(list)
        with self._reading() as connection:
            self._check_site(connection, site)
            ordered = came.order_by(t.outcomes.c.received_at, t.outcomes.c.uid)
            for row in connection.execute(ordered).mappings():
                outcomes[row["advice"]].append(_to_outcome(row))
            ordered = given.order_by(t.advice.c.at, t.advice.c.number)
            rows = connection.execute(ordered).mappings().all()
        return tuple(_to_advice(row, outcomes[row["uid"]]) for row in rows)


def _to_forecast(row: RowMapping) -> KeptForecast:
    values: dict[str, Any] = {**row, "entries": tuple(row["entries"])}
    return KeptForecast(**values)


def _to_outcome(row: RowMapping) -> Outcome:
    entry = row["entry"] or ""
    return Outcome(row["what"], row["text"], entry, row["who"], row["received_at"])


def _to_advice(row: RowMapping, outcomes: list[Outcome]) -> KeptAdvice:
    return KeptAdvice(
        id=f"a{row['number']}",
        at=row["at"],
        kind=row["kind"],
        text=row["text"],
        entries=tuple(row["entries"]),
        body=row["body"],
        version=row["version"],
        received_at=row["received_at"],
        outcomes=tuple(outcomes),
    )
