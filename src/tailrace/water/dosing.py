"""Putting a product into a water: how much of it, and what then.

Everything dissolves and nothing precipitates here; lime and magnesium products take hours to
weeks. The products are in ``chemicals``; ``dosing_steps`` divides a dose.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scipy.optimize import brentq

from tailrace.errors import InputError
from tailrace.water import molar_masses as mass
from tailrace.water.chemicals import PARTS, Product
from tailrace.water.chemistry import Water
from tailrace.water.exchange import after_continuous_exchange_g_m3
from tailrace.water.speciation import Speciation, speciate, speciate_at_carbon_dioxide
from tailrace.water.species import Ions

_MOST_MOL_M3: Final = 50.0  # of product; far beyond any dose that an animal would survive
_YEAR_S: Final = 365.25 * 86400.0
_LITTLE: Final = 1e-9


def dosed(water: Water, product: Product, dose_g_m3: float) -> Water:
    """Return the water after a product has dissolved in it, before any gas moves.

    Parameters
    ----------
    water
        The water.
    product
        The product.
    dose_g_m3
        Product for each volume of water [g/m3].

    Returns
    -------
    Water
        The water with alkalinity, carbon and ions changed.

    Raises
    ------
    InputError
        The dose is below zero.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> soft = Water(temperature_degc=25.0, alkalinity_eq_m3=0.4, dic_mol_m3=0.6)
    >>> round(dosed(soft, product("NaHCO3"), 84.006).alkalinity_eq_m3, 3)
    1.4
    """
    if not dose_g_m3 >= 0.0:
        message = f"dose is {dose_g_m3:g} g/m3; it must be zero or more."
        raise InputError(message)
    moles = dose_g_m3 / product.product_g_mol
    chemical = product.chemical
    ions = {
        field: getattr(water, field) + moles * chemical.parts[name] * molar
        for name, (field, molar) in PARTS.items()
    }
    return water.changed(
        alkalinity_eq_m3=water.alkalinity_eq_m3 + moles * chemical.alkalinity_eq_mol,
        dic_mol_m3=water.dic_mol_m3 + moles * chemical.dic_mol_mol,
        **ions,
    )


def dose_for_alkalinity_g_m3(product: Product, rise_eq_m3: float) -> float:
    """Return the dose that changes alkalinity by a wanted amount.

    Parameters
    ----------
    product
        A base for a rise, an acid for a fall.
    rise_eq_m3
        Change wanted, below zero for a fall [eq/m3].

    Returns
    -------
    float
        Product for each volume of water [g/m3].

    Raises
    ------
    InputError
        The product does not move alkalinity that way.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> round(dose_for_alkalinity_g_m3(product("NaHCO3"), 50.0 / 50.043), 2)
    83.93
    """
    per_mol = product.chemical.alkalinity_eq_mol
    if rise_eq_m3 == 0.0:
        return 0.0
    if per_mol * rise_eq_m3 <= 0.0:
        way = "raise" if rise_eq_m3 > 0.0 else "lower"
        message = f"{product.chemical.name} does not {way} alkalinity. Choose another product."
        raise InputError(message)
    return rise_eq_m3 / per_mol * product.product_g_mol


def dose_for_part_g_m3(product: Product, part: str, rise_g_m3: float) -> float:
    """Return the dose that raises one ion by a wanted amount.

    Parameters
    ----------
    product
        A product that contains it.
    part
        ``calcium``, ``magnesium``, ``potassium``, ``sodium``, ``chloride``, ``sulfate``, or
        ``nitrate`` or ``ammonium`` (counted as N), ``phosphate`` (as P).
    rise_g_m3
        Rise wanted [g/m3].

    Returns
    -------
    float
        Product for each volume of water [g/m3].

    Raises
    ------
    InputError
        The product has none of it, or the rise is below zero.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> round(dose_for_part_g_m3(product("NaCl"), "chloride", 1.0), 4)
    1.6485
    """
    per_mol = product.chemical.parts.get(part, 0.0)
    if not per_mol:
        message = f"{product.chemical.name} brings no {part}. Choose another product."
        raise InputError(message)
    if not rise_g_m3 >= 0.0:
        message = f"rise of {part} is {rise_g_m3:g} g/m3; it must be zero or more."
        raise InputError(message)
    return rise_g_m3 / (per_mol * PARTS[part][1]) * product.product_g_mol


def dose_for_hardness_g_m3(product: Product, rise_caco3_g_m3: float) -> float:
    """Return the dose that raises hardness by a wanted amount.

    Parameters
    ----------
    product
        A product with calcium or magnesium.
    rise_caco3_g_m3
        Rise wanted, counted as CaCO3 [g CaCO3/m3].

    Returns
    -------
    float
        Product for each volume of water [g/m3].

    Raises
    ------
    InputError
        The product has neither calcium nor magnesium.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> round(dose_for_hardness_g_m3(product("CaCl2.2H2O"), 50.0), 2)
    73.44
    """
    parts = product.chemical.parts
    per_mol = parts["calcium"] + parts["magnesium"]
    if not per_mol:
        message = (
            f"{product.chemical.name} brings no hardness. Choose a calcium or magnesium salt."
        )
        raise InputError(message)
    return rise_caco3_g_m3 / mass.CACO3_G_MOL / per_mol * product.product_g_mol


def dose_for_ph_g_m3(
    water: Water, product: Product, ph: float, *, ions: Ions = Ions.PAIRED
) -> float:
    """Return the dose that brings a water to a pH, before any gas moves.

    Parameters
    ----------
    water
        The water.
    product
        A base to raise pH, an acid to lower it.
    ph
        pH wanted [-].
    ions
        With ion pairs or each ion by itself.

    Returns
    -------
    float
        The smallest dose that does it [g/m3].

    Raises
    ------
    InputError
        No dose of this product reaches that pH; the text says how far it gets.

    Notes
    -----
    pH is a poor aim: once carbon dioxide has left or come in, it moves again. Aim at alkalinity.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> water = Water(
    ...     temperature_degc=25.0, alkalinity_eq_m3=0.6, dic_mol_m3=0.9, sodium_g_m3=13.8
    ... )
    >>> round(dose_for_ph_g_m3(water, product("NaHCO3"), 7.0))
    67
    """

    def gap(dose: float) -> float:
        return speciate(dosed(water, product, dose), ions).ph - ph

    now = gap(0.0)
    if abs(now) < _LITTLE:
        return 0.0
    low, high = 0.0, 0.01 * product.product_g_mol
    while high <= _MOST_MOL_M3 * product.product_g_mol:
        if gap(high) * now <= 0.0:
            return float(brentq(gap, low, high, xtol=1e-9, rtol=1e-12))
        low, high = high, 1.5 * high
    reached = gap(low) + ph
    message = (
        f"{product.chemical.name} does not bring this water from pH {now + ph:.2f} to {ph:g}: "
        f"{low:.0f} g/m3 would still leave it at {reached:.2f}. Choose another product or pH."
    )
    raise InputError(message)


@dataclass(frozen=True, slots=True)
class Outcome:
    """A water before a dose, right after it, and once at equilibrium with the air.

    Parameters
    ----------
    before
        As it is.
    now
        Right after the dose has dissolved.
    at_air
        Later, when carbon dioxide is at equilibrium with the air.
    """

    before: Speciation
    now: Speciation
    at_air: Speciation


def outcome(
    water: Water,
    product: Product,
    dose_g_m3: float,
    *,
    carbon_dioxide_pa_abs: float,
    ions: Ions = Ions.PAIRED,
) -> Outcome:
    """Return what a dose does at once and in the long run.

    Parameters
    ----------
    water
        The water.
    product
        The product.
    dose_g_m3
        Product for each volume of water [g/m3].
    carbon_dioxide_pa_abs
        Partial pressure of carbon dioxide that aeration leads to; open air has about 42 [Pa].
    ions
        With ion pairs or each ion by itself.

    Returns
    -------
    Outcome
        The three states.

    Raises
    ------
    InputError
        The dose or the pressure is impossible.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> water = Water(
    ...     temperature_degc=25.0, alkalinity_eq_m3=0.6, dic_mol_m3=0.9, sodium_g_m3=13.8
    ... )
    >>> found = outcome(water, product("NaHCO3"), 50.0, carbon_dioxide_pa_abs=42.0)
    >>> [round(state.ph, 1) for state in (found.before, found.now, found.at_air)]
    [6.6, 6.9, 8.3]
    """
    after = dosed(water, product, dose_g_m3)
    return Outcome(
        before=speciate(water, ions),
        now=speciate(after, ions),
        at_air=speciate_at_carbon_dioxide(after, carbon_dioxide_pa_abs, ions),
    )


@dataclass(frozen=True, slots=True)
class BuildUp:
    """How far an ion that comes with a product builds up.

    Parameters
    ----------
    after_a_year_g_m3
        Concentration after a year [g/m3].
    in_the_end_g_m3
        Concentration at which it would stay; infinite without exchange of water [g/m3].
    """

    after_a_year_g_m3: float
    in_the_end_g_m3: float


def build_up(
    product: Product,
    part: str,
    *,
    product_g_s: float,
    now_g_m3: float,
    make_up_g_m3: float,
    exchange_m3_s: float,
    volume_m3: float,
) -> BuildUp:
    """Return how far an ion builds up when a product is dosed regularly.

    Parameters
    ----------
    product
        The product.
    part
        Which ion, as in `dose_for_part_g_m3`; sodium is the one that harms crops.
    product_g_s
        Product dosed, as an average [g/s].
    now_g_m3
        The ion in the loop now [g/m3].
    make_up_g_m3
        The ion in the make-up water [g/m3].
    exchange_m3_s
        Water that leaves as water and is replaced; evaporation does not count [m3/s].
    volume_m3
        Volume of the loop [m3].

    Returns
    -------
    BuildUp
        After a year and in the end.

    Notes
    -----
    Uptake by the crop and the ion left behind by evaporated top-up water are not counted.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> found = build_up(
    ...     product("NaHCO3"), "sodium", product_g_s=20.0 / 86400, now_g_m3=20.0,
    ...     make_up_g_m3=10.0, exchange_m3_s=0.05 / 86400, volume_m3=4.0,
    ... )
    >>> round(found.after_a_year_g_m3), round(found.in_the_end_g_m3)
    (118, 119)
    """
    brought = product.chemical.parts.get(part, 0.0) * PARTS[part][1] / product.product_g_mol
    input_g_s = product_g_s * brought
    after = after_continuous_exchange_g_m3(
        now_g_m3, make_up_g_m3, exchange_m3_s, volume_m3, _YEAR_S, input_g_s
    )
    end = make_up_g_m3 + input_g_s / exchange_m3_s if exchange_m3_s > 0.0 else math.inf
    return BuildUp(after, end if input_g_s or exchange_m3_s else now_g_m3)
