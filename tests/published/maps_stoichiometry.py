"""Rows on what reactions use and make per gram of nitrogen."""

from __future__ import annotations

from collections.abc import Callable

from tailrace.biology.stoichiometry import (
    Reaction,
    alkalinity_per_nitrogen_kg_kg,
    nitrogen_per_phosphorus_kg_kg,
    oxygen_per_nitrogen_kg_kg,
    reaction_from,
)
from tailrace.husbandry import respired_carbon_dioxide_kg_s
from tests.published.registry import Inputs, maps

_COUNTED: dict[str, Callable[[Reaction], float]] = {
    "oxygen used per gram of nitrogen": lambda r: -r.made_g_g("O2"),
    "oxygen released per gram of nitrate-N by algae": lambda r: r.made_g_g("O2"),
    "oxygen released per gram of nitrogen by algae": lambda r: r.made_g_g("O2"),
    "alkalinity used per gram of nitrogen": lambda r: -r.alkalinity_made_g_g(),
    "alkalinity returned per gram of nitrogen": lambda r: r.alkalinity_made_g_g(),
    "biomass made per gram of nitrogen": lambda r: r.cells_made_g_g(),
    "carbon dioxide made per gram of nitrogen": lambda r: r.carbon_dioxide_made_g_g(),
    "carbon dioxide used per gram of nitrogen": lambda r: -r.carbon_dioxide_made_g_g(),
    "carbohydrate used per gram of nitrogen": lambda r: -r.made_g_g("C6H12O6"),
    "glucose used per gram of nitrogen": lambda r: -r.made_g_g("C6H12O6"),
    "nitrate-N made per gram of nitrogen": lambda r: r.moles.get("NO3-", 0.0) / r.nitrogen_mol(),
}


def _register() -> None:
    for quantity, counted in _COUNTED.items():

        def answer(inputs: Inputs, counted: Callable[[Reaction], float] = counted) -> float:
            return counted(reaction_from(inputs["reaction"].text))

        # The pathway is the reaction's title; the reaction itself is what counts.
        maps(quantity, gives="g/g", needs="reaction", optional="pathway")(answer)


_register()


@maps("carbon dioxide made per gram of oxygen used", gives="g/g", needs="RQ")
def _respired(inputs: Inputs) -> float:
    return respired_carbon_dioxide_kg_s(1.0, inputs["RQ"].to("-"))


@maps("mass ratio of nitrogen to phosphorus", gives="g/g", needs="N_to_P_molar")
def _redfield(inputs: Inputs) -> float:
    return nitrogen_per_phosphorus_kg_kg(inputs["N_to_P_molar"].to("-"))


@maps(
    "alkalinity returned per gram of nitrate-N denitrified",
    gives="g/g",
    needs="equivalents_per_mol",
)
def _returned(inputs: Inputs) -> float:
    return alkalinity_per_nitrogen_kg_kg(inputs["equivalents_per_mol"].to("-"))


@maps("alkalinity used per gram of nitrogen, no cells", gives="g/g", needs="equivalents_per_mol")
def _used(inputs: Inputs) -> float:
    return alkalinity_per_nitrogen_kg_kg(inputs["equivalents_per_mol"].to("-"))


@maps("oxygen equivalent of nitrate-N denitrified", gives="g/g", needs="O2_per_N")
def _equivalent(inputs: Inputs) -> float:
    return oxygen_per_nitrogen_kg_kg(inputs["O2_per_N"].numbers[0])
