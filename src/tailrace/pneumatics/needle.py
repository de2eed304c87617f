"""Needle valves as an annular slit: conductance for air."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Needle:
    """Geometry of a needle; guesswork, only the flow at a reading matters.

    Parameters
    ----------
    diameter_m
        Mean diameter of the slit.
    slit_length_m
        Length of the slit along the flow.
    """

    diameter_m: float = 0.0015
    slit_length_m: float = 0.0005
