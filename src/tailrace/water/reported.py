"""Readings as reported, brought to what is kept inside.

Mistaking one basis for another is the commonest error with readings: the dimensions are equal
and the numbers differ up to 4.4 times. So each conversion has its own name, in
``reported_nitrogen``, ``reported_hardness`` and ``reported_minerals``, and `reported_factor`
finds the right one by subject and basis.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from tailrace.errors import NotKnownError
from tailrace.formula import Formula
from tailrace.water.reported_hardness import (
    alkalinity_from_caco3_eq_m3,
    alkalinity_from_hco3_eq_m3,
)
from tailrace.water.reported_minerals import chloride_from_nacl_g_m3
from tailrace.water.reported_nitrogen import (
    nitrogen_from_nh3_n_g_m3,
    nitrogen_from_nh4_n_g_m3,
    nitrogen_from_no2_n_g_m3,
    nitrogen_from_no3_n_g_m3,
)

_AS_KEPT: Final[Formula | None] = None
_CONVERSIONS: Final[Mapping[str, Mapping[str, Formula | None]]] = MappingProxyType(
    {
        "total_ammonia": {
            "N": _AS_KEPT,
            "NH3": nitrogen_from_nh3_n_g_m3,
            "NH4": nitrogen_from_nh4_n_g_m3,
        },
        "un_ionised_ammonia": {"N": _AS_KEPT, "NH3": nitrogen_from_nh3_n_g_m3},
        "nitrite": {"N": _AS_KEPT, "NO2": nitrogen_from_no2_n_g_m3},
        "nitrate": {"N": _AS_KEPT, "NO3": nitrogen_from_no3_n_g_m3},
        "alkalinity": {"CaCO3": alkalinity_from_caco3_eq_m3, "HCO3": alkalinity_from_hco3_eq_m3},
        "hardness": {"CaCO3": _AS_KEPT},
        "chloride": {"Cl": _AS_KEPT, "NaCl": chloride_from_nacl_g_m3},
    }
)


def reported_factor(subject_key: str, basis: str) -> float:
    """Return what a reading in g/m3 (mg/L) on a basis is multiplied by to be kept inside.

    Parameters
    ----------
    subject_key
        Key of the subject, such as ``total_ammonia``.
    basis
        Basis on which it was reported, such as ``NH3``.

    Returns
    -------
    float
        Factor to the unit kept inside: as N, or equivalents for alkalinity.

    Raises
    ------
    NotKnownError
        The subject has no bases, or not this one; the text names those allowed.

    Examples
    --------
    >>> round(reported_factor("nitrite", "NO2"), 4)
    0.3045
    >>> reported_factor("nitrite", "NO3")
    Traceback (most recent call last):
    tailrace.errors.NotKnownError: nitrite is not reported as 'NO3'. Use one of: N, NO2.
    """
    allowed = _CONVERSIONS.get(subject_key)
    if allowed is None:
        known = ", ".join(_CONVERSIONS)
        message = f"{subject_key!r} is not a subject with a basis. Use one of: {known}."
        raise NotKnownError(message)
    if basis not in allowed:
        words = subject_key.replace("_", " ").replace("un ionised", "un-ionised")
        message = f"{words} is not reported as {basis!r}. Use one of: {', '.join(allowed)}."
        raise NotKnownError(message)
    conversion = allowed[basis]
    return 1.0 if conversion is None else conversion(1.0)
