"""`halfshaft serve`: opens the records, refuses what is not safe, and answers until it is stopped."""

from __future__ import annotations

import ipaddress
import socket
from concurrent.futures import ProcessPoolExecutor
from datetime import UTC, datetime
from multiprocessing import get_context
from pathlib import Path

from halfshaft.errors import HalfshaftError
from halfshaft.records.database import Database, open_database
from halfshaft.records.people import accounts
from halfshaft.web.security import LOOPBACK

PORT = 8460
# One for what a page waits for, one beside it.
WORKERS = 2


def default_database() -> str:
    """Where the records are kept when nobody says otherwise: the user's own data folder."""
    return f"sqlite:///{Path.home() / '.local' / 'share' / 'halfshaft' / 'halfshaft.db'}"


def open_records(database: str | None) -> Database:
    """The database at an address, or that in the user's own folder, made where it is not there yet."""
    if database is None:
        database = default_database()
        Path(database.removeprefix("sqlite:///")).parent.mkdir(parents=True, exist_ok=True)
    return open_database(database)


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach an address."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host in LOOPBACK


def refuse_unless_safe(host: str, db: Database) -> None:
    """Raise where others could reach the app and nobody who may run the shop can sign in yet."""
    if is_loopback(host) or any(account.role == "run" and not account.closed for account in accounts(db)):
        return
    raise HalfshaftError(
        f"halfshaft serve answers to others at {host} only when an account may run the shop; make one first: halfshaft account NAME --role run"
    )


def names_of(host: str) -> frozenset[str]:
    """The names by which the app may be called when it answers at an address."""
    return LOOPBACK if is_loopback(host) else LOOPBACK | {host, socket.gethostname(), socket.getfqdn()}


def serve(host: str, port: int, database: str | None) -> None:
    """Answer at an address until interrupted."""
    import uvicorn

    from halfshaft.web.app import create_app
    from halfshaft.web.searches import step_back

    db = open_records(database)
    refuse_unless_safe(host, db)
    pool = ProcessPoolExecutor(max_workers=WORKERS, mp_context=get_context("spawn"), initializer=step_back)
    print(f"Halfshaft: http://{f'[{host}]' if ':' in host else host}:{port}/  (stop it with Ctrl+C)", flush=True)
    try:
        app = create_app(db, pool, hosts=names_of(host), is_open=is_loopback(host))
        uvicorn.run(app, host=host, port=port, log_level="warning", server_header=False, date_header=False)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        db.close()


def now() -> datetime:
    """The time; asked for here, at the edge."""
    return datetime.now(UTC)
