"""Events and the pieces they add up to."""

import sqlalchemy as sa
from alembic import op

from ramet.ledger.dialect import allow_edits, forbid_edits

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create both tables."""
    _create_events()
    _create_pieces()
    forbid_edits(op.get_bind())


def downgrade() -> None:
    """Drop both tables."""
    allow_edits(op.get_bind())
    op.drop_table("pieces")
    op.drop_table("events")


def _create_events() -> None:
    op.create_table(
        "events",
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("piece_key", sa.String(160)),
        sa.Column("piece", sa.String(80)),
        sa.Column("system", sa.String(80)),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("payload", sa.JSON(), nullable=False),
        sa.Column("recorded_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("recorded_by", sa.String(80), nullable=False),
        sa.Column("batch", sa.String(120), nullable=False),
        sa.PrimaryKeyConstraint("seq"),
    )
    op.create_index("events_by_piece", "events", ["piece_key", "seq"])
    op.create_index("events_by_kind", "events", ["kind", "seq"])


def _create_pieces() -> None:
    op.create_table(
        "pieces",
        sa.Column("key", sa.String(160), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("standing", sa.String(8), nullable=False),
        sa.Column("arrived_on", sa.Date()),
        sa.Column("piece", sa.String(80), nullable=False),
        sa.Column("strain", sa.String(80), nullable=False),
        sa.Column("taxon", sa.String(120), nullable=False),
        sa.Column("form", sa.String(16), nullable=False),
        sa.Column("system", sa.String(80), nullable=False),
        sa.Column("tank", sa.String(80), nullable=False),
        sa.Column("length_mm", sa.Float(), nullable=False),
        sa.Column("width_mm", sa.Float(), nullable=False),
        sa.Column("height_mm", sa.Float(), nullable=False),
        sa.Column("parent", sa.String(80)),
        sa.Column("spot", sa.String(80)),
        sa.Column("heads", sa.Integer()),
        sa.Column("mounted_on", sa.String(200)),
        sa.Column("cut_on", sa.Date()),
        sa.Column("acquired_on", sa.Date()),
        sa.Column("source", sa.String(200)),
        sa.Column("permit", sa.String(200)),
        sa.Column("par", sa.Float()),
        sa.Column("flow_cm_s", sa.Float()),
        sa.Column("note", sa.Text()),
        sa.Column("promised_to", sa.String(200)),
        sa.Column("defaults_used", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("key"),
    )
    op.create_index("pieces_by_strain", "pieces", ["strain"])
    op.create_index("pieces_by_system", "pieces", ["system", "tank"])
    op.create_index("pieces_by_parent", "pieces", ["parent"])
