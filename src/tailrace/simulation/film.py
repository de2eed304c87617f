"""Attached film: what nitrifiers and heterotrophs take up behind a resistance.

One law for beads and for other surfaces. The water brings what the film eats through a
conductance; the film takes it by Monod's law. Both together are a quadratic with one root, safe
when no water flows.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from tailrace.simulation.compiled import kernel
from tailrace.simulation.fittings import Record

PH_FACTOR = 2.35  # change of ammonia oxidation per pH below the optimum
PH_OPTIMUM = 7.2
OXYGEN_PER_TAN = 0.28  # total ammonia that oxygen can serve deep in a film, as N per oxygen
_SOFTNESS = 0.04
_DECAY_OXYGEN_G_M3 = 0.2


class Bathing(NamedTuple):
    """The water that bathes a film, and the film's size.

    Parameters
    ----------
    tan_n_g_m3, nitrite_n_g_m3, organics_g_m3
        Concentrations.
    organics_g_s
        Oxygen demand of organics set free inside the film's own water.
    ammonia_n_g_m3
        Un-ionised ammonia.
    acid_factor
        Factor of pH and alkalinity on ammonia oxidation.
    alkalinity_factor
        Factor of alkalinity on nitrite oxidation.
    film_m3_s, organics_m3_s
        Conductance of the film times its area, for nitrogen and for organics.
    flow_m3_s
        Conductance of the flow that brings the water; infinite for a film in mixed water.
    """

    tan_n_g_m3: float
    nitrite_n_g_m3: float
    organics_g_m3: float
    organics_g_s: float
    ammonia_n_g_m3: float
    acid_factor: float
    alkalinity_factor: float
    film_m3_s: float
    organics_m3_s: float
    flow_m3_s: float


class FilmRates(NamedTuple):
    """Rates of one film.

    Parameters
    ----------
    ammonia_n_g_s, nitrite_n_g_s, organics_g_s
        Ammonia oxidised, nitrite oxidised, organics taken up (as oxygen demand).
    decaying_frac
        Factor of oxygen on decay.
    """

    ammonia_n_g_s: float
    nitrite_n_g_s: float
    organics_g_s: float
    decaying_frac: float


@kernel
def uptake(greatest: float, half: float, conductance: float, supply: float) -> float:
    """Uptake by Monod's law behind a conductance.

    Parameters
    ----------
    greatest
        Uptake when nothing is short [g/s].
    half
        Half saturation [g/m3].
    conductance
        Conductance from the water to the film [m3/s].
    supply
        What would reach a film that holds nothing [g/s].

    Returns
    -------
    float
        Uptake [g/s]; never more than `greatest` or `supply`.

    Notes
    -----
    r = V c/(K + c), r = S - q c: r = 2VS/(B + sqrt((S - V)^2 + qK(2(S + V) + qK))),
    B = S + V + qK. Cancellation-free, and zero when nothing comes.
    """
    held = conductance * half
    both = supply + greatest + held
    if supply <= 0.0 or greatest <= 0.0:
        return 0.0
    gap = supply - greatest
    root = math.sqrt(gap * gap + held * (2.0 * (supply + greatest) + held))
    return 2.0 * greatest * supply / (both + root)


@kernel
def lesser(first: float, second: float) -> float:
    """Smaller of two rates, rounded off where they meet.

    Parameters
    ----------
    first, second
        Two rates, zero or more.

    Returns
    -------
    float
        At most 9 % below the smaller one, where both are equal.
    """
    if first <= 0.0 or second <= 0.0:
        return 0.0
    gap = first - second
    root = math.sqrt(gap * gap + _SOFTNESS * first * second)
    return 2.0 * first * second / (first + second + root)


@kernel
def in_series(first: float, second: float) -> float:
    """Two conductances one after the other.

    Parameters
    ----------
    first, second
        Conductances, zero or more; the second may be infinite.

    Returns
    -------
    float
        Conductance of both.
    """
    if math.isinf(second):
        return first
    return first * second / (first + second) if first + second > 0.0 else 0.0


@kernel
def acid_factors(ph: float, alkalinity_eq_m3: float, half_eq_m3: float) -> tuple[float, float]:
    """Factors of pH and alkalinity on nitrification.

    Parameters
    ----------
    ph
        pH.
    alkalinity_eq_m3, half_eq_m3
        Alkalinity and its half saturation.

    Returns
    -------
    tuple of float
        For ammonia oxidisers, and for nitrite oxidisers.
    """
    alkalinity = max(alkalinity_eq_m3, 0.0)
    share = alkalinity / (half_eq_m3 + alkalinity) if alkalinity > 0.0 else 0.0
    return share * math.pow(PH_FACTOR, min(0.0, ph - PH_OPTIMUM)), share


@kernel
def film_rates(
    p: Record, d: Record, water: Bathing, film: tuple[float, float, float], oxygen_g_m3: float
) -> FilmRates:
    """Rates of one film at an oxygen concentration.

    Parameters
    ----------
    p, d
        Parameters, and what temperature makes of them.
    water
        The water around it.
    film
        Ammonia oxidisers, nitrite oxidisers and heterotrophs [g VSS].
    oxygen_g_m3
        Oxygen around it.

    Returns
    -------
    FilmRates
        Uptake rates.
    """
    oxygen = max(oxygen_g_m3, 0.0)
    aob, nob, het = max(film[0], 0.0), max(film[1], 0.0), max(film[2], 0.0)
    through = in_series(water.film_m3_s, water.flow_m3_s)
    greatest = d.aob_per_s * aob * oxygen / (p.aob_oxygen_half_g_m3 + oxygen) * water.acid_factor
    ammonia = uptake(greatest, p.aob_half_n_g_m3, through, through * max(water.tan_n_g_m3, 0.0))
    ammonia = lesser(ammonia, water.film_m3_s * OXYGEN_PER_TAN * oxygen)
    calm = p.ammonia_inhibition_n_g_m3 / (p.ammonia_inhibition_n_g_m3 + water.ammonia_n_g_m3)
    greatest = d.nob_per_s * nob * oxygen / (p.nob_oxygen_half_g_m3 + oxygen) * calm
    supply = through * max(water.nitrite_n_g_m3, 0.0) + p.nitrite_from_film_frac * ammonia
    nitrite = uptake(greatest * water.alkalinity_factor, p.nob_half_n_g_m3, through, supply)
    through = in_series(water.organics_m3_s, water.flow_m3_s)
    greatest = d.heterotroph_per_s * het * oxygen / (p.heterotroph_oxygen_half_g_m3 + oxygen)
    supply = through * max(water.organics_g_m3, 0.0) + water.organics_g_s
    organics = uptake(greatest, p.heterotroph_half_cod_g_m3, through, supply)
    return FilmRates(ammonia, nitrite, organics, oxygen / (_DECAY_OXYGEN_G_M3 + oxygen))
