from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from halfshaft.model.conversion import Conversion
from halfshaft.records import conversions
from halfshaft.records.database import Database, open_database
from halfshaft.records.values import Line
from store import clock, small_of, url_of


@pytest.fixture(scope="session")
def small(tern: Conversion) -> Conversion:
    return small_of(tern)


@pytest.fixture
def db(tmp_path: Path) -> Iterator[Database]:
    opened = open_database(url_of(tmp_path / "records.db"))
    yield opened
    opened.close()


@pytest.fixture
def main(db: Database, small: Conversion) -> Line:
    return conversions.create(db, small, by="Ann", at=clock())
