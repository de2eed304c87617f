"""The one table of uncertain parameters, and draws from it.

``parameters.csv`` holds name, prior, unit, source and what would identify each; the advice, the
reports and later the simulation use the same rows.
"""

from __future__ import annotations

import csv
import math
import zlib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from tailrace.errors import NotKnownError

Z95 = 1.6448536269514722  # 95 % point of the standard normal


@dataclass(frozen=True, slots=True)
class Parameter:
    """One uncertain parameter.

    Parameters
    ----------
    name
        Key.
    form
        ``normal`` (mean, standard deviation), ``lognormal`` (median, 95 % point over median)
        or ``uniform`` (low, high).
    first, second
        The two numbers of the form.
    unit
        Unit.
    source
        Key in `tailrace.sources`.
    identified_by
        What a keeper can measure to learn it.
    """

    name: str
    form: str
    first: float
    second: float
    unit: str
    source: str
    identified_by: str

    @property
    def middle(self) -> float:
        """Median of the prior."""
        return 0.5 * (self.first + self.second) if self.form == "uniform" else self.first

    def draws(self, rng: np.random.Generator, count: int) -> NDArray[np.float64]:
        """Draw from the prior.

        Parameters
        ----------
        rng
            Random number generator.
        count
            Number of draws.

        Returns
        -------
        ndarray
            Draws, shape (count,).
        """
        if self.form == "normal":
            return rng.normal(self.first, self.second, count)
        if self.form == "lognormal":
            return self.first * np.exp(rng.normal(0.0, math.log(self.second) / Z95, count))
        return rng.uniform(self.first, self.second, count)


@cache
def parameters() -> dict[str, Parameter]:
    """Return the table of uncertain parameters by name.

    Returns
    -------
    dict
        Name to `Parameter`.

    Examples
    --------
    >>> parameters()["residual_fill"].middle
    0.11
    """
    with files("tailrace.estimation").joinpath("parameters.csv").open(encoding="utf-8") as stream:
        return {
            row["name"]: Parameter(
                name=row["name"],
                form=row["form"],
                first=float(row["first"]),
                second=float(row["second"]),
                unit=row["unit"],
                source=row["source"],
                identified_by=row["identified_by"],
            )
            for row in csv.DictReader(stream)
        }


def draw(names: Iterable[str], *, count: int, seed: int) -> dict[str, NDArray[np.float64]]:
    """Draw several parameters, each from its own stream, so that one more changes no other.

    Parameters
    ----------
    names
        Parameter names.
    count
        Number of draws.
    seed
        Seed.

    Returns
    -------
    dict
        Name to draws of shape (count,).

    Raises
    ------
    NotKnownError
        A name is not in the table.

    Examples
    --------
    >>> a = draw(["excretion"], count=3, seed=1)["excretion"]
    >>> b = draw(["aeration", "excretion"], count=3, seed=1)["excretion"]
    >>> bool((a == b).all())
    True
    """
    table = parameters()
    found = {}
    for name in names:
        if name not in table:
            message = f"parameter {name!r} is not in the table of parameters"
            raise NotKnownError(message)
        rng = np.random.default_rng([seed, zlib.crc32(name.encode())])
        found[name] = table[name].draws(rng, count)
    return found
