"""pH, carbon dioxide and un-ionised ammonia of each place, and what temperature does to rates.

Every law here is a kernel of `tailrace.water`; this module only calls them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from tailrace.simulation.compiled import kernel
from tailrace.simulation.fittings import Record
from tailrace.water import air as _air
from tailrace.water import ammonia as _ammonia
from tailrace.water import carbon_dioxide as _carbon_dioxide
from tailrace.water import carbonate as _carbonate
from tailrace.water import oxygen as _oxygen

_ph = _carbonate.ph_from_alkalinity_and_dic.dispatcher()
_co2 = _carbonate.carbon_dioxide_mol_m3.dispatcher()
_un_ionised = _ammonia.un_ionised_ammonia_davies_1962_frac.dispatcher()
_saturation = _oxygen.oxygen_saturation_g_m3.dispatcher()
_air_co2 = _carbon_dioxide.carbon_dioxide_at_air_equilibrium_mol_m3.dispatcher()
_vapour = _air.vapour_pressure_pa_abs.dispatcher()

GAS_CONSTANT = 8.314462618
AIR_CO2_FRAC = 420e-6
AOB_ENERGY_J_MOL = 68e3
NOB_ENERGY_J_MOL = 44e3
HYDROLYSIS_FACTOR = 1.07
DECAY_FACTOR = 1.03
STANDARD_K = 294.2611  # 70 degF
STANDARD_PA = 101325.0


class Acidity(NamedTuple):
    """pH of one place and what follows from it.

    Parameters
    ----------
    ph
        pH.
    carbon_dioxide_mol_m3
        Dissolved carbon dioxide.
    un_ionised_frac
        Un-ionised share of total ammonia.
    """

    ph: float
    carbon_dioxide_mol_m3: float
    un_ionised_frac: float


@kernel
def acidity(
    alkalinity_eq_m3: float, dic_mol_m3: float, tan_n_g_m3: float, degc: float, ionic: float
) -> Acidity:
    """Solve pH, to convergence, and what follows from it.

    Parameters
    ----------
    alkalinity_eq_m3, dic_mol_m3, tan_n_g_m3
        Alkalinity, inorganic carbon and total ammonia; carbon and ammonia below zero count as
        none.
    degc
        Water temperature.
    ionic
        Ionic strength [mol/m3].

    Returns
    -------
    Acidity
        pH, carbon dioxide, un-ionised share.
    """
    carbon = max(dic_mol_m3, 0.0)
    ph = _ph(alkalinity_eq_m3, carbon, max(tan_n_g_m3, 0.0), degc, ionic)
    return Acidity(ph, _co2(carbon, ph, degc, ionic), _un_ionised(ph, degc, ionic))


@kernel
def _arrhenius(energy_j_mol: float, degc: float) -> float:
    return math.exp(energy_j_mol / GAS_CONSTANT * (1.0 / 293.15 - 1.0 / (degc + 273.15)))


@kernel
def derive(p: Record, barometric_pa_abs: float, degc: float, derived: Record) -> None:
    """Fill in what follows from the parameters at a temperature.

    Parameters
    ----------
    p
        Parameters of one member.
    barometric_pa_abs
        Air pressure.
    degc
        Water temperature.
    derived
        One record of kind `DERIVED`, written to.
    """
    warm = math.pow(HYDROLYSIS_FACTOR, degc - 20.0)
    ageing = math.pow(DECAY_FACTOR, degc - 20.0)
    d = derived[0]
    d.temperature_degc = degc
    aob = p.aob_growth_per_s / p.aob_yield_kg_kg * p.aob_factor
    nob = p.nob_growth_per_s / p.nob_yield_kg_kg * p.nob_factor
    d.aob_per_s = aob * _arrhenius(AOB_ENERGY_J_MOL, degc)
    d.nob_per_s = nob * _arrhenius(NOB_ENERGY_J_MOL, degc)
    d.heterotroph_per_s = p.heterotroph_growth_per_s / p.heterotroph_yield_kg_kg * warm
    d.aob_decay_per_s = p.aob_decay_per_s * ageing
    d.nob_decay_per_s = p.nob_decay_per_s * ageing
    d.heterotroph_decay_per_s = p.heterotroph_decay_per_s * warm
    d.hydrolysis_per_s = p.hydrolysis_per_s * p.degradable_frac * warm
    d.oxygen_g_m3 = _saturation(degc, 0.0, barometric_pa_abs)
    d.carbon_dioxide_mol_m3 = _air_co2(degc, barometric_pa_abs, AIR_CO2_FRAC)
    d.dry_pa_abs = barometric_pa_abs - _vapour(degc)
    d.standard_per_pa = STANDARD_K / (degc + 273.15) / STANDARD_PA
