"""The day a piece's sizes are of, and the sizes it has grown from: filled in from the events afterwards."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

_COLUMNS = (
    ("sized_on", sa.Date()),
    ("base_on", sa.Date()),
    ("base_length_mm", sa.Float()),
    ("base_width_mm", sa.Float()),
    ("base_heads", sa.Integer()),
)


def upgrade() -> None:
    """Add the columns."""
    for name, kind in _COLUMNS:
        op.add_column("pieces", sa.Column(name, kind))


def downgrade() -> None:
    """Drop the columns."""
    for name, _ in _COLUMNS:
        op.drop_column("pieces", name)
