"""Friction in full pipes by the other published relations; the one in daily use is in `pipes`."""

from __future__ import annotations

import math

from tailrace.formula import formula
from tailrace.hydraulics.pipes import LAMINAR_LIMIT

_COLEBROOK_STEPS = 30  # each step leaves a fifth of the error or less


@formula(reynolds=(0.0, 1e8), relative_roughness=(0.0, 0.05))
def friction_factor_colebrook_1939(reynolds: float, relative_roughness: float) -> float:
    """Darcy friction factor of a full round pipe by the implicit equation of Colebrook.

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
    f = 64/Re below Re 2040, else 1/sqrt(f) = -2 log10(e/(3.7 D) + 2.51/(Re sqrt(f))), found by
    putting 1/sqrt(f) back in: each step leaves 0.87/(1/sqrt(f)) of the error at most, which is a
    fifth at Re 2040 and less above. `pipes.friction_factor` is an explicit fit to it.

    Examples
    --------
    >>> round(friction_factor_colebrook_1939(100000.0, 0.001), 5)
    0.02217

    References
    ----------
    colebrook_1939
    avila_2011
    """
    if reynolds <= 0.0:
        return math.inf
    if reynolds < LAMINAR_LIMIT:
        return 64.0 / reynolds
    inverse_root = 8.0
    for _ in range(_COLEBROOK_STEPS):
        argument = relative_roughness / 3.7 + 2.51 * inverse_root / reynolds
        inverse_root = -2.0 * math.log10(argument)
    return 1.0 / inverse_root**2


@formula(
    flow_m3_s=(0.0, 10.0),
    bore_m=(1e-3, 10.0),
    length_m=(0.0, 1e5),
    smoothness=(20.0, 200.0),
)
def hazen_williams_head_loss_m(
    flow_m3_s: float, bore_m: float, length_m: float, smoothness: float
) -> float:
    """Head lost to friction in a full round pipe by the Hazen-Williams formula.

    Parameters
    ----------
    flow_m3_s
        Volume flow [m3/s].
    bore_m
        Inner diameter [m].
    length_m
        Length [m].
    smoothness
        Hazen-Williams coefficient C: 150 for new plastic, 130 to 140 for used, 100 for old
        iron [-].

    Returns
    -------
    float
        Head lost [m], without fittings.

    Notes
    -----
    h = 10.667 L Q^1.852/(C^1.852 D^4.871), SI. An empirical rule for turbulent cold water in
    pipes above about 50 mm; it knows no viscosity, and no laminar flow. In hoses and small pipes
    use `pipes.round_pipe_head_loss_m`.

    Examples
    --------
    >>> round(hazen_williams_head_loss_m(0.001, 0.04, 15.0, 140.0), 3)
    0.304

    References
    ----------
    hazen_williams
    epanet_2
    """
    resistance: float = 10.667 * length_m * bore_m**-4.871 * smoothness**-1.852
    loss: float = resistance * flow_m3_s**1.852
    return loss
