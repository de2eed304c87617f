"""From what is dissolved to the species in which it is: pH, ion pairs, saturation.

One search serves four questions, which differ in what is held: all amounts, the pH, the pressure
of carbon dioxide, or that and calcite. ``carbonate`` has the compiled short form without pairs.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from tailrace.errors import InputError
from tailrace.water import molar_masses as mass
from tailrace.water.calcite import calcite_pksp_plummer_busenberg_1982
from tailrace.water.carbon_dioxide import carbon_dioxide_pkh_plummer_busenberg_1982
from tailrace.water.chemistry import STRONG_IONS, Water
from tailrace.water.species import COMPONENTS, Ions, Species, alkalinity_weights, species

Array = NDArray[np.float64]
_STEPS_AT_MOST: Final = 300
_LONGEST_STEP: Final = 2.0  # in natural logarithms; keeps a poor start from running away
_GOOD_ENOUGH: Final = 1e-11
_ATM_PA: Final = 101325.0
_STRONGEST_MOL_L: Final = 0.5  # beyond it the activity coefficients do not hold
_TRACE_MOL_L: Final = 1e-15  # less than this is taken as none
_FIELDS: Final = dict(
    zip(STRONG_IONS, ("Ca", "Mg", "K", "Na", "Cl", "SO4", "NO3"), strict=True)
)  # field of a water to component
_START: Final = {"H": 1e-8, "CO3": 1e-5, "PO4": 1e-8}


@dataclass(frozen=True, slots=True)
class Speciation:
    """A water with every species in it.

    Parameters
    ----------
    water
        The water.
    ions
        Whether pairs were counted.
    ph
        pH on the activity scale, as meters show it [-].
    ionic_strength_mol_m3
        Ionic strength [mol/m3].
    amounts_mol_m3
        Species to amount [mol/m3].
    log_activities
        Species to the base-10 logarithm of its activity in mol/L [-].
    """

    water: Water
    ions: Ions
    ph: float
    ionic_strength_mol_m3: float
    amounts_mol_m3: Mapping[str, float]
    log_activities: Mapping[str, float]

    @property
    def carbon_dioxide_mol_m3(self) -> float:
        """Dissolved carbon dioxide [mol/m3]."""
        return self.amounts_mol_m3.get("CO2", 0.0)

    @property
    def carbon_dioxide_pa_abs(self) -> float:
        """Pressure of carbon dioxide that would be at equilibrium with the water [Pa]."""
        if "CO2" not in self.log_activities:
            return 0.0
        pkh = carbon_dioxide_pkh_plummer_busenberg_1982(self.water.temperature_degc)
        return float(10.0 ** (self.log_activities["CO2"] + pkh)) * _ATM_PA

    @property
    def un_ionised_ammonia_n_g_m3(self) -> float:
        """Un-ionised ammonia, counted as nitrogen [g N/m3]."""
        return self.amounts_mol_m3.get("NH3", 0.0) * mass.NITROGEN_G_MOL

    @property
    def un_ionised_ammonia_frac(self) -> float:
        """Share of total ammonia that is un-ionised; NaN without any ammonia [-]."""
        total = self.water.total_ammonia_n_g_m3
        return self.un_ionised_ammonia_n_g_m3 / total if total else math.nan

    @property
    def calcite_saturation_index(self) -> float:
        """Saturation index of calcite; minus infinity without calcium or carbon [-]."""
        logs = self.log_activities
        if "Ca" not in logs or "CO3" not in logs:
            return -math.inf
        pksp = calcite_pksp_plummer_busenberg_1982(self.water.temperature_degc)
        return logs["Ca"] + logs["CO3"] + pksp


@dataclass(frozen=True, slots=True)
class _Problem:
    """Species, what is held, and what their activities may vary by.

    ln activity of the components = `base` + `free` @ x; `rows` @ amounts = `totals` [mol/L].
    """

    chosen: tuple[Species, ...]
    makeup: Array
    ln_k: Array
    rows: Array
    totals: Array
    free: Array
    base: Array
    start: Array


def _component_totals(water: Water) -> dict[str, float]:
    totals = {
        component: getattr(water, name) / STRONG_IONS[name][0] / 1000.0
        for name, component in _FIELDS.items()
    }
    totals["CO3"] = water.dic_mol_m3 / 1000.0
    totals["PO4"] = water.phosphate_p_g_m3 / mass.PHOSPHORUS_G_MOL / 1000.0
    totals["NH4"] = water.total_ammonia_n_g_m3 / mass.NITROGEN_G_MOL / 1000.0
    return totals


def _species_of(present: set[str], ions: Ions) -> tuple[Species, ...]:
    return tuple(
        s
        for s in species()
        if (ions is Ions.PAIRED or not s.is_pair)
        and all(name in present for name, n in zip(COMPONENTS, s.makeup, strict=True) if n)
    )


def _problem(
    water: Water, ions: Ions, *, ln_h: float | None = None, ln_co2: float | None = None
) -> _Problem:
    """Set up the search; a held pH or pressure of CO2 takes the place of the carbon balance."""
    totals = _component_totals(water)
    carbon_open = ln_h is not None or ln_co2 is not None
    present = {"H", *(name for name, total in totals.items() if total > _TRACE_MOL_L)}
    present |= {"CO3"} if carbon_open else set()
    chosen = _species_of(present, ions)
    names = [name for name in COMPONENTS if name in present]
    makeup = np.array([[s.makeup[COMPONENTS.index(n)] for n in names] for s in chosen], float)
    ln_k = np.array([s.log_k(water.temperature_degc) for s in chosen]) * math.log(10.0)
    balances = [n for n in names if n != "H" and not (n == "CO3" and carbon_open)]
    identity, base = np.eye(len(names)), np.zeros(len(names))
    known = None
    if ln_h is not None:
        known = names.index("H")
        base[known] = ln_h
    elif ln_co2 is not None:
        known = names.index("CO3")
        base[known] = ln_co2 - ln_k[[s.name for s in chosen].index("CO2")]
        identity[known, names.index("H")] = -2.0
    unknown = [number for number in range(len(names)) if number != known]
    return _Problem(
        chosen=chosen,
        makeup=makeup,
        ln_k=ln_k,
        rows=np.array(
            [*(makeup[:, names.index(n)] for n in balances), alkalinity_weights(chosen)]
        ),
        totals=np.array([*(totals[n] for n in balances), water.alkalinity_eq_m3 / 1000.0]),
        free=identity[:, unknown],
        base=base,
        start=np.log([_START.get(names[n], totals.get(names[n]) or 1e-6) for n in unknown]),
    )


def _solved(water: Water, ions: Ions, problem: _Problem) -> Speciation | None:
    """Newton's method on logarithms of activities, with activity coefficients brought along."""
    charges = np.array([s.charge for s in problem.chosen], float)
    x, strength = problem.start.copy(), 0.0
    ln_gamma = np.zeros(len(problem.chosen))
    for _ in range(_STEPS_AT_MOST):
        ln_a = problem.base + problem.free @ x
        amounts = np.exp(np.minimum(problem.ln_k + problem.makeup @ ln_a - ln_gamma, 50.0))
        fault = problem.rows @ amounts - problem.totals
        largest = np.abs(problem.rows) @ amounts + np.abs(problem.totals)
        new_strength = min(0.5 * float(charges**2 @ amounts), _STRONGEST_MOL_L)
        steady = abs(new_strength - strength) <= _GOOD_ENOUGH * (new_strength + 1e-9)
        if steady and bool(np.all(np.abs(fault) <= _GOOD_ENOUGH * largest)):
            if new_strength >= _STRONGEST_MOL_L:
                return None
            return _speciation(water, ions, problem, amounts, ln_gamma, strength)
        slope = (problem.rows * amounts) @ problem.makeup @ problem.free
        step = np.linalg.lstsq(slope / largest[:, None], -fault / largest, rcond=None)[0]
        x = x + step * min(1.0, _LONGEST_STEP / max(float(np.max(np.abs(step))), 1e-300))
        strength = new_strength
        ln_gamma = math.log(10.0) * np.array(
            [s.log_gamma(1000.0 * strength, water.temperature_degc, ions) for s in problem.chosen]
        )
    return None


def _speciation(
    water: Water,
    ions: Ions,
    problem: _Problem,
    amounts: Array,
    ln_gamma: Array,
    strength: float,
) -> Speciation:
    logs = (np.log(amounts) + ln_gamma) / math.log(10.0)
    names = [s.name for s in problem.chosen]
    return Speciation(
        water=water,
        ions=ions,
        ph=-float(logs[names.index("H")]),
        ionic_strength_mol_m3=1000.0 * strength,
        amounts_mol_m3=dict(zip(names, (1000.0 * amounts).tolist(), strict=True)),
        log_activities=dict(zip(names, logs.tolist(), strict=True)),
    )


def speciate(water: Water, ions: Ions = Ions.PAIRED) -> Speciation:
    """Find the pH and every species of a water.

    Parameters
    ----------
    water
        The water. Ions that were not measured can be made up by `chemistry.balanced`.
    ions
        With pairs, or each ion by itself.

    Returns
    -------
    Speciation
        The water with its species.

    Raises
    ------
    InputError
        No pH fits, which takes amounts beyond those of any fresh or brackish water.

    Notes
    -----
    Mass balance of each component and of alkalinity, with activity coefficients at the ionic
    strength that comes out; to 1e-11 of the largest term. Amounts per litre and per kilogram of
    water are taken as equal.

    Examples
    --------
    >>> water = Water(
    ...     temperature_degc=25.0, alkalinity_eq_m3=2.0, dic_mol_m3=2.4, sodium_g_m3=46.0
    ... )
    >>> round(speciate(water).ph, 2)
    7.03

    References
    ----------
    phreeqc_3, plummer_busenberg_1982, truesdell_jones_1974, davies_1962
    """
    found = _solved(water, ions, _problem(water, ions))
    if found is None:
        message = (
            f"no pH was found for alkalinity {water.alkalinity_eq_m3:g} eq/m3 and inorganic "
            f"carbon {water.dic_mol_m3:g} mol/m3. Check both, and the units of the ions."
        )
        raise InputError(message)
    return found


def speciate_at_ph(water: Water, ph: float, ions: Ions = Ions.PAIRED) -> Speciation:
    """Find the inorganic carbon and every species of a water of known pH and alkalinity.

    Parameters
    ----------
    water
        The water; its inorganic carbon is not used.
    ph
        pH as measured [-].
    ions
        With pairs, or each ion by itself.

    Returns
    -------
    Speciation
        The water, its inorganic carbon now set, with its species.

    Raises
    ------
    InputError
        pH and alkalinity cannot belong to the same water.

    Examples
    --------
    >>> water = Water(
    ...     temperature_degc=25.0, alkalinity_eq_m3=1.998, dic_mol_m3=0.0, sodium_g_m3=46.0
    ... )
    >>> round(speciate_at_ph(water, 7.0).water.dic_mol_m3, 3)
    2.424

    References
    ----------
    phreeqc_3, plummer_busenberg_1982, truesdell_jones_1974, davies_1962
    """
    found = _solved(water, ions, _problem(water, ions, ln_h=-ph * math.log(10.0)))
    if found is None:
        message = (
            f"alkalinity {water.alkalinity_eq_m3:g} eq/m3 and pH {ph:g} cannot belong to the "
            "same water: water, ammonia and phosphate alone hold more alkalinity at that pH, or "
            "the amounts are beyond fresh and brackish water. Test both again."
        )
        raise InputError(message)
    return _with_carbon_counted(found)


def speciate_at_carbon_dioxide(
    water: Water, carbon_dioxide_pa_abs: float, ions: Ions = Ions.PAIRED
) -> Speciation:
    """Find a water's state once its carbon dioxide is at equilibrium with a gas.

    Parameters
    ----------
    water
        The water; its inorganic carbon is not used.
    carbon_dioxide_pa_abs
        Partial pressure of carbon dioxide [Pa].
    ions
        With pairs, or each ion by itself.

    Returns
    -------
    Speciation
        The water, its inorganic carbon now set, with its species.

    Raises
    ------
    InputError
        The pressure is not above zero, or no pH fits.

    Notes
    -----
    Alkalinity stays; nothing precipitates.

    Examples
    --------
    >>> water = Water(
    ...     temperature_degc=25.0, alkalinity_eq_m3=2.0, dic_mol_m3=2.4, sodium_g_m3=46.0
    ... )
    >>> round(speciate_at_carbon_dioxide(water, 42.0).ph, 2)
    8.47

    References
    ----------
    phreeqc_3, plummer_busenberg_1982, truesdell_jones_1974, davies_1962
    """
    if not carbon_dioxide_pa_abs > 0.0:
        message = (
            f"pressure of carbon dioxide is {carbon_dioxide_pa_abs:g} Pa; it must be above "
            "zero. Open air has about 42 Pa."
        )
        raise InputError(message)
    pkh = carbon_dioxide_pkh_plummer_busenberg_1982(water.temperature_degc)
    log_co2 = math.log10(carbon_dioxide_pa_abs / _ATM_PA) - pkh
    found = _solved(water, ions, _problem(water, ions, ln_co2=log_co2 * math.log(10.0)))
    if found is None:
        message = (
            f"no pH was found for alkalinity {water.alkalinity_eq_m3:g} eq/m3 under "
            f"{carbon_dioxide_pa_abs:g} Pa of carbon dioxide. Check both."
        )
        raise InputError(message)
    return _with_carbon_counted(found)


def _with_carbon_counted(found: Speciation) -> Speciation:
    carbon = COMPONENTS.index("CO3")
    per_species = {s.name: s.makeup[carbon] for s in species()}
    dic = sum(per_species[name] * amount for name, amount in found.amounts_mol_m3.items())
    return replace(found, water=found.water.changed(dic_mol_m3=dic))


def at_calcite_and_carbon_dioxide(
    temperature_degc: float, carbon_dioxide_pa_abs: float, ions: Ions = Ions.PAIRED
) -> Speciation:
    """Find the water that pure water becomes over calcite under carbon dioxide.

    Parameters
    ----------
    temperature_degc
        Water temperature [degC].
    carbon_dioxide_pa_abs
        Partial pressure of carbon dioxide [Pa].
    ions
        With pairs, or each ion by itself.

    Returns
    -------
    Speciation
        Water whose calcium is half its alkalinity and whose saturation index is 0.

    Raises
    ------
    InputError
        The pressure is not above zero.

    Notes
    -----
    It is as far as limestone or shell in the loop can lift alkalinity by itself.

    Examples
    --------
    >>> round(at_calcite_and_carbon_dioxide(25.0, 42.56).ph, 1)
    8.2

    References
    ----------
    plummer_busenberg_1982, phreeqc_3
    """

    def state(ln_alkalinity: float) -> Speciation:
        alkalinity = math.exp(ln_alkalinity)
        limed = Water(
            temperature_degc=temperature_degc,
            alkalinity_eq_m3=alkalinity,
            dic_mol_m3=0.0,
            calcium_g_m3=0.5 * alkalinity * mass.CALCIUM_G_MOL,
        )
        return speciate_at_carbon_dioxide(limed, carbon_dioxide_pa_abs, ions)

    root = brentq(
        lambda x: state(x).calcite_saturation_index, math.log(1e-3), math.log(100.0), xtol=1e-10
    )
    return state(root)
