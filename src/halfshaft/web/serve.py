"""`halfshaft serve`: opens the records, refuses what is not safe, and answers until it is stopped."""

from __future__ import annotations

import ipaddress
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from pathlib import Path

from halfshaft.errors import HalfshaftError
from halfshaft.web.security import LOOPBACK

PORT = 8460
# One for what a page waits for, one beside it.
WORKERS = 2


def default_database() -> str:
    """Where the records are kept when nobody says otherwise: the user's own data folder."""
    return f"sqlite:///{Path.home() / '.local' / 'share' / 'halfshaft' / 'halfshaft.db'}"


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach an address."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host in LOOPBACK


def refuse_unless_safe(host: str) -> None:
    """Raise where others could reach the app: it has no sign-in yet, so nothing would hold them back."""
    if not is_loopback(host):
        raise HalfshaftError(
            f"halfshaft serve answers only to this computer, not at {host}: others may come in only with an account, and signing in is not built "
            "yet. To use it from elsewhere, forward the port through ssh: ssh -L 8460:127.0.0.1:8460 THIS-COMPUTER"
        )


def serve(host: str, port: int, database: str | None) -> None:
    """Answer at an address until interrupted."""
    refuse_unless_safe(host)
    import uvicorn

    from halfshaft.records.database import open_database
    from halfshaft.web.app import create_app
    from halfshaft.web.searches import step_back

    url = database or default_database()
    if database is None:
        Path(url.removeprefix("sqlite:///")).parent.mkdir(parents=True, exist_ok=True)
    db = open_database(url)
    pool = ProcessPoolExecutor(max_workers=WORKERS, mp_context=get_context("spawn"), initializer=step_back)
    print(f"Halfshaft: http://{f'[{host}]' if ':' in host else host}:{port}/  (stop it with Ctrl+C)", flush=True)
    try:
        uvicorn.run(create_app(db, pool), host=host, port=port, log_level="warning", server_header=False, date_header=False)
    finally:
        pool.shutdown(wait=False, cancel_futures=True)
        db.close()
