"""Where numbers come from: one key per source, used in docstrings, tables and tests.

``opened`` says that the text was read, or that a library which carries the equation or the
table was run; everything else is from memory and says so. The list is data, in ``sources.csv``.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

Obtained = Literal["opened", "from memory", "common practice", "judgement"]


@dataclass(frozen=True, slots=True)
class Source:
    """One source.

    Parameters
    ----------
    key
        Short name used in docstrings and tables, such as ``benson_krause_1984``.
    text
        Author, year, title and place, as a reader needs them to find it.
    obtained
        ``opened``, ``from memory``, ``common practice`` (no source) or ``judgement``.
    how
        What was opened or run: a public text, or the library that carries it.
    """

    key: str
    text: str
    obtained: Obtained
    how: str


@cache
def sources() -> dict[str, Source]:
    """Return every source by its key.

    Returns
    -------
    dict
        Key to `Source`, in the order of the table.

    Examples
    --------
    >>> sources()["benson_krause_1984"].obtained
    'opened'
    """
    with files("tailrace").joinpath("sources.csv").open(encoding="utf-8") as stream:
        return {row["key"]: Source(**row) for row in csv.DictReader(stream)}  # type: ignore[arg-type]
