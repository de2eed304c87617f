"""Free ammonia and free nitrous acid by Anthonisen and others 1976, and where inhibition begins.

Free ammonia is the un-ionised ammonia of `tailrace.water.ammonia`, here in the older constants
of the study so that its thresholds can be used as they were meant, and counted as NH3, not as N.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import NotKnownError
from tailrace.formula import formula


@formula(total_ammonia_n_g_m3=(0.0, 1e5), ph=(3.0, 12.0), temperature_degc=(0.0, 45.0))
def free_ammonia_anthonisen_1976_g_m3(
    total_ammonia_n_g_m3: float, ph: float, temperature_degc: float
) -> float:
    """Free ammonia, counted as NH3.

    Parameters
    ----------
    total_ammonia_n_g_m3
        Total ammonia, as nitrogen [g N/m3].
    ph
        pH [-].
    temperature_degc
        Temperature [degC].

    Returns
    -------
    float
        Free ammonia, as NH3 [g/m3].

    Notes
    -----
    (17/14) TAN 10^pH/(exp(6344/(273 + T)) + 10^pH).

    Examples
    --------
    >>> round(free_ammonia_anthonisen_1976_g_m3(10.0, 8.0, 20.0), 3)
    0.462

    References
    ----------
    anthonisen_1976
    """
    power: float = 10.0**ph
    constant = math.exp(6344.0 / (273.0 + temperature_degc))
    return 17.0 / 14.0 * total_ammonia_n_g_m3 * power / (constant + power)


@formula(nitrite_n_g_m3=(0.0, 1e5), ph=(3.0, 12.0), temperature_degc=(0.0, 45.0))
def free_nitrous_acid_anthonisen_1976_g_m3(
    nitrite_n_g_m3: float, ph: float, temperature_degc: float
) -> float:
    """Free nitrous acid, counted as HNO2.

    Parameters
    ----------
    nitrite_n_g_m3
        Nitrite, as nitrogen [g N/m3].
    ph
        pH [-].
    temperature_degc
        Temperature [degC].

    Returns
    -------
    float
        Free nitrous acid, as HNO2 [g/m3].

    Notes
    -----
    (47/14) NO2-N/(exp(-2300/(273 + T)) 10^pH); the acid's own share of the nitrite is left out,
    which holds above pH 5. Many texts print 46/14, the mass of the ion, which is 2 % less.

    Examples
    --------
    >>> round(free_nitrous_acid_anthonisen_1976_g_m3(10.0, 7.0, 20.0), 5)
    0.00861

    References
    ----------
    anthonisen_1976
    """
    power: float = 10.0**ph
    constant = math.exp(-2300.0 / (273.0 + temperature_degc))
    return 47.0 / 14.0 * nitrite_n_g_m3 / (constant * power)


@dataclass(frozen=True, slots=True)
class InhibitionOnset:
    """Range of concentrations in which inhibition begins.

    Parameters
    ----------
    inhibitor
        ``free ammonia`` or ``free nitrous acid``.
    organism
        ``ammonia oxidisers`` or ``nitrite oxidisers``.
    low_g_m3, high_g_m3
        Range in which inhibition was seen to begin, in the form that `unit` names.
    unit
        Unit with the form that is counted.
    source
        Key of the source.
    obtained
        How the range was obtained.
    """

    inhibitor: str
    organism: str
    low_g_m3: float
    high_g_m3: float
    unit: str
    source: str
    obtained: str


@cache
def inhibition_onsets() -> tuple[InhibitionOnset, ...]:
    """Return where inhibition of nitrifiers begins.

    Returns
    -------
    tuple of InhibitionOnset
        In the order of the table.
    """
    table = files("tailrace.biology").joinpath("inhibitors.csv")
    with table.open(encoding="utf-8") as stream:
        return tuple(
            InhibitionOnset(
                row["inhibitor"],
                row["organism"],
                float(row["low_g_m3"]),
                float(row["high_g_m3"]),
                row["unit"],
                row["source"],
                row["obtained"],
            )
            for row in csv.DictReader(stream)
        )


def inhibition_onset(inhibitor: str, organism: str) -> InhibitionOnset:
    """Return where one inhibitor begins to slow one kind of nitrifier.

    Parameters
    ----------
    inhibitor, organism
        As in `InhibitionOnset`.

    Returns
    -------
    InhibitionOnset
        The range.

    Raises
    ------
    NotKnownError
        The table has no such pair.

    Examples
    --------
    >>> inhibition_onset("free ammonia", "nitrite oxidisers").low_g_m3
    0.1
    """
    for onset in inhibition_onsets():
        if (onset.inhibitor, onset.organism) == (inhibitor, organism):
            return onset
    known = "; ".join(f"{onset.inhibitor} on {onset.organism}" for onset in inhibition_onsets())
    message = f"no onset known for {inhibitor} on {organism}. There are {known}."
    raise NotKnownError(message)
