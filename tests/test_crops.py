"""Light, water use, nutrients and printed facts of crops: against general libraries and laws."""

from __future__ import annotations

import math
import warnings
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy import constants
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

from tailrace.crops.evapotranspiration import (
    mean_saturation_vapour_pa_abs,
    psychrometric_constant_pa_k,
    reference_evapotranspiration_hargreaves_m_s,
    reference_evapotranspiration_m_s,
    saturation_vapour_allen_1998_pa_abs,
    vapour_from_humidities_pa_abs,
    vapour_from_wet_bulb_pa_abs,
    vapour_slope_pa_k,
    wind_at_two_metres_m_s,
)
from tailrace.crops.facts import (
    all_crop_facts,
    crop_facts,
    crops,
    feed_rule,
    feed_rules,
    shortages,
)
from tailrace.crops.greenhouse import (
    greenhouse_transpiration_m_s,
    lettuce_stomata_graamans_2017_m_s,
    light_caught_frac,
    tomato_stomata_stanghellini_1987_m_s,
)
from tailrace.crops.light import daily_light_mol_m2, lamp_time_s, photon_flux_mol_m2_s
from tailrace.crops.solution import ELEMENTS_G_MOL, element_in_solution_g_m3, salts
from tailrace.crops.sunshine import (
    clear_sky_radiation_w_m2,
    daylight_s,
    extraterrestrial_radiation_w_m2,
    net_heat_radiation_w_m2,
    net_solar_radiation_w_m2,
    solar_declination_rad,
    solar_radiation_w_m2,
    sunset_hour_angle_rad,
)
from tailrace.crops.uptake import nutrient_in_harvest_g, nutrient_uptake_g_m2_s
from tailrace.errors import NotKnownError, OutsideRangeError
from tailrace.quantities import suffixes
from tailrace.sources import sources
from tailrace.water.air import pressure_at_altitude_allen_1998_pa_abs, vapour_pressure_pa_abs

EVAPOTRANSPIRATION = "tailrace.crops.evapotranspiration."
SUNSHINE = "tailrace.crops.sunshine."
GREENHOUSE = "tailrace.crops.greenhouse."
PYET = "pyet 1.5.0"
MJ_D = 0.0864  # W/m2 as MJ/m2 a day
DAY_S = 86400.0


@pytest.fixture(scope="module")
def weather() -> dict[str, NDArray[np.float64]]:
    """Days over a year at 50.8 degrees north, 100 m up, made up; no measurement."""
    rng = np.random.default_rng(56)
    days = np.arange(5, 366, 12)
    mean = 10.0 - 9.0 * np.cos(2.0 * np.pi * (days - 20) / 365.0)
    swing = rng.uniform(4.0, 14.0, days.size)
    light = daylight_s(50.8, days.astype(float))
    return {
        "day": days.astype(float),
        "highest": mean + swing / 2.0,
        "lowest": mean - swing / 2.0,
        "damp": rng.uniform(0.75, 0.98, days.size),
        "dry": rng.uniform(0.35, 0.7, days.size),
        "wind": rng.uniform(0.3, 6.0, days.size),
        "sun": light * rng.uniform(0.05, 0.95, days.size),
        "light": light,
    }


@pytest.fixture(scope="module")
def library() -> Any:
    """The general library of evapotranspiration, which works on series of days."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own imports
        pd, pyet = import_module("pandas"), import_module("pyet")  # slow, wanted here alone

    def series(values: NDArray[np.float64], days: NDArray[np.float64]) -> Any:
        when = pd.to_datetime("2023-01-01") + pd.to_timedelta(days - 1.0, unit="D")
        return pd.Series(values, index=when)

    return pyet, series


@pytest.mark.outside(
    EVAPOTRANSPIRATION + "reference_evapotranspiration_m_s",
    EVAPOTRANSPIRATION + "vapour_from_humidities_pa_abs",
    SUNSHINE + "solar_radiation_w_m2",
    SUNSHINE + "net_heat_radiation_w_m2",
    SUNSHINE + "clear_sky_radiation_w_m2",
    source=PYET,
)
def test_the_whole_method_agrees_over_a_year(
    weather: dict[str, NDArray[np.float64]], library: Any
) -> None:
    pyet, series = library
    day = weather["day"]
    given_days = {key: series(values, day) for key, values in weather.items()}
    theirs = pyet.pm_fao56(
        (given_days["highest"] + given_days["lowest"]) / 2.0,
        given_days["wind"],
        tmax=given_days["highest"],
        tmin=given_days["lowest"],
        rhmax=given_days["damp"] * 100.0,
        rhmin=given_days["dry"] * 100.0,
        elevation=100.0,
        lat=math.radians(50.8),
        n=given_days["sun"] / 3600.0,
        clip_zero=False,
    ).to_numpy()
    above = extraterrestrial_radiation_w_m2(50.8, day)
    vapour = vapour_from_humidities_pa_abs(
        weather["highest"], weather["lowest"], weather["damp"], weather["dry"]
    )
    solar = solar_radiation_w_m2(above, weather["sun"], weather["light"])
    clear = clear_sky_radiation_w_m2(above, 100.0)
    lost = net_heat_radiation_w_m2(weather["highest"], weather["lowest"], vapour, solar, clear)
    ours = reference_evapotranspiration_m_s(
        (weather["highest"] + weather["lowest"]) / 2.0,
        weather["wind"],
        mean_saturation_vapour_pa_abs(weather["highest"], weather["lowest"]),
        vapour,
        net_solar_radiation_w_m2(solar) - lost,
        pressure_at_altitude_allen_1998_pa_abs(100.0),
    )
    assert np.abs(ours * 1000.0 * DAY_S - theirs).max() < 0.02  # mm a day


@pytest.mark.outside(
    EVAPOTRANSPIRATION + "reference_evapotranspiration_hargreaves_m_s", source=PYET
)
def test_the_temperature_method_agrees(
    weather: dict[str, NDArray[np.float64]], library: Any
) -> None:
    pyet, series = library
    day = weather["day"]
    highest, lowest = series(weather["highest"], day), series(weather["lowest"], day)
    mean = (highest + lowest) / 2.0
    theirs = pyet.hargreaves(mean, highest, lowest, math.radians(50.8), clip_zero=True)
    theirs = theirs * pyet.calc_lambda(mean) / 2.45  # it lets the heat of vapour vary, up to 2 %
    above = extraterrestrial_radiation_w_m2(50.8, day)
    ours = reference_evapotranspiration_hargreaves_m_s(
        above, weather["highest"], weather["lowest"]
    )
    assert ours * 1000.0 * DAY_S == pytest.approx(theirs.to_numpy(), rel=0.002)


@pytest.mark.outside(
    EVAPOTRANSPIRATION + "saturation_vapour_allen_1998_pa_abs",
    EVAPOTRANSPIRATION + "vapour_slope_pa_k",
    EVAPOTRANSPIRATION + "psychrometric_constant_pa_k",
    SUNSHINE + "solar_declination_rad",
    SUNSHINE + "sunset_hour_angle_rad",
    SUNSHINE + "daylight_s",
    SUNSHINE + "extraterrestrial_radiation_w_m2",
    source=PYET,
)
def test_the_steps_agree(library: Any) -> None:
    pyet, series = library
    days = np.arange(1.0, 366.0, 20.0)
    when = series(days, days).index
    temperature = np.linspace(-5.0, 45.0, days.size)
    warm = series(temperature, days)
    for ours, theirs in (
        (saturation_vapour_allen_1998_pa_abs(temperature) / 1000.0, pyet.calc_e0(warm)),
        (vapour_slope_pa_k(temperature) / 1000.0, pyet.calc_vpc(warm)),
        (extraterrestrial_radiation_w_m2(-20.0, days) * MJ_D, _above(pyet, when, -20.0)),
        (daylight_s(-20.0, days) / 3600.0, pyet.daylight_hours(when, math.radians(-20.0))),
        (solar_declination_rad(days), pyet.solar_declination(pyet.day_of_year(when))),
    ):
        assert ours == pytest.approx(np.asarray(theirs, dtype=float), rel=2e-3, abs=2e-4)
    angle = pyet.sunset_angle(pyet.solar_declination(pyet.day_of_year(when)), math.radians(40.0))
    assert sunset_hour_angle_rad(40.0, days) == pytest.approx(np.asarray(angle), rel=1e-3)
    assert psychrometric_constant_pa_k(81800.0) / 1000.0 == pytest.approx(pyet.calc_psy(81.8))


def _above(pyet: Any, when: Any, latitude_deg: float) -> Any:
    return pyet.extraterrestrial_r(when, math.radians(latitude_deg))


def test_the_two_curves_of_saturation_differ_little() -> None:
    temperature = np.linspace(0.0, 40.0, 81)
    ratio = saturation_vapour_allen_1998_pa_abs(temperature) / vapour_pressure_pa_abs(temperature)
    assert np.abs(ratio - 1.0).max() < 0.0025


# --- light --------------------------------------------------------------------------------


@pytest.mark.outside(
    "tailrace.crops.light.photon_flux_mol_m2_s",
    source="Planck's law with the CODATA constants of SciPy, a black body of 5772 K",
)
def test_photons_of_daylight_follow_from_the_spectrum_of_the_sun() -> None:
    def energy(wavelength_m: float) -> float:
        step = constants.h * constants.c / (wavelength_m * constants.k * 5772.0)
        return wavelength_m**-5 / math.expm1(step)

    def photons(wavelength_m: float) -> float:
        return energy(wavelength_m) * wavelength_m / (constants.h * constants.c * constants.N_A)

    joules = quad(energy, 400e-9, 700e-9, epsabs=0.0)[0]
    moles = quad(photons, 400e-9, 700e-9, epsabs=0.0)[0]
    assert photon_flux_mol_m2_s(1.0, 0.45) / 0.45 == pytest.approx(moles / joules, rel=0.02)


@given(flux=st.floats(1e-5, 2e-3), hours=st.floats(1.0, 23.0))
def test_lamps_that_burn_their_time_give_the_light_of_the_day(flux: float, hours: float) -> None:
    light = daily_light_mol_m2(flux, hours * 3600.0)
    if light <= 100.0:
        assert lamp_time_s(light, 0.0, flux) == pytest.approx(hours * 3600.0)
        assert lamp_time_s(light, light, flux) == 0.0


def test_lamps_too_weak_for_a_day_give_no_time() -> None:
    assert math.isnan(lamp_time_s(30.0, 0.0, 100e-6))


# --- nutrients ----------------------------------------------------------------------------


def test_elements_of_salts_agree_with_a_general_library_of_the_elements() -> None:
    periodictable = pytest.importorskip("periodictable")
    for salt, atoms in salts().items():
        if salt == "FeDTPA":
            continue
        theirs = {str(e): n for e, n in periodictable.formula(salt).atoms.items()}
        assert atoms == {e: n for e, n in theirs.items() if e in ELEMENTS_G_MOL}, salt
    for element, weight in ELEMENTS_G_MOL.items():
        assert weight == pytest.approx(getattr(periodictable, element).mass, rel=2e-4)


def test_an_unknown_salt_or_element_is_named() -> None:
    with pytest.raises(NotKnownError, match="salt Unobtainium is not known"):
        element_in_solution_g_m3("N", {"Unobtainium": 1.0})
    with pytest.raises(NotKnownError, match="element 'Xx' is not known"):
        element_in_solution_g_m3("Xx", {"KNO3": 1.0})


@given(fresh=st.floats(0.1, 20.0), days=st.floats(5.0, 100.0))
def test_uptake_over_a_crop_is_what_is_harvested(fresh: float, days: float) -> None:
    rate = nutrient_uptake_g_m2_s(fresh / (days * DAY_S), 0.05, 0.045)
    assert rate * days * DAY_S == pytest.approx(nutrient_in_harvest_g(fresh, 0.05, 0.045))


# --- bad input ----------------------------------------------------------------------------


def test_humidity_in_percent_and_fahrenheit_are_refused() -> None:
    with pytest.raises(OutsideRangeError, match="highest humidity is 82, outside 0 to 1"):
        vapour_from_humidities_pa_abs(25.0, 18.0, 82.0, 54.0)
    with pytest.raises(OutsideRangeError, match=r"temperature is 77 degC.*Fahrenheit"):
        saturation_vapour_allen_1998_pa_abs(77.0)


def test_what_cannot_be_is_nan() -> None:
    assert math.isnan(vapour_from_wet_bulb_pa_abs(26.0, 25.0, 1e5))
    assert math.isnan(solar_radiation_w_m2(400.0, 60000.0, 50000.0))
    assert math.isnan(reference_evapotranspiration_hargreaves_m_s(400.0, 10.0, 20.0))
    assert math.isnan(psychrometric_constant_pa_k(math.nan))


# --- tables -------------------------------------------------------------------------------


def test_the_wind_at_two_metres_is_the_wind() -> None:
    assert wind_at_two_metres_m_s(3.0, 2.0) == pytest.approx(3.0, rel=3e-4)


# --- under glass ----------------------------------------------------------------------------


@pytest.mark.outside(
    GREENHOUSE + "greenhouse_transpiration_m_s",
    source=PYET + " (Penman-Monteith with the resistances given)",
)
def test_a_crop_under_glass_is_the_big_leaf_of_the_library(library: Any) -> None:
    """Two-sided leaves: both resistances of the library are those of a leaf over 2 L."""
    pyet, series = library
    days = np.arange(1.0, 9.0)
    warm = np.array([18.0, 20.0, 22.0, 24.0, 26.0, 28.0, 30.0, 32.0])
    net, leaves, stomata, still = 150.0, 3.0, 1.0 / 250.0, 1.0 / 200.0
    vapour = 0.7 * saturation_vapour_allen_1998_pa_abs(warm)
    theirs = pyet.pm(
        series(warm, days),
        series(np.full(8, 208.0 * still * 2.0 * leaves), days),
        rn=series(np.full(8, net * MJ_D), days),
        ea=series(vapour / 1000.0, days),
        pressure=series(np.full(8, 101.325), days),
        r_s=1.0 / stomata / (2.0 * leaves),
    ).to_numpy()
    ours = greenhouse_transpiration_m_s(net, warm, vapour, leaves, stomata, still)
    assert ours * 1000.0 * DAY_S == pytest.approx(theirs, rel=0.03)


@pytest.mark.outside(
    GREENHOUSE + "greenhouse_transpiration_m_s",
    source="scipy.optimize.brentq on the energy balance of a leaf, not made straight",
)
@pytest.mark.parametrize(("net", "humidity"), [(50.0, 0.8), (150.0, 0.7), (300.0, 0.6)])
def test_the_straight_line_is_near_the_balance_of_a_leaf(net: float, humidity: float) -> None:
    air_degc, leaves, stomata, still = 24.0, 3.0, 1.0 / 150.0, 1.0 / 150.0
    vapour = humidity * saturation_vapour_allen_1998_pa_abs(air_degc)
    carries = 2.0 * leaves * 1013.0 * 101325.0 / (287.05 * (air_degc + 273.15))
    gamma = psychrometric_constant_pa_k(101325.0)

    def latent(leaf_degc: float) -> float:
        path = 1.0 / (1.0 / still + 1.0 / stomata)
        above = saturation_vapour_allen_1998_pa_abs(leaf_degc) - vapour
        return carries / gamma * above * path

    leaf_degc = brentq(
        lambda t: net - carries * (t - air_degc) * still - latent(t), air_degc - 15, air_degc + 15
    )
    ours = greenhouse_transpiration_m_s(net, air_degc, vapour, leaves, stomata, still)
    assert ours * 2.45e9 == pytest.approx(latent(leaf_degc), rel=0.05)


@pytest.mark.outside(
    GREENHOUSE + "greenhouse_transpiration_m_s",
    source="diffusion through two conductances, where a leaf is as warm as the air",
)
def test_a_leaf_as_warm_as_the_air_gives_off_what_diffuses() -> None:
    air_degc, vapour, leaves, stomata, still = 24.0, 2000.0, 3.0, 1.0 / 250.0, 1.0 / 200.0
    path = 1.0 / (1.0 / still + 1.0 / stomata)
    dry = saturation_vapour_allen_1998_pa_abs(air_degc) - vapour
    air = 2.0 * leaves * 1013.0 * 101325.0 / (287.05 * (air_degc + 273.15))
    latent = air / psychrometric_constant_pa_k(101325.0) * dry * path
    ours = greenhouse_transpiration_m_s(latent, air_degc, vapour, leaves, stomata, still)
    assert ours * 2.45e9 == pytest.approx(latent, rel=1e-9)


@given(st.floats(0.1, 8.0), st.floats(0.0, 900.0), st.floats(10.0, 38.0), st.floats(0.0, 3000.0))
def test_stomata_close_in_the_dark_in_dry_air_and_off_their_best_warmth(
    leaves: float, light: float, t: float, dry: float
) -> None:
    here = tomato_stomata_stanghellini_1987_m_s(light, leaves, t, dry)
    assert 0.0 < here <= 1.0 / 82.0
    assert tomato_stomata_stanghellini_1987_m_s(light, leaves, t, dry + 500.0) <= here
    assert tomato_stomata_stanghellini_1987_m_s(light, leaves, 24.51, dry) >= here
    assert tomato_stomata_stanghellini_1987_m_s(0.0, leaves, t, dry, 20.2) <= here * 1.49 * 8.0


def test_more_leaves_catch_more_light_and_none_catches_none() -> None:
    assert light_caught_frac(0.0) == 0.0
    assert light_caught_frac(3.0) < light_caught_frac(6.0) < 1.0


@pytest.mark.outside(
    GREENHOUSE + "light_caught_frac", source="scipy.integrate.solve_ivp of light through leaves"
)
def test_light_falls_through_leaves_by_its_equation() -> None:
    left = solve_ivp(lambda _, i: -0.7 * i, (0.0, 4.0), [1.0], rtol=1e-10, atol=1e-12).y[0, -1]
    assert light_caught_frac(4.0, 0.7) == pytest.approx(1.0 - left, rel=1e-8)


@pytest.mark.outside(
    GREENHOUSE + "lettuce_stomata_graamans_2017_m_s",
    source="158 s/m at 600 micromoles, read in a letter kept in public source code",
)
def test_lettuce_in_full_lamp_light_has_the_resistance_of_its_authors() -> None:
    assert 1.0 / lettuce_stomata_graamans_2017_m_s(600e-6) == pytest.approx(158.0, abs=0.5)


def test_there_are_twelve_crops_and_more() -> None:
    assert len(crops()) >= 12
    assert {crop.group for crop in crops().values()} == {"leafy_greens", "fruiting_vegetables"}


@pytest.mark.parametrize(
    "row", all_crop_facts(), ids=lambda r: f"{r.crop}-{r.quantity}-{r.stage}-{r.source}"
)
def test_a_fact_is_in_order(row) -> None:  # type: ignore[no-untyped-def]
    known = set(crops()) | {crop.group for crop in crops().values()} | {"any_crop"}
    assert row.crop in known
    assert row.low <= row.high
    assert row.suffix in suffixes() or row.suffix == ""
    if row.obtained == "opened":
        assert sources()[row.source].obtained == "opened"
        assert row.place
    if row.obtained == "common practice":
        assert row.source == "common_practice"
    if row.suffix == "_frac":
        assert row.low > 0.0
        assert row.high < 0.25


@pytest.mark.parametrize(
    "nutrient", ["nitrogen", "phosphorus", "potassium", "calcium", "magnesium", "iron", "sodium"]
)
def test_what_a_crop_holds_is_known_for_every_crop(nutrient: str) -> None:
    without = [key for key in crops() if not crop_facts(key, f"{nutrient}_content")]
    assert without == []


def test_every_crop_has_a_sodium_limit_and_the_most_careful_one_stands_for_the_rest() -> None:
    for key in crops():
        own, *others = crop_facts(key, "sodium_limit")
        assert all(own.low >= other.low for other in others)


def test_every_crop_has_a_light_target_of_its_own_or_of_its_group() -> None:
    assert all(crop_facts(key, "light_target") for key in crops())


def test_feed_rules_have_names_and_disagree_by_more_than_a_factor_of_two() -> None:
    assert all(rule.source in sources() for rule in feed_rules())
    assert (
        feed_rule("Rakocy 2007", "raft").high_kg_m2_s
        > 2.0 * feed_rule("Endut et al. 2010", "water_spinach").high_kg_m2_s
    )
    with pytest.raises(NotKnownError, match="there is no feed rule 'mine' for 'raft'"):
        feed_rule("mine", "raft")


def test_an_unknown_crop_is_answered_with_the_known_ones() -> None:
    with pytest.raises(NotKnownError, match=r"'triffid' is not in the table\. Known: lettuce"):
        crop_facts("triffid", "planting")


def test_what_a_plant_moves_shows_first_on_old_leaves() -> None:
    moved = {e for e, s in shortages().items() if s.leaves_first == "older"}
    assert moved == {"N", "P", "K", "Mg"}
    assert {"Ca", "Fe", "S"} == set(shortages()) - moved
    assert all(s.source in sources() for s in shortages().values())
