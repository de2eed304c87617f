"""Variable-area meters: what a float reading means away from the calibration state.

The convention, which belongs beside every reading: the scale counts air at 1 atm and at the
meter's base temperature (70 degF unless it says 60 degF); the tube stands after its needle, at
chamber pressure, unless the record says that its needle is at the outlet; a ball float is read
at its middle. Flows elsewhere in the package are standard at 70 degF and 1 atm.
"""

from __future__ import annotations

from dataclasses import dataclass

from tailrace.formula import formula
from tailrace.pneumatics.standard import STANDARD_DEGC, STANDARD_PA_ABS, ZERO_CELSIUS_K


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
    specific_gravity
        Density of the gas over that of air; 1 for air, 1.105 for oxygen.
    """

    full_scale_m3_s: float
    base_temperature_degc: float = 21.11
    after_needle: bool = True
    scale_correction_frac: float = 1.0
    density_exponent_frac: float = 0.5
    read_at: str = "middle"
    specific_gravity: float = 1.0


@formula(
    tube_pa_abs=(1e3, 1e7),
    air_temperature_degc=(-50.0, 150.0),
    base_temperature_degc=(-10.0, 50.0),
    density_exponent_frac=(0.0, 1.0),
    specific_gravity=(0.05, 10.0),
)
def standard_flow_factor(
    tube_pa_abs: float,
    air_temperature_degc: float,
    base_temperature_degc: float,
    density_exponent_frac: float,
    specific_gravity: float = 1.0,
) -> float:
    """Ratio of standard flow to reading of a variable-area meter scaled for air at 1 atm.

    Parameters
    ----------
    tube_pa_abs
        Absolute pressure in the tube [Pa].
    air_temperature_degc
        Temperature of the air in the tube [degC].
    base_temperature_degc
        Temperature at which the scale counts [degC].
    density_exponent_frac
        Exponent of the density ratio: 0.5 for a turbulent float wake, 1 for a viscous one [-].
    specific_gravity
        Density of the gas over that of air at the same state [-].

    Returns
    -------
    float
        Standard flow (70 degF, 1 atm) over the reading [-].

    Notes
    -----
    At one float position mass flow goes with the square root of density while the float's wake
    is turbulent: factor [(P/P_s)(T_b/T)/G]^0.5 in standard volume of a gas of specific gravity
    G. In a viscous wake the volume flow does not change, so mass flow goes with density itself:
    exponent 1, and G drops out (the gas's own viscosity, left out here, does not). Small floats
    lie between: [(P/P_s)(T_b/T)]^m G^(m-1). The last step counts volume at 70 degF instead of
    the scale's own temperature T_b.

    Examples
    --------
    >>> round(standard_flow_factor(116325.0, 27.0, 21.11, 0.5), 2)
    1.06

    References
    ----------
    variable_area_meter
    """
    base = base_temperature_degc + ZERO_CELSIUS_K
    density_ratio = (
        tube_pa_abs / STANDARD_PA_ABS * (base / (air_temperature_degc + ZERO_CELSIUS_K))
    )
    correction: float = density_ratio**density_exponent_frac
    correction *= specific_gravity ** (density_exponent_frac - 1.0)
    return correction * ((STANDARD_DEGC + ZERO_CELSIUS_K) / base)


def _flow_over_reading(
    tube_pa_abs: float, air_temperature_degc: float, rotameter: Rotameter
) -> float:
    return rotameter.scale_correction_frac * standard_flow_factor(
        tube_pa_abs,
        air_temperature_degc,
        rotameter.base_temperature_degc,
        rotameter.density_exponent_frac,
        rotameter.specific_gravity,
    )


def standard_flow_m3_s(
    reading_m3_s: float, tube_pa_abs: float, air_temperature_degc: float, rotameter: Rotameter
) -> float:
    """Air flow, counted at 70 degF and 1 atm, that a float reading stands for.

    Parameters
    ----------
    reading_m3_s
        Reading on the meter's scale, at the middle of a ball float [m3/s].
    tube_pa_abs
        Absolute pressure in the tube: at the chamber when it stands after its needle, at the
        pump when its needle is at the outlet [Pa].
    air_temperature_degc
        Temperature of the air in the tube [degC].
    rotameter
        The meter, with the base temperature of its scale and its correction.

    Returns
    -------
    float
        Standard flow [m3/s].

    Raises
    ------
    OutsideRangeError
        The pressure or a temperature is not one of an air line.

    Examples
    --------
    >>> meter = Rotameter(full_scale_m3_s=7.9e-6)
    >>> round(standard_flow_m3_s(1.376e-6, 116325.0, 27.0, meter) * 1e6, 3)
    1.46
    """
    return reading_m3_s * _flow_over_reading(tube_pa_abs, air_temperature_degc, rotameter)


def float_reading_m3_s(
    standard_flow_m3_s: float,
    tube_pa_abs: float,
    air_temperature_degc: float,
    rotameter: Rotameter,
) -> float:
    """Float reading that a standard air flow (70 degF, 1 atm) gives.

    Parameters
    ----------
    standard_flow_m3_s
        Standard flow [m3/s].
    tube_pa_abs
        Absolute pressure in the tube: at the chamber when it stands after its needle, at the
        pump when its needle is at the outlet [Pa].
    air_temperature_degc
        Temperature of the air in the tube [degC].
    rotameter
        The meter, with the base temperature of its scale and its correction.

    Returns
    -------
    float
        Reading on the meter's scale, at the middle of a ball float [m3/s]; may exceed the scale.

    Raises
    ------
    OutsideRangeError
        The pressure or a temperature is not one of an air line.

    Examples
    --------
    >>> meter = Rotameter(full_scale_m3_s=7.9e-6)
    >>> round(float_reading_m3_s(1.46e-6, 116325.0, 27.0, meter) * 1e6, 3)
    1.376
    """
    return standard_flow_m3_s / _flow_over_reading(tube_pa_abs, air_temperature_degc, rotameter)
