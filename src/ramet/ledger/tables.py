"""The tables of the ledger: the events, the pieces they add up to, and the work in the background."""

from datetime import UTC, datetime

from sqlalchemy import (
    JSON,
    Boolean,
    Column,
    Date,
    DateTime,
    Dialect,
    Float,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)

metadata = MetaData()


class UtcDateTime(TypeDecorator[datetime]):
    """A moment in UTC, aware on both databases (SQLite alone would hand it back without its zone)."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Refuse a moment without a zone; store it in UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("the ledger takes moments with a zone only")
        return value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Hand a moment back with its zone."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


events = Table(
    "events",
    metadata,
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("kind", String(16), nullable=False),
    Column("piece_key", String(160)),
    Column("piece", String(80)),
    Column("system", String(80)),
    Column("at", UtcDateTime, nullable=False),
    Column("payload", JSON, nullable=False),
    Column("recorded_at", UtcDateTime, nullable=False),
    Column("recorded_by", String(80), nullable=False),
    Column("batch", String(120), nullable=False),
    Index("events_by_piece", "piece_key", "seq"),
    Index("events_by_kind", "kind", "seq"),
)

pieces = Table(
    "pieces",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", String(160), nullable=False, unique=True),
    Column("version", Integer, nullable=False),
    Column("standing", String(8), nullable=False),
    Column("arrived_on", Date),
    Column("piece", String(80), nullable=False),
    Column("strain", String(80), nullable=False),
    Column("taxon", String(120), nullable=False),
    Column("form", String(16), nullable=False),
    Column("system", String(80), nullable=False),
    Column("tank", String(80), nullable=False),
    Column("length_mm", Float, nullable=False),
    Column("width_mm", Float, nullable=False),
    Column("height_mm", Float, nullable=False),
    Column("parent", String(80)),
    Column("spot", String(80)),
    Column("heads", Integer),
    Column("mounted_on", String(200)),
    Column("cut_on", Date),
    Column("acquired_on", Date),
    Column("source", String(200)),
    Column("permit", String(200)),
    Column("par", Float),
    Column("flow_cm_s", Float),
    Column("note", Text),
    Column("promised_to", String(200)),
    Column("defaults_used", String(200), nullable=False),
    Column("sized_on", Date),
    Column("base_on", Date),
    Column("base_length_mm", Float),
    Column("base_width_mm", Float),
    Column("base_heads", Integer),
    Column("wounded_on", Date),
    Column("sort_name", String(240), nullable=False),
    Column("search", Text, nullable=False),
    Index("pieces_by_strain", "strain"),
    Index("pieces_by_system", "system", "tank"),
    Index("pieces_by_parent", "parent"),
    # One a sort of the stock page: what it shows is nearly always what is alive.
    Index("pieces_sorted_by_piece", "standing", "sort_name", "key"),
    Index("pieces_sorted_by_strain", "standing", "strain", "sort_name", "key"),
    Index("pieces_sorted_by_taxon", "standing", "taxon", "sort_name", "key"),
    Index("pieces_sorted_by_place", "standing", "system", "tank", "sort_name", "key"),
    Index("pieces_sorted_by_size", "standing", "length_mm", "sort_name", "key"),
    Index("pieces_sorted_by_change", "standing", "version", "key"),
)
"""What the events add up to; made afresh from them after a migration, so that none needs to convert it."""

jobs = Table(
    "jobs",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("kind", String(16), nullable=False),
    Column("subject", String(120), nullable=False),
    Column("what", JSON, nullable=False),
    Column("state", String(8), nullable=False),
    Column("progress", JSON, nullable=False),
    Column("answer", Text, nullable=False),
    Column("stop_asked", Boolean, nullable=False),
    Column("attempts", Integer, nullable=False),
    Column("owner", String(120)),
    Column("asked_at", UtcDateTime, nullable=False),
    Column("started_at", UtcDateTime),
    Column("beat_at", UtcDateTime),
    Column("ended_at", UtcDateTime),
    Index("jobs_by_state", "state", "asked_at"),
    Index("jobs_by_subject", "kind", "subject", "asked_at"),
)
