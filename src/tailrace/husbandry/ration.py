"""How much to feed: by size from a printed table, by growth, and less outside the best warmth.

The table is ``rations.csv``: share of the fish's mass a day by size, each row with its source.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import NotKnownError, OutsideRangeError
from tailrace.formula import formula

_DAY_S = 86400.0


@formula(
    fish_mass_kg=(1e-4, 20.0),
    growth_kg13_per_degc_s=(0.0, 1e-7),
    water_temperature_degc=(1.0, 40.0),
    feed_conversion_kg_kg=(0.5, 10.0),
)
def ration_from_growth_per_s(
    fish_mass_kg: float,
    growth_kg13_per_degc_s: float,
    water_temperature_degc: float,
    feed_conversion_kg_kg: float,
) -> float:
    """Feed ration that carries a growth, by size and temperature.

    Parameters
    ----------
    fish_mass_kg
        Mean mass of one fish [kg].
    growth_kg13_per_degc_s
        Thermal growth coefficient of this stock [kg^(1/3)/(degC s)].
    water_temperature_degc
        Water temperature [degC].
    feed_conversion_kg_kg
        Feed given per gain of wet fish [kg/kg].

    Returns
    -------
    float or ndarray
        Feed per fish mass and time [1/s].

    Notes
    -----
    ``3 FCR G T W^(-1/3)``: the growth law ``d(W^(1/3))/dt = G T`` solved for the gain and fed at
    the conversion. It holds where that law does, below the temperature of best growth.

    Examples
    --------
    >>> coefficient = 0.2e-3 / 86400.0
    >>> round(100.0 * 86400.0 * ration_from_growth_per_s(0.100, coefficient, 14.0, 1.2), 2)
    2.17

    References
    ----------
    iwama_tautz_1981
    """
    growth = 3.0 * growth_kg13_per_degc_s * water_temperature_degc
    return feed_conversion_kg_kg * growth * math.pow(fish_mass_kg, -1.0 / 3.0)


@formula(
    water_temperature_degc=(-1.0, 45.0),
    none_below_degc=(-1.0, 45.0),
    full_from_degc=(-1.0, 45.0),
    full_to_degc=(-1.0, 45.0),
    none_above_degc=(-1.0, 45.0),
)
def appetite_frac(
    water_temperature_degc: float,
    none_below_degc: float,
    full_from_degc: float,
    full_to_degc: float,
    none_above_degc: float,
) -> float:
    """Share of the full ration to offer at a temperature.

    Parameters
    ----------
    water_temperature_degc
        Water temperature [degC].
    none_below_degc
        Temperature at and below which nothing is fed [degC].
    full_from_degc
        Lower end of the comfortable range [degC].
    full_to_degc
        Upper end of the comfortable range [degC].
    none_above_degc
        Temperature at and above which nothing is fed [degC].

    Returns
    -------
    float or ndarray
        Share of the full ration [-].

    Notes
    -----
    Full within the comfortable range, straight lines to nothing at the outer limits. Only the
    four temperatures have sources; the straight lines are judgement. NaN where the four are not
    in order.

    Examples
    --------
    >>> [round(appetite_frac(t, 17.2, 25.0, 30.0, 32.0), 2) for t in (17.0, 21.1, 28.0, 31.0)]
    [0.0, 0.5, 1.0, 0.5]

    References
    ----------
    judgement
    """
    if not (none_below_degc < full_from_degc <= full_to_degc < none_above_degc):
        return math.nan
    rising = (water_temperature_degc - none_below_degc) / (full_from_degc - none_below_degc)
    falling = (none_above_degc - water_temperature_degc) / (none_above_degc - full_to_degc)
    return min(max(min(rising, falling), 0.0), 1.0)


@dataclass(frozen=True, slots=True)
class RationStep:
    """A row of a ration table: the ration falls in a line from the first mass to the second.

    Parameters
    ----------
    species
        Key of the species.
    from_mass_kg, to_mass_kg
        Masses between which the row holds.
    from_per_s, to_per_s
        Ration at these masses, feed per fish mass and second.
    source
        Key of the source.
    """

    species: str
    from_mass_kg: float
    to_mass_kg: float
    from_per_s: float
    to_per_s: float
    source: str


@cache
def ration_steps() -> tuple[RationStep, ...]:
    """Return every row of the ration tables.

    Returns
    -------
    tuple of RationStep
        By species, lightest fish first.

    Examples
    --------
    >>> ration_steps()[0].species
    'nile_tilapia'
    """
    with files("tailrace.husbandry").joinpath("rations.csv").open(encoding="utf-8") as stream:
        return tuple(
            RationStep(
                species=row["species"],
                from_mass_kg=float(row["from_g"]) / 1000.0,
                to_mass_kg=float(row["to_g"]) / 1000.0,
                from_per_s=float(row["from_percent_d"]) / 100.0 / _DAY_S,
                to_per_s=float(row["to_percent_d"]) / 100.0 / _DAY_S,
                source=row["source"],
            )
            for row in csv.DictReader(stream)
        )


def tabled_ration_per_s(species_key: str, fish_mass_kg: float) -> float:
    """Return the printed ration of a species at a size, in comfortable warmth.

    Parameters
    ----------
    species_key
        Key of the species.
    fish_mass_kg
        Mean mass of one fish, kg.

    Returns
    -------
    float
        Feed per fish mass and second; between printed sizes on a straight line.

    Raises
    ------
    NotKnownError
        There is no printed table for the species.
    OutsideRangeError
        The fish are lighter or heavier than the table.

    Examples
    --------
    >>> round(100.0 * 86400.0 * tabled_ration_per_s("nile_tilapia", 0.035), 2)
    5.5
    """
    steps = [step for step in ration_steps() if step.species == species_key]
    if not steps:
        known = ", ".join(dict.fromkeys(step.species for step in ration_steps()))
        message = (
            f"there is no printed ration table for {species_key!r}; there is one for {known}. "
            "Use the maker's table of your feed, or a ration from measured growth."
        )
        raise NotKnownError(message)
    for step in steps:
        if step.from_mass_kg <= fish_mass_kg <= step.to_mass_kg:
            part = (fish_mass_kg - step.from_mass_kg) / (step.to_mass_kg - step.from_mass_kg)
            return step.from_per_s + part * (step.to_per_s - step.from_per_s)
    message = (
        f"fish mass is {1000.0 * fish_mass_kg:g} g, outside "
        f"{1000.0 * steps[0].from_mass_kg:g} to {1000.0 * steps[-1].to_mass_kg:g} g of the "
        f"ration table of {species_key}."
    )
    raise OutsideRangeError(message)
