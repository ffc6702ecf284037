"""Signing in, where the app answers to others: nothing without it, and each role may do what it may."""

from __future__ import annotations

import re
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from halfshaft.model.conversion import Conversion
from halfshaft.records import people
from halfshaft.records.conversions import create
from halfshaft.records.database import open_database
from halfshaft.web.app import create_app
from halfshaft.web.doors import COOKIE
from halfshaft.web.shelf import now
from store import clock, small_of, url_of

PASSWORD = "correct horse battery"
ADDRESS = "http://192.168.1.4:8460"


@pytest.fixture
def shop(tern: Conversion, tmp_path: Path) -> Iterator[TestClient]:
    """An app that others may reach, with somebody of each of three roles."""
    db = open_database(url_of(tmp_path / "shop.db"))
    create(db, small_of(tern), by="K. B.", at=clock(), reason="the demo car")
    for name, role in (("Runa", "run"), ("Dora", "design"), ("Lena", "look")):
        people.create_account(db, name, PASSWORD, role, at=now())  # type: ignore[arg-type]
    pool = ThreadPoolExecutor(1)
    with TestClient(create_app(db, pool, is_open=False), base_url=ADDRESS, follow_redirects=False) as asked:
        yield asked
    pool.shutdown(wait=False, cancel_futures=True)
    db.close()


def enter(shop: TestClient, name: str, password: str = PASSWORD, to: str = "/c/TERN/wires") -> str:
    """Sign in; the word that stands in the pages from then on."""
    answer = shop.post("/sign-in", data={"name": name, "password": password, "to": to})
    assert answer.status_code == 303, answer.text
    found = re.search(r'<meta name="csrf" content="([^"]+)"', shop.get("/c/TERN/wires").text)
    assert found is not None
    return found[1]


@pytest.mark.parametrize("path", ["/", "/conversions", "/c/TERN/car?sel=run:U01"])
def test_a_page_sends_whoever_is_not_signed_in_to_do_so_and_back(shop: TestClient, path: str) -> None:
    answer = shop.get(path)
    assert answer.status_code == 303
    assert "Tern" not in answer.text
    page = shop.get(answer.headers["location"])
    assert page.status_code == 200
    assert f'name="to" value="{path}"' in page.text


@pytest.mark.parametrize("path", ["/api/conversions", "/api/openapi.json", "/api/conversions/TERN/folder.zip"])
def test_the_api_tells_nothing_to_whoever_is_not_signed_in(shop: TestClient, path: str) -> None:
    answer = shop.get(path)
    assert answer.status_code == 401
    assert set(answer.json()) == {"wrong"}


def test_the_cookie_is_kept_from_scripts_and_other_sites(shop: TestClient) -> None:
    answer = shop.post("/sign-in", data={"name": "Dora", "password": PASSWORD, "to": "/c/TERN/car"})
    assert answer.headers["location"] == "/c/TERN/car"
    cookie = answer.headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie


@pytest.mark.parametrize("to", ["http://evil.example/", "//evil.example/", "/\\evil.example", ""])
def test_signing_in_leads_nowhere_else(shop: TestClient, to: str) -> None:
    answer = shop.post("/sign-in", data={"name": "Dora", "password": PASSWORD, "to": to})
    assert answer.headers["location"] == "/"


def test_a_wrong_password_says_no_more_than_that_and_too_many_have_to_wait(shop: TestClient) -> None:
    answers = [shop.post("/sign-in", data={"name": name, "password": "wrong password"}) for name in ("Dora", "Nobody")]
    assert [answer.status_code for answer in answers] == [403, 403]
    assert all("Name or password is wrong" in answer.text for answer in answers)
    assert COOKIE not in shop.cookies
    for _ in range(6):
        last = shop.post("/sign-in", data={"name": "Dora", "password": "wrong password"})
    assert last.status_code == 429
    assert "too many attempts" in last.text.lower()


def test_what_changes_something_wants_the_word_of_the_page_and_the_role(shop: TestClient) -> None:
    word = enter(shop, "Dora")
    assert shop.post("/api/conversions/demo").status_code == 403
    assert shop.post("/api/conversions/demo", headers={"x-csrf": "another"}).status_code == 403
    assert len(shop.get("/api/conversions").json()) == 1
    made = shop.post("/api/conversions/demo", headers={"x-csrf": word})
    assert made.status_code == 201
    assert made.json()["head"]["by"] == "Dora"
    word = enter(shop, "Lena")
    refused = shop.post("/api/conversions/demo", headers={"x-csrf": word})
    assert refused.status_code == 403
    assert "design" in refused.json()["wrong"]


def test_signing_out_ends_it(shop: TestClient) -> None:
    word = enter(shop, "Runa")
    token = shop.cookies[COOKIE]
    assert shop.post("/sign-out", headers={"x-csrf": word}).status_code == 200
    assert shop.get("/api/conversions", headers={"cookie": f"{COOKIE}={token}"}).status_code == 401


def test_a_name_that_is_not_its_own_is_refused_there_too(shop: TestClient) -> None:
    assert shop.get("/sign-in", headers={"host": "evil.example"}).status_code == 403
