"""Work that runs in the background."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Create the table of jobs."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("subject", sa.String(120), nullable=False),
        sa.Column("what", sa.JSON(), nullable=False),
        sa.Column("state", sa.String(8), nullable=False),
        sa.Column("progress", sa.JSON(), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("stop_asked", sa.Boolean(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("owner", sa.String(120)),
        sa.Column("asked_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("started_at", sa.DateTime(timezone=True)),
        sa.Column("beat_at", sa.DateTime(timezone=True)),
        sa.Column("ended_at", sa.DateTime(timezone=True)),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("jobs_by_state", "jobs", ["state", "asked_at"])
    op.create_index("jobs_by_subject", "jobs", ["kind", "subject", "asked_at"])


def downgrade() -> None:
    """Drop it."""
    op.drop_table("jobs")
