"""The geochemistry library with its own database, and with one without pairs made from ours."""

from __future__ import annotations

import warnings
from pathlib import Path
from typing import Any

import pytest

from tailrace.water.chemistry import Water
from tailrace.water.species import COMPONENTS, Species, species

_ELEMENTS = {
    "Ca": ("Ca+2", 0, 40.078),
    "Mg": ("Mg+2", 0, 24.305),
    "Na": ("Na+", 0, 22.990),
    "K": ("K+", 0, 39.098),
    "Cl": ("Cl-", 0, 35.45),
    "Nit": ("NO3-", 0, 14.007),
    "S": ("SO4-2", 0, 32.06),
    "C": ("CO3-2", 2, 12.011),
    "P": ("PO4-3", 2, 30.974),
    "Amm": ("AmmH+", 0, 14.007),
}
_NAMES = {"H": "H+", "NH4": "AmmH+", "NH3": "Amm", "NO3": "NitO3-"}
_OWN = {"full": ("N(5)", "N(-3)", "S(6)"), "bare": ("Nit", "Amm", "S")}


def library(database: str, folder: Path | None = None) -> Any:
    """The library with a database; the test is skipped where the library is not installed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of what phreeqpython imports
        phreeqpython = pytest.importorskip("phreeqpython")
        return phreeqpython.PhreeqPython(database=database, database_directory=folder)


def _ion(name: str, charge: int) -> str:
    if name in _NAMES:
        return _NAMES[name]
    sign = "+" if charge > 0 else "-"
    return name + (sign + (str(abs(charge)) if abs(charge) > 1 else "") if charge else "")


def _reaction(one: Species) -> str:
    parts = [
        (n, _ion(name, next(s.charge for s in species() if s.name == name)))
        for name, n in zip(COMPONENTS, one.makeup, strict=True)
        if n
    ]
    left = [f"{n} {ion}" for n, ion in parts if n > 0]
    right = [f"{-n} {ion}" for n, ion in parts if n < 0]
    if one.name == "OH":
        left = ["H2O"]
    right.insert(0, _ion(one.name, one.charge))
    if one.name == "CO2":
        right.append("H2O")
    return f"{' + '.join(left)} = {' + '.join(right)}"


def _constants(one: Species) -> str:
    if one.fit:
        a1, a2, a3, a4, a5, a6 = one.fit
        return f" -analytic {a1} {a2} {a3} {a4} {a5} {a6}"
    return f" -log_k {one.log_k_25}\n -delta_h {one.heat_j_mol / 1000.0} kJ"


def bare_database(folder: Path) -> Any:
    """The library with our acid constants, no pairs and Davies for every ion."""
    masters = ["H H+ -1 H 1.008", "H(0) H2 0 H", "H(1) H+ -1 0", "E e- 0 0 0"]
    masters += ["O H2O 0 O 15.999", "O(0) O2 0 O", "O(-2) H2O 0 0"]
    masters += [
        f"{name} {ion.replace('NO3', 'NitO3')} {alkalinity} {'HCO3' if name == 'C' else name} {m}"
        for name, (ion, alkalinity, m) in _ELEMENTS.items()
    ]
    masters += ["C(+4) CO3-2 2 HCO3", "Alkalinity CO3-2 1 Ca0.5(CO3)0.5 50.04"]
    free = [s for s in species() if not s.is_pair and s.name not in COMPONENTS]
    lines = ["SOLUTION_MASTER_SPECIES", *masters, "SOLUTION_SPECIES", "H2O = H2O", "e- = e-"]
    for name in COMPONENTS:
        ion = _ion(name, next(s.charge for s in species() if s.name == name))
        lines += [f"{ion} = {ion}"]
    lines += ["2 H2O = O2 + 4 H+ + 4 e-", " -log_k -86.08", "2 H+ + 2 e- = H2", " -log_k -3.15"]
    for one in free:
        lines += [_reaction(one), _constants(one)]
    lines += ["PHASES", "Calcite", "CaCO3 = CO3-2 + Ca+2"]
    lines += [" -analytic -171.9065 -0.077993 2839.319 71.595"]
    lines += ["CO2(g)", "CO2 = CO2"]
    lines += [" -analytic 108.3865 0.01985076 -6919.53 -40.45154 669365.0", "END"]
    (folder / "bare.dat").write_text("\n".join(lines) + "\n", encoding="ascii")
    return library("bare.dat", folder)


def solution(engine: Any, water: Water, *, names: str, ph: float | None = None) -> Any:
    """Make the water in the library; with a pH its inorganic carbon is left to the library."""
    nitrate, ammonia, sulfate = _OWN[names]
    contents: dict[str, Any] = {
        "units": "mmol/kgw",
        "temp": water.temperature_degc,
        "pH": 7.5 if ph is None else ph,
        "Alkalinity": water.alkalinity_eq_m3,
        "Ca": water.calcium_g_m3 / 40.078,
        "Mg": water.magnesium_g_m3 / 24.305,
        "K": water.potassium_g_m3 / 39.098,
        "Na": water.sodium_g_m3 / 22.990,
        "Cl": water.chloride_g_m3 / 35.45,
        "P": water.phosphate_p_g_m3 / 30.974,
        nitrate: water.nitrate_n_g_m3 / 14.007,
        ammonia: water.total_ammonia_n_g_m3 / 14.007,
        sulfate: water.sulfate_g_m3 / 96.056,
    }
    if ph is None:  # given alkalinity and carbon, the library finds the pH
        contents["C(4)" if names == "full" else "C"] = water.dic_mol_m3
    return engine.add_solution({k: v for k, v in contents.items() if v or k in ("pH", "temp")})
