"""The standard state in which air is counted: 70 degF (21.11 degC) and 1 atm."""

from __future__ import annotations

from tailrace.formula import formula

STANDARD_PA_ABS = 101325.0
STANDARD_DEGC = 21.11  # 70 degF
ZERO_CELSIUS_K = 273.15
GAS_CONSTANT_J_MOL_K = 8.314462618
STANDARD_GRAVITY = 9.80665  # m/s2, by definition


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


@formula(
    mass_flow_kg_s=(0.0, 100.0),
    molar_mass_g_mol=(1.0, 500.0),
    temperature_degc=(-50.0, 150.0),
    pressure_pa_abs=(1e3, 1e7),
)
def gas_flow_m3_s(
    mass_flow_kg_s: float,
    molar_mass_g_mol: float,
    temperature_degc: float = STANDARD_DEGC,
    pressure_pa_abs: float = STANDARD_PA_ABS,
) -> float:
    """Volume flow of a mass flow of gas.

    Parameters
    ----------
    mass_flow_kg_s
        Mass flow [kg/s].
    molar_mass_g_mol
        Molar mass of the gas: 28.96 air, 31.998 oxygen, 44.009 carbon dioxide [g/mol].
    temperature_degc
        Temperature at which volume is counted [degC].
    pressure_pa_abs
        Pressure at which volume is counted [Pa].

    Returns
    -------
    float
        Volume flow; standard (70 degF, 1 atm) unless another state is given [m3/s].

    Notes
    -----
    q = m R T/(M P), ideal gas.

    Examples
    --------
    >>> round(gas_flow_m3_s(1.0 / 3600.0, 31.998) * 3600.0, 4)
    0.7546

    References
    ----------
    ideal_gas
    """
    kelvin = temperature_degc + ZERO_CELSIUS_K
    amount = mass_flow_kg_s * 1e3 / molar_mass_g_mol
    return amount * GAS_CONSTANT_J_MOL_K * kelvin / pressure_pa_abs
