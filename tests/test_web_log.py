"""Writing the log in a browser: said back, stored once, corrected; who may not is refused."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tailrace.advice.checks import _table
from tailrace.operations import accounts as a
from tailrace.operations.record import open_record
from tailrace.quantities import subjects
from tailrace.records.accounts import Account, Role
from tailrace.records.store import Store
from tailrace.web.app import create_app
from tailrace.web.log_forms import CHECKS, DOSES, OTHERS, SETTINGS, TESTS, line_from, new_key

BASE = "http://127.0.0.1"
WORDS = "four wet words here"
SITE, OTHER = "lantern-school", "millrace-yard"
LOG = f"/s/{SITE}/log"


@pytest.fixture
def app(demo_home: Path, tmp_path: Path) -> FastAPI:
    made = create_app(open_record(str(shutil.copytree(demo_home, tmp_path / "record"))))
    accounts, at = made.state.accounts, datetime.now(UTC) - timedelta(hours=1)
    a.make_owner(accounts, a.first_key(accounts, at=at), login="olu", password=WORDS, at=at)
    for login, role in (("gia", Role.GROWER), ("vik", Role.VIEWER)):
        once = a.invite(accounts, Account(login, login, role, (SITE,)), at=at)
        a.set_password(accounts, once, WORDS, at=at)
    return made


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, base_url=BASE, follow_redirects=False) as made:
        yield sign_in(made, "gia")


def sign_in(client: TestClient, login: str) -> TestClient:
    client.cookies.clear()
    assert client.post("/sign-in", data={"login": login, "password": WORDS}).status_code == 303
    client.headers["Origin"] = BASE
    return client


@pytest.fixture
def store(app: FastAPI) -> Store:
    found: Store = app.state.store
    return found


def field(text: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', text)
    assert found is not None, name
    return html.unescape(found[1])


def look(client: TestClient, text: str) -> dict[str, str]:
    page = client.post(f"{LOG}/look", data={"text": text})
    assert page.status_code == 200
    return {name: field(page.text, name) for name in ("key", "typed_at", "text")}


def test_a_line_is_said_back_then_stored_once(client: TestClient, store: Store) -> None:
    before = len(store.entries(SITE))
    form = look(client, "ph 7,1; drained 1.5 gal black then clear")
    assert len(store.entries(SITE)) == before  # said back, not stored
    first = client.post(LOG, data=form)
    assert first.status_code == 303
    again = client.post(LOG, data=form)
    assert again.headers["location"] == first.headers["location"]
    new = store.entries(SITE)[before:]
    assert [(e.subject, e.text, e.who) for e in new] == [
        ("ph", "7,1", "gia"),
        ("drain", "1.5 gal", "gia"),
    ]
    page = client.get(first.headers["location"]).text
    assert "black then clear" in page
    assert "7,1" in page
    other = client.post(LOG, data={**form, "text": "ph 7.9"})
    assert other.status_code == 409
    assert "ph 7.9" in other.text  # the typed text stands in the box
    assert len(store.entries(SITE)) == before + 2


def test_what_can_be_read_two_ways_is_asked_in_place(client: TestClient, store: Store) -> None:
    before = len(store.entries(SITE))
    page = client.post(f"{LOG}/look", data={"text": "ph 7.0; nitrite 0.25"}).text
    assert 'value="ph 7.0; nitrite 0.25 as NO2"' in page
    assert "Store " not in page
    assert ">ph 7.0; nitrite 0.25</textarea>" in page
    form = {"text": "ph 7.0; nitrite 0.25", "key": new_key(),
            "typed_at": datetime.now(UTC).isoformat()}  # fmt: skip
    refused = client.post(LOG, data=form)
    assert refused.status_code == 400
    assert "not clear yet" in refused.text
    assert len(store.entries(SITE)) == before
    assert client.post(f"{LOG}/look", data={"text": " ; "}).status_code == 400


def test_a_form_too_old_or_from_the_future_is_said_back_anew(
    client: TestClient, store: Store
) -> None:
    before = len(store.entries(SITE))
    for at in ("2020-01-01T00:00+00:00", "2999-01-01T00:00+00:00", "soon", "2026-11-20T10:00"):
        answer = client.post(LOG, data={"text": "ph 7.0", "typed_at": at, "key": new_key()})
        assert answer.status_code == 200
        assert "Nothing is stored yet" in answer.text
    assert client.post(LOG, data={"text": "ph 7", "typed_at": "x", "key": "x"}).status_code == 400
    assert len(store.entries(SITE)) == before


@pytest.mark.parametrize("subject", [*TESTS, *OTHERS, *DOSES, *SETTINGS])
def test_every_form_is_understood(client: TestClient, subject: str) -> None:
    page = client.get(LOG).text
    block = page.split(f'name="what" value="{subject}"')[1].split('name="what"')[0]
    units = re.findall(r"<option>([^<]+)</option>", block.split("<p class")[0]) or [""]
    known = subjects()[subject]
    value = "0.25" if known.suffix in {"_n_g_m3", "_m3_s", "_frac"} else "7"
    if subject == "water_temperature":
        value = "68" if "F" in units[0] else "20"
    rows = {"what": [subject, "ph"], "value": [value, ""], "unit": [units[0], ""]}
    said = client.post(f"{LOG}/fill", data={**rows, "when": "10 min ago"})
    assert said.status_code == 200
    assert "Cannot be taken" not in said.text
    if "Store this" not in said.text:  # a unit that is read two ways is asked; answer it
        said = client.post(f"{LOG}/look", data={"text": field(said.text, "text")})
    assert "Store this" in said.text, html.unescape(said.text)


def test_an_empty_or_broken_form_is_refused(client: TestClient) -> None:
    empty = client.post(f"{LOG}/fill", data={"what": "ph", "value": " ", "unit": ""})
    assert empty.status_code == 400
    assert "no number was filled in" in empty.text.lower()
    odd = client.post(f"{LOG}/fill", data={"what": "gold", "value": "1", "unit": "kg"})
    assert odd.status_code == 400
    pieces = client.post(f"{LOG}/fill", data={"what": ["ph", "feed"], "value": "1", "unit": ""})
    assert pieces.status_code == 400
    text = line_from(["drain"], ["1,5"], ["gal"], when="", more="black; then clear")
    assert text == "drain 1,5 gal black, then clear"


def test_a_note_is_kept_as_typed_and_once(client: TestClient, store: Store) -> None:
    before = len(store.entries(SITE))
    text = "<script>alert(1)</script>; two things\nand a line"
    form = {"text": text, "key": new_key()}
    answer = client.post(f"{LOG}/note", data=form)
    assert answer.status_code == 303
    assert client.post(f"{LOG}/note", data=form).status_code in {303, 409}
    entries = store.entries(SITE)
    assert len(entries) == before + 1
    assert entries[-1].note.replace("\r\n", "\n") == text
    page = client.get(LOG).text
    assert "<script>" not in page
    assert "&lt;script&gt;alert(1)" in page
    assert "<script>" not in client.get(f"{LOG}/{entries[-1].id}").text
    assert "<script>" not in client.post(f"{LOG}/look", data={"text": text}).text
    assert client.post(f"{LOG}/note", data={"text": " ", "key": new_key()}).status_code == 400


def test_a_backwash_seen_retimes_the_round(client: TestClient, store: Store) -> None:
    page = client.get(f"/s/{SITE}/round").text
    assert "Saw a backwash" in page
    before = store.entries(SITE)
    form = {"seen": "backwash", "minutes": "5", "key": new_key()}
    for _ in range(2):
        assert client.post(f"{LOG}/tap", data=form).headers["location"] == f"/s/{SITE}/round"
    new = store.entries(SITE)[len(before) :]
    assert [(e.subject, e.who) for e in new] == [("backwash", "gia")]
    assert timedelta(minutes=5) <= datetime.now(UTC) - new[0].taken_at < timedelta(minutes=7)
    made = client.get(f"/api/v1/s/{SITE}/round").json()
    check = next(each for each in made["checks"] if each["what"] == "Log a backwash")
    assert check["readings"] == [new[0].id]
    assert client.get(f"/s/{SITE}/round").text != page
    client.post(f"{LOG}/tap", data={"seen": "walked", "key": new_key()})
    walked = store.entries(SITE)[-1]
    assert (walked.subject, walked.note) == ("walked", "fish and return seen and fine")
    for wrong in ({"seen": "pump"}, {"seen": "backwash", "minutes": "-1"}):
        answer = client.post(f"{LOG}/tap", data={"key": new_key(), **wrong})
        assert answer.status_code == 400


def test_the_checks_of_the_house_have_their_boxes() -> None:
    known = {row["key"]: row["subjects"].split("|") for row in _table()}
    assert set(known) - set(CHECKS) == {"backwash", "return_flow"}  # these are taps
    assert all(subject in known[what] for what, subject in CHECKS.items())


def test_an_entry_is_corrected_and_withdrawn_with_its_history(
    client: TestClient, store: Store
) -> None:
    name = client.post(LOG, data=look(client, "ph 7.1")).headers["location"].split("=")[1]
    page = client.get(f"{LOG}/{name}").text
    assert 'value="7.1"' in page
    bare = client.post(f"{LOG}/{name}/correct", data={"value": "7.3", "unit": "", "why": " "})
    assert bare.status_code == 400
    assert 'value="7.3"' in bare.text
    wrong = client.post(f"{LOG}/{name}/correct", data={"value": "high", "why": "misread"})
    assert wrong.status_code == 400
    assert 'value="misread"' in wrong.text
    good = client.post(f"{LOG}/{name}/correct", data={"value": "7.3", "why": "misread"})
    new = good.headers["location"].rsplit("/", 1)[1]
    told = client.get(good.headers["location"]).text
    assert "misread (gia)" in told
    assert "counts no more" in told
    assert [e.text for e in store.entries(SITE) if e.id == new] == ["7.3"]
    gone = client.post(f"{LOG}/{new}/withdraw", data={"why": "twice"})
    assert gone.status_code == 303
    assert "withdrawn: twice (gia)" in client.get(f"{LOG}/{new}").text
    assert not {name, new} & {e.id for e in store.entries(SITE)}
    assert client.post(f"{LOG}/{new}/withdraw", data={"why": "again"}).status_code == 404


def acts(store: Store, site: str) -> dict[str, dict[str, str]]:
    """Every act that writes, with fields that would be taken."""
    entry = next(e.id for e in reversed(store.entries(site)) if e.subject == "ph")
    log = f"/s/{site}/log"
    at = datetime.now(UTC).isoformat()
    return {
        f"{log}/look": {"text": "ph 7.0"},
        f"{log}/fill": {"what": "ph", "value": "7", "unit": ""},
        log: {"text": "ph 7.0", "typed_at": at, "key": new_key()},
        f"{log}/note": {"text": "x", "key": new_key()},
        f"{log}/tap": {"seen": "backwash", "key": new_key()},
        f"{log}/{entry}/correct": {"value": "7.2", "why": "x"},
        f"{log}/{entry}/withdraw": {"why": "x"},
    }


def test_who_may_not_write_is_refused(client: TestClient, store: Store) -> None:
    count = len(store.all_entries(SITE)), len(store.entries(SITE)), len(store.entries(OTHER))
    forged = {"Origin": "https://example.org"}
    for address, form in acts(store, SITE).items():
        assert client.post(address, data=form, headers=forged).status_code == 403, address
    for address, form in acts(store, OTHER).items():
        assert client.post(address, data=form).status_code == 404, address
    assert client.get(f"/s/{OTHER}/log").status_code == 404
    foreign = (
        {e.id for e in store.entries(OTHER)} - {e.id for e in store.all_entries(SITE)}
    ).pop()
    for end in ("correct", "withdraw"):  # an entry of another site under the own one's address
        form = {"value": "7", "why": "x"}
        assert client.post(f"{LOG}/{foreign}/{end}", data=form).status_code == 404
    assert client.get(f"{LOG}/{foreign}").status_code == 404
    sign_in(client, "vik")
    for address, form in acts(store, SITE).items():
        assert client.post(address, data=form).status_code == 403, address
    page = client.get(LOG)
    assert page.status_code == 200
    assert "<textarea" not in page.text
    assert "/log/tap" not in client.get(f"/s/{SITE}/round").text
    client.cookies.clear()
    for address, form in acts(store, SITE).items():
        assert client.post(address, data=form).status_code == 401, address
    assert client.get(LOG).status_code == 303
    assert count == (
        len(store.all_entries(SITE)),
        len(store.entries(SITE)),
        len(store.entries(OTHER)),
    )


def test_without_an_account_the_log_is_read_only(demo_home: Path) -> None:
    app = create_app(open_record(str(demo_home)))
    with TestClient(app, base_url=BASE, follow_redirects=False) as client:
        page = client.get(LOG)
        assert page.status_code == 200
        assert "these pages only read" in page.text
        for address, form in acts(app.state.store, SITE).items():
            assert client.post(address, data=form).status_code == 403, address
