"""Kinetic parameters of bacteria side by side, by published model; the table is data.

Models disagree by a factor of two and more because each parameter is worth something only
within its own model: mu_max of one with K_N of another is neither.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import NotKnownError
from tailrace.sources import Obtained


@dataclass(frozen=True, slots=True)
class KineticParameter:
    """One parameter of one model.

    Parameters
    ----------
    model
        Name of the model or book.
    organism
        ``nitrifiers``, ``AOB`` (ammonia oxidisers), ``NOB`` (nitrite oxidisers) or
        ``heterotrophs``.
    parameter
        Symbol: mu_max, K_N, K_O, K_S, K_NO, K_alk, Y, b and others.
    temperature_degc
        Temperature at which it holds.
    value
        Its value in `unit`.
    unit
        Unit as printed, per day.
    source
        Key of the source.
    obtained
        How this cell was obtained.
    note
        Symbol in the source, and temperature factor.
    """

    model: str
    organism: str
    parameter: str
    temperature_degc: float
    value: float
    unit: str
    source: str
    obtained: Obtained
    note: str


@cache
def kinetic_parameters() -> tuple[KineticParameter, ...]:
    """Return every parameter of every model.

    Returns
    -------
    tuple of KineticParameter
        In the order of the table.
    """
    table = files("tailrace.biology").joinpath("parameters.csv")
    with table.open(encoding="utf-8") as stream:
        return tuple(
            KineticParameter(
                model=row["model"],
                organism=row["organism"],
                parameter=row["parameter"],
                temperature_degc=float(row["temperature_degc"]),
                value=float(row["value"]),
                unit=row["unit"],
                source=row["source"],
                obtained=row["obtained"],  # type: ignore[arg-type]  # a test reads every cell
                note=row["note"],
            )
            for row in csv.DictReader(stream)
        )


def kinetic_parameter(
    model: str, organism: str, *, parameter: str, temperature_degc: float = 20.0
) -> KineticParameter:
    """Return one parameter of one model.

    Parameters
    ----------
    model, organism
        As in the table.
    parameter
        Symbol.
    temperature_degc
        Temperature at which the source prints it [degC].

    Returns
    -------
    KineticParameter
        The parameter, in the unit of its source.

    Raises
    ------
    NotKnownError
        The table has no such cell.

    Examples
    --------
    >>> kinetic_parameter("ASM3", "nitrifiers", parameter="mu_max").value
    1.0
    """
    rows = [row for row in kinetic_parameters() if (row.model, row.organism) == (model, organism)]
    for row in rows:
        if (row.parameter, row.temperature_degc) == (parameter, temperature_degc):
            return row
    known = sorted({f"{row.parameter} at {row.temperature_degc:g} degC" for row in rows})
    models = sorted({f"{row.model}: {row.organism}" for row in kinetic_parameters()})
    message = f"no {parameter} at {temperature_degc:g} degC for {organism} in {model}. " + (
        f"There are {', '.join(known)}." if known else f"There are {'; '.join(models)}."
    )
    raise NotKnownError(message)
