"""The standard state in which air is counted: 70 degF (21.11 degC) and 1 atm."""

from __future__ import annotations

from tailrace.formula import formula

STANDARD_PA_ABS = 101325.0
STANDARD_DEGC = 21.11  # 70 degF
ZERO_CELSIUS_K = 273.15


@formula(
    volume_m3=(0.0, 1e6),
    pressure_pa_abs=(0.0, 1e8),
    temperature_degc=(-50.0, 150.0),
)
def standard_volume_m3(volume_m3: float, pressure_pa_abs: float, temperature_degc: float) -> float:
    """Volume that a body of dry air would have in the standard state.

    Parameters
    ----------
    volume_m3
        Volume as it is [m3].
    pressure_pa_abs
        Pressure of the dry air: total less water vapour [Pa].
    temperature_degc
        Temperature of the air [degC].

    Returns
    -------
    float
        Volume at 70 degF and 1 atm [m3].

    Notes
    -----
    V_s = V (P/P_s)(T_s/T), ideal gas; within 0.1 % for air at the pressures of a small pump.

    Examples
    --------
    >>> round(standard_volume_m3(0.016, 117500.0, 27.0), 4)
    0.0182

    References
    ----------
    ideal_gas
    """
    return (
        volume_m3
        * (pressure_pa_abs / STANDARD_PA_ABS)
        * ((STANDARD_DEGC + ZERO_CELSIUS_K) / (temperature_degc + ZERO_CELSIUS_K))
    )
