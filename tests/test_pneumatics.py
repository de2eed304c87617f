"""Air pumps, needles, meters and the line between them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from fluids.atmosphere import ATMOSPHERE_1976
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tailrace.errors import OutsideRangeError
from tailrace.pneumatics.air_pump import AirPump, air_pump_pa_gauge
from tailrace.pneumatics.line import line_flow_m3_s
from tailrace.pneumatics.needle import (
    Needle,
    air_viscosity_pa_s,
    needle_conductance_m3_s_pa,
    slit_conductance_m3_s_pa,
)
from tailrace.pneumatics.rotameter import Rotameter, float_reading_m3_s, standard_flow_m3_s
from tailrace.pneumatics.standard import STANDARD_PA_ABS

METER = Rotameter(full_scale_m3_s=7.9e-6)


@pytest.mark.outside(
    "tailrace.pneumatics.needle.air_viscosity_pa_s",
    source="US Standard Atmosphere 1976 as fluids runs it",
)
@pytest.mark.parametrize("temperature", [-20.0, 0.0, 21.11, 45.0])
def test_viscosity_of_air_is_that_of_the_standard_atmosphere(temperature: float) -> None:
    expected = ATMOSPHERE_1976.viscosity(temperature + 273.15)
    assert air_viscosity_pa_s(temperature) == pytest.approx(expected, rel=0.002)


@pytest.mark.outside("tailrace.pneumatics.line.line_flow_m3_s", source="numpy.roots")
@given(st.floats(1.0, 3e4), st.floats(1e7, 1e11), st.floats(1e10, 1e14))
def test_line_flow_is_the_positive_root(drive: float, linear: float, quadratic: float) -> None:
    # Scaled to 1e-6 m3/s, so that the polynomial's coefficients are of one order.
    roots = np.roots([quadratic * 1e-12, linear * 1e-6, -drive]) * 1e-6
    assert line_flow_m3_s(drive, linear, quadratic) == pytest.approx(roots.max(), rel=1e-6)


def test_no_drive_no_flow() -> None:
    assert line_flow_m3_s(0.0, 1e9, 0.0) == 0.0
    assert line_flow_m3_s(-300.0, 1e9, 6e11) == 0.0


def test_slit_conductance_integrates_plane_flow_of_a_compressible_gas() -> None:
    # Mass flow per Pa is density over viscous resistance; integrate density over pressure.
    gap, bore, length, warm = 2e-5, 1.5e-3, 5e-4, 27.0
    low, high = 116e3, 122e3
    driven, _ = quad(lambda p: p / STANDARD_PA_ABS * 294.26 / 300.15, low, high)
    slit = math.pi * bore * gap**3 / (12.0 * air_viscosity_pa_s(warm) * length)
    got = slit_conductance_m3_s_pa(gap, bore, length, high, low, warm) * (high - low)
    assert got == pytest.approx(slit * driven, rel=1e-9)


@given(st.floats(1e-6, 1e-4))
def test_conductance_goes_with_the_cube_of_the_gap(gap: float) -> None:
    state = {"upstream_pa_abs": 122e3, "downstream_pa_abs": 116e3, "air_temperature_degc": 20.0}
    one = needle_conductance_m3_s_pa(gap, Needle(), **state)
    two = needle_conductance_m3_s_pa(2.0 * gap, Needle(), **state)
    assert two == pytest.approx(8.0 * one, rel=1e-9)


@given(st.floats(1e-8, 1e-5), st.floats(9e4, 2e5), st.floats(-10.0, 45.0), st.floats(0.5, 1.0))
def test_reading_and_flow_are_each_other_s_inverse(
    flow: float, tube: float, air: float, exponent: float
) -> None:
    meter = Rotameter(7.9e-6, scale_correction_frac=1.1, density_exponent_frac=exponent)
    reading = float_reading_m3_s(flow, tube, air, meter)
    assert standard_flow_m3_s(reading, tube, air, meter) == pytest.approx(flow, rel=1e-12)


def test_a_scale_at_60_degf_counts_about_one_percent_less_air() -> None:
    # From memory: volume differs by 1.9 %, the density root takes half of it back.
    other = Rotameter(7.9e-6, base_temperature_degc=15.56)
    seventy = standard_flow_m3_s(1e-6, 117e3, 27.0, METER)
    sixty = standard_flow_m3_s(1e-6, 117e3, 27.0, other)
    assert sixty / seventy == pytest.approx(1.0095, abs=0.0005)


def test_a_viscous_wake_lets_more_air_through() -> None:
    # Prototype: x1.060 with exponent 0.5, x1.124 with exponent 1, at 14.2 kPa and 27 degC.
    tube = 101325.0 + 14200.0 + 700.0
    viscous = Rotameter(7.9e-6, density_exponent_frac=1.0)
    assert standard_flow_m3_s(1.0, tube, 27.0, METER) == pytest.approx(1.060, abs=0.001)
    assert standard_flow_m3_s(1.0, tube, 27.0, viscous) == pytest.approx(1.124, abs=0.001)


def test_a_worn_pump_keeps_its_share_of_both_ends() -> None:
    pump = AirPump(21000.0, 2e-4, wear_frac=0.7)
    assert air_pump_pa_gauge(0.0, pump) == pytest.approx(14700.0)
    assert air_pump_pa_gauge(1.4e-4, pump) == pytest.approx(0.0, abs=1e-9)


def test_air_given_in_fahrenheit_is_asked_about() -> None:
    with pytest.raises(OutsideRangeError, match="air temperature is 300 degC"):
        standard_flow_m3_s(1e-6, 117e3, 300.0, METER)
