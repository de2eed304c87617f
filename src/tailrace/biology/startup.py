"""Start-up and wash-out: how long bacteria take to grow, and what keeps them."""

from __future__ import annotations

import math

from tailrace.formula import formula


@formula(
    start_kg=(1e-15, 1e6),
    end_kg=(1e-15, 1e6),
    growth_per_s=(0.0, 1e-2),
    decay_per_s=(0.0, 1e-2),
)
def growth_s(start_kg: float, end_kg: float, growth_per_s: float, decay_per_s: float) -> float:
    """Time in which bacteria that lack nothing grow from one mass to another.

    Parameters
    ----------
    start_kg
        Mass at the start [kg].
    end_kg
        Mass at the end [kg].
    growth_per_s
        Specific growth [1/s].
    decay_per_s
        Decay and loss [1/s].

    Returns
    -------
    float
        Time [s]; infinite when they do not grow.

    Notes
    -----
    ln(X2/X1)/(mu - b). Each factor of ten in the seed is worth ln(10)/(mu - b): what comes in on
    ripe media saves days, what comes in a bottle is unknown.

    Examples
    --------
    >>> round(growth_s(1.0, 10.0, 0.6 / 86400.0, 0.05 / 86400.0) / 86400.0, 1)
    4.2

    References
    ----------
    arithmetic
    """
    net = growth_per_s - decay_per_s
    rise = math.log(end_kg / start_kg)
    if rise <= 0.0:
        return 0.0
    return rise / net if net > 0.0 else math.inf


@formula(growth_per_s=(0.0, 1e-2), decay_per_s=(0.0, 1e-2))
def lowest_retention_s(growth_per_s: float, decay_per_s: float) -> float:
    """Shortest mean stay of bacteria on the media at which they are not lost.

    Parameters
    ----------
    growth_per_s
        Specific growth at the concentrations of the water [1/s].
    decay_per_s
        Decay [1/s].

    Returns
    -------
    float
        Retention time of solids [s]; infinite when they do not grow at all.

    Notes
    -----
    1/(mu - b). A filter backwashed so often that film is lost faster than this loses its
    nitrifiers.

    Examples
    --------
    >>> round(lowest_retention_s(0.3 / 86400.0, 0.05 / 86400.0) / 86400.0, 1)
    4.0

    References
    ----------
    metcalf_eddy_2003
    """
    net = growth_per_s - decay_per_s
    return 1.0 / net if net > 0.0 else math.inf


@formula(
    half_saturation_g_m3=(0.0, 1e4),
    maximum_per_s=(0.0, 1e-2),
    decay_per_s=(0.0, 1e-2),
)
def lowest_substrate_g_m3(
    half_saturation_g_m3: float, maximum_per_s: float, decay_per_s: float
) -> float:
    """Concentration below which bacteria shrink, however many there are.

    Parameters
    ----------
    half_saturation_g_m3
        Half-saturation [g/m3].
    maximum_per_s
        Highest growth under the other conditions [1/s].
    decay_per_s
        Decay and loss [1/s].

    Returns
    -------
    float
        Concentration [g/m3]; infinite when they do not grow at all.

    Notes
    -----
    K b/(mu - b): no bead, however much of it, brings total ammonia or nitrite below this for
    long. Faster loss by backwashing raises it.

    Examples
    --------
    >>> round(lowest_substrate_g_m3(0.7, 0.5 / 86400.0, 0.05 / 86400.0), 3)
    0.078

    References
    ----------
    metcalf_eddy_2003
    """
    net = maximum_per_s - decay_per_s
    return half_saturation_g_m3 * decay_per_s / net if net > 0.0 else math.inf


@formula(
    bacteria_kg=(0.0, 1e6),
    capacity_kg=(1e-12, 1e6),
    growth_per_s=(0.0, 1e-2),
    elapsed_s=(0.0, 1e9),
)
def crowded_growth_kg(
    bacteria_kg: float, capacity_kg: float, growth_per_s: float, elapsed_s: float
) -> float:
    """Bacteria after a time of growth towards what the media hold.

    Parameters
    ----------
    bacteria_kg
        Mass at the start [kg].
    capacity_kg
        Mass that the media and the load can keep [kg].
    growth_per_s
        Net growth while there are few [1/s].
    elapsed_s
        Time [s].

    Returns
    -------
    float
        Mass [kg].

    Notes
    -----
    Logistic: X = C/(1 + (C/X0 - 1) exp(-r t)). A first sketch of ripening at a steady load; the
    simulation of the loop replaces it.

    Examples
    --------
    >>> round(crowded_growth_kg(0.001, 1.0, 0.5 / 86400.0, 14.0 * 86400.0), 3)
    0.523

    References
    ----------
    verhulst_1838
    """
    if bacteria_kg <= 0.0:
        return 0.0
    left = (capacity_kg / bacteria_kg - 1.0) * math.exp(-growth_per_s * elapsed_s)
    return capacity_kg / (1.0 + left)
