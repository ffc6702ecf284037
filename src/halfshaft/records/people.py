"""Accounts, who may do what, and sessions."""

from __future__ import annotations

import hmac
import secrets
import threading
import unicodedata
from datetime import datetime, timedelta

from sqlalchemy import Connection, delete, func, insert, select, update

from halfshaft.records import rows, tables
from halfshaft.records.blobs import hash_of
from halfshaft.records.database import Database
from halfshaft.records.times import as_text, as_time
from halfshaft.records.values import ROLES, Account, NotThere, RecordError, Role, Session, TooManyAttempts

MIN_PASSWORD, MAX_PASSWORD = 10, 200
SESSION = timedelta(hours=12)
# How many failed attempts in this time are borne: by one name from one address, from one address, for one name.
WINDOW = timedelta(minutes=15)
MOST_OF_BOTH, MOST_OF_ADDRESS, MOST_OF_NAME = 5, 20, 50
# A hash takes 64 MB while it is made; two at a time are as quick as many, and cannot fill the memory.
_HASHING = threading.BoundedSemaphore(2)
_WRONG = "name or password is wrong"


def create_account(db: Database, name: str, password: str, role: Role, *, at: datetime) -> Account:
    """A new account. Raises RecordError where the name is taken or the password is too short."""
    name = rows.checked(name, "name", rows.MAX_NAME)
    _make_sure_role(role)
    hashed = _hashed(password)
    with db.writing() as connection:
        if connection.execute(select(tables.accounts.c.name).where(tables.accounts.c.name == name)).first() is not None:
            raise RecordError(f"there is an account of {name} already, perhaps a closed one; names stay taken, as records speak of them")
        connection.execute(insert(tables.accounts).values(name=name, password=hashed, role=role, at=as_text(at), closed=False))
        return _find(connection, name)


def accounts(db: Database) -> tuple[Account, ...]:
    """All of them, by name; the shop may only be opened to others when one that may run it is there."""
    with db.reading() as connection:
        names = connection.execute(select(tables.accounts.c.name).order_by(tables.accounts.c.name)).scalars().all()
        return tuple(_find(connection, name) for name in names)


def set_password(db: Database, name: str, password: str) -> None:
    """Another password; whoever is signed in by the old one no longer is."""
    hashed = _hashed(password)
    with db.writing() as connection:
        _find(connection, name)
        connection.execute(update(tables.accounts).where(tables.accounts.c.name == name).values(password=hashed))
        connection.execute(delete(tables.sessions).where(tables.sessions.c.account == name))


def set_role(db: Database, name: str, role: Role) -> Account:
    """Another role, at once. The last account that may run the shop keeps it."""
    _make_sure_role(role)
    with db.writing() as connection:
        if role != "run":
            _make_sure_another(connection, _find(connection, name))
        connection.execute(update(tables.accounts).where(tables.accounts.c.name == name).values(role=role))
        return _find(connection, name)


def close_account(db: Database, name: str) -> Account:
    """An account that nobody can sign in by any more. The last one that may run the shop cannot be closed."""
    with db.writing() as connection:
        _make_sure_another(connection, _find(connection, name))
        connection.execute(update(tables.accounts).where(tables.accounts.c.name == name).values(closed=True))
        connection.execute(delete(tables.sessions).where(tables.sessions.c.account == name))
        return _find(connection, name)


def may(role: Role, needed: Role) -> bool:
    """Whether a role may do what another one may: look, build, design, run, each with those before it.

    >>> may("design", "build"), may("build", "design")
    (True, False)
    """
    return ROLES.index(role) >= ROLES.index(needed)


def sign_in(db: Database, name: str, password: str, *, address: str, at: datetime) -> Session:
    """A session. Raises RecordError where name or password is wrong (it does not say which), TooManyAttempts after several in a row."""
    name, address = name.strip()[: rows.MAX_NAME], address[: rows.MAX_NAME]
    # It is counted before it is looked at, so that many at once are no way round the count.
    attempt = _counted(db, name, address, at)
    asked = select(tables.accounts.c.password).where(tables.accounts.c.name == name, tables.accounts.c.closed.is_(False))
    with db.reading() as connection:
        known = connection.execute(asked).scalar()
    if not _fits(known, password):
        raise RecordError(_WRONG)
    token, csrf = secrets.token_urlsafe(32), secrets.token_urlsafe(32)
    with db.writing() as connection:
        if connection.execute(asked).scalar() != known:  # closed, or another password, in the moment between
            raise RecordError(_WRONG)
        account = _find(connection, name)
        expires = at + SESSION
        connection.execute(delete(tables.sessions).where(tables.sessions.c.expires <= as_text(at)))
        connection.execute(insert(tables.sessions).values(token=hash_of(token.encode()), csrf=csrf, account=name, expires=as_text(expires)))
        old = (tables.attempts.c.name == name) & (tables.attempts.c.address == address)
        connection.execute(delete(tables.attempts).where(old | (tables.attempts.c.number == attempt)))
    return Session(token=token, csrf=csrf, account=account, expires=expires)


def session(db: Database, token: str, *, at: datetime) -> Session | None:
    """Who is signed in by a token, or None: it never was, ran out, or was signed out."""
    asked = select(tables.sessions).where(tables.sessions.c.token == hash_of(token.encode()), tables.sessions.c.expires > as_text(at))
    with db.reading() as connection:
        found = connection.execute(asked).first()
        if found is None:
            return None
        return Session(token=token, csrf=found.csrf, account=_find(connection, found.account), expires=as_time(found.expires))


def sign_out(db: Database, token: str) -> None:
    """End a session."""
    with db.writing() as connection:
        connection.execute(delete(tables.sessions).where(tables.sessions.c.token == hash_of(token.encode())))


def is_csrf(session: Session, token: str) -> bool:
    """Whether a form came from a page of this session."""
    return hmac.compare_digest(session.csrf.encode(), token.encode(errors="surrogatepass"))


def _counted(db: Database, name: str, address: str, at: datetime) -> int:
    """The number of this attempt. Raises TooManyAttempts, which counts as none."""
    with db.writing() as connection:
        column = tables.attempts.c
        connection.execute(delete(tables.attempts).where(column.at <= as_text(at - WINDOW)))
        for which, most in (
            ((column.name == name) & (column.address == address), MOST_OF_BOTH),
            (column.address == address, MOST_OF_ADDRESS),
            (column.name == name, MOST_OF_NAME),
        ):
            count, first = connection.execute(select(func.count(), func.min(column.at)).where(which)).one()
            if count >= most:
                wait_s = (as_time(first) + WINDOW - at).total_seconds()
                raise TooManyAttempts(f"too many attempts; try again in {max(1, round(wait_s / 60))} min", wait_s)
        done = connection.execute(insert(tables.attempts).values(name=name, address=address, at=as_text(at)))
        assert done.inserted_primary_key is not None
        number: int = done.inserted_primary_key[0]
        return number


def _hashed(password: str) -> str:
    if not MIN_PASSWORD <= len(password) <= MAX_PASSWORD:
        raise RecordError(f"a password has {MIN_PASSWORD} to {MAX_PASSWORD} characters; a few words that nobody would guess are best")
    from argon2 import PasswordHasher

    with _HASHING:
        return PasswordHasher().hash(_plain(password))


def _fits(hashed: str | None, password: str) -> bool:
    """Whether a password is the one that was hashed. Where there is no such account it takes as long, so that nobody learns who has one."""
    from argon2 import PasswordHasher
    from argon2.exceptions import Argon2Error, InvalidHashError

    hasher = PasswordHasher()
    given = _plain(password[:MAX_PASSWORD])
    try:
        with _HASHING:
            if hashed is None:
                hasher.hash(given)
                return False
            return hasher.verify(hashed, given)
    except (Argon2Error, InvalidHashError):
        return False


def _plain(password: str) -> bytes:
    """The same bytes for the same letters, however a keyboard puts them together."""
    return unicodedata.normalize("NFKC", password).encode(errors="surrogatepass")


def _find(connection: Connection, name: str) -> Account:
    found = connection.execute(select(tables.accounts).where(tables.accounts.c.name == name)).first()
    if found is None:
        raise NotThere(f"there is no account of {name[:80]!r}")
    return Account(name=found.name, role=found.role, at=as_time(found.at), closed=found.closed)


def _make_sure_role(role: str) -> None:
    if role not in ROLES:
        raise RecordError(f"there is no role {role[:20]!r}; there are {', '.join(ROLES)}")


def _make_sure_another(connection: Connection, account: Account) -> None:
    column = tables.accounts.c
    others = select(func.count()).where(column.role == "run", column.closed.is_(False), column.name != account.name)
    if account.role == "run" and connection.execute(others).scalar() == 0:
        raise RecordError(f"{account.name} is the last who may run the shop; make another such account first")
