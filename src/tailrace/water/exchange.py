"""What becomes of a dissolved substance when water is exchanged, evaporates or is dosed.

The loop is one mixed volume here; nothing reacts. Whole waters mix in ``chemistry``.
"""

from __future__ import annotations

import math

from tailrace.formula import formula

_C = (0.0, 1e6)
_V = (1e-6, 1e9)
_TIME = (0.0, 3.2e9)


@formula(start_g_m3=_C, source_g_m3=_C, share_frac=(0.0, 1.0), exchanges=(0.0, 1e6))
def after_batch_exchange_g_m3(
    start_g_m3: float, source_g_m3: float, share_frac: float, exchanges: float = 1.0
) -> float:
    """Concentration after water changes of equal size, one after the other.

    Parameters
    ----------
    start_g_m3
        Concentration before [g/m3].
    source_g_m3
        Concentration in the new water [g/m3].
    share_frac
        Share of the water exchanged each time [-].
    exchanges
        Number of exchanges [-].

    Returns
    -------
    float
        Concentration after the last [g/m3].

    Notes
    -----
    Cs + (C0 - Cs)(1 - x)^n.

    Examples
    --------
    >>> after_batch_exchange_g_m3(120.0, 5.0, 0.2)
    97.0

    References
    ----------
    arithmetic
    """
    return source_g_m3 + (start_g_m3 - source_g_m3) * math.pow(1.0 - share_frac, exchanges)


@formula(start_g_m3=_C, source_g_m3=_C, share_frac=(0.0, 1.0), target_g_m3=_C)
def batch_exchanges_needed(
    start_g_m3: float, source_g_m3: float, share_frac: float, target_g_m3: float
) -> float:
    """Whole number of equal water changes that brings a concentration to a target.

    Parameters
    ----------
    start_g_m3
        Concentration before [g/m3].
    source_g_m3
        Concentration in the new water [g/m3].
    share_frac
        Share of the water exchanged each time [-].
    target_g_m3
        Concentration wanted, on the way from `start_g_m3` to `source_g_m3` [g/m3].

    Returns
    -------
    float
        Number of exchanges; infinite when the new water cannot bring it there [-].

    Notes
    -----
    ln((target - Cs)/(C0 - Cs))/ln(1 - x), rounded up.

    Examples
    --------
    >>> batch_exchanges_needed(100.0, 5.0, 0.1, 50.0)
    8.0

    References
    ----------
    arithmetic
    """
    before, after = start_g_m3 - source_g_m3, target_g_m3 - source_g_m3
    if before == 0.0 or after / before >= 1.0:
        return 0.0 if after == before or before * after > 0.0 else math.inf
    if after == 0.0 and share_frac == 1.0:
        return 1.0
    if after / before <= 0.0 or share_frac == 0.0:
        return math.inf
    if share_frac == 1.0:
        return 1.0
    exact = math.log(after / before) / math.log(1.0 - share_frac)
    return float(math.ceil(exact - 1e-9))


@formula(
    start_g_m3=_C, source_g_m3=_C, flow_m3_s=(0.0, 1e3), volume_m3=_V, time_s=_TIME, input_g_s=_C
)
def after_continuous_exchange_g_m3(
    start_g_m3: float,
    source_g_m3: float,
    flow_m3_s: float,
    volume_m3: float,
    time_s: float,
    input_g_s: float = 0.0,
) -> float:
    """Concentration after a time with new water flowing in and old flowing out.

    Parameters
    ----------
    start_g_m3
        Concentration before [g/m3].
    source_g_m3
        Concentration in the new water [g/m3].
    flow_m3_s
        Flow of new water [m3/s].
    volume_m3
        Volume of the loop [m3].
    time_s
        Time [s].
    input_g_s
        What is dosed or produced in the loop [g/s].

    Returns
    -------
    float
        Concentration [g/m3].

    Notes
    -----
    Ce + (C0 - Ce) exp(-Q t/V), Ce = Cs + input/Q; without flow C0 + input t/V.

    Examples
    --------
    >>> round(after_continuous_exchange_g_m3(100.0, 10.0, 0.1 / 86400, 1.0, 5 * 86400.0), 2)
    64.59

    References
    ----------
    arithmetic
    """
    turned = flow_m3_s * time_s / volume_m3
    kept = math.exp(-turned)
    # (1 - exp(-x))/x, which is 1 without flow, so that the input needs no case of its own
    worn = 1.0 if turned == 0.0 else -math.expm1(-turned) / turned
    grown = input_g_s * time_s / volume_m3 * worn
    return source_g_m3 + (start_g_m3 - source_g_m3) * kept + grown


@formula(source_g_m3=_C, input_g_s=_C, period_s=_TIME, share_frac=(1e-6, 1.0), volume_m3=_V)
def peak_with_batch_exchange_g_m3(
    source_g_m3: float, input_g_s: float, period_s: float, share_frac: float, volume_m3: float
) -> float:
    """Concentration that repeats just before each of many equal water changes.

    Parameters
    ----------
    source_g_m3
        Concentration in the new water [g/m3].
    input_g_s
        What is dosed or produced in the loop [g/s].
    period_s
        Time between changes [s].
    share_frac
        Share of the water exchanged each time [-].
    volume_m3
        Volume of the loop [m3].

    Returns
    -------
    float
        Concentration before a change; after it, less by what a period brings [g/m3].

    Notes
    -----
    Cs + P/(x V), P being what a period brings.

    Examples
    --------
    >>> round(peak_with_batch_exchange_g_m3(0.0, 8.0 / 86400, 86400.0, 0.1, 1.0), 6)
    80.0

    References
    ----------
    arithmetic
    """
    return source_g_m3 + input_g_s * period_s / (share_frac * volume_m3)


@formula(start_g_m3=_C, source_g_m3=_C, evaporation_m3_s=(0.0, 1e3), volume_m3=_V, time_s=_TIME)
def after_evaporation_g_m3(
    start_g_m3: float,
    source_g_m3: float,
    evaporation_m3_s: float,
    volume_m3: float,
    time_s: float,
) -> float:
    """Concentration of a salt when evaporated water is topped up and nothing is drained.

    Parameters
    ----------
    start_g_m3
        Concentration before [g/m3].
    source_g_m3
        Concentration in the top-up water [g/m3].
    evaporation_m3_s
        Water that evaporates [m3/s].
    volume_m3
        Volume of the loop [m3].
    time_s
        Time [s].

    Returns
    -------
    float
        Concentration [g/m3].

    Notes
    -----
    C0 + Cs E t/V.

    Examples
    --------
    >>> round(after_evaporation_g_m3(50.0, 20.0, 0.01 / 86400, 1.0, 30 * 86400.0), 6)
    56.0

    References
    ----------
    arithmetic
    """
    return start_g_m3 + source_g_m3 * evaporation_m3_s * time_s / volume_m3


@formula(flow_m3_s=(0.0, 1e3), volume_m3=_V, time_s=_TIME)
def replaced_frac(flow_m3_s: float, volume_m3: float, time_s: float) -> float:
    """Share of the loop's water that a steady flow of new water has replaced.

    Parameters
    ----------
    flow_m3_s
        Flow of new water [m3/s].
    volume_m3
        Volume of the loop [m3].
    time_s
        Time [s].

    Returns
    -------
    float
        Share replaced; with it `chemistry.mixed` gives the whole water [-].

    Notes
    -----
    1 - exp(-Q t/V): new water leaves with the old, so a volume equal to the loop's replaces 63 %.

    Examples
    --------
    >>> round(replaced_frac(0.1 / 86400, 1.0, 10 * 86400.0), 3)
    0.632

    References
    ----------
    arithmetic
    """
    return -math.expm1(-flow_m3_s * time_s / volume_m3)
