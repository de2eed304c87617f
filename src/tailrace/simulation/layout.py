"""What the engine keeps count of: states, ledgers, and what each holds of every element.

States are amounts, never concentrations. A ledger counts what has left the loop (below zero:
what has come in), so that loop and ledgers together never change. A `Layout` is sized by its
loop: a block of states for each place, filter, surface and stock of fish. Open `stoichiometry`
for the processes that move amounts, `processes` for their rates.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from tailrace.water.molar_masses import CARBON_G_MOL as CARBON
from tailrace.water.molar_masses import NITROGEN_G_MOL as NITROGEN

Array = NDArray[np.float64]
Content = tuple[float, float, float, float, float]

# Elements that are conserved: columns of `Layout.content`.
ELEMENTS: Final = ("nitrogen", "carbon", "phosphorus", "oxygen demand", "charge")
ELEMENT_UNITS: Final = ("g N", "g C", "g P", "g O2", "eq")
ELEMENT_COUNT: Final = 5

# Molar masses of the ions that are only carried along [g/mol], IUPAC's rounded values.
PHOSPHORUS: Final = 30.974
POTASSIUM: Final = 39.098
CALCIUM: Final = 40.078
MAGNESIUM: Final = 24.305
SODIUM: Final = 22.990
SULPHATE: Final = 96.06
CHLORIDE: Final = 35.45

# Composition of the pools, one each; what a conversion cannot carry goes to the water.
FILM_N: Final = NITROGEN / 113.11  # C5H7NO2
FILM_C: Final = 5.0 * CARBON / 113.11
FILM_P: Final = 0.02
FILM_COD: Final = 160.0 / 113.11
SOLIDS_N: Final = 0.035
SOLIDS_C: Final = 0.45
SOLIDS_P: Final = 0.02
SOLIDS_COD: Final = 1.3
FEED_C: Final = 0.45
FEED_COD: Final = 1.3
NITRITE_COD: Final = -48.0 / NITROGEN  # oxygen demand counted from ammonia
NITRATE_COD: Final = -64.0 / NITROGEN
GAS_COD: Final = -24.0 / NITROGEN
EQ_PER_N: Final = 1.0 / NITROGEN
EQ_PER_P: Final = 1.0 / PHOSPHORUS


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
        Nitrogen, carbon, phosphorus [g], oxygen demand [g O2] and charge [eq] in one unit of it.
    scale
        Amount below which accuracy does not matter, for step control; 0 for ledgers.
    ledger
        True when it stands outside the loop.
    """

    name: str
    unit: str
    content: Content = (0.0, 0.0, 0.0, 0.0, 0.0)
    scale: float = 0.0
    ledger: bool = False

    def at(self, where: str) -> State:
        """Return the same state in a place."""
        return State(f"{where}: {self.name}", self.unit, self.content, self.scale, self.ledger)


_SOLIDS: Final[Content] = (SOLIDS_N, SOLIDS_C, SOLIDS_P, SOLIDS_COD, 0.0)
_FILM: Final[Content] = (FILM_N, FILM_C, FILM_P, FILM_COD, 0.0)


def _ion(name: str, charge: float, molar_g: float, scale: float = 10.0) -> State:
    return State(name, "g", (0.0, 0.0, 0.0, 0.0, charge / molar_g), scale)


# What stands in the water of a place. Charge is what alkalinity must answer for: every ion but
# those of carbonate, and phosphate as H2PO4.
SPECIES: Final = (
    State("total ammonia", "g N", (1.0, 0.0, 0.0, 0.0, EQ_PER_N), 0.1),
    State("nitrite", "g N", (1.0, 0.0, 0.0, NITRITE_COD, -EQ_PER_N), 0.1),
    State("nitrate", "g N", (1.0, 0.0, 0.0, NITRATE_COD, -EQ_PER_N), 1.0),
    State("oxygen", "g O2", (0.0, 0.0, 0.0, -1.0, 0.0), 1.0),
    State("inorganic carbon", "mol", (0.0, CARBON, 0.0, 0.0, 0.0), 0.1),
    State("alkalinity", "eq", (0.0, 0.0, 0.0, 0.0, -1.0), 0.05),
    State("dissolved organics", "g O2", (0.0, SOLIDS_C / SOLIDS_COD, 0.0, 1.0, 0.0), 1.0),
    State("coarse solids", "g", _SOLIDS, 1.0),
    State("fine solids", "g", _SOLIDS, 1.0),
    State("nitrogen gas", "g N", (1.0, 0.0, 0.0, GAS_COD, 0.0), 5.0),
    State("phosphate", "g P", (0.0, 0.0, 1.0, 0.0, -EQ_PER_P), 1.0),
    _ion("potassium", 1.0, POTASSIUM),
    _ion("calcium", 2.0, CALCIUM),
    _ion("magnesium", 2.0, MAGNESIUM),
    State("iron", "g", scale=1.0),  # held in solution by a chelate, without charge
    _ion("sodium", 1.0, SODIUM),
    _ion("sulphate", -2.0, SULPHATE),
    _ion("chloride", -1.0, CHLORIDE),
    State("colour", "g Pt", scale=10.0),
    State("chlorine", "g Cl2", scale=0.1),
)
WATER: Final = len(SPECIES)
TAN, NO2, NO3, OXY, DIC, ALK, ORG, COARSE, FINE, N2GAS = range(10)
PHOS, POT, CAL, MAG, IRON, SOD, SULF, CHLO, COLOUR, CHLORINE = range(10, 20)
VOLUME: Final = WATER  # last of a place's block
PLACE: Final = WATER + 1
_VOLUME: Final = State("water", "m3", scale=1e-2)

LAYERS: Final = 5  # of a bead bed, the first at the inlet
_FILTER: Final = (
    State("ammonia oxidisers on beads", "g VSS", _FILM, 1e-4),
    State("nitrite oxidisers on beads", "g VSS", _FILM, 1e-4),
    State("heterotrophs on beads", "g VSS", _FILM, 1e-2),
    State("fine solids in air chamber", "g", _SOLIDS, 1.0),
    State("leaching sludge", "g", _SOLIDS, 1.0),
    State("fresh sludge", "g", _SOLIDS, 1.0),
    State("packed sludge", "g", _SOLIDS, 1.0),
    State("air charge", "-", scale=0.1),
    State("caking", "-", scale=0.1),
    State("channelling", "-", scale=0.1),
    *(
        State(f"{size} solids in layer {layer + 1}", "g", _SOLIDS, 1.0)
        for layer in range(LAYERS)
        for size in ("coarse", "fine")
    ),
)
AOB, NOB, HET, CHAMBER_FINE, LEACHING, FRESH, PACKED, AIR_CHARGE, CAKING, CHANNELS = range(10)
LAYER: Final = 10  # coarse solids of the first layer; fine ones follow, then the next layer
FILTER: Final = len(_FILTER)
_SURFACE: Final = (
    State("ammonia oxidisers", "g VSS", _FILM, 1e-4),
    State("nitrite oxidisers", "g VSS", _FILM, 1e-4),
    State("heterotrophs", "g VSS", _FILM, 1e-2),
    State("deposit", "g", _SOLIDS, 1.0),
)
DEPOSIT: Final = 3
SURFACE: Final = len(_SURFACE)
_FISH: Final = (
    State("feed in gut", "g", (0.0, FEED_C, 0.0, FEED_COD, 0.0), 1.0),
    State("nitrogen in gut", "g N", (1.0, 0.0, 0.0, 0.0, 0.0), 0.1),
    State("phosphorus in gut", "g P", (0.0, 0.0, 1.0, 0.0, 0.0), 0.1),
)
GUT_FEED, GUT_N, GUT_P = range(3)
FISH: Final = len(_FISH)

# Ledgers stand first: those that processes fill, in the order of `stoichiometry`, then those of
# flows. Ledgers that events alone book stand last, where no step has to touch them.
PROCESS_LEDGERS: Final = ("fish", "crop", "air", "rock")
_FLOW_LEDGERS: Final = ("dose", "overflow", "make-up", "feed")
_EVENT_LEDGERS: Final = ("change", "top-up", "drain", "redraw")


def _ledgers(names: tuple[str, ...], waters: tuple[str, ...]) -> tuple[State, ...]:
    found = []
    for name in names:
        for element, unit in enumerate(ELEMENT_UNITS):
            one = np.eye(ELEMENT_COUNT)[element]
            content: Content = tuple(one.tolist())
            found.append(State(f"{name}: {ELEMENTS[element]}", unit, content, ledger=True))
    return (*found, *(State(f"{name}: water", "m3", ledger=True) for name in waters))


_MOVING_LEDGERS: Final = _ledgers(
    (*PROCESS_LEDGERS, *_FLOW_LEDGERS), ("evaporated", "overflow", "make-up")
)
_STILL_LEDGERS: Final = _ledgers(_EVENT_LEDGERS, ("top-up", "drain"))
_AT: Final = {state.name: place for place, state in enumerate(_MOVING_LEDGERS)}
DOSE: Final = _AT["dose: nitrogen"]
OVERFLOW: Final = _AT["overflow: nitrogen"]
MAKE_UP: Final = _AT["make-up: nitrogen"]
FED: Final = _AT["feed: nitrogen"]
EVAPORATED_M3: Final = _AT["evaporated: water"]
OVERFLOW_M3: Final = _AT["overflow: water"]
MAKE_UP_M3: Final = _AT["make-up: water"]
TEMPERATURE: Final = len(_MOVING_LEDGERS)
FIRST: Final = TEMPERATURE + 1  # first place's block
# Counted from the end of what moves.
CHANGE, TOP_UP, DRAIN, REDRAW = (ELEMENT_COUNT * i for i in range(4))
TOP_UP_M3: Final = 4 * ELEMENT_COUNT
DRAIN_M3: Final = TOP_UP_M3 + 1
N, C, P, COD, CHARGE = range(ELEMENT_COUNT)
SPECIES_CONTENT: Final[Array] = np.array([s.content for s in SPECIES])
SOLIDS_CONTENT: Final[Array] = np.array(_SOLIDS)


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """States of one loop, in order.

    Parameters
    ----------
    places
        Names of the mixed volumes of water.
    filters
        Names of the filters.
    surfaces
        Names of the surfaces that carry film of their own.
    fish
        Names of the places that hold fish.
    """

    places: tuple[str, ...]
    filters: tuple[str, ...]
    surfaces: tuple[str, ...]
    fish: tuple[str, ...]
    states: tuple[State, ...] = field(init=False)
    index: dict[str, int] = field(init=False)
    content: Array = field(init=False)
    scale: Array = field(init=False)
    inside: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        blocks = (
            (self.places, (*SPECIES, _VOLUME)),
            (self.filters, _FILTER),
            (self.surfaces, _SURFACE),
            (self.fish, _FISH),
        )
        amounts = [s.at(where) for names, block in blocks for where in names for s in block]
        states = (
            *_MOVING_LEDGERS,
            State("water temperature", "degC", scale=10.0),
            *amounts,
            *_STILL_LEDGERS,
        )
        derived = {
            "states": states,
            "index": {state.name: place for place, state in enumerate(states)},
            "content": np.array([state.content for state in states]),
            "scale": np.array([state.scale for state in states]),
            "inside": np.array([not state.ledger for state in states]),
        }
        for name, value in derived.items():
            object.__setattr__(self, name, value)

    @property
    def size(self) -> int:
        """Number of states."""
        return len(self.states)

    @property
    def filters_at(self) -> int:
        """Position of the first filter's block."""
        return FIRST + PLACE * len(self.places)

    @property
    def surfaces_at(self) -> int:
        """Position of the first surface's block."""
        return self.filters_at + FILTER * len(self.filters)

    @property
    def fish_at(self) -> int:
        """Position of the first block of fish."""
        return self.surfaces_at + SURFACE * len(self.surfaces)

    @property
    def moving(self) -> int:
        """Number of states that move by themselves; those above change by events alone."""
        return self.fish_at + FISH * len(self.fish)

    def places_of(self, species: int) -> list[int]:
        """Positions of one species, or of the water, in all places."""
        return [FIRST + PLACE * place + species for place in range(len(self.places))]
