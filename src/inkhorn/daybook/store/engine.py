"""The connection to a workshop's SQLite file: WAL, foreign keys, whole transactions, migrations.

All errors of the database library become `StoreError` here.
"""

from __future__ import annotations

import contextlib
import importlib
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from inkhorn.daybook.store.tables import APPLICATION_ID, REVISIONS
from inkhorn.errors import StoreError

_PATIENCE = 20_000  # ms to wait for another process that is writing


def connect(path: Path) -> sa.Engine:
    """Return an engine on one SQLite file; nothing is opened yet."""
    engine = sa.create_engine(sa.URL.create("sqlite", database=str(path)))

    @sa.event.listens_for(engine, "connect")
    def _settings(connection: Any, _record: Any) -> None:
        # The driver's own habit of beginning late would let two writers read the same last number.
        connection.isolation_level = None
        cursor = connection.cursor()
        for setting in (
            f"busy_timeout = {_PATIENCE}",
            "synchronous = FULL",
            "foreign_keys = ON",
        ):
            cursor.execute(f"PRAGMA {setting}")
        cursor.close()

    @sa.event.listens_for(engine, "begin")
    def _begin(connection: sa.Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def keep_a_log(engine: sa.Engine, where: str) -> None:
    """Let readers go on while somebody writes (write-ahead log); the file itself remembers it."""
    with told(where):
        connection = engine.raw_connection()
        try:
            connection.cursor().execute("PRAGMA journal_mode = WAL")
        finally:
            connection.close()


@contextlib.contextmanager
def reading(engine: sa.Engine, where: str) -> Iterator[sa.Connection]:
    """Give a connection that sees one moment of the file."""
    with told(where), engine.connect() as connection, connection.begin():
        yield connection


@contextlib.contextmanager
def writing(engine: sa.Engine, where: str) -> Iterator[sa.Connection]:
    """Give the one connection that may write; all of it is kept or, on any error, none."""
    with (
        told(where),
        engine.connect().execution_options(writes=True) as connection,
        connection.begin(),
    ):
        yield connection


@contextlib.contextmanager
def told(where: str) -> Iterator[None]:
    """Turn errors of the database library into `StoreError`."""
    try:
        yield
    except (sa.exc.SQLAlchemyError, sqlite3.Error) as error:
        cause = str(getattr(error, "orig", None) or error)
        what, mend = _plain(cause)
        raise StoreError(what, where=where, mend=mend) from error


def _plain(cause: str) -> tuple[str, str]:
    if "locked" in cause or "busy" in cause:
        return "another program is writing to the workshop", "Wait until it is done, and try again"
    if "not a database" in cause or "malformed" in cause:
        return "the file is no workshop, or it is damaged", "Choose another folder, or bring back a copy"
    if "readonly" in cause or "unable to open" in cause:
        return "the workshop cannot be written to", "Check the rights of the folder"
    if "full" in cause:
        return "the disk is full", "Make room, and try again"
    if "append-only" in cause:
        return "nothing in the daybook is changed or taken out", "Record an amend or a void"
    return f"the database refused ({cause})", ""


# ---------------------------------------------------------------- revisions


def newest() -> str:
    """Return the newest revision that this inkhorn knows."""
    return REVISIONS[-1]


def upgrade(connection: sa.Connection) -> None:
    """Bring the tables to the newest revision, within the connection's transaction.

    The migrations are loaded only here: most commands open a file that needs none, and the library that
    runs them takes longer to load than such a command to answer.
    """
    connection.exec_driver_sql(f"PRAGMA application_id = {APPLICATION_ID}")
    importlib.import_module("inkhorn.daybook.store.lift").upgrade(connection)


def revision_of(connection: sa.Connection, where: str) -> str:
    """Return the revision of an opened file; raise `StoreError` if it is no workshop or from a newer inkhorn."""
    mark = connection.exec_driver_sql("PRAGMA application_id").scalar()
    if mark != APPLICATION_ID or not sa.inspect(connection).has_table("alembic_version"):
        raise StoreError(
            "the file is a database, but no workshop",
            where=where,
            mend="Choose another folder, or make a new one",
        )
    revision = connection.exec_driver_sql("SELECT version_num FROM alembic_version").scalar()
    if revision not in REVISIONS:
        raise StoreError(
            f"the workshop was written by a newer inkhorn (tables {revision}, this one knows {newest()})",
            where=where,
            mend="Update inkhorn",
        )
    return str(revision)
