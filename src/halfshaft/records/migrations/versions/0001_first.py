"""The first tables.

Copied from records/tables.py as it was then: a step of the schema never changes, whatever becomes of the tables later.
"""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

_HASH, _TIME, _NAME = sa.String(64), sa.String(27), sa.String(200)
_NUMBER = sa.BigInteger().with_variant(sa.Integer, "sqlite")


def upgrade() -> None:
    """Make the tables."""
    op.create_table("blobs", sa.Column("hash", _HASH, primary_key=True), sa.Column("data", sa.LargeBinary, nullable=False))
    op.create_table("conversions", sa.Column("ref", sa.String(32), primary_key=True), sa.Column("main", sa.String(16), nullable=False))
    _revisions()
    _lines()
    _steps()
    _people()


def _revisions() -> None:
    op.create_table(
        "revisions",
        sa.Column("id", _HASH, primary_key=True),
        sa.Column("conversion", sa.String(32), sa.ForeignKey("conversions.ref"), nullable=False),
        sa.Column("tree", _HASH, sa.ForeignKey("blobs.hash"), nullable=False),
        sa.Column("by", _NAME, nullable=False),
        sa.Column("at", _TIME, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
    )
    op.create_table(
        "parents",
        sa.Column("revision", _HASH, sa.ForeignKey("revisions.id"), primary_key=True),
        sa.Column("place", sa.Integer, primary_key=True),
        sa.Column("parent", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
    )


def _lines() -> None:
    op.create_table(
        "lines",
        sa.Column("id", sa.String(16), primary_key=True),
        sa.Column("conversion", sa.String(32), sa.ForeignKey("conversions.ref"), nullable=False, index=True),
        sa.Column("kind", sa.String(8), nullable=False),
        sa.Column("name", _NAME, nullable=False),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("of", sa.String(16), sa.ForeignKey("lines.id")),
        sa.Column("started_from", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("head", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("redo", sa.Text, nullable=False),
        sa.Column("by", _NAME, nullable=False),
        sa.Column("at", _TIME, nullable=False),
    )
    op.create_table(
        "moves",
        sa.Column("number", _NUMBER, primary_key=True, autoincrement=True),
        sa.Column("line", sa.String(16), sa.ForeignKey("lines.id"), nullable=False, index=True),
        sa.Column("act", sa.String(8), nullable=False),
        sa.Column("before", _HASH, sa.ForeignKey("revisions.id")),
        sa.Column("after", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("by", _NAME, nullable=False),
        sa.Column("at", _TIME, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "drafts",
        sa.Column("line", sa.String(16), sa.ForeignKey("lines.id"), primary_key=True),
        sa.Column("by", _NAME, primary_key=True),
        sa.Column("base", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("tree", _HASH, sa.ForeignKey("blobs.hash"), nullable=False),
        sa.Column("at", _TIME, nullable=False),
    )


def _steps() -> None:
    op.create_table(
        "steps",
        sa.Column("number", _NUMBER, primary_key=True, autoincrement=True),
        sa.Column("id", sa.String(64), nullable=False, unique=True),
        sa.Column("revision", _HASH, sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("loom", _NAME, nullable=False),
        sa.Column("work", sa.String(8), nullable=False),
        sa.Column("item", _NAME, nullable=False),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("by", _NAME, nullable=False),
        sa.Column("at", _TIME, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_index("ix_steps_revision_loom", "steps", ["revision", "loom"])


def _people() -> None:
    op.create_table(
        "accounts",
        sa.Column("name", _NAME, primary_key=True),
        sa.Column("password", sa.Text, nullable=False),
        sa.Column("role", sa.String(8), nullable=False),
        sa.Column("at", _TIME, nullable=False),
        sa.Column("closed", sa.Boolean, nullable=False),
    )
    op.create_table(
        "sessions",
        sa.Column("token", _HASH, primary_key=True),
        sa.Column("csrf", sa.String(64), nullable=False),
        sa.Column("account", _NAME, sa.ForeignKey("accounts.name"), nullable=False),
        sa.Column("expires", _TIME, nullable=False),
    )
    op.create_table(
        "attempts",
        sa.Column("number", _NUMBER, primary_key=True, autoincrement=True),
        sa.Column("name", _NAME, nullable=False),
        sa.Column("address", _NAME, nullable=False),
        sa.Column("at", _TIME, nullable=False, index=True),
    )
