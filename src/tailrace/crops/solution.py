"""Nutrient solutions: how much of an element the salts in them bring.

The salts are ``salts.csv``: atoms of each element in a formula unit. Molar masses are those of
`tailrace.water.molar_masses`, with sulfur and iron beside them here.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Final

from tailrace.errors import NotKnownError
from tailrace.water import molar_masses

SULFUR_G_MOL: Final = 32.06
IRON_G_MOL: Final = 55.845
ELEMENTS_G_MOL: Final[Mapping[str, float]] = {
    "N": molar_masses.NITROGEN_G_MOL,
    "P": molar_masses.PHOSPHORUS_G_MOL,
    "K": molar_masses.POTASSIUM_G_MOL,
    "Ca": molar_masses.CALCIUM_G_MOL,
    "Mg": molar_masses.MAGNESIUM_G_MOL,
    "S": SULFUR_G_MOL,
    "Fe": IRON_G_MOL,
    "Na": molar_masses.SODIUM_G_MOL,
    "Cl": molar_masses.CHLORINE_G_MOL,
}


@cache
def salts() -> dict[str, dict[str, float]]:
    """Return the atoms of each element in every salt.

    Returns
    -------
    dict
        Formula to element to atoms in a formula unit; elements that are not there are left out.

    Examples
    --------
    >>> salts()["Ca(NO3)2"]
    {'N': 2.0, 'Ca': 1.0}
    """
    with files("tailrace.crops").joinpath("salts.csv").open(encoding="utf-8") as stream:
        return {
            row["salt"]: {e: float(row[e]) for e in ELEMENTS_G_MOL if row[e]}
            for row in csv.DictReader(stream)
        }


def element_in_solution_g_m3(element: str, recipe_mol_m3: Mapping[str, float]) -> float:
    """Concentration of an element in a solution of salts.

    Parameters
    ----------
    element
        Symbol, such as ``N`` or ``Ca``.
    recipe_mol_m3
        Formula of each salt to its amount, mol/m3, which is mmol/L.

    Returns
    -------
    float
        Concentration as the element, g/m3, which is mg/L.

    Raises
    ------
    NotKnownError
        The element or a salt is not in the table.

    Examples
    --------
    >>> recipe = {"Ca(NO3)2": 5.0, "KNO3": 5.0, "KH2PO4": 1.0, "MgSO4": 2.0}
    >>> round(element_in_solution_g_m3("N", recipe), 1)
    210.1
    """
    if element not in ELEMENTS_G_MOL:
        message = f"element {element!r} is not known; known: {', '.join(ELEMENTS_G_MOL)}."
        raise NotKnownError(message)
    unknown = [salt for salt in recipe_mol_m3 if salt not in salts()]
    if unknown:
        message = (
            f"salt {', '.join(unknown)} is not known; known: {', '.join(salts())}. "
            "Crystal water makes no difference when the amount is in moles."
        )
        raise NotKnownError(message)
    return ELEMENTS_G_MOL[element] * sum(
        salts()[salt].get(element, 0.0) * amount for salt, amount in recipe_mol_m3.items()
    )
