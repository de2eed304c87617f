"""A water with its whole chemistry, as amounts that mixing conserves.

``speciation`` finds the pH and the species of such a water, ``dosing`` adds chemicals to it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from typing import Final, Self

from tailrace.errors import InputError
from tailrace.water import molar_masses as mass


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """What is dissolved in a water, apart from gases other than carbon dioxide.

    Every field but the temperature is conserved when waters are mixed, and none of them changes
    when carbon dioxide leaves, apart from the inorganic carbon itself.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    alkalinity_eq_m3
        Alkalinity, phosphate and ammonia included [eq/m3].
    dic_mol_m3
        Dissolved inorganic carbon [mol/m3].
    total_ammonia_n_g_m3
        Total ammonia (TAN), counted as nitrogen [g N/m3].
    phosphate_p_g_m3
        Orthophosphate, counted as phosphorus [g P/m3].
    nitrate_n_g_m3
        Nitrate, counted as nitrogen [g N/m3].
    calcium_g_m3, magnesium_g_m3, potassium_g_m3, sodium_g_m3, chloride_g_m3, sulfate_g_m3
        The ions, counted as themselves [g/m3].
    """

    temperature_degc: float
    alkalinity_eq_m3: float
    dic_mol_m3: float
    total_ammonia_n_g_m3: float = 0.0
    phosphate_p_g_m3: float = 0.0
    nitrate_n_g_m3: float = 0.0
    calcium_g_m3: float = 0.0
    magnesium_g_m3: float = 0.0
    potassium_g_m3: float = 0.0
    sodium_g_m3: float = 0.0
    chloride_g_m3: float = 0.0
    sulfate_g_m3: float = 0.0

    def __post_init__(self) -> None:
        for field in fields(self):
            value = getattr(self, field.name)
            low = -math.inf if field.name == "alkalinity_eq_m3" else 0.0
            if not (math.isfinite(value) and value >= low):
                message = (
                    f"{field.name} of a water is {value:g}; it must be a number, zero or more. "
                    "Leave out what was not measured."
                )
                raise InputError(message)

    def changed(self, **fields_to_values: float) -> Self:
        """Return this water with some fields changed.

        Parameters
        ----------
        **fields_to_values
            Names of fields and their new values, in their own units.

        Returns
        -------
        Water
            A new water.

        Examples
        --------
        >>> tap = Water(temperature_degc=15.0, alkalinity_eq_m3=2.0, dic_mol_m3=2.1)
        >>> tap.changed(temperature_degc=20.0).temperature_degc
        20.0
        """
        return replace(self, **fields_to_values)


# What an amount of each field is as a strong ion: molar mass [g/mol] and charge.
STRONG_IONS: Final = {
    "calcium_g_m3": (mass.CALCIUM_G_MOL, 2),
    "magnesium_g_m3": (mass.MAGNESIUM_G_MOL, 2),
    "potassium_g_m3": (mass.POTASSIUM_G_MOL, 1),
    "sodium_g_m3": (mass.SODIUM_G_MOL, 1),
    "chloride_g_m3": (mass.CHLORINE_G_MOL, -1),
    "sulfate_g_m3": (mass.SO4_G_MOL, -2),
    "nitrate_n_g_m3": (mass.NITROGEN_G_MOL, -1),
}


def charge_gap_eq_m3(water: Water) -> float:
    """Return the charge that the listed ions of a water lack.

    Parameters
    ----------
    water
        The water.

    Returns
    -------
    float
        Cations missing; below zero, anions missing [eq/m3].

    Notes
    -----
    Water is neutral, so strong cations less strong anions = alkalinity - total ammonia
    + phosphate, each in mol or eq. What is missing was not measured.

    Examples
    --------
    >>> soft = Water(temperature_degc=20.0, alkalinity_eq_m3=1.0, dic_mol_m3=1.0)
    >>> charge_gap_eq_m3(soft)
    1.0
    """
    strong: float = sum(
        charge * getattr(water, name) / molar for name, (molar, charge) in STRONG_IONS.items()
    )
    ammonia = water.total_ammonia_n_g_m3 / mass.NITROGEN_G_MOL
    phosphate = water.phosphate_p_g_m3 / mass.PHOSPHORUS_G_MOL
    return water.alkalinity_eq_m3 - ammonia + phosphate - strong


def balanced(water: Water) -> Water:
    """Return the water made neutral by sodium or chloride, whichever is missing.

    Parameters
    ----------
    water
        The water, with the ions that were measured.

    Returns
    -------
    Water
        The same with sodium or chloride added, so that its ionic strength is plausible.

    Examples
    --------
    >>> soft = Water(temperature_degc=20.0, alkalinity_eq_m3=1.0, dic_mol_m3=1.0)
    >>> balanced(soft).sodium_g_m3
    22.99
    """
    gap = charge_gap_eq_m3(water)
    if gap > 0.0:
        return water.changed(sodium_g_m3=water.sodium_g_m3 + gap * mass.SODIUM_G_MOL)
    return water.changed(chloride_g_m3=water.chloride_g_m3 - gap * mass.CHLORINE_G_MOL)


def mixed(first: Water, second: Water, share_frac: float) -> Water:
    """Return the mixture of two waters before any gas moves.

    Parameters
    ----------
    first
        The water in the loop.
    second
        The water that replaces part of it.
    share_frac
        Share of the mixture that is `second` [-].

    Returns
    -------
    Water
        The mixture: each conserved amount, and the temperature, by volume.

    Raises
    ------
    InputError
        The share is not from 0 to 1.

    Notes
    -----
    pH is not conserved: it follows from the mixture's alkalinity and inorganic carbon.

    Examples
    --------
    >>> warm = Water(temperature_degc=26.0, alkalinity_eq_m3=0.5, dic_mol_m3=0.8)
    >>> cold = Water(temperature_degc=10.0, alkalinity_eq_m3=4.5, dic_mol_m3=4.6)
    >>> mixed(warm, cold, 0.25).alkalinity_eq_m3
    1.5
    """
    if not 0.0 <= share_frac <= 1.0:
        message = f"share of new water is {share_frac:g}; it must be from 0 to 1. 20 % is 0.2."
        raise InputError(message)
    values = {
        field.name: (1.0 - share_frac) * getattr(first, field.name)
        + share_frac * getattr(second, field.name)
        for field in fields(Water)
    }
    return Water(**values)
