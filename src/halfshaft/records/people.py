"""Accounts, who may do what, and sessions."""

from __future__ import annotations

from datetime import datetime

from halfshaft.records.database import Database
from halfshaft.records.values import Account, Role, Session


def create_account(db: Database, name: str, password: str, role: Role, *, at: datetime) -> Account:
    """A new account. Raises RecordError where the name is taken or the password is too short."""
    raise NotImplementedError


def accounts(db: Database) -> tuple[Account, ...]:
    """All of them, by name; the shop may only be opened to others when one that may run it is there."""
    raise NotImplementedError


def set_password(db: Database, name: str, password: str) -> None:
    """Another password; whoever is signed in by the old one no longer is."""
    raise NotImplementedError


def set_role(db: Database, name: str, role: Role) -> Account:
    """Another role, at once. The last account that may run the shop keeps it."""
    raise NotImplementedError


def close_account(db: Database, name: str) -> Account:
    """An account that nobody can sign in by any more. The last one that may run the shop cannot be closed."""
    raise NotImplementedError


def may(role: Role, needed: Role) -> bool:
    """Whether a role may do what another one may: look, build, design, run, each with those before it."""
    raise NotImplementedError


def sign_in(db: Database, name: str, password: str, *, address: str, at: datetime) -> Session:
    """A session. Raises RecordError where name or password is wrong (it does not say which), TooManyAttempts after several in a row."""
    raise NotImplementedError


def session(db: Database, token: str, *, at: datetime) -> Session | None:
    """Who is signed in by a token, or None: it never was, ran out, or was signed out."""
    raise NotImplementedError


def sign_out(db: Database, token: str) -> None:
    """End a session."""
    raise NotImplementedError


def is_csrf(session: Session, token: str) -> bool:
    """Whether a form came from a page of this session."""
    raise NotImplementedError
