"""The process matrix: what one unit of each process takes and gives.

Rows give what is known of a process; what it takes up or gives off as total ammonia, phosphate,
inorganic carbon, oxygen and alkalinity (or what goes to fish, crop, air and rock) follows from
the balance of nitrogen, carbon, phosphorus, oxygen demand and charge. A test checks each row
against `COMPOSITION`. The kernels read the rows sparse: `ROW_START`, `ROW_COLUMN`.
"""

from __future__ import annotations

from enum import IntEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from tailrace.simulation import layout as lay
from tailrace.simulation.layout import CHARGE, COD, ELEMENT_COUNT, Array, C, N, P

# Columns: the water's own species, film, gut, then the ledgers that processes fill.
_FILM_NAMES: Final = ("ammonia oxidisers", "nitrite oxidisers", "heterotrophs")
_GUT_NAMES: Final = ("feed in gut", "nitrogen in gut", "phosphorus in gut")
_LEDGER_NAMES: Final = tuple(
    f"{name}: {element}" for name in lay.PROCESS_LEDGERS for element in lay.ELEMENTS
)
COLUMNS: Final = (*(s.name for s in lay.SPECIES), *_FILM_NAMES, *_GUT_NAMES, *_LEDGER_NAMES)
WIDTH: Final = len(COLUMNS)
AOB, NOB, HET, IN_GUT, IN_GUT_N, IN_GUT_P = range(lay.WATER, lay.WATER + 6)
FIRST_GUT: Final = IN_GUT
FIRST_LEDGER: Final = IN_GUT_P + 1
FISH, CROP, AIR, ROCK = (FIRST_LEDGER + ELEMENT_COUNT * i for i in range(4))


def _composition() -> Array:
    film = (lay.FILM_N, lay.FILM_C, lay.FILM_P, lay.FILM_COD, 0.0)
    gut = ((0.0, lay.FEED_C, 0.0, lay.FEED_COD, 0.0), (1.0, 0, 0, 0, 0), (0, 0, 1.0, 0, 0))
    ledgers = np.tile(np.eye(ELEMENT_COUNT), (len(lay.PROCESS_LEDGERS), 1))
    return np.vstack([lay.SPECIES_CONTENT, *([film] * 3), *gut, ledgers]).astype(np.float64)


COMPOSITION: Final[Array] = _composition()


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
    PHOSPHORUS_EXCRETION = 15  # g P that leaves the gut
    RESPIRATION = 16  # g O2
    BASAL_EXCRETION = 17  # g N
    AMMONIUM_UPTAKE = 18  # g N
    NITRATE_UPTAKE = 19  # g N
    PHOSPHORUS_UPTAKE = 20  # g P
    POTASSIUM_UPTAKE = 21  # g
    CALCIUM_UPTAKE = 22  # g
    MAGNESIUM_UPTAKE = 23  # g
    IRON_UPTAKE = 24  # g
    SULPHATE_UPTAKE = 25  # g
    OXYGEN_EXCHANGE = 26  # g O2 from the air
    CARBON_DIOXIDE_EXCHANGE = 27  # mol to the air
    NITROGEN_EXCHANGE = 28  # g N to the air
    CALCITE = 29  # mol that falls out
    CHLORINE_LOSS = 30  # g Cl2
    COLOUR_LOSS = 31  # g Pt


RESPIRED_FRAC: Final = 0.775  # share of decaying film that is respired; the rest stays as solids
DENITRIFIED_COD: Final = 5.0  # oxygen demand of organics used per nitrogen, growth included
PROTEIN_N: Final = 0.16
FEED_P: Final = 0.012  # phosphorus in feed, judgement

# who answers for an element that a row leaves open: the water, the film's water, or the outside
_NO_OXYGEN: Final = ((N, lay.TAN), (C, lay.DIC), (P, lay.PHOS), (CHARGE, lay.ALK))
_WATER_CLOSES: Final = ((COD, lay.OXY), *_NO_OXYGEN)
_FISH_CLOSES: Final = ((N, FISH), (C, FISH + C), (P, FISH + P), (COD, FISH + COD))
_CROP_CLOSES: Final = ((N, CROP), (P, CROP + P), (COD, CROP + COD))
_ON_ALKALINITY: Final = ((CHARGE, lay.ALK),)

Closing = tuple[tuple[int, int], ...]
Row = dict[int, Any]  # a number, or one for each member
Rows = dict[Process, tuple[Row, Closing]]


def _film_rows(p: Any) -> Rows:
    rows: Rows = {
        # nitrogen of the film comes on top of what is oxidised, so TAN closes nitrogen
        Process.AMMONIA_OXIDATION: ({lay.NO2: 1.0, AOB: p["aob_yield_kg_kg"]}, _WATER_CLOSES),
        Process.NITRITE_OXIDATION: (
            {lay.NO2: -1.0, lay.NO3: 1.0, NOB: p["nob_yield_kg_kg"]},
            _WATER_CLOSES,
        ),
        Process.HETEROTROPH_GROWTH: (
            {lay.ORG: -1.0, HET: p["heterotroph_yield_kg_kg"]},
            _WATER_CLOSES,
        ),
    }
    kept = lay.FILM_COD / lay.SOLIDS_COD
    for number, film in enumerate((AOB, NOB, HET)):
        decay: Row = {film: -1.0, lay.FINE: (1.0 - RESPIRED_FRAC) * kept}
        rows[Process(Process.AOB_DECAY + number)] = (decay, _WATER_CLOSES)
        shed: Row = {film: -1.0, lay.FINE: kept}
        rows[Process(Process.AOB_SHEDDING + number)] = (shed, _NO_OXYGEN)
    return rows


def _solids_rows() -> Rows:
    electrons = lay.GAS_COD - lay.NITRATE_COD
    grown = (DENITRIFIED_COD - electrons) / lay.SOLIDS_COD
    return {
        Process.COARSE_HYDROLYSIS: ({lay.COARSE: -1.0, lay.ORG: lay.SOLIDS_COD}, _NO_OXYGEN),
        Process.FINE_HYDROLYSIS: ({lay.FINE: -1.0, lay.ORG: lay.SOLIDS_COD}, _NO_OXYGEN),
        Process.COARSE_CRUMBLING: ({lay.COARSE: -1.0, lay.FINE: 1.0}, ()),
        Process.DENITRIFICATION: (
            {lay.NO3: -1.0, lay.N2GAS: 1.0, lay.ORG: -DENITRIFIED_COD, lay.FINE: grown},
            _NO_OXYGEN,
        ),
    }


def _fish_rows(p: Any) -> Rows:
    solids, coarse = p["solids_yield_kg_kg"], p["coarse_frac"]
    excreted = p["excretion_kg_kg"] / PROTEIN_N * (1.0 - p["basal_frac"])
    carbon = p["respired_carbon_dioxide_kg_kg"] / 44.009 / p["respiration_kg_kg"]
    closes = (*_FISH_CLOSES, *_ON_ALKALINITY)
    digestion: Row = {
        IN_GUT: -1.0,
        lay.COARSE: solids * coarse,
        lay.FINE: solids * (1.0 - coarse),
        lay.POT: p["feed_potassium_frac"],
        lay.SOD: p["feed_sodium_frac"],
        lay.CHLO: p["feed_chloride_frac"],
        lay.SULF: p["feed_sulphate_frac"],
        lay.CAL: p["feed_calcium_frac"],
        lay.MAG: p["feed_magnesium_frac"],
        lay.COLOUR: p["feed_colour_kg_kg"],
    }
    return {
        Process.DIGESTION: (digestion, closes),
        Process.EXCRETION: ({IN_GUT_N: -1.0, lay.TAN: excreted}, closes),
        Process.PHOSPHORUS_EXCRETION: (
            {IN_GUT_P: -1.0, lay.PHOS: p["phosphorus_excreted_frac"]},
            closes,
        ),
        Process.RESPIRATION: ({lay.OXY: -1.0, lay.DIC: carbon}, closes),
        Process.BASAL_EXCRETION: ({lay.TAN: 1.0}, closes),
    }


def _crop_rows() -> Rows:
    taken = {
        Process.AMMONIUM_UPTAKE: lay.TAN,
        Process.NITRATE_UPTAKE: lay.NO3,
        Process.PHOSPHORUS_UPTAKE: lay.PHOS,
        Process.POTASSIUM_UPTAKE: lay.POT,
        Process.CALCIUM_UPTAKE: lay.CAL,
        Process.MAGNESIUM_UPTAKE: lay.MAG,
        Process.SULPHATE_UPTAKE: lay.SULF,
    }
    closes = (*_CROP_CLOSES, *_ON_ALKALINITY)
    rows: Rows = {process: ({species: -1.0}, closes) for process, species in taken.items()}
    return rows | {Process.IRON_UPTAKE: ({lay.IRON: -1.0}, ())}


def _exchange_rows() -> Rows:
    air: Closing = ((N, AIR), (C, AIR + C), (COD, AIR + COD))
    return {
        Process.OXYGEN_EXCHANGE: ({lay.OXY: 1.0}, air),
        Process.CARBON_DIOXIDE_EXCHANGE: ({lay.DIC: -1.0}, air),
        Process.NITROGEN_EXCHANGE: ({lay.N2GAS: -1.0}, air),
        Process.CALCITE: (
            {lay.DIC: -1.0, lay.CAL: -lay.CALCIUM},
            ((C, ROCK + C), *_ON_ALKALINITY),
        ),
        Process.CHLORINE_LOSS: ({lay.CHLORINE: -1.0}, ()),
        Process.COLOUR_LOSS: ({lay.COLOUR: -1.0}, ()),
    }


def _rows(p: Any) -> Rows:
    return _film_rows(p) | _solids_rows() | _fish_rows(p) | _crop_rows() | _exchange_rows()


class _Ones:
    """Stands for a parameter where only the pattern of a row matters."""

    def __getitem__(self, _: str) -> float:
        return 1.0


def _pattern() -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    rows = _rows(_Ones())
    used = [sorted({*rows[p][0], *(column for _, column in rows[p][1])}) for p in Process]
    starts = np.cumsum([0, *(len(row) for row in used)])
    return starts.astype(np.int64), np.array([c for row in used for c in row], dtype=np.int64)


# Row i of the matrix stands at ROW_START[i]:ROW_START[i + 1] of the coefficients.
ROW_START, ROW_COLUMN = _pattern()
COEFFICIENTS: Final = int(ROW_START[-1])


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


def coefficients(parameters: NDArray[Any]) -> Array:
    """Return the process matrix of every member as the kernels read it.

    Parameters
    ----------
    parameters
        As from `parameter_table`.

    Returns
    -------
    ndarray
        Members x `COEFFICIENTS`.
    """
    rows = np.repeat(np.arange(len(Process)), np.diff(ROW_START))
    return np.ascontiguousarray(process_matrices(parameters)[:, rows, ROW_COLUMN])
