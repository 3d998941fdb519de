"""A receiving tank on its own (TOML with a [tank] table), and a plain list of corals for it (CSV or XLSX)."""

from dataclasses import replace

from ramet.formats.cells import whole_number
from ramet.formats.fields import FileModel
from ramet.formats.receiving import Tank
from ramet.formats.shipment import Goods
from ramet.formats.stock import COLUMNS
from ramet.formats.table import Column


class TankFile(FileModel):
    """A tank, with goods that go along if any. A whole shipment file is read by its own model."""

    name: str = ""
    tank: Tank
    goods: tuple[Goods, ...] = ()


_REQUIRED = ("taxon", "length_mm")

CORAL_COLUMNS: tuple[Column, ...] = (
    *(replace(column, required=column.name in _REQUIRED) for column in COLUMNS),
    Column("count", whole_number(1, 1000, "a whole number of such pieces, 1 to 1000")),
)
"""A stock list will do as it stands; of a shorter list only taxon and length are asked."""
