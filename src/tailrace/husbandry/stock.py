"""Stock in tanks: density, losses, tanks harvested in turn, and the plan made of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.errors import InputError
from tailrace.formula import formula

YEAR_S = 365.25 * 86400.0


@formula(stocking_per_m3=(0.0, 1e5), survival_frac=(0.0, 1.0), fish_mass_kg=(1e-5, 20.0))
def stock_density_kg_m3(
    stocking_per_m3: float, survival_frac: float, fish_mass_kg: float
) -> float:
    """Mass of fish in a volume of tank, as at harvest.

    Parameters
    ----------
    stocking_per_m3
        Fish stocked in a volume of tank water [1/m3].
    survival_frac
        Share of them that is still alive [-].
    fish_mass_kg
        Mean mass of one fish [kg].

    Returns
    -------
    float or ndarray
        Stocking density by mass [kg/m3].

    Examples
    --------
    >>> round(stock_density_kg_m3(154.0, 0.899, 0.5125), 2)
    70.95

    References
    ----------
    arithmetic
    """
    return stocking_per_m3 * survival_frac * fish_mass_kg


@formula(biomass_kg=(0.0, 1e7), water_m3=(1e-4, 1e6))
def tank_density_kg_m3(biomass_kg: float, water_m3: float) -> float:
    """Mass of fish in a volume of tank, from both.

    Parameters
    ----------
    biomass_kg
        Mass of all fish in the tank [kg].
    water_m3
        Water in it [m3].

    Returns
    -------
    float or ndarray
        Stocking density by mass [kg/m3].

    Examples
    --------
    >>> round(tank_density_kg_m3(15.6, 0.366), 2)
    42.62

    References
    ----------
    arithmetic
    """
    return biomass_kg / water_m3


@formula(fish_count=(0.0, 1e8), loss_per_s=(0.0, 1e-4), duration_s=(0.0, 1e9))
def fish_left(fish_count: float, loss_per_s: float, duration_s: float) -> float:
    """Fish still alive after a time of steady losses.

    Parameters
    ----------
    fish_count
        Fish at the start [-].
    loss_per_s
        Share of those alive that dies in a unit of time [1/s].
    duration_s
        Time [s].

    Returns
    -------
    float or ndarray
        Fish left [-].

    Notes
    -----
    ``N exp(-m t)``.

    Examples
    --------
    >>> round(fish_left(1000.0, 0.001 / 86400.0, 100.0 * 86400.0), 1)
    904.8

    References
    ----------
    arithmetic
    """
    return fish_count * math.exp(-loss_per_s * duration_s)


@formula(harvest_kg=(0.0, 1e7), density_kg_m3=(0.01, 500.0))
def tank_volume_m3(harvest_kg: float, density_kg_m3: float) -> float:
    """Volume of tank water that a harvest stands in at a density.

    Parameters
    ----------
    harvest_kg
        Mass of fish at harvest [kg].
    density_kg_m3
        Density that they may reach [kg/m3].

    Returns
    -------
    float or ndarray
        Volume of water [m3].

    Examples
    --------
    >>> round(tank_volume_m3(226.796, 59.913), 3)
    3.785

    References
    ----------
    arithmetic
    """
    return harvest_kg / density_kg_m3


@formula(interval_s=(3600.0, 1e9))
def harvests_per_s(interval_s: float) -> float:
    """Harvests in a unit of time.

    Parameters
    ----------
    interval_s
        Time from one harvest to the next [s].

    Returns
    -------
    float or ndarray
        Harvests in a unit of time [1/s].

    Examples
    --------
    >>> round(harvests_per_s(42.0 * 86400.0) * 364.0 * 86400.0, 3)
    8.667

    References
    ----------
    arithmetic
    """
    return 1.0 / interval_s


@formula(harvest_kg=(0.0, 1e7), harvest_rate_per_s=(0.0, 1e-3))
def harvested_kg_s(harvest_kg: float, harvest_rate_per_s: float) -> float:
    """Mean production of tanks that are harvested one after the other.

    Parameters
    ----------
    harvest_kg
        Mass taken at one harvest [kg].
    harvest_rate_per_s
        Harvests in a unit of time [1/s].

    Returns
    -------
    float or ndarray
        Mean production [kg/s].

    Examples
    --------
    >>> year = 364.0 * 86400.0
    >>> round(harvested_kg_s(70.7 * 7.8, harvests_per_s(42.0 * 86400.0)) * year / 1000.0, 2)
    4.78

    References
    ----------
    arithmetic
    """
    return harvest_kg * harvest_rate_per_s


@dataclass(frozen=True, slots=True)
class TanksInTurn:
    """A plan of equal tanks that are stocked and harvested one after the other.

    Parameters
    ----------
    tanks
        Number of tanks.
    interval_s
        Time from one harvest to the next.
    harvest_kg
        Mass taken at one harvest.
    tank_volume_m3
        Water in each tank.
    fish_stocked
        Fish to stock in a tank at each turn, rounded up to whole fish.
    """

    tanks: int
    interval_s: float
    harvest_kg: float
    tank_volume_m3: float
    fish_stocked: int


def tanks_in_turn(
    production_kg_s: float,
    tanks: int,
    *,
    growth_time_s: float,
    harvest_mass_kg: float,
    density_kg_m3: float,
    survival_frac: float,
) -> TanksInTurn:
    """Plan equal tanks so that one of them is harvested at equal intervals.

    Parameters
    ----------
    production_kg_s
        Mass of fish wanted, mean over the year, kg/s.
    tanks
        Number of tanks.
    growth_time_s
        Time from stocking to harvest with the days for cleaning between, s.
    harvest_mass_kg
        Mean mass of a fish at harvest, kg.
    density_kg_m3
        Density that the tank may reach at harvest, kg/m3.
    survival_frac
        Share of the fish stocked that is harvested.

    Returns
    -------
    TanksInTurn
        Interval, harvest, volume and fish to stock.

    Raises
    ------
    InputError
        There is no tank, or no fish survives.
    OutsideRangeError
        A number lies outside the range of its formula.

    Examples
    --------
    >>> plan = tanks_in_turn(
    ...     4156.0 / (364.0 * 86400.0),
    ...     4,
    ...     growth_time_s=168.0 * 86400.0,
    ...     harvest_mass_kg=0.8138,
    ...     density_kg_m3=61.5,
    ...     survival_frac=0.983,
    ... )
    >>> round(plan.tank_volume_m3, 1), round(plan.interval_s / 604800.0, 1), plan.fish_stocked
    (7.8, 6.0, 600)
    """
    if tanks < 1 or not 0.0 < survival_frac <= 1.0:
        message = (
            f"{tanks} tanks and a survival of {100.0 * survival_frac:g} % cannot be planned; "
            "give at least one tank and a survival above 0 and up to 100 %."
        )
        raise InputError(message)
    interval_s = growth_time_s / tanks
    harvest_kg = production_kg_s / harvests_per_s(interval_s)
    return TanksInTurn(
        tanks=tanks,
        interval_s=interval_s,
        harvest_kg=harvest_kg,
        tank_volume_m3=tank_volume_m3(harvest_kg, density_kg_m3),
        fish_stocked=math.ceil(harvest_kg / harvest_mass_kg / survival_frac - 1e-9),
    )
