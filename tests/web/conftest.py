"""The app over a database of its own with the demo in it, asked without a network."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from playwright.sync_api import Browser

from browser import browsing, served
from halfshaft.model.conversion import Conversion
from halfshaft.records.conversions import create
from halfshaft.records.database import open_database
from halfshaft.web.app import create_app
from store import clock, url_of

ADDRESS = "http://127.0.0.1:8460"


@pytest.fixture(scope="session")
def app(tern: Conversion, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FastAPI]:
    db = open_database(url_of(tmp_path_factory.mktemp("app") / "app.db"))
    create(db, tern, by="K. B.", at=clock(), reason="the demo car")
    with ThreadPoolExecutor(1) as pool:
        yield create_app(db, pool)
    db.close()


@pytest.fixture(scope="session")
def client(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, base_url=ADDRESS, follow_redirects=False) as asked:
        asked.get("/api/conversions/TERN/state?wait=true").raise_for_status()
        yield asked


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[TestClient]:
    """An app that has no conversion yet."""
    db = open_database(url_of(tmp_path / "empty.db"))
    pool = ThreadPoolExecutor(1)
    with TestClient(create_app(db, pool), base_url=ADDRESS) as asked:
        yield asked
    pool.shutdown(wait=False, cancel_futures=True)
    db.close()


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of an app that is served for real, for the tests of one file."""
    with browsing():
        pass
    with served(tmp_path_factory.mktemp("served")) as found:
        yield found


@pytest.fixture(scope="module")
def browser(address: str) -> Iterator[Browser]:
    with browsing() as found:
        yield found
