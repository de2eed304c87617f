"""The pages as a browser's requests meet them: same sentences, plain faults, own names only."""

from __future__ import annotations

import json
import re
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tailrace import __version__
from tailrace.cli.serve import HOST, listen
from tailrace.errors import InputError
from tailrace.operations.imports import preview_file, store_file
from tailrace.operations.record import open_record
from tailrace.operations.rounds import todays_round
from tailrace.operations.sites import load_site_file
from tailrace.web.app import create_app
from tests.browser import MOMENTS, PAGES, addresses
from tests.logs import DEMOS, RECEIVED
from tests.words import misused_words, unknown_words

# names of the invented sites and people, and what they typed into the log
NAMES = (
    "Mo",
    "KT",
    "Dana",
    "Ro",
    "Ilse",
    "Lantern",
    "Millrace",
    "Yard",
    "Tailrace",
    "lantern",
    "photometer",
)


@pytest.fixture(scope="module")
def client(demo_home: Path) -> Iterator[TestClient]:
    with TestClient(create_app(open_record(str(demo_home))), base_url="http://127.0.0.1") as made:
        yield made


def words(html: str) -> str:
    """What a page says, outside its drawings."""
    body = re.sub(r"<svg.*?</svg>", " ", html[html.index("<main") :], flags=re.S)
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", body)).split())


def test_the_round_page_says_every_sentence_of_the_object(
    client: TestClient, demo_home: Path
) -> None:
    for name, at in MOMENTS.items():
        made = todays_round(open_record(str(demo_home)), name, at=at)
        said = words(client.get(f"/s/{name}/round", params={"at": at}).text)
        lines = made["attention"]
        sentences = [line[part] for line in lines for part in ("seen", "means", "do", "caution")]
        sentences += [line["title"] for line in lines]
        sentences += [check[part] for check in made["checks"] for part in ("what", "how")]
        sentences += [made["backwash"]["say"], made["drain"]["say"], made["drain"]["caution"]]
        sentences += [line["say"] for line in (*made["assumed"], *made["not_measured"])]
        for sentence in sentences:
            assert " ".join(sentence.split()) in said


def test_a_forecast_of_the_round_is_said_in_its_own_words(
    demo_home: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    line = {"after": "3 days", "say": "In 3 days pH 7.2 (7 to 7.4)."}
    row: dict[str, Any] = {"quantity": "ph", "label": "pH", "unit": "", "in_words": [line]}
    row |= {"times": ["2026-11-09T09:00-07:00", "2026-11-12T09:00-07:00"]}
    row |= {"p05": [7.0, 7.0], "p50": [7.2, 7.2], "p95": [7.4, 7.4]}
    say = "90 % band, not yet scored against outcomes."
    forecast = {"say": say, "quantities": [row]}

    def with_forecast(*given: Any, **more: Any) -> dict[str, Any]:
        return {**todays_round(*given, **more), "forecast": forecast}

    monkeypatch.setattr("tailrace.web.answers.todays_round", with_forecast)
    app = create_app(open_record(str(demo_home)), at=MOMENTS["lantern-school"])
    with TestClient(app, base_url="http://127.0.0.1") as client:
        for page in ("round", "water"):
            said = words(client.get(f"/s/lantern-school/{page}").text)
            assert say in said
            assert line["say"] in said


def test_attention_stands_first_and_in_order(client: TestClient, demo_home: Path) -> None:
    at = MOMENTS["lantern-school"]
    made = todays_round(open_record(str(demo_home)), "lantern-school", at=at)
    said = words(client.get("/s/lantern-school/round", params={"at": at}).text)
    places = [said.index(line["title"]) for line in made["attention"]]
    assert places == sorted(places)
    assert places[-1] < said.index("Checks, in walking order") < said.index("Backwash and air")


def test_the_api_gives_the_bytes_of_the_terminal(client: TestClient, demo_home: Path) -> None:
    at = MOMENTS["lantern-school"]
    done = subprocess.run(
        [
            *(sys.executable, "-m", "tailrace.cli", "round", "lantern-school", "--json"),
            *("--at", at, "--home", str(demo_home)),
        ],
        capture_output=True,
        check=True,
    )
    answer = client.get("/api/v1/s/lantern-school/round", params={"at": at})
    assert answer.content == done.stdout
    assert answer.headers["content-type"].startswith("application/json")


def test_filter_and_water_pages_show_the_same_object(client: TestClient, demo_home: Path) -> None:
    for name, at in MOMENTS.items():
        made = todays_round(open_record(str(demo_home)), name, at=at)
        page = words(client.get(f"/s/{name}/filter", params={"at": at}).text)
        assert made["backwash"]["say"] in page
        assert made["drain"]["say"] in page
        water = words(client.get(f"/s/{name}/water", params={"at": at}).text)
        for row in made["not_measured"]:
            assert row["say"] in water


@pytest.mark.parametrize("days", [1, 7, 30, 365])
def test_every_range_and_both_families(client: TestClient, days: int) -> None:
    for name, at in MOMENTS.items():
        for units in ("us", "metric"):
            asked: dict[str, Any] = {"at": at, "days": days, "units": units}
            answer = client.get(f"/s/{name}/water", params=asked)
            assert answer.status_code == 200
            assert len(answer.content) < 100_000


def test_every_page_is_below_a_hundred_kilobytes_and_names_its_moment(client: TestClient) -> None:
    for name, address in addresses().items():
        answer = client.get(address)
        assert answer.status_code == 200
        assert len(answer.content) < 100_000
        assert __version__ in answer.text
        if name not in {"sites", "about"}:
            for label in ("Site", "As of", "Newest entry", "Version"):
                assert f"<dt>{label}</dt>" in answer.text


def test_words_on_pages_are_plain_or_in_the_glossary(client: TestClient) -> None:
    for address in addresses().values():
        for sentence in re.split(r"(?<=[.;:]) ", words(client.get(address).text)):
            plain = re.sub(r"'[^']*'|\be\d+\b|lantern-school|millrace-yard", "", sentence)
            assert not unknown_words(plain, also=NAMES), sentence
            assert not misused_words(plain), sentence


def test_links_keep_moment_and_units(client: TestClient) -> None:
    page = client.get("/s/lantern-school/round?at=2026-11-09T08:24&units=metric").text
    assert "/s/lantern-school/water?at=2026-11-09T08%3A24&amp;units=metric" in page


def test_a_plus_sign_typed_into_an_address_is_understood(client: TestClient) -> None:
    made = client.get("/api/v1/s/millrace-yard/round?at=2026-11-09T07:28+01:00").json()
    assert made["at"] == "2026-11-09T07:28+01:00"


@pytest.mark.parametrize(
    ("address", "status", "part"),
    [
        ("/s/nowhere/round", 404, "is not in the record"),
        ("/s/nowhere/water", 404, "is not in the record"),
        ("/nothing", 404, "no such page"),
        ("/docs", 404, "no such page"),
        ("/openapi.json", 404, "no such page"),
        ("/assets/000000000000/tailrace.css", 404, "no such page"),
        ("/s/lantern-school/water?days=8", 400, "1, 7, 30, 365"),
        ("/s/lantern-school/water?days=many", 400, "(days)"),
        ("/s/lantern-school/round?units=imperial", 400, "(units)"),
        ("/s/lantern-school/round?at=soon", 400, "no moment"),
        ("/s/lantern-school/round?at=" + "9" * 50, 400, "(at)"),
    ],
)
def test_faults_are_plain_words(client: TestClient, address: str, status: int, part: str) -> None:
    answer = client.get(address)
    assert answer.status_code == status
    assert part in words(answer.text)
    assert "Traceback" not in answer.text


def test_faults_of_the_api_are_json(client: TestClient) -> None:
    answer = client.get("/api/v1/s/nowhere/round")
    assert answer.status_code == 404
    assert answer.json()["error"]["status"] == 404
    assert "nowhere" in answer.json()["error"]["says"]


def test_an_unforeseen_fault_tells_nothing_of_the_inside(demo_home: Path) -> None:
    def broken() -> datetime:
        raise RuntimeError("the inside")

    app = create_app(open_record(str(demo_home)), clock=broken)
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        answer = client.get("/s/lantern-school/round")
    assert answer.status_code == 500
    assert "the inside" not in answer.text
    assert "What was confirmed before is kept" in answer.text
    assert "default-src 'self'" in answer.headers["content-security-policy"]


def test_only_own_names_are_answered(client: TestClient) -> None:
    for host in ("127.0.0.1:8640", "localhost:8640", "localhost"):
        assert client.get("/about", headers={"Host": host}).status_code == 200
    for host in ("example.org", "127.0.0.1.example.org", "192.0.2.1", ""):
        assert client.get("/about", headers={"Host": host}).status_code == 400


def test_without_an_account_nothing_can_be_written(client: TestClient) -> None:
    for address in addresses().values():
        for method in ("POST", "PUT", "PATCH", "DELETE"):
            answer = client.request(method, address)
            assert answer.status_code in {403, 405}


def test_looking_changes_no_byte_of_the_record(client: TestClient, demo_home: Path) -> None:
    def content() -> list[str]:
        with closing(sqlite3.connect(demo_home / "record.sqlite3")) as connection:
            return list(connection.iterdump())

    before = content()
    for address in addresses().values():
        client.get(address)
    assert content() == before


def test_a_browser_is_told_to_load_from_here_alone(client: TestClient) -> None:
    for address in [*addresses().values(), "/nothing"]:
        answer = client.get(address)
        policy = answer.headers["content-security-policy"]
        assert policy.startswith("default-src 'self'; script-src 'self'; base-uri 'none'")
        assert not re.search(r"<script(?! src=\"/assets/)|\sstyle=|\son\w+=", answer.text)
        assert not re.search(r"(?:href|src)=\"(?:https?:)?//", answer.text)
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cache-control"] == "no-store"


def test_assets_may_be_kept_for_ever(client: TestClient) -> None:
    page = client.get("/about").text
    found = re.findall(r'href="(/assets/[^"]+)"', page)
    assert len(found) == 2
    for address in found:
        answer = client.get(address)
        assert answer.status_code == 200
        assert "immutable" in answer.headers["cache-control"]


def test_the_only_site_is_gone_to_at_once(tmp_path: Path) -> None:
    store = open_record(str(tmp_path), create=True)
    load_site_file(store, DEMOS["millrace-yard"] / "site.toml", now=RECEIVED)
    with TestClient(create_app(store), base_url="http://127.0.0.1") as client:
        answer = client.get("/?units=us", follow_redirects=False)
        assert answer.status_code == 307
        assert answer.headers["location"] == "/s/millrace-yard/round?units=us"
        for page in PAGES:  # an empty log gives pages too
            answer = client.get(f"/s/millrace-yard/{page}")
            assert answer.status_code == 200
            assert "none" in answer.text


def test_without_a_moment_the_pages_are_of_this_minute(demo_home: Path) -> None:
    now = datetime(2026, 11, 9, 15, 24, tzinfo=UTC)
    app = create_app(open_record(str(demo_home)), clock=lambda: now)
    with TestClient(app, base_url="http://127.0.0.1") as client:
        made = client.get("/api/v1/s/lantern-school/round").json()
    assert made["at"] == "2026-11-09T08:24-07:00"


def test_serve_may_answer_as_of_a_given_moment(demo_home: Path) -> None:
    app = create_app(open_record(str(demo_home)), at="2026-11-09 08:24")
    with TestClient(app, base_url="http://127.0.0.1") as client:
        assert (
            client.get("/api/v1/s/lantern-school/round").json()["at"].startswith("2026-11-09T08")
        )
        other = client.get("/api/v1/s/lantern-school/round?at=2026-10-20").json()
    assert other["at"].startswith("2026-10-20T12:00")


def test_a_new_entry_gives_a_new_answer(tmp_path: Path) -> None:
    name, folder = "lantern-school", DEMOS["lantern-school"]
    store = open_record(str(tmp_path), create=True)
    load_site_file(store, folder / "site.toml", now=RECEIVED)
    app = create_app(store, at=MOMENTS[name])
    with TestClient(app, base_url="http://127.0.0.1") as client:
        before = client.get(f"/api/v1/s/{name}/round").json()
        store_file(store, preview_file(store, name, folder / "log.csv", now=RECEIVED))
        after = client.get(f"/api/v1/s/{name}/round").json()
    assert json.dumps(before) != json.dumps(after)


def test_a_busy_port_is_one_plain_sentence(demo_home: Path) -> None:
    with closing(listen(0)) as busy:
        port = busy.getsockname()[1]
        done = subprocess.run(
            [
                *(sys.executable, "-m", "tailrace.cli", "serve"),
                *("--port", str(port), "--home", str(demo_home)),
            ],
            capture_output=True,
            text=True,
            check=False,
        )
        with pytest.raises(InputError, match="--port"):
            listen(port)
    assert done.returncode == 1
    assert done.stderr.startswith(f"tailrace: port {port}")
    assert "Traceback" not in done.stderr
    assert done.stderr.count("\n") == 1


def test_serve_listens_on_this_machine_alone() -> None:
    with closing(listen(0)) as listening:
        assert listening.getsockname()[0] == HOST == "127.0.0.1"
        assert listening.family is socket.AF_INET


def test_serve_without_a_record_or_a_moment_says_so(demo_home: Path, tmp_path: Path) -> None:
    for words_given, part in (
        (("--home", str(tmp_path / "none")), "there is no record"),
        (("--home", str(demo_home), "--at", "soon"), "no moment"),
    ):
        done = subprocess.run(
            [sys.executable, "-m", "tailrace.cli", "serve", "--port", "0", *words_given],
            capture_output=True,
            text=True,
            check=False,
        )
        assert done.returncode == 1
        assert part in done.stderr
        assert "Traceback" not in done.stderr
