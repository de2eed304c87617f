"""The forecast: bands that hold what is known, from logs good and odd; never NaN, never silent."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest

from tailrace.diagnosis import findings
from tailrace.estimation.bands import DAY_S, FORECAST, Forecast, from_body, to_body
from tailrace.estimation.forecast import forecast
from tailrace.estimation.learnt import air_per_backwash, prior_log_sd
from tailrace.estimation.today import picture
from tailrace.operations.record import newest_moment, open_record, site_reading
from tailrace.operations.rounds import Ahead, todays_round
from tests.logs import SCFH_M3_S, Log, prototype, stands

SITE = prototype()
FEW = 40


def ahead(log: Log, *, members: int = FEW, seed: int = 3) -> Forecast:
    return forecast(picture(stands(SITE, log.entries)), members=members, seed=seed)


def well_tested() -> Log:
    log = Log().fed_daily()
    for days in range(7):
        at = 24.0 * days + 2.0
        log.add("drain", at + 1.0, 0.007).add("top_up", at + 2.0, 0.02)
        log.add("bicarbonate_dose", at + 3.0, 0.04)
    log.add("ph", 2.0, 7.05, 7.15).add("alkalinity", 2.0, 0.9, 1.1)
    return log.add("total_ammonia", 2.0, 0.45, 0.55).add("nitrite", 2.0, 0.28, 0.32)


def test_bands_are_in_order_and_finite() -> None:
    made = ahead(well_tested())
    assert not made.failed
    assert [band.subject for band in made.bands] == list(FORECAST)
    for band in made.bands:
        assert np.isfinite([band.p05, band.p50, band.p95]).all()
        assert (band.p05 <= band.p50).all()
        assert (band.p50 <= band.p95).all()
        assert set(band.after) == {3 * DAY_S, 7 * DAY_S}


def test_a_reading_draws_the_band_to_itself_and_time_widens_it() -> None:
    made = ahead(well_tested(), members=100)
    band = made.band("total_ammonia")
    now = int(np.argmin([abs((t - made.at).total_seconds()) for t in made.times]))
    assert 0.2 < band.p50[now] < 1.0
    width = np.log(band.p95 / band.p05)
    assert width[-1] > width[now]
    assert np.log(band.p95[now] / band.p05[now]) > 0.1  # never narrower than kit and reading


def test_same_seed_same_numbers_and_another_seed_others() -> None:
    first, again, other = (ahead(well_tested(), seed=s) for s in (3, 3, 4))
    assert (first.band("nitrite").p50 == again.band("nitrite").p50).all()
    assert (first.band("nitrite").p50 != other.band("nitrite").p50).any()


def three_weeks_gap() -> Log:
    return Log().add("ph", 24.0 * 24, 7.0).add("feed", 24.0 * 24, 0.3)


def contradictory() -> Log:
    log = well_tested()
    return log.add("total_ammonia", 2.0, 8.0).add("ph", 1.9, 8.9).add("ph", 1.8, 6.0)


def pump_off() -> Log:
    return well_tested().add("water_pump_off", 49.0).add("water_pump_on", 1.0)


def no_alkalinity() -> Log:
    return well_tested().add("alkalinity", 1.0, 0.0)


@pytest.mark.parametrize(
    "log",
    [
        Log,
        lambda: Log().add("ph", 3.0, 7.0),
        three_weeks_gap,
        contradictory,
        pump_off,
        no_alkalinity,
    ],
    ids=["empty", "one reading", "gap", "contradictory", "pump off", "no alkalinity"],
)
def test_an_odd_log_gives_a_forecast_or_a_sentence(log: type[Log]) -> None:
    made = ahead(log())
    if made.failed:
        assert len(made.failed) > 20
        return
    for band in made.bands:
        assert np.isfinite([band.p05, band.p95]).all()
        assert band.after[7 * DAY_S].p95 > band.after[7 * DAY_S].p05  # type: ignore[operator]
    assert made.assumed


def test_more_feed_means_more_ammonia_ahead() -> None:
    def ammonia(kg: float) -> float:
        return ahead(Log().fed_daily(kg=kg)).band("total_ammonia").after[7 * DAY_S].p50

    assert ammonia(0.9) > ammonia(0.15)


def test_a_limit_ahead_is_found_soonest_first() -> None:
    log = Log().fed_daily(kg=0.9).add("water_pump_off", 1.0)
    seen = picture(stands(SITE, log.entries))
    made = forecast(seen, members=FEW)
    assert made.crossings
    firsts = [crossing.first_s for crossing in made.crossings]
    assert firsts == sorted(firsts)
    found = [f for f in findings(seen, made) if f.key == "limit_ahead"]
    assert found
    assert all(f.amounts["share"].p50 >= 0.05 for f in found)


def test_air_per_backwash_is_learnt_from_count_and_float() -> None:
    def learnt(count: float, days: int) -> tuple[float, float]:
        log = Log()
        for day in range(days):
            log.add("backwash_count", 24.0 * day + 2.0, count)
            log.add("air_float", 24.0 * day + 6.0, 0.15 * SCFH_M3_S)
        now = stands(SITE, log.entries)
        made = air_per_backwash(now, picture(stands(SITE)).air.nominal)
        return made.factor, made.log_sd

    none, prior = learnt(6.0, 0)
    assert (none, prior) == (1.0, prior_log_sd())
    few, many = learnt(4.0, 2), learnt(4.0, 6)
    assert few[0] > 1.0  # fewer backwashes than the air should give: each takes more air
    assert many[1] < few[1] < prior
    assert learnt(9.0, 4)[0] < 1.0


def test_every_forecast_issued_is_kept_with_what_was_known(
    demo_home: Path, tmp_path: Path
) -> None:
    import shutil  # noqa: PLC0415

    store = open_record(str(shutil.copytree(demo_home, tmp_path / "record")))
    site = site_reading(store, "lantern-school").site
    at = newest_moment(store, site)
    assert at is not None
    earlier = (at - timedelta(days=2)).isoformat()
    before = {kept.key for kept in store.forecasts("lantern-school")}
    made = todays_round(store, "lantern-school", at=earlier)
    again = todays_round(store, "lantern-school", at=earlier)
    assert again == made  # from the record, to the last digit
    todays_round(store, "lantern-school", at=at.isoformat(), ahead=Ahead.SHOWN)
    (kept,) = (k for k in store.forecasts("lantern-school") if k.key not in before)
    assert to_body(from_body(kept.body)) == kept.body
    assert kept.seed == made["seed"]
    held = store.entries("lantern-school")
    known = {entry.uid for entry in held if entry.taken_at <= kept.at}
    assert set(kept.entries) == known
