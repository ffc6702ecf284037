"""What was typed before what stands in a draft, to be taken back and had again."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Add the columns."""
    for name in ("undo", "redo"):
        op.add_column("drafts", sa.Column(name, sa.Text, nullable=False, server_default=""))
