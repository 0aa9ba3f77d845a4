"""What a client called the entries that it sent: the same one sent twice is kept once."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table; a key is never used for another entry."""
    op.create_table(
        "arrivals",
        sa.Column("key", sa.Text, primary_key=True),
        sa.Column("number", sa.Integer, sa.ForeignKey("entries.number"), nullable=False),
    )
