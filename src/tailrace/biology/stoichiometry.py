"""Reactions as printed, and what they use and make per gram of nitrogen.

A reaction is written as books print it, ``NH4+ + 2 O2 -> NO3- + 2 H+ + H2O``; the table
``reactions.csv`` holds the published ones side by side. The nitrogen that counts is that of
the inorganic species of which the reaction uses most.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

from tailrace.errors import InputError, NotKnownError
from tailrace.formula import formula
from tailrace.water import molar_masses as mass

_ELEMENTS: Final = {
    "H": mass.HYDROGEN_G_MOL,
    "C": mass.CARBON_G_MOL,
    "N": mass.NITROGEN_G_MOL,
    "O": mass.OXYGEN_G_MOL,
    "P": mass.PHOSPHORUS_G_MOL,
}
# Equivalents of alkalinity per mole, counted from H2CO3, NH4+ and H2PO4- as zero.
_ALKALINITY: Final = {
    **{"HCO3-": 1.0, "CO3-2": 2.0, "OH-": 1.0, "H+": -1.0, "NH3": 1.0},
    **{"HPO4-2": 1.0, "PO4-3": 2.0, "H3PO4": -1.0, "HNO3": -1.0, "HNO2": -1.0},
}
_INORGANIC_NITROGEN: Final = ("NH4+", "NH3", "NO2-", "NO3-", "HNO2")
_TERM = re.compile(r"(?P<count>\d+(?:\.\d*)?|\.\d+)?\s*(?P<species>[A-Z][A-Za-z0-9]*(?:[+-]\d*)?)")
_ATOMS = re.compile(r"([A-Z][a-z]?)(\d*)")


@dataclass(frozen=True, slots=True)
class Reaction:
    """A reaction.

    Parameters
    ----------
    moles
        Species to moles made; negative when used.
    """

    moles: Mapping[str, float]

    def nitrogen_mol(self) -> float:
        """Return the moles of nitrogen that the reaction converts.

        Returns
        -------
        float
            Moles of nitrogen in the inorganic species of which most is used.

        Raises
        ------
        InputError
            The reaction uses no ammonia, nitrite or nitrate.
        """
        used = max((-self.moles.get(name, 0.0) for name in _INORGANIC_NITROGEN), default=0.0)
        if used <= 0.0:
            message = (
                f"the reaction uses no {', '.join(_INORGANIC_NITROGEN)}, so nothing can be "
                f"counted per gram of nitrogen; it has {', '.join(self.moles)}."
            )
            raise InputError(message)
        return used

    def made_g_g(self, *species: str) -> float:
        """Return the mass of species made per mass of nitrogen converted.

        Parameters
        ----------
        *species
            Species, each written as in the reaction; those not in it count as none.

        Returns
        -------
        float
            g made per g N; negative when used.

        Examples
        --------
        >>> round(reactions()["ammonia_to_nitrate"].made_g_g("O2"), 3)
        -4.569
        """
        made = sum(self.moles.get(name, 0.0) * molar_mass_g_mol(name) for name in species)
        return made / (self.nitrogen_mol() * mass.NITROGEN_G_MOL)

    def alkalinity_made_g_g(self) -> float:
        """Return the alkalinity made, as calcium carbonate, per mass of nitrogen converted.

        Returns
        -------
        float
            g CaCO3 made per g N; negative when used.

        Examples
        --------
        >>> round(reactions()["ammonia_to_nitrate"].alkalinity_made_g_g(), 3)
        -7.145
        """
        made = sum(_ALKALINITY.get(name, 0.0) * moles for name, moles in self.moles.items())
        return made * mass.CACO3_G_EQ / (self.nitrogen_mol() * mass.NITROGEN_G_MOL)

    def carbon_dioxide_made_g_g(self) -> float:
        """Return the carbon dioxide made, free or as carbonic acid, per mass of nitrogen.

        Returns
        -------
        float
            g CO2 made per g N; negative when used.
        """
        made = self.moles.get("CO2", 0.0) + self.moles.get("H2CO3", 0.0)
        return made * mass.CO2_G_MOL / (self.nitrogen_mol() * mass.NITROGEN_G_MOL)

    def cells_made_g_g(self) -> float:
        """Return the volatile solids made, as cells, per mass of nitrogen converted.

        Returns
        -------
        float
            g VSS made per g N.

        Notes
        -----
        Cells are the species of carbon, hydrogen, oxygen and nitrogen, with or without
        phosphorus, such as C5H7O2N.
        """
        cells = [name for name in self.moles if {"C", "H", "O", "N"} <= set(atoms(name))]
        return self.made_g_g(*cells)

    def imbalance(self) -> dict[str, float]:
        """Return by how much elements and charge fail to balance.

        Returns
        -------
        dict
            Element, or ``charge``, to the amount made out of nothing [mol].

        Examples
        --------
        >>> max(map(abs, reactions()["ammonia_to_nitrate"].imbalance().values()))
        0.0
        """
        left = dict.fromkeys(("charge", *_ELEMENTS), 0.0)
        for name, moles in self.moles.items():
            left["charge"] += moles * charge(name)
            for element, count in atoms(name).items():
                left[element] += moles * count
        return left


@cache
def atoms(species: str) -> Mapping[str, int]:
    """Return the atoms of a species.

    Parameters
    ----------
    species
        Formula, such as ``C5H7O2N`` or ``HPO4-2``.

    Returns
    -------
    mapping
        Element to number of atoms.

    Raises
    ------
    InputError
        The formula has an element other than H, C, N, O and P.

    Examples
    --------
    >>> dict(atoms("NH4+"))
    {'N': 1, 'H': 4}
    """
    found: dict[str, int] = {}
    for element, count in _ATOMS.findall(re.split(r"[+-]", species)[0]):
        if element not in _ELEMENTS:
            message = f"{species}: element {element} is not one of {', '.join(_ELEMENTS)}."
            raise InputError(message)
        found[element] = found.get(element, 0) + int(count or 1)
    return MappingProxyType(found)


def charge(species: str) -> int:
    """Return the charge of a species.

    Parameters
    ----------
    species
        Formula, its charge last: ``NH4+``, ``HPO4-2``.

    Returns
    -------
    int
        Elementary charges.

    Examples
    --------
    >>> charge("HPO4-2"), charge("H2O")
    (-2, 0)
    """
    match = re.search(r"([+-])(\d*)$", species)
    if match is None:
        return 0
    return (1 if match[1] == "+" else -1) * int(match[2] or 1)


def molar_mass_g_mol(species: str) -> float:
    """Return the molar mass of a species.

    Parameters
    ----------
    species
        Formula, such as ``C5H7O2N``.

    Returns
    -------
    float
        Molar mass [g/mol], electrons not counted.

    Examples
    --------
    >>> round(molar_mass_g_mol("C5H7O2N"), 3)
    113.116
    """
    return sum(_ELEMENTS[element] * count for element, count in atoms(species).items())


def reaction_from(text: str) -> Reaction:
    """Read a reaction as books print it.

    Parameters
    ----------
    text
        Terms joined by ' + ', with one arrow ``->``; brackets round the whole are dropped.

    Returns
    -------
    Reaction
        The reaction.

    Raises
    ------
    InputError
        There is not one arrow, or a term is not a number and a formula.

    Examples
    --------
    >>> dict(reaction_from("NO2- + 0.5 O2 -> NO3-").moles)
    {'NO2-': -1.0, 'O2': -0.5, 'NO3-': 1.0}
    """
    sides = text.strip().strip("()").split("->")
    if len(sides) != 2:
        message = f"reaction {text!r} must have one arrow '->' between what is used and made."
        raise InputError(message)
    moles: dict[str, float] = {}
    for sign, side in zip((-1.0, 1.0), sides, strict=True):
        for term in side.split(" + "):
            match = _TERM.fullmatch(term.strip())
            if match is None:
                message = (
                    f"reaction {text!r}: {term.strip()!r} is not a number and a formula such as "
                    "'1.83 O2' or 'NH4+'."
                )
                raise InputError(message)
            name = match["species"]
            moles[name] = moles.get(name, 0.0) + sign * float(match["count"] or 1.0)
    return Reaction(MappingProxyType(moles))


@cache
def reactions() -> Mapping[str, Reaction]:
    """Return the published reactions by key, with author and year where they differ.

    Returns
    -------
    mapping
        Key to `Reaction`.
    """
    return MappingProxyType({key: reaction_from(row["reaction"]) for key, row in _table().items()})


def reaction_source(key: str) -> str:
    """Return the key of the source of a published reaction.

    Parameters
    ----------
    key
        Key of the reaction.

    Returns
    -------
    str
        Key of the source.

    Raises
    ------
    NotKnownError
        There is no such reaction.

    Examples
    --------
    >>> reaction_source("ammonia_to_nitrite_usepa_1975")
    'usepa_1975'
    """
    if key not in _table():
        message = f"no reaction {key!r}; there are {', '.join(_table())}."
        raise NotKnownError(message)
    return _table()[key]["source"]


@cache
def _table() -> Mapping[str, Mapping[str, str]]:
    table = files("tailrace.biology").joinpath("reactions.csv")
    with table.open(encoding="utf-8") as stream:
        return {row["key"]: row for row in csv.DictReader(stream)}


@formula(equivalents_per_mol=(-10.0, 10.0))
def alkalinity_per_nitrogen_kg_kg(equivalents_per_mol: float) -> float:
    """Alkalinity, as calcium carbonate, that goes with a mass of nitrogen.

    Parameters
    ----------
    equivalents_per_mol
        Equivalents per mole of nitrogen: 1 given back by denitrification, 2 used by
        nitrification [-].

    Returns
    -------
    float
        Calcium carbonate per nitrogen [kg/kg].

    Notes
    -----
    50.04 n/14.007.

    Examples
    --------
    >>> round(alkalinity_per_nitrogen_kg_kg(1.0), 3)
    3.573

    References
    ----------
    arithmetic
    """
    return equivalents_per_mol * mass.CACO3_G_EQ / mass.NITROGEN_G_MOL


@formula(oxygen_mol_mol=(-10.0, 10.0))
def oxygen_per_nitrogen_kg_kg(oxygen_mol_mol: float) -> float:
    """Oxygen that goes with a mass of nitrogen.

    Parameters
    ----------
    oxygen_mol_mol
        Moles of oxygen per mole of nitrogen: 1.25 is what nitrate stands for in
        denitrification [mol/mol].

    Returns
    -------
    float
        Oxygen per nitrogen [kg/kg].

    Notes
    -----
    31.998 n/14.007.

    Examples
    --------
    >>> round(oxygen_per_nitrogen_kg_kg(1.25), 3)
    2.856

    References
    ----------
    arithmetic
    """
    return oxygen_mol_mol * mass.O2_G_MOL / mass.NITROGEN_G_MOL


@formula(nitrogen_mol_mol=(0.0, 1e4))
def nitrogen_per_phosphorus_kg_kg(nitrogen_mol_mol: float) -> float:
    """Mass of nitrogen per mass of phosphorus of a molar ratio.

    Parameters
    ----------
    nitrogen_mol_mol
        Moles of nitrogen per mole of phosphorus; 16 in the algae of Redfield [mol/mol].

    Returns
    -------
    float
        Nitrogen per phosphorus [kg/kg].

    Notes
    -----
    14.007 n/30.974.

    Examples
    --------
    >>> round(nitrogen_per_phosphorus_kg_kg(16.0), 3)
    7.235

    References
    ----------
    arithmetic
    """
    return nitrogen_mol_mol * mass.NITROGEN_G_MOL / mass.PHOSPHORUS_G_MOL


@formula(heterotroph_yield_frac=(0.0, 0.9))
def organic_demand_per_nitrate_kg_kg(heterotroph_yield_frac: float) -> float:
    """Oxygen demand of the organic matter that denitrification of a mass of nitrogen takes.

    Parameters
    ----------
    heterotroph_yield_frac
        Cells made, as oxygen demand, per oxygen demand used [-].

    Returns
    -------
    float
        Oxygen demand per nitrate nitrogen [kg/kg].

    Notes
    -----
    2.856/(1 - Y): of each gram used, the share 1 - Y is burnt with nitrate for oxygen. With
    Y 0.54 it is 6.2; feed solids that hydrolyse slowly are the usual source here.

    Examples
    --------
    >>> round(organic_demand_per_nitrate_kg_kg(0.54), 2)
    6.21

    References
    ----------
    gujer_1999
    """
    return oxygen_per_nitrogen_kg_kg(1.25) / (1.0 - heterotroph_yield_frac)
