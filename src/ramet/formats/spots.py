"""The spots table: one place of a tank a row, or the tank itself where `spot` is blank."""

from collections.abc import Iterable, Sequence
from dataclasses import fields

from ramet.domain.places import SpotRecord
from ramet.formats.cells import day, number, quantity, text_up_to, written
from ramet.formats.table import Column

_ID = text_up_to(80)
_FAR_MM = 20_000.0
_AT = quantity("mm", 0, _FAR_MM, "a distance from 0 to 20000 mm")
_SIDE = quantity("mm", 0, _FAR_MM, "a size above 0 and up to 20000 mm", above_low=True)

SPOT_COLUMNS: tuple[Column, ...] = (
    Column("system", _ID, required=True),
    Column("tank", _ID, required=True),
    Column("spot", _ID),
    Column("on", day),
    Column("par", number(0, 2500, "a light from 0 to 2500 µmol/m²/s")),
    Column("flow_cm_s", quantity("cm_s", 0, 500, "a flow from 0 to 500 cm/s")),
    Column("photoperiod_h", number(0, 24, "hours of light a day, from 0 to 24")),
    Column("x_mm", _AT),
    Column("y_mm", _AT),
    Column("z_mm", _AT),
    Column("length_mm", _SIDE),
    Column("width_mm", _SIDE),
    Column("height_mm", _SIDE),
    Column("water_l", quantity("l", 0, 1_000_000, "a volume above 0 litres", above_low=True)),
    Column("note", text_up_to(4000, lines=True)),
)


def spot_table(records: Sequence[SpotRecord]) -> Iterable[list[str]]:
    """Return header and rows of the spots table: every record, so that the light of a past day is there."""
    names = [column.name for column in SPOT_COLUMNS]
    yield names
    for record in records:
        yield [written(getattr(record, name)) for name in names]


def spot_fields(record: SpotRecord) -> dict[str, object]:
    """Return what a record says of its place, without where and since when."""
    where = {"system", "tank", "spot", "on"}
    return {one.name: getattr(record, one.name) for one in fields(record) if one.name not in where}
