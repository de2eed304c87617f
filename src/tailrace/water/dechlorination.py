"""Making chlorine and chloramine in tap water harmless, and the ammonia that this sets free.

The agents are rows of ``dechlorinators.csv``. Chlorine is always counted as Cl2, as kits do.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from tailrace.errors import InputError, NotKnownError
from tailrace.formula import formula
from tailrace.water.molar_masses import CL2_G_MOL, H2O_G_MOL, NITROGEN_G_MOL


@dataclass(frozen=True, slots=True)
class Dechlorinator:
    """An agent, with the reaction that is counted on.

    Parameters
    ----------
    key
        Name of the agent.
    name
        Words for people.
    product
        What the agent becomes, where that is not certain; else empty.
    molar_mass_g_mol
        Molar mass without water of crystallisation [g/mol].
    hydrate_mol
        Water of crystallisation as usually sold, in mol per mol.
    agent_mol_per_chlorine_mol
        Agent used for each Cl2, in mol per mol.
    source
        Key of the source.
    note
        The reaction, and a caution.
    """

    key: str
    name: str
    product: str
    molar_mass_g_mol: float
    hydrate_mol: float
    agent_mol_per_chlorine_mol: float
    source: str
    note: str


@cache
def dechlorinators() -> tuple[Dechlorinator, ...]:
    """Return every agent of the table.

    Returns
    -------
    tuple
        `Dechlorinator`; an agent with several reactions has several, the cautious one first.

    Examples
    --------
    >>> dechlorinators()[0].product
    'tetrathionate'
    """
    with files("tailrace.water").joinpath("dechlorinators.csv").open(encoding="utf-8") as stream:
        return tuple(
            Dechlorinator(
                key=row["key"],
                name=row["name"],
                product=row["product"],
                molar_mass_g_mol=float(row["molar_mass_g_mol"]),
                hydrate_mol=float(row["hydrate_mol"]),
                agent_mol_per_chlorine_mol=float(row["agent_mol_per_chlorine_mol"]),
                source=row["source"],
                note=row["note"],
            )
            for row in csv.DictReader(stream)
        )


def dechlorinator(key: str, product: str = "") -> Dechlorinator:
    """Return an agent by its name.

    Parameters
    ----------
    key
        Name of the agent, such as ``sodium thiosulfate``.
    product
        What it becomes; empty takes the cautious reaction, which asks for most.

    Returns
    -------
    Dechlorinator
        The agent.

    Raises
    ------
    NotKnownError
        The agent or its reaction is not in the table.

    Examples
    --------
    >>> dechlorinator("ascorbic acid").agent_mol_per_chlorine_mol
    1.0
    """
    for agent in dechlorinators():
        if agent.key == key and product in ("", agent.product):
            return agent
    known = "; ".join(
        f"{agent.key} to {agent.product}" if agent.product else agent.key
        for agent in dechlorinators()
    )
    wanted = f"{key} to {product}" if product else key
    message = f"dechlorinating agent {wanted!r} is not known. Known are: {known}."
    raise NotKnownError(message)


def dechlorinator_per_chlorine_kg_kg(
    agent: Dechlorinator, *, hydrate_mol: float | None = None, purity_frac: float = 1.0
) -> float:
    """Return how much of an agent each unit of chlorine takes.

    Parameters
    ----------
    agent
        The agent.
    hydrate_mol
        Water of crystallisation in mol per mol; None takes the usual form.
    purity_frac
        Share of the product that is the agent with its water [-].

    Returns
    -------
    float
        Product for each chlorine, counted as Cl2 [kg/kg].

    Raises
    ------
    InputError
        The purity is not above 0 and up to 1.

    Examples
    --------
    >>> round(dechlorinator_per_chlorine_kg_kg(dechlorinator("sodium thiosulfate")), 2)
    7.0
    """
    if not 0.0 < purity_frac <= 1.0:
        message = f"purity is {purity_frac:g}; it must be above 0 and up to 1. 95 % is 0.95."
        raise InputError(message)
    water = agent.hydrate_mol if hydrate_mol is None else hydrate_mol
    molar = agent.molar_mass_g_mol + water * H2O_G_MOL
    return agent.agent_mol_per_chlorine_mol * molar / CL2_G_MOL / purity_frac


@formula(
    chlorine_g_m3=(0.0, 1000.0),
    volume_m3=(0.0, 1e9),
    agent_per_chlorine_kg_kg=(0.0, 100.0),
    safety=(1.0, 10.0),
)
def dechlorinator_g(
    chlorine_g_m3: float, volume_m3: float, agent_per_chlorine_kg_kg: float, safety: float = 1.5
) -> float:
    """Amount of an agent for a volume of chlorinated water.

    Parameters
    ----------
    chlorine_g_m3
        Total chlorine, free and combined, counted as Cl2 [g/m3].
    volume_m3
        Water to treat [m3].
    agent_per_chlorine_kg_kg
        Agent for each chlorine [kg/kg].
    safety
        Factor on the amount; 1.5 is judgement [-].

    Returns
    -------
    float
        Amount of the product [g].

    Notes
    -----
    Treat the new water before it meets the stock, stir, and test for chlorine afterwards.

    Examples
    --------
    >>> round(dechlorinator_g(0.8, 5.0, 2.4839, 1.0), 3)
    9.936

    References
    ----------
    equations_of_reaction
    """
    return chlorine_g_m3 * volume_m3 * agent_per_chlorine_kg_kg * safety


@formula(chloramine_as_chlorine_g_m3=(0.0, 1000.0), free_ammonia_n_g_m3=(0.0, 1000.0))
def ammonia_from_chloramine_n_g_m3(
    chloramine_as_chlorine_g_m3: float, free_ammonia_n_g_m3: float = 0.0
) -> float:
    """Ammonia in tap water once its chloramine has been broken.

    Parameters
    ----------
    chloramine_as_chlorine_g_m3
        Monochloramine, counted as Cl2 as kits do [g/m3].
    free_ammonia_n_g_m3
        Ammonia that the tap water holds besides [g N/m3].

    Returns
    -------
    float
        Total ammonia, counted as nitrogen [g N/m3].

    Notes
    -----
    One nitrogen for each Cl2: 0.1976 g N/g. The agent takes the chlorine, the ammonia stays and
    meets the stock; its toxic part follows pH and temperature.

    Examples
    --------
    >>> round(ammonia_from_chloramine_n_g_m3(2.0), 3)
    0.395

    References
    ----------
    equations_of_reaction
    """
    return chloramine_as_chlorine_g_m3 * NITROGEN_G_MOL / CL2_G_MOL + free_ammonia_n_g_m3
