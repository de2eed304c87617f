"""Dividing a dose into steps that the animals stand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Final, Literal

from scipy.optimize import brentq

from tailrace.errors import InputError
from tailrace.water.chemicals import Product
from tailrace.water.chemistry import Water
from tailrace.water.dosing import dosed
from tailrace.water.speciation import Speciation, speciate
from tailrace.water.species import Ions

_STEPS_AT_MOST: Final = 50
_LITTLE: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Limits:
    """What a step of dosing must not pass.

    Parameters
    ----------
    ph_change
        Largest change of pH in one step [-].
    un_ionised_ammonia_n_g_m3
        Largest un-ionised ammonia at any moment [g N/m3].
    """

    ph_change: float
    un_ionised_ammonia_n_g_m3: float


@dataclass(frozen=True, slots=True)
class Steps:
    """A dose in equal steps.

    Parameters
    ----------
    count
        Number of steps; 0 when nothing may be dosed.
    each_g_m3
        Dose of a step [g/m3].
    total_g_m3
        Dose of all; less than was wanted when `limited_by` is ``toxic part`` [g/m3].
    states
        The water before, and after each step.
    limited_by
        ``nothing`` (one step will do), ``pH change``, or ``toxic part``: the rest of the dose
        would lift the un-ionised ammonia over its limit in however many steps.
    """

    count: int
    each_g_m3: float
    total_g_m3: float
    states: tuple[Speciation, ...]
    limited_by: Literal["nothing", "pH change", "toxic part"]


def steps(
    water: Water,
    product: Product,
    dose_g_m3: float,
    limits: Limits,
    *,
    ions: Ions = Ions.PAIRED,
) -> Steps:
    """Divide a dose into the fewest equal steps that keep within limits.

    Parameters
    ----------
    water
        The water.
    product
        The product.
    dose_g_m3
        Product for each volume of water, over all steps [g/m3].
    limits
        What no step may pass.
    ions
        With ion pairs or each ion by itself.

    Returns
    -------
    Steps
        The steps, and which limit bound them.

    Raises
    ------
    InputError
        More than 50 steps would be needed, or a limit is not above zero.

    Notes
    -----
    No gas moves between the steps. In a stocked loop breathing lowers pH between them and
    aeration can raise it; test pH before each step and stop when it is where it should be.

    Examples
    --------
    >>> from tailrace.water.chemicals import product
    >>> water = Water(
    ...     temperature_degc=26.0,
    ...     alkalinity_eq_m3=0.6,
    ...     dic_mol_m3=0.9,
    ...     total_ammonia_n_g_m3=1.0,
    ...     sodium_g_m3=13.8,
    ... )
    >>> gentle = steps(water, product("NaHCO3"), 80.0, Limits(0.2, 0.05))
    >>> gentle.count, gentle.limited_by
    (3, 'pH change')
    """
    if not (limits.ph_change > 0.0 and limits.un_ionised_ammonia_n_g_m3 > 0.0):
        message = (
            f"limits of a step are {limits.ph_change:g} in pH and "
            f"{limits.un_ionised_ammonia_n_g_m3:g} g N/m3; both must be above zero."
        )
        raise InputError(message)

    def state(dose: float) -> Speciation:
        return speciate(dosed(water, product, dose), ions)

    safe = _safe_dose(state, dose_g_m3, limits.un_ionised_ammonia_n_g_m3)
    if safe <= 0.0:
        held: Literal["nothing", "toxic part"] = "toxic part" if dose_g_m3 > 0.0 else "nothing"
        return Steps(0, 0.0, 0.0, (state(0.0),), held)
    count, states = _fewest(state, safe, limits.ph_change)
    bound: Literal["nothing", "pH change"] = "pH change" if count > 1 else "nothing"
    return Steps(
        count=count,
        each_g_m3=safe / count,
        total_g_m3=safe,
        states=states,
        limited_by="toxic part" if safe < dose_g_m3 else bound,
    )


def _safe_dose(state: Callable[[float], Speciation], dose: float, limit: float) -> float:
    def excess(part: float) -> float:
        return state(part).un_ionised_ammonia_n_g_m3 - limit

    if excess(0.0) > 0.0 and excess(dose) >= excess(0.0):
        return 0.0
    if excess(dose) <= 0.0 or excess(0.0) > 0.0:
        return dose
    root, found = brentq(excess, 0.0, dose, xtol=1e-6, full_output=True)
    return float(root) if found.converged else 0.0


def _fewest(
    state: Callable[[float], Speciation], dose: float, ph_change: float
) -> tuple[int, tuple[Speciation, ...]]:
    before, after = state(0.0), state(dose)
    count = max(1, math.ceil(abs(after.ph - before.ph) / ph_change - _LITTLE))
    while count <= _STEPS_AT_MOST:
        inner = tuple(state(dose * number / count) for number in range(1, count))
        states = (before, *inner, after)
        jumps = [abs(b.ph - a.ph) for a, b in pairwise(states)]
        if max(jumps) <= ph_change + _LITTLE:
            return count, states
        count += 1
    message = (
        f"more than {_STEPS_AT_MOST} steps would be needed to keep each within {ph_change:g} of "
        "pH. Dose less, or choose a gentler product."
    )
    raise InputError(message)
