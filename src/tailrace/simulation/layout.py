"""What the engine keeps count of: states, ledgers, and what each holds of every element.

States are amounts, never concentrations. A ledger counts what has left the loop (below zero:
what has come in), so that loop and ledgers together never change. Open `stoichiometry` for the
processes that move amounts, `processes` for their rates.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tailrace.water.molar_masses import CARBON_G_MOL as CARBON
from tailrace.water.molar_masses import NITROGEN_G_MOL as NITROGEN

Array = NDArray[np.float64]

# Elements that are conserved: columns of `CONTENT`.
ELEMENTS: Final = ("nitrogen", "carbon", "oxygen demand", "charge")
ELEMENT_UNITS: Final = ("g N", "g C", "g O2", "eq")

# Composition of the pools, one each; what a conversion cannot carry goes to TAN and DIC.
FILM_N: Final = NITROGEN / 113.11  # C5H7NO2
FILM_C: Final = 5.0 * CARBON / 113.11
FILM_COD: Final = 160.0 / 113.11
SOLIDS_N: Final = 0.035
SOLIDS_C: Final = 0.45
SOLIDS_COD: Final = 1.3
FEED_C: Final = 0.45
FEED_COD: Final = 1.3
NITRITE_COD: Final = -48.0 / NITROGEN  # oxygen demand counted from ammonia
NITRATE_COD: Final = -64.0 / NITROGEN
GAS_COD: Final = -24.0 / NITROGEN
EQ_PER_N: Final = 1.0 / NITROGEN


class Place(StrEnum):
    """Where water stands; one mixed volume each."""

    TANK = "tank"
    SUMP = "sump"
    BED = "plant bed"


@dataclass(frozen=True, slots=True)
class State:
    """One amount that the engine keeps count of.

    Parameters
    ----------
    name
        Name, with its place in front where it stands in water.
    unit
        Unit of the amount.
    content
        Nitrogen [g], carbon [g], oxygen demand [g O2] and charge [eq] in one unit of it.
    scale
        Amount below which accuracy does not matter, for step control; 0 for ledgers.
    ledger
        True when it stands outside the loop.
    """

    name: str
    unit: str
    content: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    scale: float = 0.0
    ledger: bool = False


# Charge counts what alkalinity must answer for: total ammonia as ammonium, nitrite, nitrate.
_IN_WATER: Final = (
    State("total ammonia", "g N", (1.0, 0.0, 0.0, EQ_PER_N), 0.1),
    State("nitrite", "g N", (1.0, 0.0, NITRITE_COD, -EQ_PER_N), 0.1),
    State("nitrate", "g N", (1.0, 0.0, NITRATE_COD, -EQ_PER_N), 1.0),
    State("oxygen", "g O2", (0.0, 0.0, -1.0, 0.0), 1.0),
    State("inorganic carbon", "mol", (0.0, CARBON, 0.0, 0.0), 0.1),
    State("alkalinity", "eq", (0.0, 0.0, 0.0, -1.0), 0.05),
    State("dissolved organics", "g O2", (0.0, SOLIDS_C / SOLIDS_COD, 1.0, 0.0), 1.0),
    State("coarse solids", "g", (SOLIDS_N, SOLIDS_C, SOLIDS_COD, 0.0), 1.0),
    State("fine solids", "g", (SOLIDS_N, SOLIDS_C, SOLIDS_COD, 0.0), 1.0),
)
_FILM: Final = (FILM_N, FILM_C, FILM_COD, 0.0)
_SOLIDS: Final = (SOLIDS_N, SOLIDS_C, SOLIDS_COD, 0.0)
_HELD: Final = (
    State("ammonia oxidisers on beads", "g VSS", _FILM, 1e-4),
    State("nitrite oxidisers on beads", "g VSS", _FILM, 1e-4),
    State("heterotrophs on beads", "g VSS", _FILM, 1e-2),
    State("coarse solids in bead bed", "g", _SOLIDS, 1.0),
    State("fine solids in bead bed", "g", _SOLIDS, 1.0),
    State("ammonia oxidisers on surfaces", "g VSS", _FILM, 1e-4),
    State("nitrite oxidisers on surfaces", "g VSS", _FILM, 1e-4),
    State("heterotrophs on surfaces", "g VSS", _FILM, 1e-2),
    State("deposit", "g", _SOLIDS, 1.0),
    State("fine solids in air chamber", "g", _SOLIDS, 1.0),
    State("fresh sludge", "g", _SOLIDS, 1.0),
    State("packed sludge", "g", _SOLIDS, 1.0),
    State("feed in gut", "g", (0.0, FEED_C, FEED_COD, 0.0), 1.0),
    State("nitrogen in gut", "g N", (1.0, 0.0, 0.0, 0.0), 0.1),
    State("water in tank", "m3", scale=1e-2),
    State("air charge", "-", scale=0.1),
)
# What a process gives to the outside comes first, in the order in which `stoichiometry` lists
# it; then what flows carry; last what events alone book, which no step has to touch.
_ALL: Final = (0, 1, 2, 3)
_LEDGERS: Final[tuple[tuple[str, tuple[int, ...]], ...]] = (
    ("gas", (0,)),
    ("fish", (0, 1, 2)),
    ("crop", (0, 2)),
    ("air", (1, 2)),
    ("dose", (1, 3)),
    ("overflow", _ALL),
    ("make-up", _ALL),
    ("feed", (0, 1, 2)),
    ("change", _ALL),
    ("top-up", _ALL),
    ("drain", _ALL),
    ("redraw", _ALL),
)
_FIRST_EVENT_LEDGER: Final = 8
_FLOWING_WATER: Final = ("evaporated", "overflow", "make-up")
_EVENT_WATER: Final = ("top-up", "drain")


def _ledger(name: str, element: int) -> State:
    content = [0.0, 0.0, 0.0, 0.0]
    content[element] = 1.0
    # Denitrified nitrogen leaves as gas, whose oxygen demand is that of nitrogen itself.
    if name == "gas":
        content[2] = GAS_COD
    first, second, third, fourth = content
    unit = ELEMENT_UNITS[element]
    return State(f"{name}: {ELEMENTS[element]}", unit, (first, second, third, fourth), ledger=True)


def _volume(name: str) -> State:
    return State(f"{name}: water", "m3", ledger=True)


def _states() -> tuple[State, ...]:
    water = [
        State(f"{place}: {s.name}", s.unit, s.content, s.scale)
        for place in Place
        for s in _IN_WATER
    ]
    first, later = _LEDGERS[:_FIRST_EVENT_LEDGER], _LEDGERS[_FIRST_EVENT_LEDGER:]
    flowing = [_ledger(name, element) for name, held in first for element in held]
    events = [_ledger(name, element) for name, held in later for element in held]
    flowing += [_volume(name) for name in _FLOWING_WATER]
    events += [_volume(name) for name in _EVENT_WATER]
    return (*water, *_HELD, *flowing, *events)


STATES: Final = _states()
INDEX: Final = {state.name: position for position, state in enumerate(STATES)}
SIZE: Final = len(STATES)
CONTENT: Final[Array] = np.array([state.content for state in STATES])
SCALE: Final[Array] = np.array([state.scale for state in STATES])
INSIDE: Final = np.array([not state.ledger for state in STATES])

# Positions, for the kernels. A place's water stands at place x WATER + offset.
TANK, SUMP, BED = 0, 1, 2
PLACES: Final = len(Place)
WATER: Final = len(_IN_WATER)
TAN, NO2, NO3, OXY, DIC, ALK, ORG, COARSE, FINE = range(WATER)
HELD: Final = PLACES * WATER
BEAD_AOB, BEAD_NOB, BEAD_HET, BEAD_COARSE, BEAD_FINE = range(HELD, HELD + 5)
WALL_AOB, WALL_NOB, WALL_HET, DEPOSIT, CHAMBER_FINE = range(HELD + 5, HELD + 10)
SLUDGE_FRESH, SLUDGE_PACKED, GUT_FEED, GUT_N = range(HELD + 10, HELD + 14)
TANK_M3, AIR_CHARGE = range(HELD + 14, HELD + 16)
LEDGERS: Final = HELD + len(_HELD)  # position of the first ledger
DOSE_C: Final = INDEX["dose: carbon"]
DOSE_EQ: Final = INDEX["dose: charge"]
OVERFLOW: Final = INDEX["overflow: nitrogen"]
MAKE_UP: Final = INDEX["make-up: nitrogen"]
FED: Final = INDEX["feed: nitrogen"]
EVAPORATED_M3: Final = INDEX["evaporated: water"]
OVERFLOW_M3: Final = INDEX["overflow: water"]
MAKE_UP_M3: Final = INDEX["make-up: water"]
CHANGE: Final = INDEX["change: nitrogen"]
MOVING: Final = CHANGE  # states below it move by themselves; those above by events alone
TOP_UP: Final = INDEX["top-up: nitrogen"]
DRAIN: Final = INDEX["drain: nitrogen"]
REDRAW: Final = INDEX["redraw: nitrogen"]
TOP_UP_M3: Final = INDEX["top-up: water"]
DRAIN_M3: Final = INDEX["drain: water"]
