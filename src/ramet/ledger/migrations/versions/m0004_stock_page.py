"""The table of pieces with wounds, and with what its pages sort and search by.

The table is made from the events again after the migration: nothing in it needs converting.
"""

import sqlalchemy as sa
from alembic import op

from ramet.ledger.dialect import index_text

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

_SORTS = {
    "piece": ("sort_name", "key"),
    "strain": ("strain", "sort_name", "key"),
    "taxon": ("taxon", "sort_name", "key"),
    "place": ("system", "tank", "sort_name", "key"),
    "size": ("length_mm", "sort_name", "key"),
    "change": ("version", "key"),
}


def upgrade() -> None:
    """Make the table anew, empty."""
    op.drop_table("pieces")
    op.create_table(
        "pieces",
        sa.Column("id", sa.Integer(), nullable=False),
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
        sa.Column("sized_on", sa.Date()),
        sa.Column("base_on", sa.Date()),
        sa.Column("base_length_mm", sa.Float()),
        sa.Column("base_width_mm", sa.Float()),
        sa.Column("base_heads", sa.Integer()),
        sa.Column("wounded_on", sa.Date()),
        sa.Column("sort_name", sa.String(240), nullable=False),
        sa.Column("search", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("key"),
    )
    op.create_index("pieces_by_strain", "pieces", ["strain"])
    op.create_index("pieces_by_system", "pieces", ["system", "tank"])
    op.create_index("pieces_by_parent", "pieces", ["parent"])
    for name, columns in _SORTS.items():
        op.create_index(f"pieces_sorted_by_{name}", "pieces", ["standing", *columns])
    index_text(op.get_bind())


def downgrade() -> None:
    """There is no way back: an older ramet reads an export of this ledger."""
    raise NotImplementedError("restore a backup, or import an export, to go back")
