"""Who may do what in the browser: each test fails if its guard is taken away."""

from __future__ import annotations

import json
import re
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from tailrace.errors import InputError
from tailrace.operations import accounts as a
from tailrace.operations.record import open_record
from tailrace.records.accounts import Account, Accounts, KeyKind, Role
from tailrace.web.app import MOST_BYTES, create_app
from tailrace.web.who import COOKIE, form_token

BASE = "http://127.0.0.1"
WORDS = "four wet words here"
SITE, OTHER = "lantern-school", "millrace-yard"


def ago(**parts: float) -> datetime:
    return datetime.now(UTC) - timedelta(**parts)


@pytest.fixture(scope="module")
def app(demo_home: Path, tmp_path_factory: pytest.TempPathFactory) -> FastAPI:
    home = shutil.copytree(demo_home, tmp_path_factory.mktemp("people") / "record")
    app = create_app(open_record(str(home)))
    accounts: Accounts = app.state.accounts
    secret = a.first_key(accounts, at=ago(hours=1))
    a.make_owner(accounts, secret, login="olu", password=WORDS, at=ago(minutes=50))
    for login, role in (("tam", Role.TECHNICIAN), ("gia", Role.GROWER), ("vik", Role.VIEWER)):
        once = a.invite(accounts, Account(login, login, role, (SITE,)), at=ago(minutes=50))
        a.set_password(accounts, once, WORDS, at=ago(minutes=50))
    return app


@pytest.fixture
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, base_url=BASE, follow_redirects=False) as made:
        yield made


def signed_in(client: TestClient, login: str) -> TestClient:
    answer = client.post("/sign-in", data={"login": login, "password": WORDS})
    assert answer.status_code == 303
    client.headers["Origin"] = BASE
    return client


def test_the_first_owner_is_made_once(demo_home: Path, tmp_path: Path) -> None:
    home = shutil.copytree(demo_home, tmp_path / "record")
    app = create_app(open_record(str(home)))
    accounts: Accounts = app.state.accounts
    secret = a.first_key(accounts, at=datetime.now(UTC))
    with TestClient(app, base_url=BASE, follow_redirects=False) as client:
        assert client.get(f"/s/{SITE}/round").status_code == 200  # open to look, to write not
        assert client.post(f"/api/v1/s/{SITE}/sensors", content=b"[]").status_code == 403
        form = {"login": "Olu", "password": "short"}
        refused = client.post(f"/first/{secret}", data=form)
        assert refused.status_code == 400
        assert "10 to 200 characters" in refused.text
        assert 'value="Olu"' in refused.text  # nothing typed is lost, but the password
        assert client.post(f"/first/{secret}", data={**form, "password": WORDS}).status_code == 303
        assert client.get(f"/s/{SITE}/round").status_code == 200
        client.cookies.clear()
        assert client.get(f"/s/{SITE}/round").status_code == 303
        again = client.post(f"/first/{secret}", data={"login": "eve", "password": WORDS})
        assert again.status_code == 400
    assert [one.login for one in accounts.all()] == ["olu"]
    with pytest.raises(InputError, match="owner already"):
        a.first_key(accounts, at=datetime.now(UTC))


def test_without_signing_in_nothing_is_shown(client: TestClient) -> None:
    for path in (
        "/",
        f"/s/{SITE}/round",
        f"/s/{SITE}/water",
        f"/s/{SITE}/filter",
        "/me",
        "/people",
    ):
        answer = client.get(path)
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sign-in?next=")
    answer = client.get(f"/api/v1/s/{SITE}/round")
    assert answer.status_code == 401
    assert answer.json()["error"]["says"] == "sign in first."


def test_every_address_of_a_site_asks_who_it_is(app: FastAPI, client: TestClient) -> None:
    asked = 0
    for path, methods in app.openapi()["paths"].items():
        if "{site}" not in path or path.startswith("/calendar/"):
            continue
        address = re.sub(r"{\w+}", "1", path.replace("{site}", SITE))
        for method in methods:
            asked += 1
            assert client.request(method, address).status_code in {303, 401}, path
    assert asked >= 5


def test_a_wrong_password_and_a_wrong_login_say_the_same(client: TestClient) -> None:
    wrong = [
        client.post("/sign-in", data={"login": login, "password": "not this one"})
        for login in ("gia", "nobody")
    ]
    assert [answer.status_code for answer in wrong] == [401, 401]
    said = [re.search(r'role="alert">([^<]+)', answer.text) for answer in wrong]
    assert said[0] is not None
    assert said[1] is not None
    assert said[0][1] == said[1][1]
    assert COOKIE not in client.cookies


def test_guessing_has_to_wait(app: FastAPI) -> None:
    accounts: Accounts = app.state.accounts
    at = datetime.now(UTC) + timedelta(days=40)
    for _ in range(5):
        with pytest.raises(a.RefusedError):
            a.sign_in(accounts, "vik", "wrong again", address="192.0.2.7", at=at)
    with pytest.raises(a.WaitError, match="wait 15 minutes"):
        a.sign_in(accounts, "vik", WORDS, address="192.0.2.7", at=at)
    assert a.sign_in(accounts, "vik", WORDS, address="192.0.2.8", at=at)  # its owner elsewhere
    later = at + timedelta(minutes=16)
    assert a.sign_in(accounts, "vik", WORDS, address="192.0.2.7", at=later)


def test_the_session_is_kept_as_a_digest_and_out_of_reach_of_scripts(
    app: FastAPI, client: TestClient
) -> None:
    answer = client.post("/sign-in", data={"login": "gia", "password": WORDS})
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=lax" in cookie
    secret = client.cookies[COOKIE]
    home = app.state.store.home
    stored = b"".join(file.read_bytes() for file in home.iterdir() if file.is_file())
    assert secret.encode() not in stored
    assert WORDS.encode() not in stored


def test_a_session_ends(app: FastAPI, client: TestClient) -> None:
    signed_in(client, "gia")
    secret = client.cookies[COOKIE]
    accounts: Accounts = app.state.accounts
    over = datetime.now(UTC) + a.SESSION_LASTS
    assert a.whose(accounts, secret, KeyKind.SESSION, at=over) is None
    client.post("/sign-out")
    client.cookies.set(COOKIE, secret, domain="127.0.0.1")
    assert client.get(f"/s/{SITE}/round").status_code == 303  # a stolen copy opens nothing


def test_another_site_is_not_there(client: TestClient) -> None:
    signed_in(client, "gia")
    assert client.get(f"/s/{SITE}/round").status_code == 200
    other, nowhere = (client.get(f"/s/{name}/round") for name in (OTHER, "nowhere"))
    assert other.status_code == nowhere.status_code == 404
    assert "Millrace" not in other.text
    assert client.get(f"/api/v1/s/{OTHER}/round").status_code == 404
    assert OTHER not in client.get("/", follow_redirects=True).text


def test_after_signing_in_nobody_is_sent_elsewhere(client: TestClient) -> None:
    for after in ("https://example.org/", "//example.org", "/\\example.org"):
        form = {"login": "gia", "password": WORDS, "next": after}
        assert client.post("/sign-in", data=form).headers["location"] == "/"
        client.cookies.clear()
    form = {"login": "gia", "password": WORDS, "next": f"/s/{SITE}/water"}
    assert client.post("/sign-in", data=form).headers["location"] == f"/s/{SITE}/water"


def test_roles(client: TestClient) -> None:
    pack = json.dumps([{"n": "level", "u": "m", "v": 0.3, "t": 1.79e9}])
    signed_in(client, "vik")
    assert client.post(f"/api/v1/s/{SITE}/sensors", content=pack).status_code == 403
    for path in ("/people", "/people/gia/reset", "/people/gia/close"):
        assert client.post(path, data={"login": "x", "role": "owner"}).status_code == 403
    assert client.get("/people").status_code == 403
    client.cookies.clear()
    signed_in(client, "gia")
    answer = client.post(f"/api/v1/s/{SITE}/sensors", content=pack)
    assert answer.status_code == 200
    assert answer.json()["new"] == 1
    assert client.post(f"/api/v1/s/{SITE}/sensors", content=pack).json()["new"] == 0
    assert client.post(f"/api/v1/s/{OTHER}/sensors", content=pack).status_code == 404


def test_a_post_that_another_page_asked_for_is_refused(client: TestClient) -> None:
    signed_in(client, "olu")
    form = {"login": "mallory", "role": "owner"}
    forged = client.post("/people", data=form, headers={"Origin": "https://example.org"})
    assert forged.status_code == 403
    assert "another page" in forged.text
    del client.headers["Origin"]
    bare = client.post("/people", data=form)
    assert bare.status_code == 403
    wrong = client.post("/people", data={**form, "form_token": "0" * 32})
    assert wrong.status_code == 403
    token = form_token(client.cookies[COOKIE])
    good = client.post("/people", data={**form, "login": "zoe", "form_token": token})
    assert good.status_code == 200
    assert "mallory" not in good.text


def test_an_owner_invites_resets_and_closes(app: FastAPI, client: TestClient) -> None:
    signed_in(client, "olu")
    wrong = client.post("/people", data={"login": "new", "role": "grower", "sites": "nowhere"})
    assert wrong.status_code == 400
    assert 'value="nowhere"' in wrong.text
    made = client.post("/people", data={"login": "nia", "role": "grower", "sites": SITE})
    found = re.search(r"/once/([\w-]+)<", made.text)
    assert found is not None
    assert client.post(f"/once/{found[1]}", data={"password": WORDS}).status_code == 303
    assert client.get(f"/s/{OTHER}/round").status_code == 404  # signed in as nia now
    assert client.post(f"/once/{found[1]}", data={"password": WORDS}).status_code == 400
    kept = client.cookies[COOKIE]
    client.cookies.clear()
    signed_in(client, "olu")
    assert client.post("/people/nia/close").status_code == 303
    client.cookies.clear()
    client.cookies.set(COOKIE, kept, domain="127.0.0.1")
    assert client.get(f"/s/{SITE}/round").status_code == 303
    accounts: Accounts = app.state.accounts
    owners = [one.login for one in accounts.all() if one.role is Role.OWNER and one.open]
    for login in owners[1:]:
        a.close_account(accounts, login, at=datetime.now(UTC))
    with pytest.raises(InputError, match="last owner"):
        a.close_account(accounts, owners[0], at=datetime.now(UTC))


def test_keys_for_programs_and_calendars(client: TestClient) -> None:
    signed_in(client, "gia")
    page = client.post("/me/keys", data={"kind": "api", "label": "logger <b>"}).text
    assert "logger <b>" not in page
    secret = re.findall(r'class="secret">([^<]+)<', page)[0]
    number = re.findall(r"/me/keys/(\d+)/end", page)[0]
    calendar = client.post("/me/keys", data={"kind": "calendar"}).text
    addresses = re.findall(r'class="secret">http://127.0.0.1(/calendar/[^<]+)<', calendar)
    client.cookies.clear()
    assert [address.rsplit("/", 1)[1] for address in addresses] == [f"{SITE}.ics"]
    assert client.get(addresses[0]).text.startswith("BEGIN:VCALENDAR")
    assert client.get(addresses[0].replace(SITE, OTHER)).status_code == 404
    assert client.get(f"/calendar/{'x' * 43}/{SITE}.ics").status_code == 404
    bearer = {"Authorization": f"Bearer {secret}"}
    assert client.get(f"/api/v1/s/{SITE}/round", headers=bearer).status_code == 200
    assert client.get(f"/calendar/{secret}/{SITE}.ics").status_code == 404  # of another kind
    signed_in(client, "vik")
    assert client.post(f"/me/keys/{number}/end").status_code == 404  # another's
    client.cookies.clear()
    signed_in(client, "gia")
    assert client.post(f"/me/keys/{number}/end").status_code == 303
    client.cookies.clear()
    assert client.get(f"/api/v1/s/{SITE}/round", headers=bearer).status_code == 401


def test_what_is_too_large_is_refused_whether_it_says_so_or_not(client: TestClient) -> None:
    def parts() -> Iterator[bytes]:
        for _ in range(MOST_BYTES // 1_000_000 + 2):
            yield b" " * 1_000_000

    form = {"Content-Type": "application/x-www-form-urlencoded"}
    told = {**form, "Content-Length": str(MOST_BYTES + 1)}
    for answer in (
        client.post("/sign-in", headers=told, content=b""),
        client.post("/sign-in", headers=form, content=parts()),
    ):
        assert answer.status_code == 413
