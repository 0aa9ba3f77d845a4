"""Alembic scripts of the workshop database."""
