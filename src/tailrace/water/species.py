"""The ions, their acids and their pairs as data, and the constants at a temperature."""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from enum import Enum
from functools import cache
from importlib.resources import files
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tailrace.water.acid_constants import log_k_van_t_hoff
from tailrace.water.activity import (
    log_activity_coefficient_davies_1962,
    log_activity_coefficient_truesdell_jones_1974,
)

COMPONENTS: Final = ("H", "Ca", "Mg", "Na", "K", "Cl", "NO3", "SO4", "CO3", "PO4", "NH4")
_FIT: Final = ("a1", "a2", "a3", "a4", "a5", "a6")


class Ions(Enum):
    """How ions are taken: each by itself, or with their pairs.

    ``SEPARATE``: no pairs, Davies activity for every ion. ``PAIRED``: pairs such as CaHCO3 and
    CaHPO4, and each ion's own activity coefficient where the database has one.
    """

    SEPARATE = "separate"
    PAIRED = "paired"


@dataclass(frozen=True, slots=True)
class Species:
    """One dissolved species, formed from the components.

    Parameters
    ----------
    name
        Formula without charge.
    charge
        Charge number.
    is_pair
        Whether two ions joined to make it, hydroxide among them.
    makeup
        Amount of each of `COMPONENTS` in it; hydroxide is -1 H.
    log_k_25
        Logarithm of the constant of formation at 25 degC; NaN where `fit` is used.
    heat_j_mol
        Heat of formation [J/mol].
    fit
        a1 to a6 of log K = a1 + a2 T + a3/T + a4 log T + a5/T^2 + a6 T^2; empty when absent.
    ion_size_m
        Ion size of the extended Debye-Hückel equation [m]; NaN for Davies or no charge.
    linear_term
        Its linear term [-].
    source
        Key of the source.
    """

    name: str
    charge: int
    is_pair: bool
    makeup: tuple[int, ...]
    log_k_25: float
    heat_j_mol: float
    fit: tuple[float, ...]
    ion_size_m: float
    linear_term: float
    source: str

    def log_k(self, temperature_degc: float) -> float:
        """Return the logarithm of the constant of formation at a temperature."""
        if not self.fit:
            return log_k_van_t_hoff(self.log_k_25, self.heat_j_mol, temperature_degc)
        t = temperature_degc + 273.15
        a1, a2, a3, a4, a5, a6 = self.fit
        return a1 + a2 * t + a3 / t + a4 * math.log10(t) + a5 / t**2 + a6 * t**2

    def log_gamma(
        self, ionic_strength_mol_m3: float, temperature_degc: float, ions: Ions
    ) -> float:
        """Return the logarithm of the activity coefficient."""
        if self.charge == 0:
            return 1e-4 * ionic_strength_mol_m3
        if ions is Ions.SEPARATE or math.isnan(self.ion_size_m):
            return log_activity_coefficient_davies_1962(
                float(self.charge), ionic_strength_mol_m3, temperature_degc
            )
        return log_activity_coefficient_truesdell_jones_1974(
            float(self.charge),
            ionic_strength_mol_m3,
            temperature_degc,
            self.ion_size_m,
            self.linear_term,
        )


def _number(text: str) -> float:
    return float(text) if text else math.nan


@cache
def species() -> tuple[Species, ...]:
    """Return every species of the table.

    Returns
    -------
    tuple
        `Species`, the components first.

    Examples
    --------
    >>> [s.name for s in species() if s.is_pair][:2]
    ['CaOH', 'CaCO3']
    """
    with files("tailrace.water").joinpath("species.csv").open(encoding="utf-8") as stream:
        return tuple(
            Species(
                name=row["species"],
                charge=int(row["charge"]),
                is_pair=row["pair"] == "yes",
                makeup=tuple(int(row[name]) for name in COMPONENTS),
                log_k_25=_number(row["log_k_25"]),
                heat_j_mol=_number(row["heat_j_mol"]),
                fit=tuple(float(row[a]) for a in _FIT if row[a]),
                ion_size_m=_number(row["ion_size_m"]),
                linear_term=float(row["linear_term"] or 0.0),
                source=row["source"],
            )
            for row in csv.DictReader(stream)
        )


def alkalinity_weights(chosen: tuple[Species, ...]) -> NDArray[np.float64]:
    """Return the alkalinity that a mole of each species carries.

    Parameters
    ----------
    chosen
        The species.

    Returns
    -------
    ndarray
        One number for each species [-].

    Notes
    -----
    Carbonate 2, phosphate 2, each hydrogen -1: counted from H2CO3, H2PO4 and NH4, with the
    pairs as what they are made of.
    """
    h, carbonate, phosphate = (COMPONENTS.index(name) for name in ("H", "CO3", "PO4"))
    return np.array(
        [2.0 * s.makeup[carbonate] + 2.0 * s.makeup[phosphate] - s.makeup[h] for s in chosen]
    )
