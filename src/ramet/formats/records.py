"""The water table, one reading of a system a row, and the health table, one record of a pest a row."""

from collections.abc import Iterable, Sequence
from dataclasses import fields

from ramet.domain.events import HealthKind, HealthRecord
from ramet.domain.piece import WaterRecord
from ramet.formats.cells import day, number, quantity, text_up_to, word_of, written
from ramet.formats.table import Column

_ID = text_up_to(80)

WATER_COLUMNS: tuple[Column, ...] = (
    Column("system", _ID, required=True),
    Column("on", day, required=True),
    Column("temperature_c", quantity("c", 5, 40, "a temperature from 5 to 40 °C"), required=True),
    Column("salinity", number(5, 45, "a salinity from 5 to 45 (g/kg)"), required=True),
    Column("alkalinity_meq_l", quantity("meq_l", 0, 10, "an alkalinity from 0 to 10 meq/L"), required=True),
    Column("calcium_mg_l", quantity("mg_l", 0, 2000, "calcium from 0 to 2000 mg/L")),
    Column("magnesium_mg_l", quantity("mg_l", 0, 5000, "magnesium from 0 to 5000 mg/L")),
    Column("nitrate_mg_l", quantity("mg_l", 0, 500, "nitrate from 0 to 500 mg/L")),
    Column("phosphate_mg_l", quantity("mg_l", 0, 50, "phosphate from 0 to 50 mg/L")),
    Column("ph", number(6, 10, "a pH from 6 to 10")),
)

HEALTH_COLUMNS: tuple[Column, ...] = (
    Column("on", day, required=True),
    Column("kind", word_of(HealthKind), required=True),
    Column("pest", text_up_to(40), required=True),
    Column("piece", _ID, aliases=("frag",)),
    Column("system", _ID),
    Column("note", text_up_to(4000, lines=True)),
)


def water_table(records: Sequence[WaterRecord]) -> Iterable[list[str]]:
    """Return header and rows of the water table."""
    names = [one.name for one in fields(WaterRecord)]
    yield names
    for record in records:
        yield [written(getattr(record, name)) for name in names]


def health_table(records: Sequence[HealthRecord]) -> Iterable[list[str]]:
    """Return header and rows of the health table."""
    names = [column.name for column in HEALTH_COLUMNS]
    yield names
    for record in records:
        yield [written(getattr(record, name)) for name in names]
