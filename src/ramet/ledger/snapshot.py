"""The stock as a value: what a plan is made from, with a hash of all of it."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date

from ramet.domain.events import Standing
from ramet.domain.piece import Hold, Piece, StockSnapshot, ThingHold, WaterRecord, name_key
from ramet.ledger.queries import Contents


def snapshot(
    contents: Contents, holds: Sequence[Hold], today: date, things: Sequence[ThingHold] = ()
) -> StockSnapshot:
    """Return pieces in stock by id, their holds, and the latest reading of each system on a day.

    Holds come from outside: they depend on the table of pests, which the ledger does not know.
    """
    pieces = tuple(
        state.piece for _, state in sorted(contents.states.items()) if state.standing is Standing.ALIVE
    )
    water = _latest(contents.water, today)
    sha256 = content_sha256(pieces, holds, water, things)
    return StockSnapshot(contents.version, pieces, tuple(holds), water, sha256, tuple(things))


def content_sha256(
    pieces: Sequence[Piece],
    holds: Sequence[Hold],
    water: Sequence[WaterRecord],
    things: Sequence[ThingHold] = (),
) -> str:
    """Return the hash of what a snapshot says, whatever the events it came from."""
    content = [[asdict(one) for one in part] for part in (pieces, holds, water, things)]
    text = json.dumps(content, default=date.isoformat, ensure_ascii=False, sort_keys=True)
    return hashlib.sha256(text.encode()).hexdigest()


def _latest(water: Sequence[WaterRecord], today: date) -> tuple[WaterRecord, ...]:
    latest: dict[str, WaterRecord] = {}
    for record in sorted(water, key=lambda one: one.on):
        if record.on <= today:
            latest[name_key(record.system)] = record
    return tuple(latest[key] for key in sorted(latest))
