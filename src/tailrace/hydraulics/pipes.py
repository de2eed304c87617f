"""Pipes: friction factor, and head lost over a length with fittings."""

from __future__ import annotations

import math
from dataclasses import dataclass

from tailrace.formula import formula

STANDARD_GRAVITY = 9.80665  # m/s2, by definition
LAMINAR_LIMIT = 2040.0  # Reynolds number at which turbulence in a pipe sustains itself


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


@formula(reynolds=(0.0, 1e8), relative_roughness=(0.0, 0.05))
def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of a full round pipe.

    Parameters
    ----------
    reynolds
        Reynolds number of the flow, on the bore [-].
    relative_roughness
        Wall roughness over bore [-].

    Returns
    -------
    float
        Darcy (not Fanning) friction factor [-]; infinite at no flow.

    Notes
    -----
    f = 64/Re below Re 2040, else f = 0.25 / log10(e/(3.7 D) + 5.74/Re^0.9)^2.
    The explicit fit stays within about 2 % of Colebrook between Re 5000 and 1e8; between 2040
    and 5000 the flow itself is not settled and the step at 2040 is real, so roots through it
    need a bracket.

    Examples
    --------
    >>> round(friction_factor(30000.0, 7.5e-5), 4)
    0.0236
    >>> friction_factor(1000.0, 0.0)
    0.064

    References
    ----------
    swamee_jain_1976
    avila_2011
    """
    if reynolds <= 0.0:
        return math.inf
    if reynolds < LAMINAR_LIMIT:
        return 64.0 / reynolds
    return 0.25 / math.log10(relative_roughness / 3.7 + 5.74 / reynolds**0.9) ** 2


@formula(
    flow_m3_s=(0.0, 10.0),
    bore_m=(1e-4, 10.0),
    length_m=(0.0, 1e5),
    loss_coefficient=(0.0, 1e12),
    density_kg_m3=(900.0, 1300.0),
    viscosity_pa_s=(1e-4, 1e-2),
)
def round_pipe_head_loss_m(
    flow_m3_s: float,
    bore_m: float,
    length_m: float,
    loss_coefficient: float,
    roughness_m: float,
    density_kg_m3: float,
    viscosity_pa_s: float,
) -> float:
    """Head lost in a full round pipe and its fittings.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    bore_m
        Inner diameter [m].
    length_m
        Length [m].
    loss_coefficient
        Sum of the loss coefficients, on the velocity head of this bore [-].
    roughness_m
        Wall roughness [m].
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].

    Returns
    -------
    float
        Head lost [m]; zero at no flow.

    Notes
    -----
    h = (f L/D + K) v^2/(2 g), v = 4 Q/(pi D^2), f by `friction_factor`.

    Examples
    --------
    >>> round(round_pipe_head_loss_m(0.002, 0.05, 20.0, 0.0, 1.5e-6, 998.2, 1.002e-3), 3)
    0.44

    References
    ----------
    darcy_weisbach
    swamee_jain_1976
    """
    if flow_m3_s <= 0.0:
        return 0.0
    velocity = 4.0 * flow_m3_s / (math.pi * bore_m**2)
    reynolds = density_kg_m3 * velocity * bore_m / viscosity_pa_s
    friction = friction_factor(reynolds, roughness_m / bore_m) * length_m / bore_m
    return (friction + loss_coefficient) * velocity**2 / (2.0 * STANDARD_GRAVITY)


def pipe_head_loss_m(
    flow_m3_s: float, pipe: Pipe, *, density_kg_m3: float, viscosity_pa_s: float
) -> float:
    """Head lost in one run of pipe.

    Parameters
    ----------
    flow_m3_s
        Volume flow, zero or more [m3/s].
    pipe
        The run of pipe.
    density_kg_m3
        Density of the water [kg/m3].
    viscosity_pa_s
        Dynamic viscosity of the water [Pa s].

    Returns
    -------
    float
        Head lost [m].

    Raises
    ------
    OutsideRangeError
        The flow is negative, or a size is not that of a pipe.

    Examples
    --------
    >>> hose = Pipe(bore_m=0.0266, length_m=1.8, loss_coefficient=3.4)
    >>> round(pipe_head_loss_m(6.3e-4, hose, density_kg_m3=996.5, viscosity_pa_s=8.5e-4), 2)
    0.32
    """
    return round_pipe_head_loss_m(
        flow_m3_s,
        pipe.bore_m,
        pipe.length_m,
        pipe.loss_coefficient,
        pipe.roughness_m,
        density_kg_m3,
        viscosity_pa_s,
    )
