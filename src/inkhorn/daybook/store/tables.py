"""Tables of a workshop's database, as its newest migration leaves them."""

from __future__ import annotations

import sqlalchemy as sa

#: Written into the header of the file, so that another program's database is not taken for ours: "inkh".
APPLICATION_ID = int.from_bytes(b"inkh", "big")

#: The revisions of the tables, oldest first: one for each migration.
REVISIONS = ("0001", "0002")

metadata = sa.MetaData()

entries = sa.Table(
    "entries",
    metadata,
    sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
    sa.Column("schema", sa.Integer, nullable=False),  # version of the JSON shape
    sa.Column("kind", sa.Text, nullable=False),
    sa.Column("at", sa.Text, nullable=False),  # local, as it was understood when recorded
    sa.Column("raw", sa.Text, nullable=False),  # the JSON exactly as given
    sa.Column("recorded_at", sa.Text, nullable=False),  # UTC
    sa.CheckConstraint("number > 0", name="number_from_one"),
)

#: What a client called an entry that it sent, so that the same one sent again is known.
arrivals = sa.Table(
    "arrivals",
    metadata,
    sa.Column("key", sa.Text, primary_key=True),
    sa.Column("number", sa.ForeignKey("entries.number"), nullable=False),
)

pictures = sa.Table(
    "pictures",
    metadata,
    sa.Column("hash", sa.Text, primary_key=True),
    sa.Column("name", sa.Text, nullable=False),  # as the file was called
    sa.Column("media_type", sa.Text, nullable=False),
    sa.Column("size", sa.Integer, nullable=False),
    sa.Column("kept_at", sa.Text, nullable=False),
)

entry_pictures = sa.Table(
    "entry_pictures",
    metadata,
    sa.Column("number", sa.ForeignKey("entries.number"), primary_key=True),
    sa.Column("hash", sa.ForeignKey("pictures.hash"), primary_key=True),
)

derived = sa.Table(
    "derived",
    metadata,
    sa.Column("key", sa.Text, primary_key=True),
    sa.Column("form", sa.Text, nullable=False),  # "json" or "bytes"
    sa.Column("body", sa.LargeBinary, nullable=False),
    sa.Column("made_at", sa.Text, nullable=False),
)
