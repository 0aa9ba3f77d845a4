"""The first tables: entries that are never changed, pictures, and what is worked out from them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, and the triggers that keep the daybook append-only."""
    op.create_table(
        "entries",
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("schema", sa.Integer, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("at", sa.Text, nullable=False),
        sa.Column("raw", sa.Text, nullable=False),
        sa.Column("recorded_at", sa.Text, nullable=False),
        sa.CheckConstraint("number > 0", name="number_from_one"),
    )
    op.create_table(
        "pictures",
        sa.Column("hash", sa.Text, primary_key=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("kept_at", sa.Text, nullable=False),
    )
    op.create_table(
        "entry_pictures",
        sa.Column("number", sa.Integer, sa.ForeignKey("entries.number"), primary_key=True),
        sa.Column("hash", sa.Text, sa.ForeignKey("pictures.hash"), primary_key=True),
    )
    op.create_table(
        "derived",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("form", sa.Text, nullable=False),
        sa.Column("body", sa.LargeBinary, nullable=False),
        sa.Column("made_at", sa.Text, nullable=False),
    )
    for verb in ("UPDATE", "DELETE"):
        op.execute(
            f"CREATE TRIGGER entries_no_{verb.lower()} BEFORE {verb} ON entries "
            "BEGIN SELECT RAISE(ABORT, 'the daybook is append-only'); END"
        )
