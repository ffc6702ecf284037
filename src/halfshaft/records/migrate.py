"""The schema from one version of Halfshaft to the next, by Alembic. Imported only where a database is not up to date."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory
from sqlalchemy import Connection


def upgrade(connection: Connection) -> None:
    """Bring the tables to the latest schema, within the transaction of this connection."""
    config = _config()
    config.attributes["connection"] = connection
    command.upgrade(config, "head")


def steps() -> tuple[str, ...]:
    """Every schema there has been, the latest first."""
    return tuple(step.revision for step in ScriptDirectory.from_config(_config()).walk_revisions())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent / "migrations").replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    return config
