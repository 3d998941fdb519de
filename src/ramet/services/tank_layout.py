"""One stock tank from above: its spots where they lie, or in rows by name, and the pieces on them."""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from ramet.domain.piece import Piece, name_key
from ramet.domain.places import SpotRecord

CELL_MM = 120.0
"""Side of a spot where nobody has told how large it is."""


@dataclass(frozen=True, slots=True)
class SpotPlace:
    """A spot: its middle from the front left corner [mm], light and flow, and the pieces on it."""

    name: str
    x_mm: float
    y_mm: float
    par: float | None
    flow_cm_s: float | None
    pieces: tuple[Piece, ...]


@dataclass(frozen=True, slots=True)
class TankLayout:
    """A tank as it is drawn. `to_scale`: its spots lie where they were measured, else in rows by name.

    `loose` are pieces without a spot.
    """

    system: str
    tank: str
    length_mm: float
    width_mm: float
    to_scale: bool
    spots: tuple[SpotPlace, ...]
    loose: tuple[Piece, ...]


@dataclass(slots=True)
class _Spot:
    name: str
    record: SpotRecord | None = None
    pieces: list[Piece] = field(default_factory=list)


def tank_layout(
    system: str, tank: str, pieces: Sequence[Piece], records: Iterable[SpotRecord], today: date
) -> TankLayout:
    """Return a tank with its spots and pieces; light and flow of a spot are the latest that were read."""
    here = [one for one in records if _is_here(one, system, tank) and one.on <= today]
    spots = _spots(pieces, here)
    frame = _latest([one for one in here if one.spot is None and one.length_mm and one.width_mm])
    at = {key: (one.record.x_mm, one.record.y_mm) for key, one in spots.items() if one.record}
    placed = {key: (x, y) for key, (x, y) in at.items() if x is not None and y is not None}
    loose = tuple(piece for piece in pieces if not piece.spot)
    if frame is not None and placed and len(placed) == len(spots):
        return TankLayout(
            system, tank, frame.length_mm or 0, frame.width_mm or 0, True, _placed(spots, placed), loose
        )
    columns = max(1, math.ceil(math.sqrt(1.6 * len(spots))))
    rows = max(1, math.ceil(len(spots) / columns))
    in_rows = {
        key: ((n % columns + 0.5) * CELL_MM, (rows - n // columns - 0.5) * CELL_MM)
        for n, key in enumerate(sorted(spots, key=lambda key: natural(spots[key].name)))
    }
    return TankLayout(system, tank, columns * CELL_MM, rows * CELL_MM, False, _placed(spots, in_rows), loose)


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Return what names are sorted by, so that rack 2 comes before rack 10.

    >>> sorted(["rack 10", "rack 2"], key=natural)
    ['rack 2', 'rack 10']
    """
    parts = re.findall(r"\d+|\D+", name.casefold())
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in parts)


def _spots(pieces: Sequence[Piece], records: Sequence[SpotRecord]) -> dict[str, _Spot]:
    spots: dict[str, _Spot] = {}
    for record in sorted(records, key=lambda one: one.on):
        if record.spot is not None:
            spot = spots.setdefault(name_key(record.spot), _Spot(record.spot))
            spot.record = _merged(spot.record, record)
    for piece in pieces:
        if piece.spot:
            spots.setdefault(name_key(piece.spot), _Spot(piece.spot)).pieces.append(piece)
    return spots


def _merged(before: SpotRecord | None, now: SpotRecord) -> SpotRecord:
    """Return a spot's latest record, with what only an earlier one told."""
    if before is None:
        return now
    told = {
        name: getattr(now, name) if getattr(now, name) is not None else getattr(before, name)
        for name in SpotRecord.__dataclass_fields__
    }
    return SpotRecord(**told)


def _placed(spots: Mapping[str, _Spot], at: Mapping[str, tuple[float, float]]) -> tuple[SpotPlace, ...]:
    return tuple(
        SpotPlace(one.name, *at[key], *_readings(one), tuple(one.pieces)) for key, one in spots.items()
    )


def _readings(spot: _Spot) -> tuple[float | None, float | None]:
    """Return light and flow: as recorded of the spot, else as read at a piece that stands on it."""
    par = spot.record.par if spot.record else None
    flow = spot.record.flow_cm_s if spot.record else None
    if par is None:
        par = next((piece.par for piece in spot.pieces if piece.par is not None), None)
    if flow is None:
        flow = next((piece.flow_cm_s for piece in spot.pieces if piece.flow_cm_s is not None), None)
    return par, flow


def _latest(records: Sequence[SpotRecord]) -> SpotRecord | None:
    return max(records, key=lambda one: one.on, default=None)


def _is_here(record: SpotRecord, system: str, tank: str) -> bool:
    return name_key(record.system) == name_key(system) and name_key(record.tank) == name_key(tank)
