"""Accounts and sessions."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta

import pytest
from sqlalchemy import select

from halfshaft.records import people, tables
from halfshaft.records.database import Database
from halfshaft.records.values import RecordError, TooManyAttempts
from store import START, clock

WORDS = "four plain short words"


@pytest.fixture
def ann(db: Database) -> str:
    return people.create_account(db, "Ann", WORDS, "run", at=clock()).name


def test_signed_in_and_out(db: Database, ann: str) -> None:
    found = people.sign_in(db, ann, WORDS, address="10.0.0.1", at=START)
    assert people.session(db, found.token, at=START) == found
    assert people.is_csrf(found, found.csrf)
    assert not people.is_csrf(found, found.token)
    assert people.session(db, found.token, at=START + people.SESSION) is None
    assert people.session(db, "another", at=START) is None
    people.sign_out(db, found.token)
    assert people.session(db, found.token, at=START) is None


def test_nothing_that_opens_a_door_stands_in_the_database(db: Database, ann: str) -> None:
    found = people.sign_in(db, ann, WORDS, address="10.0.0.1", at=START)
    with db.reading() as connection:
        rows = [*connection.execute(select(tables.accounts)).all(), *connection.execute(select(tables.sessions)).all()]
    assert WORDS not in str(rows)
    assert found.token not in str(rows)
    assert "$argon2id$" in str(rows)


def test_letters_put_together_otherwise_are_the_same_password(db: Database) -> None:
    people.create_account(db, "Zoë", "m\u00fcller und sohn", "look", at=clock())
    assert people.sign_in(db, "Zoë", "mu\u0308ller und sohn", address="a", at=START)


def test_guesses_are_counted(db: Database, ann: str) -> None:
    for _ in range(people.MOST_OF_BOTH):
        with pytest.raises(RecordError, match="name or password is wrong"):
            people.sign_in(db, ann, "not the password", address="10.0.0.9", at=START)
    with pytest.raises(TooManyAttempts) as caught:
        people.sign_in(db, ann, WORDS, address="10.0.0.9", at=START + timedelta(minutes=5))
    assert caught.value.wait_s == 600
    assert people.sign_in(db, ann, WORDS, address="10.0.0.1", at=START)  # she herself, elsewhere, is not locked out
    assert people.sign_in(db, ann, WORDS, address="10.0.0.9", at=START + people.WINDOW)


def test_an_unknown_name_and_a_closed_one_say_no_more_than_a_wrong_password(db: Database, ann: str) -> None:
    people.create_account(db, "Ben", WORDS, "build", at=clock())
    signed_in = people.sign_in(db, "Ben", WORDS, address="a", at=START)
    assert people.close_account(db, "Ben").closed
    assert people.session(db, signed_in.token, at=START) is None
    for name in ("Ben", "Nobody"):
        with pytest.raises(RecordError, match=r"^name or password is wrong$"):
            people.sign_in(db, name, WORDS, address="a", at=START)
    with pytest.raises(RecordError, match="names stay taken"):
        people.create_account(db, "Ben", WORDS, "look", at=clock())


def test_another_password_signs_everybody_out(db: Database, ann: str) -> None:
    found = people.sign_in(db, ann, WORDS, address="a", at=START)
    people.set_password(db, ann, "five other plain short words")
    assert people.session(db, found.token, at=START) is None
    with pytest.raises(RecordError):
        people.sign_in(db, ann, WORDS, address="a", at=START)


def test_somebody_can_always_run_the_shop(db: Database, ann: str) -> None:
    acts: tuple[Callable[[], object], ...] = (lambda: people.set_role(db, ann, "look"), lambda: people.close_account(db, ann))
    for act in acts:
        with pytest.raises(RecordError, match="the last who may run the shop"):
            act()
    people.create_account(db, "Ben", WORDS, "run", at=clock())
    assert people.set_role(db, ann, "look").role == "look"
    assert [(account.name, account.role) for account in people.accounts(db)] == [("Ann", "look"), ("Ben", "run")]


def test_what_no_account_can_be(db: Database) -> None:
    for name, password, role in (
        ("", WORDS, "run"),
        ("A", "short", "run"),
        ("A", "x" * 201, "run"),
        ("A", WORDS, "boss"),
        ("A\nB", WORDS, "run"),
    ):
        with pytest.raises(RecordError):
            people.create_account(db, name, password, role, at=clock())  # type: ignore[arg-type]
    assert people.accounts(db) == ()


def test_roles() -> None:
    order = ("look", "build", "design", "run")
    for number, role in enumerate(order):
        assert [people.may(role, needed) for needed in order] == [True] * (number + 1) + [False] * (3 - number)
