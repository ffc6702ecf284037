"""The database: opened by its address, brought up to the present schema, written by one at a time and safely."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.engine import make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, NoSuchModuleError, TimeoutError

from halfshaft.records.held import Held
from halfshaft.records.values import RecordError

# The latest step of the schema in `migrations/versions`.
SCHEMA = "0003"
# How long one writer waits for another before it gives up.
WAIT_S = 30.0
# Connections beyond these wait for one to come free.
MAX_CONNECTIONS = 40
# Any number will do, so long as nothing else in the same PostgreSQL locks by it.
_WRITER_LOCK = 0x68616C66


def open_database(url: str) -> Database:
    """The database at an address such as `sqlite:////home/shop/halfshaft.db` or `postgresql://..`; made where it is not there yet.

    Raises RecordError where it cannot be opened or was made by a later Halfshaft.
    """
    try:
        database = Database(_engine(url))
    except ModuleNotFoundError as error:
        raise RecordError(f"{url.partition(':')[0]} wants a library that is not installed: {error.name}") from None
    except (ArgumentError, NoSuchModuleError):
        raise RecordError("is no address of a database; write sqlite:////folder/name.db, or postgresql://user@host/name") from None
    try:
        _bring_up(database)
    except BaseException:
        database.close()
        raise
    return database


class Database:
    """An open database. May be used by several threads at once, and by several processes each with its own."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        # Threads of one process stand in a queue here; SQLite's own waiting is by trying again, which is neither quick nor fair.
        self._writer = threading.Lock()
        self.held = Held()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one state of the database, and changes nothing."""
        with _in_words(), self._engine.connect() as connection:
            if connection.dialect.name == "postgresql":
                connection = connection.execution_options(isolation_level="REPEATABLE READ")
            with connection.begin():
                yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """A connection that alone may write; what it wrote is on the disk when this ends, or nothing of it where it fails."""
        with self._writer, _in_words(), self._engine.connect() as connection:
            connection = connection.execution_options(writes=True)
            with connection.begin():
                yield connection

    def close(self) -> None:
        """Let go of the files."""
        self._engine.dispose()


@contextmanager
def _in_words() -> Iterator[None]:
    try:
        yield
    except DBAPIError as error:
        words = str(error.orig).strip().splitlines()
        raise RecordError(f"the database says: {words[0] if words else 'nothing'}; nothing was changed") from None
    except TimeoutError:
        raise RecordError(f"more than {MAX_CONNECTIONS} wait for the database at once; nothing was changed, try again") from None


def _engine(address: str) -> Engine:
    url = make_url(address)
    if url.get_backend_name() == "sqlite" and url.database in (None, "", ":memory:"):
        raise RecordError("records want a file, such as sqlite:///halfshaft.db: what is only in memory is lost")
    engine = create_engine(url, pool_size=8, max_overflow=MAX_CONNECTIONS - 8, pool_timeout=WAIT_S)
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    else:
        event.listen(engine, "begin", _begin_postgresql)
    return engine


def _set_up_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None  # transactions are begun below, not by the driver at the first change
    cursor = connection.cursor()
    cursor.execute(f"PRAGMA busy_timeout={WAIT_S * 1000:.0f}")
    _write_ahead(cursor)
    # FULL: a save that was acknowledged is on the disk even if the power goes.
    for setting in ("synchronous=FULL", "foreign_keys=ON"):
        cursor.execute(f"PRAGMA {setting}")
    cursor.close()


def _write_ahead(cursor: Any) -> None:
    """Ask for the log beside the file, in which readers do not wait for the writer. To change over, SQLite does not wait for others: we do."""
    import sqlite3

    for pause_s in (0.05, 0.1, 0.2, 0.5, 1.0, None):
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
            return
        except sqlite3.OperationalError:
            if pause_s is None:
                raise
            time.sleep(pause_s)


def _begin_sqlite(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _begin_postgresql(connection: Connection) -> None:
    if connection.get_execution_options().get("writes"):
        connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({_WRITER_LOCK})")


def _bring_up(database: Database) -> None:
    """Make the tables, or change them to what they are in this version."""
    with database.reading() as connection:
        found = _schema(connection)
    if found == SCHEMA:
        return
    with database.writing() as connection:
        found = _schema(connection)  # another process may have been quicker
        if found == SCHEMA:
            return
        if found is None and inspect(connection).get_table_names():
            raise RecordError("this database holds something else; give the records one of their own")
        from halfshaft.records.migrate import steps, upgrade

        if found is not None and found not in steps():
            raise RecordError(f"this database was written by a later Halfshaft (its schema is {found}); install that one")
        upgrade(connection)


def _schema(connection: Connection) -> str | None:
    if not inspect(connection).has_table("alembic_version"):
        return None
    version: str | None = connection.execute(text("SELECT version_num FROM alembic_version")).scalar()
    return version
