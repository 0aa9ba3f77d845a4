"""Alembic's entry point; the connection is handed over by the store, inside its own transaction."""

from __future__ import annotations

from alembic import context

from inkhorn.daybook.store.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
