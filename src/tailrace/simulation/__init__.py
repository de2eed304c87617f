"""The loop in time: from a site to what the water will be.

`assemble` makes a `Loop`, `simulate` follows one, `Ensemble` many, `right_hand_side` hands the
equations to any other solver. docs/theory/loop.md has the theory.
"""

from tailrace.simulation.assemble import Loop, StartWater, State, assemble, start_state
from tailrace.simulation.ensemble import Advance, Ensemble, Noise, member_streams
from tailrace.simulation.events import (
    Base,
    Device,
    Dose,
    Emptied,
    EvaporationChanged,
    Event,
    Feeding,
    Heater,
    HeldAlkalinity,
    Ration,
    Schedule,
    SettingChanged,
    SludgeDrain,
    Switched,
    TemperatureChanged,
    TopUp,
    WaterChange,
    Weather,
)
from tailrace.simulation.outputs import QUANTITIES
from tailrace.simulation.parameters import Parameters, parameter_table
from tailrace.simulation.righthandside import RightHandSide, right_hand_side
from tailrace.simulation.run import prepare, simulate
from tailrace.simulation.solution import Ending, Solution

__all__ = [
    "QUANTITIES",
    "Advance",
    "Base",
    "Device",
    "Dose",
    "Emptied",
    "Ending",
    "Ensemble",
    "EvaporationChanged",
    "Event",
    "Feeding",
    "Heater",
    "HeldAlkalinity",
    "Loop",
    "Noise",
    "Parameters",
    "Ration",
    "RightHandSide",
    "Schedule",
    "SettingChanged",
    "SludgeDrain",
    "Solution",
    "StartWater",
    "State",
    "Switched",
    "TemperatureChanged",
    "TopUp",
    "WaterChange",
    "Weather",
    "assemble",
    "member_streams",
    "parameter_table",
    "prepare",
    "right_hand_side",
    "simulate",
    "start_state",
]
