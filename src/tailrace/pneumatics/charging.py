"""How long air takes to fill a chamber under water or to raise the pressure of a vessel."""

from __future__ import annotations

from tailrace.formula import formula
from tailrace.pneumatics.standard import standard_volume_m3


@formula(
    chamber_m3=(0.0, 1e3),
    chamber_pa_abs=(1e4, 1e7),
    temperature_degc=(-50.0, 150.0),
    standard_flow_m3_s=(1e-12, 10.0),
)
def displacement_fill_s(
    chamber_m3: float, chamber_pa_abs: float, temperature_degc: float, standard_flow_m3_s: float
) -> float:
    """Time in which a steady flow of air displaces the water of a chamber.

    Parameters
    ----------
    chamber_m3
        Volume of the chamber [m3].
    chamber_pa_abs
        Absolute pressure of the air in it, which the water over its face sets [Pa].
    temperature_degc
        Temperature of the air in it [degC].
    standard_flow_m3_s
        Air supply, counted at 70 degF and 1 atm [m3/s].

    Returns
    -------
    float
        Time [s].

    Notes
    -----
    t = V (P/P_s)(T_s/T)/q: the pressure is even while the face goes down. With the face's own
    depth and a supply that falls as the pressure rises, see `tailrace.beadfilter.charge`.

    Examples
    --------
    >>> round(displacement_fill_s(0.025, 115991.0, 21.11, 0.5e-3 / 60.0) / 60.0, 1)
    57.2

    References
    ----------
    ideal_gas
    """
    air = standard_volume_m3(chamber_m3, chamber_pa_abs, temperature_degc)
    return air / standard_flow_m3_s


@formula(
    vessel_m3=(0.0, 1e3),
    start_pa_abs=(1e3, 1e7),
    end_pa_abs=(1e3, 1e7),
    temperature_degc=(-50.0, 150.0),
    standard_flow_m3_s=(1e-12, 10.0),
)
def pressurising_s(
    vessel_m3: float,
    start_pa_abs: float,
    end_pa_abs: float,
    temperature_degc: float,
    standard_flow_m3_s: float,
) -> float:
    """Time in which a steady flow of air raises the pressure of a rigid vessel.

    Parameters
    ----------
    vessel_m3
        Volume of the vessel [m3].
    start_pa_abs
        Absolute pressure at the start [Pa].
    end_pa_abs
        Absolute pressure at the end [Pa].
    temperature_degc
        Temperature of the air, which stays [degC].
    standard_flow_m3_s
        Air supply, counted at 70 degF and 1 atm [m3/s].

    Returns
    -------
    float
        Time [s]; negative when the end is below the start.

    Notes
    -----
    t = V (P2 - P1)/P_s (T_s/T)/q. A vessel under air pressure stores energy: it needs a relief
    valve and the rules for pressure vessels hold.

    Examples
    --------
    >>> round(pressurising_s(0.1, 101325.0, 111325.0, 21.11, 1.5e-3 / 60.0) / 60.0, 2)
    6.58

    References
    ----------
    ideal_gas
    """
    before = standard_volume_m3(vessel_m3, start_pa_abs, temperature_degc)
    after = standard_volume_m3(vessel_m3, end_pa_abs, temperature_degc)
    return (after - before) / standard_flow_m3_s
