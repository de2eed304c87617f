"""What a water change does: dilution, and pH by mixing alkalinity and inorganic carbon."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from tailrace.advice.water_change import Changed, water_change
from tailrace.errors import InputError
from tailrace.estimation.today import picture
from tailrace.observations import Interval
from tailrace.site import Site, SourceWater, Treatment
from tests.logs import Log, prototype, stands

TANK = {"ph": 6.9, "alkalinity": 0.9, "total_ammonia": 2.0, "nitrite": 1.0, "nitrate": 40.0}
SOURCE = SourceWater("well", Treatment.NONE, 20.0, 7.8, 2.4, None, 3.0)


def after(share: float, source: SourceWater = SOURCE) -> dict[str, Changed]:
    site: Site = replace(prototype(), source_water=source)
    log = Log().add("water_temperature", 2.0, 27.0)
    for subject, value in TANK.items():
        log.add(subject, 2.0, value)
    made = water_change(picture(stands(site, log.entries)), share)
    return {row.subject: row for row in made.changed}


def middle(row: Changed) -> float:
    assert row.after is not None
    return row.after.p50


def test_dilution() -> None:
    rows = after(0.3)
    assert middle(rows["total_ammonia"]) == pytest.approx(0.7 * 2.0)
    assert middle(rows["nitrate"]) == pytest.approx(0.7 * 40.0 + 0.3 * 3.0)
    assert middle(rows["alkalinity"]) == pytest.approx(0.7 * 0.9 + 0.3 * 2.4)


def test_what_is_not_known_of_the_make_up_water_is_said() -> None:
    rows = after(0.3, replace(SOURCE, nitrate_n_g_m3=None, ph=None))
    assert rows["nitrate"].after is None
    assert "make-up water" in rows["nitrate"].why_not
    assert rows["ph"].after is None


@pytest.mark.parametrize("share", [0.0, -0.1, 0.6])
def test_a_share_that_is_not_worked_out(share: float) -> None:
    with pytest.raises(InputError, match="up to 50 %"):
        after(share)


def test_a_top_step_that_is_open_stays_an_interval() -> None:
    log = Log().add("total_ammonia", 2.0, 5.0, float("inf"))
    made = water_change(picture(stands(prototype(), log.entries)), 0.25)
    row = next(r for r in made.changed if r.subject == "total_ammonia")
    assert row.after is not None
    assert row.after.p95 is not None
    assert Interval(row.after.p50, row.after.p95).high < float("inf")


@pytest.fixture(scope="module")
def geochemistry() -> Any:
    import phreeqpython  # noqa: PLC0415  # slow to import

    return phreeqpython.PhreeqPython()


@pytest.mark.parametrize("share", [0.1, 0.25, 0.5])
def test_ph_after_mixing_agrees_with_a_geochemistry_library(
    geochemistry: Any, share: float
) -> None:
    """Two sodium bicarbonate waters of 27 and 20 degC mixed by PHREEQC (phreeqpython)."""

    def water(ph: float, alkalinity: float, degc: float) -> Any:
        made = {"pH": ph, "Alkalinity": alkalinity, "Na": f"{alkalinity} charge"}
        return geochemistry.add_solution({**made, "temp": degc, "units": "mmol/L"})

    tank, source = water(6.9, 0.9, 27.0), water(7.8, 2.4, 20.0)
    mixed = geochemistry.mix_solutions({tank: 1.0 - share, source: share})
    assert middle(after(share)["ph"]) == pytest.approx(mixed.pH, abs=0.03)
