"""Pipes: friction factor, and head lost over a length with fittings."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pipe:
    """One run of pipe.

    Parameters
    ----------
    bore_m, length_m
        Inner diameter and length.
    loss_coefficient
        Sum of the loss coefficients of entrance, fittings and exit, on its own velocity head.
    roughness_m
        Wall roughness; 2e-6 for clean plastic, 1e-4 to 5e-4 when slimed.
    """

    bore_m: float
    length_m: float
    loss_coefficient: float
    roughness_m: float = 2e-6
