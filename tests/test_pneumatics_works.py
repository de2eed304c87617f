"""Air pumps by points, air lines, airlifts, transfer of oxygen, stripping of carbon dioxide."""

from __future__ import annotations

import math

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from tailrace.errors import InputError
from tailrace.pneumatics.air_pump import (
    AirPump,
    air_flow_m3_s,
    air_pump_from_points,
    air_pump_pa_gauge,
    blower_outlet_degc,
    blower_power_w,
)
from tailrace.pneumatics.airlift import (
    Riser,
    airlift_submergence_frac,
    airlift_water_flow_m3_s,
    riser_mean_pa_abs,
    slug_rise_velocity_m_s,
)
from tailrace.pneumatics.charging import displacement_fill_s, pressurising_s
from tailrace.pneumatics.line import air_line_end_pa_abs, air_line_reynolds
from tailrace.pneumatics.rotameter import Rotameter, standard_flow_m3_s
from tailrace.pneumatics.standard import gas_flow_m3_s
from tailrace.pneumatics.stripping import (
    exchanged_g_m3,
    published_removals,
    removed_per_pass_g_m3,
    stripper_outlet_air_frac,
    transfer_units,
)
from tailrace.pneumatics.transfer import (
    diffuser_pa_gauge,
    mid_depth_saturation_g_m3,
    oxygen_left_frac,
    reaeration,
    standard_transfer_g_s,
    transfer_coefficient_at_per_s,
    transfer_coefficient_per_s,
)
from tailrace.sources import sources
from tailrace.water.oxygen import oxygen_saturation_g_m3

FT3 = 0.3048**3

# --- pumps and lines ----------------------------------------------------------------------


@given(st.floats(5e3, 5e4), st.floats(1e-5, 1e-1), st.floats(0.5, 4.0), st.floats(0.0, 0.99))
def test_a_bowed_air_pump_passes_through_its_points_and_back(
    top: float, free: float, bend: float, share: float
) -> None:
    made = AirPump(top, free, curve_exponent=bend)
    points = [(q, air_pump_pa_gauge(q, made)) for q in (0.0, 0.5 * free, 0.9 * free)]
    found = air_pump_from_points(points)
    for flow, pressure in points:
        assert air_pump_pa_gauge(flow, found) == pytest.approx(pressure, rel=1e-6)
    back = air_pump_pa_gauge(share * free, made)
    assert air_pump_pa_gauge(air_flow_m3_s(back, made), made) == pytest.approx(
        back, abs=1e-6 * top
    )


def test_two_points_make_a_straight_line_and_no_pressure_makes_the_free_flow() -> None:
    pump = air_pump_from_points([(1e-4, 10000.0), (5e-5, 15000.0)])
    assert (pump.maximum_pa_gauge, pump.free_flow_m3_s) == pytest.approx((20000.0, 2e-4))
    assert air_flow_m3_s(0.0, pump) == pytest.approx(2e-4)
    assert air_flow_m3_s(20000.0, pump) == 0.0


@pytest.mark.parametrize(
    "points",
    [
        [(0.0, 100.0)],
        [(0.0, 100.0), (1e-4, 200.0)],
        [(0.0, 100.0), (0.0, 50.0)],
        [(0.0, 100.0), (1e-4, -1.0)],
        [(1e-5, 100.0), (1e-4, 50.0), (2e-4, 0.0)],
    ],
)
def test_points_that_are_no_air_pump_are_said(points: list[tuple[float, float]]) -> None:
    with pytest.raises(InputError, match=r"air pump's curve needs|must be at no flow"):
        air_pump_from_points(points)


@pytest.mark.outside(
    "tailrace.pneumatics.air_pump.blower_power_w",
    "tailrace.pneumatics.air_pump.blower_outlet_degc",
    source="fluids: isentropic_work_compression, isentropic_T_rise_compression",
)
@given(st.floats(0.0, 40.0), st.floats(1.01, 1.6), st.floats(0.2, 0.9))
def test_blowers_compress_as_the_library_does(inlet: float, ratio: float, share: float) -> None:
    kelvin, pressure, flow = inlet + 273.15, 101325.0, 0.02
    k = 1.0 / (1.0 - 0.2857)
    work = fluids.isentropic_work_compression(
        T1=kelvin, k=k, P1=pressure, P2=ratio * pressure, eta=share
    )
    amount = pressure * flow / (8.314462618 * kelvin)
    power = blower_power_w(flow, pressure, ratio * pressure, share)
    assert power == pytest.approx(work * amount, rel=1e-5)
    hot = fluids.isentropic_T_rise_compression(
        T1=kelvin, P1=pressure, P2=ratio * pressure, k=k, eta=share
    )
    outlet = blower_outlet_degc(inlet, pressure, ratio * pressure, share)
    assert outlet == pytest.approx(hot - 273.15, abs=1e-3)


@pytest.mark.outside(
    "tailrace.pneumatics.line.air_line_end_pa_abs",
    "tailrace.pneumatics.line.air_line_reynolds",
    source="fluids: isothermal_gas, Reynolds",
)
@pytest.mark.parametrize(("flow", "bore", "length"), [(5e-5, 0.004, 5.0), (5e-3, 0.025, 20.0)])
def test_an_air_line_loses_what_isothermal_flow_loses(
    flow: float, bore: float, length: float
) -> None:
    reynolds = air_line_reynolds(flow, bore, 25.0)
    friction = fluids.friction_factor(reynolds, 0.0)
    end = air_line_end_pa_abs(121325.0, flow, bore, length, friction, 0.0, 25.0)
    density = 121325.0 / (287.05 * 298.15)
    mass = flow * 101325.0 / (287.05 * (21.11 + 273.15))
    mean = 0.5 * (121325.0 + end)
    expected = fluids.isothermal_gas(
        rho=density * mean / 121325.0, fd=friction, P1=121325.0, L=length, D=bore, m=mass
    )
    assert 121325.0 - end == pytest.approx(121325.0 - expected, rel=0.01)
    velocity = mass / density / (math.pi / 4.0 * bore**2)
    by_library = fluids.Reynolds(velocity, bore, rho=density, mu=1.837e-5)
    assert reynolds == pytest.approx(by_library, rel=0.005)


def test_a_line_that_cannot_pass_so_much_says_not_a_number() -> None:
    assert math.isnan(air_line_end_pa_abs(105e3, 1e-2, 0.004, 5.0, 0.03, 0.0, 20.0))


@pytest.mark.outside(
    "tailrace.pneumatics.charging.displacement_fill_s",
    "tailrace.pneumatics.charging.pressurising_s",
    source="scipy.integrate.quad of the ideal gas law",
)
def test_filling_and_pressurising_follow_the_ideal_gas() -> None:
    warm, flow = 27.0, 1e-5
    amount = flow * 101325.0 / (8.314462618 * 294.26)  # mol/s at the standard state
    per_pa = 0.1 / (8.314462618 * 300.15)
    expected, _ = quad(lambda _: per_pa / amount, 101325.0, 131325.0)
    assert pressurising_s(0.1, 101325.0, 131325.0, warm, flow) == pytest.approx(expected)
    full = 116e3 * 0.02 / (8.314462618 * 300.15) / amount
    assert displacement_fill_s(0.02, 116e3, warm, flow) == pytest.approx(full)


def test_oxygen_reads_high_on_a_scale_for_air_and_not_at_all_in_a_viscous_wake() -> None:
    oxygen = Rotameter(7.9e-6, specific_gravity=1.105)
    air = Rotameter(7.9e-6)
    turbulent = standard_flow_m3_s(1e-6, 117e3, 21.11, oxygen)
    assert turbulent / standard_flow_m3_s(1e-6, 117e3, 21.11, air) == pytest.approx(1.105**-0.5)
    viscous = Rotameter(7.9e-6, specific_gravity=1.105, density_exponent_frac=1.0)
    base = Rotameter(7.9e-6, density_exponent_frac=1.0)
    assert standard_flow_m3_s(1e-6, 117e3, 21.11, viscous) == pytest.approx(
        standard_flow_m3_s(1e-6, 117e3, 21.11, base)
    )


def test_a_mole_of_gas_has_the_molar_volume() -> None:
    # 22.414 L/mol at 0 degC and 1 atm (CODATA, from memory).
    assert gas_flow_m3_s(0.028, 28.0, 0.0, 101325.0) == pytest.approx(22.414e-3, rel=1e-4)


# --- airlift ------------------------------------------------------------------------------

# Stenning & Martin 1968, riser 25.4 mm by 4.267 m: air and water in ft3/s, digitised.
MEASURED = [
    (0.629, 0.010559, 0.007981),
    (0.629, 0.016770, 0.011677),
    (0.629, 0.023602, 0.013602),
    (0.709, 0.005590, 0.006646),
    (0.709, 0.010559, 0.012019),
    (0.709, 0.017702, 0.015559),
    (0.709, 0.025466, 0.017112),
]


@pytest.mark.outside(
    "tailrace.pneumatics.airlift.airlift_submergence_frac",
    "tailrace.pneumatics.airlift.slug_rise_velocity_m_s",
    "tailrace.pneumatics.airlift.riser_mean_pa_abs",
    source="Stenning & Martin 1968, measurements read as digitised in a public data set",
)
@pytest.mark.parametrize(("submerged", "air", "water"), MEASURED)
def test_an_airlift_lifts_what_was_measured(submerged: float, air: float, water: float) -> None:
    riser = Riser(bore_m=0.0254, length_m=4.2672, submerged_m=submerged * 4.2672)
    got = airlift_water_flow_m3_s(air * FT3, riser)
    assert got == pytest.approx(water * FT3, rel=0.12)


def test_beyond_the_best_air_flow_less_water_is_lifted() -> None:
    riser = Riser(bore_m=0.0254, length_m=4.2672, submerged_m=3.0)
    flows = [airlift_water_flow_m3_s(air, riser) for air in np.linspace(2e-4, 5e-3, 30)]
    best = int(np.argmax(flows))
    assert 0 < best < 29
    assert airlift_water_flow_m3_s(1e-6, riser) == 0.0


def test_an_airlift_without_any_flow_needs_all_of_its_length_under_water() -> None:
    assert airlift_submergence_frac(0.0, 0.0, 0.025) == 1.0
    # Dumitrescu and Davies & Taylor, 0.35 sqrt(g D) without surface tension, from memory.
    assert slug_rise_velocity_m_s(0.1) == pytest.approx(0.35 * math.sqrt(9.80665 * 0.1), rel=0.02)
    mean, _ = quad(lambda z: 1.0 / (101325.0 + 998.0 * 9.80665 * z), 0.0, 2.0)
    assert riser_mean_pa_abs(2.0) == pytest.approx(2.0 / mean, rel=1e-9)


# --- oxygen transfer ----------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.pneumatics.transfer.transfer_coefficient_per_s",
    "tailrace.pneumatics.stripping.exchanged_g_m3",
    "tailrace.pneumatics.stripping.transfer_units",
    source="scipy.integrate.solve_ivp of first-order exchange",
)
def test_the_log_deficit_inverts_first_order_exchange() -> None:
    rate, top, start, time = 0.003, 8.5, 1.0, 400.0
    found = solve_ivp(lambda _, c: rate * (top - c), (0.0, time), [start], rtol=1e-10, atol=1e-12)
    end = float(found.y[0, -1])
    assert transfer_coefficient_per_s(start, end, top, time) == pytest.approx(rate, rel=1e-6)
    assert exchanged_g_m3(start, top, rate * time) == pytest.approx(end, rel=1e-6)
    assert transfer_units(start, end, top) == pytest.approx(rate * time, rel=1e-6)
    assert math.isnan(transfer_coefficient_per_s(1.0, 9.0, top, time))


def test_a_re_aeration_test_is_fitted_through_the_scatter_of_a_meter() -> None:
    rng = np.random.default_rng(5)
    times = np.linspace(0.0, 1500.0, 26)
    true = 8.7 - 8.3 * np.exp(-0.0025 * times)
    errors = [
        reaeration(times.tolist(), (true + rng.normal(0.0, 0.05, 26)).tolist()) for _ in range(200)
    ]
    rates = np.array([found.transfer_per_s for found in errors])
    told = float(np.mean([found.transfer_error_per_s for found in errors]))
    assert float(rates.mean()) == pytest.approx(0.0025, abs=4.0 * rates.std() / math.sqrt(200))
    assert told == pytest.approx(float(rates.std()), rel=0.25)


@pytest.mark.parametrize(
    ("times", "readings", "said"),
    [
        ([0.0, 1.0], [1.0, 2.0], "at least five"),
        ([0.0, 1.0, 2.0, 3.0, 4.0], [1.0, 2.0, 3.0, 4.0], "at least five times and as many"),
        ([0.0, 1.0, 2.0, 3.0, math.nan], [1.0, 2.0, 3.0, 4.0, 5.0], "all numbers"),
        ([float(i) for i in range(8)], [8.0, 7.0, 6.2, 5.6, 5.2, 4.9, 4.7, 4.6], "rise|follow"),
    ],
)
def test_a_test_that_is_none_is_said(times: list[float], readings: list[float], said: str) -> None:
    with pytest.raises(InputError, match=said):
        reaeration(times, readings)


@pytest.mark.outside(
    "tailrace.pneumatics.transfer.oxygen_left_frac", source="Metcalf & Eddy's form, from memory"
)
def test_oxygen_left_is_the_handbook_s_share_of_the_outlet_gas() -> None:
    # 21 (1 - E)/(79 + 21 (1 - E)) over 0.21, with 20.95 for 21.
    for share in (0.05, 0.1, 0.3):
        printed = 21.0 * (1.0 - share) / (79.0 + 21.0 * (1.0 - share)) / 0.21
        assert oxygen_left_frac(share) == pytest.approx(printed, rel=1e-3)


@pytest.mark.outside(
    "tailrace.pneumatics.transfer.diffuser_pa_gauge", source="fluids: P_from_head"
)
def test_a_diffuser_needs_its_water_and_itself() -> None:
    assert diffuser_pa_gauge(1.5, 3000.0, 200.0) == pytest.approx(
        fluids.P_from_head(1.5, 998.0) + 3200.0
    )
    deep = mid_depth_saturation_g_m3(9.0, 3.0, 101325.0, 1.0)
    assert deep == pytest.approx(9.0 * (1.0 + 998.0 * 9.80665 * 1.5 / 101325.0))


def test_the_standard_saturation_is_that_of_the_water_package() -> None:
    assert standard_transfer_g_s(1.0, 1.0) == pytest.approx(
        oxygen_saturation_g_m3(20.0), abs=0.0006
    )
    assert transfer_coefficient_at_per_s(1.0, 20.0) == 1.0


# --- stripping ----------------------------------------------------------------------------


def test_published_removals_disagree_and_name_their_sources() -> None:
    rows = published_removals()
    assert {row.source for row in rows} <= set(sources())
    at_five = [row for row in rows if row.gas_to_liquid == 5.0]
    assert max(r.high_frac for r in at_five) > 2.0 * min(r.low_frac for r in at_five)


@given(st.floats(0.5, 30.0), st.floats(1.0, 50.0), st.floats(0.0, 40.0))
def test_what_the_water_loses_the_air_carries(
    removed: float, ratio: float, temperature: float
) -> None:
    share = stripper_outlet_air_frac(removed, ratio, temperature) - 420e-6
    carried = share * ratio * 101325.0 / (8.314462618 * (temperature + 273.15)) * 44.009
    assert carried == pytest.approx(removed, rel=1e-9)


def test_removal_is_a_share_of_the_inlet() -> None:
    assert removed_per_pass_g_m3(20.0, 0.35) == pytest.approx(7.0)
