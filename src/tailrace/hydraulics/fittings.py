"""Fittings: loss coefficients from a handbook table, ``fittings.csv``, and from Cv, Kv or Av."""

from __future__ import annotations

import csv
import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from tailrace.errors import NotKnownError
from tailrace.formula import formula

_AV_OF_CV_M2 = 2.4016e-5  # one US gallon a minute of water of 999 kg/m3 at 1 psi
_AV_OF_KV_M2 = 2.7768e-5  # one cubic metre an hour of water of 999 kg/m3 at 1 bar


@dataclass(frozen=True, slots=True)
class Fitting:
    """One fitting of the table.

    Parameters
    ----------
    key
        Name in code, such as ``elbow_90_standard``.
    name
        Words for people.
    loss_coefficient
        Loss coefficient on the velocity head of the pipe.
    source
        Key of the source.
    note
        What else is known of the number.
    """

    key: str
    name: str
    loss_coefficient: float
    source: str
    note: str


@cache
def fittings() -> Mapping[str, Fitting]:
    """Return every fitting by its key.

    Returns
    -------
    mapping
        Key to `Fitting`.

    Notes
    -----
    Turbulent flow. Handbooks differ by 30 % and more, and small plastic fittings with raised
    edges lose more than any of them says: a flow timed with a bucket beats the table.

    Examples
    --------
    >>> fittings()["elbow_90_standard"].loss_coefficient
    0.75
    """
    table = files("tailrace.hydraulics").joinpath("fittings.csv")
    with table.open(encoding="utf-8") as stream:
        rows = [
            Fitting(
                row["key"], row["name"], float(row["loss_coefficient"]), row["source"], row["note"]
            )
            for row in csv.DictReader(stream)
        ]
    return MappingProxyType({row.key: row for row in rows})


def loss_coefficient_sum(counts: Mapping[str, float]) -> float:
    """Loss coefficient of fittings in series in one bore.

    Parameters
    ----------
    counts
        Key of the fitting to how many of it.

    Returns
    -------
    float
        Sum of the loss coefficients [-].

    Raises
    ------
    NotKnownError
        A fitting is not in the table.

    Examples
    --------
    >>> round(loss_coefficient_sum({"entrance_flush": 1, "elbow_90_standard": 3, "exit": 1}), 2)
    3.75
    """
    total = 0.0
    for key, count in counts.items():
        if key not in fittings():
            near = get_close_matches(key, fittings(), n=3, cutoff=0.4)
            meant = f" Was {' or '.join(near)} meant?" if near else ""
            message = f"no fitting {key!r} in the table of {len(fittings())} fittings.{meant}"
            raise NotKnownError(message)
        total += count * fittings()[key].loss_coefficient
    return total


@formula(coefficient_cv=(0.0, 1e6))
def flow_coefficient_from_cv_m2(coefficient_cv: float) -> float:
    """Flow coefficient Av of a valve from its Cv.

    Parameters
    ----------
    coefficient_cv
        Cv as printed: US gallons a minute of cold water at 1 psi [gal/(min psi^0.5)].

    Returns
    -------
    float
        Flow coefficient Av, defined by Q = Av sqrt(dp/rho) [m2].

    Notes
    -----
    Av = 2.4016e-5 Cv, for the water of 999 kg/m3 in which Cv is defined.

    Examples
    --------
    >>> round(flow_coefficient_from_cv_m2(30.0) * 1e4, 3)
    7.205

    References
    ----------
    iec_60534
    """
    return _AV_OF_CV_M2 * coefficient_cv


@formula(coefficient_kv=(0.0, 1e6))
def flow_coefficient_from_kv_m2(coefficient_kv: float) -> float:
    """Flow coefficient Av of a valve from its Kv.

    Parameters
    ----------
    coefficient_kv
        Kv as printed: cubic metres an hour of cold water at 1 bar [m3/(h bar^0.5)].

    Returns
    -------
    float
        Flow coefficient Av, defined by Q = Av sqrt(dp/rho) [m2].

    Notes
    -----
    Av = 2.7768e-5 Kv, for the water of 999 kg/m3 in which Kv is defined.

    Examples
    --------
    >>> round(flow_coefficient_from_kv_m2(10.0) * 1e4, 3)
    2.777

    References
    ----------
    iec_60534
    """
    return _AV_OF_KV_M2 * coefficient_kv


@formula(flow_coefficient_m2=(1e-9, 10.0), bore_m=(1e-4, 10.0))
def loss_coefficient_from_flow_coefficient(flow_coefficient_m2: float, bore_m: float) -> float:
    """Loss coefficient of a valve or fitting whose flow coefficient is known.

    Parameters
    ----------
    flow_coefficient_m2
        Flow coefficient Av [m2].
    bore_m
        Bore on whose velocity head the loss counts [m].

    Returns
    -------
    float
        Loss coefficient [-].

    Notes
    -----
    K = 2 (A/Av)^2 with A = pi D^2/4; in other units K = 0.00214 D^4/Cv^2 with D in mm.

    Examples
    --------
    >>> round(loss_coefficient_from_flow_coefficient(flow_coefficient_from_cv_m2(30.0), 0.0525), 2)
    18.06

    References
    ----------
    crane_tp410
    """
    return 2.0 * (math.pi / 4.0 * bore_m**2 / flow_coefficient_m2) ** 2
