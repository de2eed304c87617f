"""Variable-area meters: what a float reading means away from the calibration state."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rotameter:
    """A variable-area meter and where it stands.

    Parameters
    ----------
    full_scale_m3_s
        Top of the scale, standard m3/s at the calibration state.
    base_temperature_degc
        Temperature of the calibration state (70 degF or 60 degF); its pressure is 1 atm.
    after_needle
        True when the tube stands at chamber pressure, after its needle; False when the
        needle is at the tube's outlet, so that the tube stands at pump pressure.
    scale_correction_frac
        Flow over reading found by a bottle test; 1 until calibrated.
    density_exponent_frac
        Exponent of the density ratio: 0.5 for a turbulent float wake, up to 1 for a viscous one.
    read_at
        Where the float is read; ``middle`` of a ball.
    """

    full_scale_m3_s: float
    base_temperature_degc: float = 21.11
    after_needle: bool = True
    scale_correction_frac: float = 1.0
    density_exponent_frac: float = 0.5
    read_at: str = "middle"
