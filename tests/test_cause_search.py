"""`tailrace cause`: a case on a site, from the first question to the steps, kept on the way."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from tailrace.diagnosis.case import Event
from tailrace.diagnosis.causes import AMOUNTS
from tailrace.diagnosis.recorded import recorded
from tailrace.errors import InputError, NotKnownError
from tailrace.estimation.today import picture
from tailrace.operations.cause import Search, act, answered, search, shown
from tailrace.operations.record import open_record
from tests.logs import Log, prototype, stands
from tests.test_cli import AT, run, said


@pytest.fixture
def home(demo_home: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(demo_home, tmp_path / "record"))


def begun(home: Path, case: str | None = None) -> Search:
    return search(open_record(str(home)), "lantern-school", home, case=case, at=AT)


def levels(log: Log) -> dict[str, str]:
    found = recorded(picture(stands(prototype(), log.entries)))
    return {evidence.question: evidence.level for evidence in found}


def test_an_empty_record_fills_nothing_that_was_not_seen() -> None:
    assert set(levels(Log())) <= {"bead_age"}


def test_the_record_fills_what_it_shows() -> None:
    log = Log().fed_daily().add("drain", 24 * 20.0, 0.007)
    for day in (10, 14, 18):
        log.add("total_ammonia", 24.0 * day, 0.3).add("ph", 24.0 * day, 7.2)
    log.add("total_ammonia", 2.0, 1.2).add("ph", 2.0, 6.6).add("power_off", 1.0)
    found = levels(log)
    assert found["total_ammonia"] == "high"
    assert found["ph"] == "low"
    assert found["days_since_drain"] == "overdue"
    assert found["supply"] == "off"


def test_a_count_below_the_air_balance_is_few() -> None:
    log = Log().add("air_float", 30.0, prototype().filter.start.air_float_m3_s)
    assert levels(log.add("backwash_count", 1.0, 1.0))["backwash_count"] == "few"


def test_a_case_is_kept_and_taken_up_again(home: Path) -> None:
    found = answered(begun(home), 1, 2)
    again = begun(home, found.id)
    assert again.case.seen == found.case.seen
    assert shown(again) == shown(found)


def test_a_half_written_line_loses_nothing_else(home: Path) -> None:
    found = answered(begun(home), 1, 2)
    with found.file.path.open("a") as stream:
        stream.write('{"case": "c1", "act": "ans')
    again = answered(begun(home, found.id), 14, 1)
    assert any("cannot be read" in remark for remark in again.remarks)
    assert begun(home, found.id).case.seen == again.case.seen


def test_a_reading_struck_out_counts_no_more_and_stays_to_be_seen(home: Path) -> None:
    found = begun(home)
    key = next(iter(found.case.seen))
    struck = act(found, Event("strike", key))
    assert key not in struck.case.seen
    assert [row["counts"] for row in shown(struck)["evidence"]].count(False) == 1


def test_a_remedy_has_every_amount_of_the_site(home: Path) -> None:
    found = begun(home)
    for key, level in (
        ("air_float", "bottom"),
        ("bypass_handle", "more_shut"),
        ("bypass_to_open", "lifts"),
        ("two_flows", "bypass_down"),
        ("backwash_count", "none"),
    ):
        found = act(found, Event("answer", key, level))
    stands = shown(found)
    assert stands["state"] == "found"
    assert stands["causes"] == ["B1"]
    text = json.dumps(stands["remedies"])
    assert not any(f"{{{name}}}" in text for name in AMOUNTS)
    assert "degrees open" in text or "turns open" in text


def test_not_sure_and_cannot_lead_on(home: Path) -> None:
    found = answered(begun(home), 1, 2)
    first = shown(found)["question"]["key"]
    found = act(found, Event("not_sure", first))
    second = shown(found)["question"]["key"]
    found = act(found, Event("cannot", second))
    assert len({first, second, shown(found)["question"]["key"]}) == 3


def test_bad_answers_add_nothing(home: Path) -> None:
    found = answered(begun(home), 1, 2)
    with pytest.raises(InputError, match="answers 1 to 4, not 9"):
        answered(found, 1, 9)
    with pytest.raises(InputError, match="no question 999"):
        answered(found, 999, 1)
    with pytest.raises(NotKnownError, match="no cause"):
        act(found, Event("end", level="A99"))
    assert begun(home, found.id).case.events == found.case.events


def test_the_command_stops_kept_when_the_input_ends(home: Path) -> None:
    done = run("cause", "lantern-school", "--at", AT, "--complaint", "1-low", home=home)
    assert done.returncode == 0
    assert "LIKELIEST" in done.stdout
    assert "--case c1" in done.stdout


def test_the_command_tells_what_is_not_known(home: Path) -> None:
    assert "there is no case c9" in said(
        run("cause", "lantern-school", "--case", "c9", "--at", AT, home=home)
    )
    assert "--complaint ?" in said(run("cause", "lantern-school", "--complaint", "x", home=home))


def test_what_it_was_is_kept(home: Path) -> None:
    found = answered(begun(home), 1, 2)
    words = ("cause", "lantern-school", "--case", found.id, "--at", AT, "--confirm")
    assert run(*words, "A3", home=home).returncode == 0
    assert begun(home, found.id).case.outcome == "A3"
    assert "no cause" in said(run(*words, "A99", home=home))
