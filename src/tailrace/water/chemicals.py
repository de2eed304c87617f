"""Chemicals that are put into the water: bases, acids and salts, as a table, and products of them.

What a product does to a water is in ``dosing``.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final, Literal, cast

from tailrace.errors import InputError, NotKnownError
from tailrace.water import molar_masses as mass

Kind = Literal["base", "acid", "salt"]
_HYDRATE: Final = re.compile(r"(.+?)[.·*]\s*(\d*)\s*H2O")

# Column of the table to the field of a water and the mass that a mole of it has there [g/mol].
PARTS: Final = {
    "calcium": ("calcium_g_m3", mass.CALCIUM_G_MOL),
    "magnesium": ("magnesium_g_m3", mass.MAGNESIUM_G_MOL),
    "potassium": ("potassium_g_m3", mass.POTASSIUM_G_MOL),
    "sodium": ("sodium_g_m3", mass.SODIUM_G_MOL),
    "chloride": ("chloride_g_m3", mass.CHLORINE_G_MOL),
    "sulfate": ("sulfate_g_m3", mass.SO4_G_MOL),
    "nitrate": ("nitrate_n_g_m3", mass.NITROGEN_G_MOL),
    "phosphate": ("phosphate_p_g_m3", mass.PHOSPHORUS_G_MOL),
    "ammonium": ("total_ammonia_n_g_m3", mass.NITROGEN_G_MOL),
}


@dataclass(frozen=True, slots=True)
class Chemical:
    """One pure chemical.

    Parameters
    ----------
    key
        Its formula without water of crystallisation.
    name
        Words for people.
    kind
        ``base``, ``acid`` or ``salt``.
    molar_mass_g_mol
        Molar mass without water of crystallisation [g/mol].
    hydrate_mol
        Water of crystallisation as usually sold, in mol per mol.
    alkalinity_eq_mol
        Alkalinity that a mole brings once dissolved, in eq per mol.
    dic_mol_mol
        Inorganic carbon that a mole brings, in mol per mol.
    parts
        Amount of each of `PARTS` in a mole.
    source
        Key of the source of the molar mass.
    note
        How it behaves, and the caution.
    """

    key: str
    name: str
    kind: Kind
    molar_mass_g_mol: float
    hydrate_mol: float
    alkalinity_eq_mol: float
    dic_mol_mol: float
    parts: Mapping[str, float]
    source: str
    note: str


@cache
def chemicals() -> Mapping[str, Chemical]:
    """Return every chemical of the table by its formula.

    Returns
    -------
    Mapping
        Formula to `Chemical`.

    Examples
    --------
    >>> chemicals()["NaHCO3"].alkalinity_eq_mol
    1.0
    """
    with files("tailrace.water").joinpath("bases.csv").open(encoding="utf-8") as stream:
        found = {
            row["key"]: Chemical(
                key=row["key"],
                name=row["name"],
                kind=cast("Kind", row["kind"]),
                molar_mass_g_mol=float(row["molar_mass_g_mol"]),
                hydrate_mol=float(row["hydrate_mol"]),
                alkalinity_eq_mol=float(row["alkalinity_eq_mol"]),
                dic_mol_mol=float(row["dic_mol_mol"]),
                parts=MappingProxyType({name: float(row[name]) for name in PARTS}),
                source=row["source"],
                note=row["note"],
            )
            for row in csv.DictReader(stream)
        }
    return MappingProxyType(found)


@dataclass(frozen=True, slots=True)
class Product:
    """A chemical as it is sold.

    Parameters
    ----------
    chemical
        The chemical.
    hydrate_mol
        Water of crystallisation, in mol per mol.
    purity_frac
        Share, by weight, that is the chemical with that water; of a liquid its strength [-].
    """

    chemical: Chemical
    hydrate_mol: float
    purity_frac: float

    def __post_init__(self) -> None:
        if not 0.0 < self.purity_frac <= 1.0:
            message = (
                f"purity of {self.chemical.key} is {self.purity_frac:g}; it must be above 0 and "
                "up to 1. 95 % is 0.95."
            )
            raise InputError(message)
        if not 0.0 <= self.hydrate_mol <= 20.0:
            message = (
                f"water of crystallisation of {self.chemical.key} is {self.hydrate_mol:g}; it "
                "must be from 0 to 20. CaCl2.2H2O has 2."
            )
            raise InputError(message)

    @property
    def product_g_mol(self) -> float:
        """Weight of product that holds a mole of the chemical [g/mol]."""
        whole = self.chemical.molar_mass_g_mol + self.hydrate_mol * mass.H2O_G_MOL
        return whole / self.purity_frac

    @property
    def alkalinity_caco3_kg_kg(self) -> float:
        """Alkalinity, counted as CaCO3, for each weight of product; acids below 0 [kg/kg]."""
        return self.chemical.alkalinity_eq_mol * mass.CACO3_G_EQ / self.product_g_mol


def product(
    formula: str, *, purity_frac: float = 1.0, hydrate_mol: float | None = None
) -> Product:
    """Return a product of a chemical.

    Parameters
    ----------
    formula
        Formula, such as ``NaHCO3``; the water of crystallisation may stand behind a point,
        such as ``CaCl2.2H2O``.
    purity_frac
        Share by weight that is the chemical [-].
    hydrate_mol
        Water of crystallisation in mol per mol; None takes what the formula says, and none
        when it says nothing.

    Returns
    -------
    Product
        The product.

    Raises
    ------
    NotKnownError
        The chemical is not in the table.
    InputError
        Purity or water of crystallisation is impossible.

    Examples
    --------
    >>> round(product("CaCl2.2H2O").product_g_mol, 2)
    147.01
    """
    match = _HYDRATE.fullmatch(formula.strip())
    key = match[1].strip() if match else formula.strip()
    waters = float(match[2] or 1) if match else 0.0
    if key not in chemicals():
        known = ", ".join(chemicals())
        message = f"chemical {formula!r} is not known. Known are: {known}."
        raise NotKnownError(message)
    return Product(chemicals()[key], waters if hydrate_mol is None else hydrate_mol, purity_frac)
