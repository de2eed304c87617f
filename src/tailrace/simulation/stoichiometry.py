"""The process matrix: what one unit of each process takes and gives.

Rows give what is known of a process; what it takes up or gives off as total ammonia, inorganic
carbon, oxygen and alkalinity (or what goes to fish, crop and air) follows from the balance of
nitrogen, carbon, oxygen demand and charge. A test checks each row against `COMPOSITION`.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tailrace.simulation import layout as lay
from tailrace.simulation.layout import CONTENT, ELEMENTS, INDEX, Array

# Columns: the water's own states, film, then the ledgers that processes fill, then the gut.
_WATER_NAMES: Final = (
    "total ammonia",
    "nitrite",
    "nitrate",
    "oxygen",
    "inorganic carbon",
    "alkalinity",
    "dissolved organics",
    "coarse solids",
    "fine solids",
)
_FILM_NAMES: Final = (
    "ammonia oxidisers on beads",
    "nitrite oxidisers on beads",
    "heterotrophs on beads",
)
_LEDGER_NAMES: Final = (
    "gas: nitrogen",
    "fish: nitrogen",
    "fish: carbon",
    "fish: oxygen demand",
    "crop: nitrogen",
    "crop: oxygen demand",
    "air: carbon",
    "air: oxygen demand",
)
_GUT_NAMES: Final = ("feed in gut", "nitrogen in gut")
COLUMNS: Final = (*_WATER_NAMES, *_FILM_NAMES, *_LEDGER_NAMES, *_GUT_NAMES)
WIDTH: Final = len(COLUMNS)
AOB, NOB, HET = range(lay.WATER, lay.WATER + 3)
FIRST_LEDGER: Final = HET + 1
GAS_N, FISH_N, FISH_C, FISH_COD, CROP_N = range(FIRST_LEDGER, FIRST_LEDGER + 5)
CROP_COD, AIR_C, AIR_COD, IN_GUT, IN_GUT_N = range(FIRST_LEDGER + 5, WIDTH)
LEDGER_COUNT: Final = len(_LEDGER_NAMES)
COMPOSITION: Final[Array] = np.array(
    [CONTENT[INDEX[f"tank: {n}"]] for n in _WATER_NAMES]
    + [CONTENT[INDEX[n]] for n in (*_FILM_NAMES, *_LEDGER_NAMES, *_GUT_NAMES)]
)


class Process(IntEnum):
    """Processes, each with the unit in which its rate counts."""

    AMMONIA_OXIDATION = 0  # g N oxidised
    NITRITE_OXIDATION = 1  # g N oxidised
    HETEROTROPH_GROWTH = 2  # g O2 of organics taken up
    AOB_DECAY = 3  # g VSS
    NOB_DECAY = 4  # g VSS
    HETEROTROPH_DECAY = 5  # g VSS
    AOB_SHEDDING = 6  # g VSS that becomes fine solids
    NOB_SHEDDING = 7  # g VSS
    HETEROTROPH_SHEDDING = 8  # g VSS
    COARSE_HYDROLYSIS = 9  # g dry
    FINE_HYDROLYSIS = 10  # g dry
    COARSE_CRUMBLING = 11  # g dry
    DENITRIFICATION = 12  # g N
    DIGESTION = 13  # g feed
    EXCRETION = 14  # g N that leaves the gut
    RESPIRATION = 15  # g O2
    BASAL_EXCRETION = 16  # g N
    AMMONIUM_UPTAKE = 17  # g N
    NITRATE_UPTAKE = 18  # g N
    OXYGEN_EXCHANGE = 19  # g O2 from the air
    CARBON_DIOXIDE_EXCHANGE = 20  # mol to the air


RESPIRED_FRAC: Final = 0.775  # share of decaying film that is respired; the rest stays as solids
DENITRIFIED_COD: Final = 5.0  # oxygen demand of organics used per nitrogen, growth included
PROTEIN_N: Final = 0.16

_N, _C, _COD, _CHARGE = range(len(ELEMENTS))
# who answers for an element that a row leaves open: the water, the film's water, or the outside
_WATER_CLOSES: Final = ((_COD, lay.OXY), (_N, lay.TAN), (_C, lay.DIC), (_CHARGE, lay.ALK))
_NO_OXYGEN: Final = ((_N, lay.TAN), (_C, lay.DIC), (_CHARGE, lay.ALK))
_FISH_CLOSES: Final = ((_N, FISH_N), (_C, FISH_C), (_COD, FISH_COD), (_CHARGE, lay.ALK))
_CROP_CLOSES: Final = ((_N, CROP_N), (_COD, CROP_COD), (_CHARGE, lay.ALK))
_AIR_CLOSES: Final = ((_C, AIR_C), (_COD, AIR_COD))

Row = dict[int, Any]  # a number, or one for each member


def _rows(p: Any) -> dict[Process, tuple[Row, tuple[tuple[int, int], ...]]]:
    rows: dict[Process, tuple[Row, tuple[tuple[int, int], ...]]] = {}
    rows[Process.AMMONIA_OXIDATION] = (
        # nitrogen of the film comes on top of what is oxidised, so TAN closes nitrogen
        {lay.NO2: 1.0, AOB: p["aob_yield_kg_kg"]},
        _WATER_CLOSES,
    )
    rows[Process.NITRITE_OXIDATION] = (
        {lay.NO2: -1.0, lay.NO3: 1.0, NOB: p["nob_yield_kg_kg"]},
        _WATER_CLOSES,
    )
    rows[Process.HETEROTROPH_GROWTH] = (
        {lay.ORG: -1.0, HET: p["heterotroph_yield_kg_kg"]},
        _WATER_CLOSES,
    )
    kept = lay.FILM_COD / lay.SOLIDS_COD
    for number, film in enumerate((AOB, NOB, HET)):
        decay = {film: -1.0, lay.FINE: (1.0 - RESPIRED_FRAC) * kept}
        rows[Process(Process.AOB_DECAY + number)] = (decay, _WATER_CLOSES)
        shed = {film: -1.0, lay.FINE: kept}
        rows[Process(Process.AOB_SHEDDING + number)] = (shed, _NO_OXYGEN)
    for process, solids in (
        (Process.COARSE_HYDROLYSIS, lay.COARSE),
        (Process.FINE_HYDROLYSIS, lay.FINE),
    ):
        rows[process] = ({solids: -1.0, lay.ORG: lay.SOLIDS_COD}, _NO_OXYGEN)
    rows[Process.COARSE_CRUMBLING] = ({lay.COARSE: -1.0, lay.FINE: 1.0}, ())
    electrons = lay.GAS_COD - lay.NITRATE_COD
    grown = (DENITRIFIED_COD - electrons) / lay.SOLIDS_COD
    rows[Process.DENITRIFICATION] = (
        {lay.NO3: -1.0, GAS_N: 1.0, lay.ORG: -DENITRIFIED_COD, lay.FINE: grown},
        _NO_OXYGEN,
    )
    return rows | _fish_rows(p) | _exchange_rows()


def _fish_rows(p: Any) -> dict[Process, tuple[Row, tuple[tuple[int, int], ...]]]:
    solids, coarse = p["solids_yield_kg_kg"], p["coarse_frac"]
    excreted = p["excretion_kg_kg"] / PROTEIN_N * (1.0 - p["basal_frac"])
    carbon = p["respired_carbon_dioxide_kg_kg"] / 44.009 / p["respiration_kg_kg"]
    return {
        Process.DIGESTION: (
            {IN_GUT: -1.0, lay.COARSE: solids * coarse, lay.FINE: solids * (1.0 - coarse)},
            _FISH_CLOSES,
        ),
        Process.EXCRETION: ({IN_GUT_N: -1.0, lay.TAN: excreted}, _FISH_CLOSES),
        Process.RESPIRATION: ({lay.OXY: -1.0, lay.DIC: carbon}, _FISH_CLOSES),
        Process.BASAL_EXCRETION: ({lay.TAN: 1.0}, _FISH_CLOSES),
    }


def _exchange_rows() -> dict[Process, tuple[Row, tuple[tuple[int, int], ...]]]:
    return {
        Process.AMMONIUM_UPTAKE: ({lay.TAN: -1.0}, _CROP_CLOSES),
        Process.NITRATE_UPTAKE: ({lay.NO3: -1.0}, _CROP_CLOSES),
        Process.OXYGEN_EXCHANGE: ({lay.OXY: 1.0}, _AIR_CLOSES),
        Process.CARBON_DIOXIDE_EXCHANGE: ({lay.DIC: -1.0}, _AIR_CLOSES),
    }


def process_matrices(parameters: NDArray[Any]) -> Array:
    """Stoichiometric coefficients of every member.

    Parameters
    ----------
    parameters
        As from `parameter_table`.

    Returns
    -------
    ndarray
        Members x processes x `COLUMNS`; what one unit of a process adds to each.
    """
    matrices = np.zeros((len(parameters), len(Process), WIDTH))
    for process, (row, closing) in _rows(parameters).items():
        for column, value in row.items():
            matrices[:, process, column] = value
        for element, column in closing:
            # Not by a matrix product, whose rounding would depend on the number of members.
            left = (matrices[:, process] * COMPOSITION[:, element]).sum(axis=1)
            matrices[:, process, column] -= left / COMPOSITION[column, element]
    return matrices
