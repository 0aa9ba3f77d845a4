"""Bring the tables of a workshop's file to the newest revision."""

from __future__ import annotations

from pathlib import Path

import sqlalchemy as sa
from alembic import command
from alembic.config import Config
from alembic.script import ScriptDirectory

_MIGRATIONS = Path(__file__).parent / "migrations"


def _config(connection: sa.Connection | None = None) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_MIGRATIONS).replace("%", "%%"))
    if connection is not None:
        config.attributes["connection"] = connection
    return config


def revisions() -> tuple[str, ...]:
    """Return every revision there is a migration for, oldest first."""
    return tuple(script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions())[::-1]


def upgrade(connection: sa.Connection) -> None:
    """Run the migrations that are missing, within the connection's transaction."""
    command.upgrade(_config(connection), "head")
