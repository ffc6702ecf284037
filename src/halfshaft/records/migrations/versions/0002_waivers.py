"""Findings that somebody waived."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"

_NAME = sa.String(200)


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "waivers",
        sa.Column("number", sa.BigInteger().with_variant(sa.Integer, "sqlite"), primary_key=True, autoincrement=True),
        sa.Column("conversion", sa.String(32), sa.ForeignKey("conversions.ref"), nullable=False, index=True),
        sa.Column("rule", _NAME, nullable=False),
        sa.Column("about", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("revision", sa.String(64), sa.ForeignKey("revisions.id"), nullable=False),
        sa.Column("stands", sa.Boolean, nullable=False),
        sa.Column("by", _NAME, nullable=False),
        sa.Column("at", sa.String(27), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
    )
