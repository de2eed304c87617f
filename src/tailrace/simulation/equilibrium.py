"""pH, carbon dioxide and un-ionised ammonia of each place, and what temperature does to rates.

Every law here is a kernel of `tailrace.water`; this module only calls them.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from tailrace.simulation.compiled import kernel
from tailrace.simulation.fittings import Record
from tailrace.water import acid_constants as _acid
from tailrace.water import activity as _activity
from tailrace.water import air as _air
from tailrace.water import alkalinity as _alkalinity
from tailrace.water import ammonia as _ammonia
from tailrace.water import calcite as _calcite
from tailrace.water import carbon_dioxide as _carbon_dioxide
from tailrace.water import gases as _gases
from tailrace.water import oxygen as _oxygen
from tailrace.water.molar_masses import NITROGEN_G_MOL, PHOSPHORUS_G_MOL

_carbonic = _alkalinity.carbonic_charge.dispatcher()
_phosphoric = _alkalinity.phosphoric_charge.dispatcher()
_water_charge = _alkalinity.water_charge_eq_m3.dispatcher()
_log_one = _activity.log_activity_coefficient_davies_1962.dispatcher()
_mixed = _acid.mixed_acid_constant.dispatcher()
_pk1 = _carbon_dioxide.carbonic_acid_pk1_plummer_busenberg_1982.dispatcher()
_pk2 = _acid.carbonic_acid_pk2_plummer_busenberg_1982.dispatcher()
_pkw = _acid.water_pkw.dispatcher()
_pka = _ammonia.ammonium_pka_emerson_1975.dispatcher()
_pkp1 = _acid.phosphoric_acid_pk1.dispatcher()
_pkp2 = _acid.phosphoric_acid_pk2.dispatcher()
_pkp3 = _acid.phosphoric_acid_pk3.dispatcher()
_saturation = _oxygen.oxygen_saturation_g_m3.dispatcher()
_air_co2 = _carbon_dioxide.carbon_dioxide_at_air_equilibrium_mol_m3.dispatcher()
calcite_index = _calcite.calcite_saturation_index.dispatcher()
_nitrogen = _gases.nitrogen_saturation_hamme_emerson_2004_mol_m3.dispatcher()
_vapour = _air.vapour_pressure_pa_abs.dispatcher()

GAS_CONSTANT = 8.314462618
AIR_CO2_FRAC = 420e-6
AOB_ENERGY_J_MOL = 68e3
NOB_ENERGY_J_MOL = 44e3
HYDROLYSIS_FACTOR = 1.07
DECAY_FACTOR = 1.03
STANDARD_K = 294.2611  # 70 degF
STANDARD_PA = 101325.0
_PH_LOW, _PH_HIGH = 0.0, 14.0
_FIRST_STEP = 1e-4
_MOST_TURNS = 200


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
def _charge(ph: float, held: tuple[float, float, float, float], d: Record) -> float:
    """Alkalinity of a water at a pH, less what it has."""
    alkalinity, carbon, ammonia, phosphate = held
    h = math.pow(10.0, -ph)
    found = carbon * _carbonic(h, d.k1, d.k2) + _water_charge(h, d.kw, d.log_one) - alkalinity
    found += ammonia * d.ka / (d.ka + h)
    if phosphate > 0.0:
        found += phosphate * _phosphoric(h, d.kp1, d.kp2, d.kp3)
    return float(found)


@kernel
def acidity(
    alkalinity_eq_m3: float,
    dic_mol_m3: float,
    tan_n_g_m3: float,
    phosphate_p_g_m3: float,
    guess_ph: float,
    d: Record,
) -> Acidity:
    """Solve pH, to convergence, and what follows from it.

    Parameters
    ----------
    alkalinity_eq_m3, dic_mol_m3, tan_n_g_m3, phosphate_p_g_m3
        Alkalinity, inorganic carbon, total ammonia and phosphate; all but the first count as
        none below zero.
    guess_ph
        pH from which to start; the result does not depend on it.
    d
        Acid constants at the temperature.

    Returns
    -------
    Acidity
        pH, carbon dioxide, un-ionised share.

    Notes
    -----
    The law is that of `water.carbonate.ph_from_alkalinity_and_dic`, with the constants worked
    out once for a temperature and the search begun near the last answer: secant steps, halving
    the bracket where one leaves it, until the residual is below 1e-12 of the largest amount. A
    test holds the two together.
    """
    carbon = max(dic_mol_m3, 0.0)
    held = (
        alkalinity_eq_m3,
        carbon,
        max(tan_n_g_m3, 0.0) / NITROGEN_G_MOL,
        max(phosphate_p_g_m3, 0.0) / PHOSPHORUS_G_MOL,
    )
    largest = abs(held[0]) + held[1] + held[2] + held[3] + 1e-4
    low, high = _PH_LOW, _PH_HIGH
    ph = guess_ph if low < guess_ph < high else 7.0
    before = ph + _FIRST_STEP
    y_before = _charge(before, held, d)
    for turn in range(_MOST_TURNS):
        y = _charge(ph, held, d)
        if abs(y) <= 1e-12 * largest:
            h = math.pow(10.0, -ph)
            gas = carbon / (1.0 + d.k1 / h * (1.0 + d.k2 / h))
            return Acidity(ph, gas, d.ka / (d.ka + h))
        if y < 0.0:
            low = ph
        else:
            high = ph
        run, rise = ph - before, y - y_before
        before, y_before = ph, y
        following = 0.5 * (low + high)
        if run * rise > 0.0 and turn % 4 < 3:
            secant = ph - y * run / rise
            if low < secant < high:
                following = secant
        ph = following
    return Acidity(math.nan, math.nan, math.nan)


@kernel
def _arrhenius(energy_j_mol: float, degc: float) -> float:
    return math.exp(energy_j_mol / GAS_CONSTANT * (1.0 / 293.15 - 1.0 / (degc + 273.15)))


@kernel
def derive(p: Record, barometric_pa_abs: float, degc: float, d: Record) -> None:
    """Fill in what follows from the parameters at a temperature.

    Parameters
    ----------
    p
        Parameters of one member.
    barometric_pa_abs
        Air pressure.
    degc
        Water temperature.
    d
        One record of kind `DERIVED`, written to.
    """
    warm = math.pow(HYDROLYSIS_FACTOR, degc - 20.0)
    ageing = math.pow(DECAY_FACTOR, degc - 20.0)
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
    d.leaching_per_s = p.leaching_per_s * warm
    d.nitrogen_g_m3 = 2.0 * NITROGEN_G_MOL * _nitrogen(degc, 0.0, barometric_pa_abs)
    ionic = p.ionic_strength_mol_m3
    log_one = _log_one(1.0, ionic, degc)
    d.log_one = log_one
    d.k1, d.k2 = _mixed(_pk1(degc), 1.0, log_one), _mixed(_pk2(degc), 2.0, log_one)
    d.kw, d.ka = _mixed(_pkw(degc), 1.0, log_one), _mixed(_pka(degc), 0.0, log_one)
    d.kp1, d.kp2 = _mixed(_pkp1(degc), 1.0, log_one), _mixed(_pkp2(degc), 2.0, log_one)
    d.kp3 = _mixed(_pkp3(degc), 3.0, log_one)
    d.oxygen_g_m3 = _saturation(degc, 0.0, barometric_pa_abs)
    d.carbon_dioxide_mol_m3 = _air_co2(degc, barometric_pa_abs, AIR_CO2_FRAC)
    d.dry_pa_abs = barometric_pa_abs - _vapour(degc)
    d.standard_per_pa = STANDARD_K / (degc + 273.15) / STANDARD_PA
