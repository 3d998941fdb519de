"""The work a shipment asks for, before it has times: what to do, how long it takes, after what.

Bounds are in the sender's day: a job ends by `ends_by` and starts no sooner than `starts_from`.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from ramet.domain.words import BagClass, How
from ramet.services.calendar.healing import latest_cut_on

if TYPE_CHECKING:
    from ramet.formats.plan import Chosen
    from ramet.formats.shipment import Shipment
    from ramet.reference.tables import Reference


@dataclass(frozen=True, slots=True)
class Work:
    """One job of the sender. `after` holds (id, hours between its end and this start).

    `parts` are the tasks a job falls into, done one after the other without a pause: (kind, title, minutes).
    """

    id: str
    parts: tuple[tuple[str, str, int], ...]
    pieces: tuple[str, ...]
    starts_from: datetime
    ends_by: datetime
    after: tuple[tuple[str, float], ...] = ()
    note: str = ""
    hands_min: int | None = None
    zone: ZoneInfo | None = None

    @property
    def lasts_min(self) -> int:
        """Minutes from its start to its end."""
        return sum(minutes for _, _, minutes in self.parts)


@dataclass(frozen=True, slots=True)
class CutGroup:
    """Pieces cut in one go: the same tank or mother, the same kind of water, last days close together."""

    index: int
    pieces: tuple["Chosen", ...]
    where: str
    latest: date

    @property
    def ids(self) -> tuple[str, ...]:
        """Ids of the pieces."""
        return tuple(piece.piece for piece in self.pieces)

    @property
    def mothers(self) -> str:
        """Names of the mothers that are cut."""
        return ", ".join(sorted({piece.mother or piece.strain for piece in self.pieces}))


@dataclass(frozen=True, slots=True)
class Setting:
    """What all jobs of a calendar share. `dips` says how many dips each tank's group gets."""

    shipment: "Shipment"
    reference: "Reference"
    today: date
    sealed_from: datetime
    departs: datetime
    zone: ZoneInfo
    tanks: Mapping[str, str]
    dips: Mapping[str, int] = field(default_factory=dict)

    @property
    def packed_on(self) -> date:
        """Day of packing, as the sender's calendar has it."""
        return self.sealed_from.astimezone(self.zone).date()

    def typical(self, name: str) -> float:
        """Typical value of a calendar parameter, in its own unit."""
        return self.reference.parameter(name).band.typical

    def minutes(self, name: str) -> int:
        """Typical value of a duration in whole minutes, rounded up."""
        return math.ceil(self.typical(name))

    def at(self, day: date, hour: float) -> datetime:
        """Return an hour of a day on the sender's clock."""
        return datetime.combine(day, time(int(hour), round(hour % 1 * 60)), self.zone)

    def day_ends(self, day: date) -> datetime:
        """Return the end of the working time of a day."""
        return self.at(day, self.typical("working_day_ends"))

    @property
    def begins(self) -> datetime:
        """The first moment anything may be done: today's opening, or earlier where packing comes earlier."""
        opening = self.at(self.today, self.typical("working_day_starts"))
        return max(self.at(self.today, 0), min(opening, self.sealed_from - timedelta(hours=2)))

    @property
    def rest(self) -> timedelta:
        """Time before packing in which no piece is dipped."""
        own = self.shipment.rest_before_packing_d
        return timedelta(days=self.typical("dip_rest") if own is None else own)


def dip_spacing_d(setting: Setting, pieces: Iterable["Chosen"]) -> float:
    """Return the days between two dips: past the hatch of every pest with a known one, else the default."""
    known = [setting.typical("dip_spacing")]
    for genus in sorted({piece.taxon.split()[0] for piece in pieces}):
        for pest in setting.reference.pests.values():
            spacing = setting.reference.parameters.get(f"dip_spacing_{pest.id}")
            if spacing is not None and genus in pest.host_genera:
                known.append(spacing.band.typical)
    return max(known)


def cut_groups(
    setting: Setting, chosen: Sequence["Chosen"]
) -> tuple[tuple[CutGroup, ...], tuple["Chosen", ...]]:
    """Return the cuts in groups, and the pieces that would not seal by packing day if cut today."""
    by_place: dict[tuple[str, bool], list[tuple[date, Chosen]]] = {}
    late = []
    for piece in (one for one in chosen if one.how is How.CUT):
        latest = latest_cut_on(setting.reference, piece.taxon, piece.form, setting.packed_on)
        if latest < setting.today:
            late.append(piece)
            continue
        where = setting.tanks.get(piece.piece) or piece.mother or piece.strain
        by_place.setdefault((where, piece.bag_class is BagClass.STONY), []).append((latest, piece))
    together = timedelta(days=setting.typical("cut_together"))
    runs = [
        (where, run)
        for (where, _), cuts in sorted(by_place.items(), key=lambda one: one[0])
        for run in _runs(cuts, together)
    ]
    groups = (
        CutGroup(number, tuple(piece for _, piece in run), where, run[0][0])
        for number, (where, run) in enumerate(runs, 1)
    )
    return tuple(groups), tuple(late)


def _runs(cuts: Sequence[tuple[date, "Chosen"]], together: timedelta) -> list[list[tuple[date, "Chosen"]]]:
    """Cuts whose last days lie close together are made in one go, by the first of those days."""
    runs: list[list[tuple[date, Chosen]]] = []
    for latest, piece in sorted(cuts, key=lambda one: (one[0], one[1].piece)):
        if runs and latest - runs[-1][0][0] <= together:
            runs[-1].append((latest, piece))
        else:
            runs.append([(latest, piece)])
    return runs


def dip_groups(setting: Setting, chosen: Sequence["Chosen"]) -> dict[str, tuple["Chosen", ...]]:
    """Return the pieces that are dipped together: by tank, or by class where the tank is not known.

    A cut that would not seal in time is not made, so it is in no group.
    """
    _, unsealed = cut_groups(setting, chosen)
    found: dict[str, list[Chosen]] = {}
    for piece in (one for one in chosen if one not in unsealed):
        where = setting.tanks.get(piece.piece)
        found.setdefault(f"tank {where}" if where else f"the {piece.bag_class} pieces", []).append(piece)
    return {name: tuple(pieces) for name, pieces in sorted(found.items())}


def growing_work(setting: Setting, chosen: Sequence["Chosen"]) -> tuple[Work, ...]:
    """Return the work of the weeks before: dips, cuts, and the search for eggs between the dips."""
    groups, _ = cut_groups(setting, chosen)
    dipped = dip_groups(setting, chosen)
    work = [_cut(setting, group, dipped) for group in groups]
    for number, (name, pieces) in enumerate(dipped.items(), 1):
        work += _dips(setting, number, name, pieces, groups)
    return (*work, *_eggs(setting, work))


def _cut(setting: Setting, group: CutGroup, dipped: Mapping[str, tuple["Chosen", ...]]) -> Work:
    many = counted(group.pieces)
    cutting = setting.typical("cut_set_up") + sum(
        setting.typical(f"cut_{piece.form}") for piece in group.pieces
    )
    mounting = setting.typical("mount_piece") * len(group.pieces)
    # The mother is dipped before the cut, so that no pest is carried to the wound.
    after = tuple(
        (f"dip-{number}-1", 0.0)
        for number, (name, pieces) in enumerate(dipped.items(), 1)
        if setting.dips.get(name, 0) >= 2 and any(piece in pieces for piece in group.pieces)
    )
    return Work(
        id=f"cut-{group.index}",
        parts=(
            ("cut", f"Cut {many} from {group.mothers}", math.ceil(cutting)),
            ("mount", f"Mount and label {many} from {group.mothers}", math.ceil(mounting)),
        ),
        pieces=group.ids,
        starts_from=setting.begins,
        ends_by=setting.day_ends(group.latest),
        after=after,
        note="Label each piece with its mother before the next is cut.",
    )


def _dips(
    setting: Setting,
    number: int,
    name: str,
    pieces: tuple["Chosen", ...],
    groups: tuple[CutGroup, ...],
) -> list[Work]:
    count = setting.dips.get(name, 0)
    spacing_h = 24 * dip_spacing_d(setting, pieces)
    cuts = tuple(
        (f"cut-{group.index}", 24 * setting.typical("cut_to_dip"))
        for group in groups
        if any(piece in pieces for piece in group.pieces)
    )
    lasts = math.ceil(setting.typical("dip_set_up") + setting.typical("dip_piece") * len(pieces))
    work = []
    for turn in range(1, count + 1):
        # With two dips or more the first is for the mothers; the cuts have theirs once the edge has rested.
        after: tuple[tuple[str, float], ...] = ()
        if turn > 1:
            after = ((f"dip-{number}-{turn - 1}", spacing_h),)
        if turn == count:
            after += cuts
        mothers_first = turn == 1 and count >= 2 and bool(cuts)
        ids = tuple(dict.fromkeys(_before_cut(piece) if mothers_first else piece.piece for piece in pieces))
        work.append(
            Work(
                id=f"dip-{number}-{turn}",
                parts=(("dip", f"Dip {turn} of {count} and look over: {name}, {counted(ids)}", lasts),),
                pieces=ids,
                starts_from=setting.begins,
                ends_by=setting.sealed_from - setting.rest,
                after=after,
                note=("Dip the mothers of the pieces still to be cut. " if mothers_first else "")
                + "A dip does not kill eggs: scrape them off, and look under the plug.",
            )
        )
    return work


def _eggs(setting: Setting, work: Sequence[Work]) -> list[Work]:
    """Return one search for eggs and bites between the dips of all tanks that get two or more."""
    ids = {one.id for one in work}
    firsts = [one for one in work if one.id.endswith("-1") and f"{one.id[:-1]}2" in ids]
    pieces = tuple(piece for one in firsts if one.parts[0][0] == "dip" for piece in one.pieces)
    if not pieces:
        return []
    wait_h = 24 * setting.typical("eggs_after_dip")
    return [
        Work(
            id="eggs",
            parts=(
                (
                    "inspect",
                    f"Search for eggs and bites, {counted(pieces)}",
                    inspection_min(setting, pieces),
                ),
            ),
            pieces=pieces,
            starts_from=setting.begins,
            ends_by=setting.sealed_from - setting.rest - timedelta(days=1),
            after=tuple((one.id, wait_h) for one in firsts if one.parts[0][0] == "dip"),
            note="Anything found: stop, and start the health hold.",
        )
    ]


def counted(pieces: Sequence[object]) -> str:
    """Return how many pieces, in words that agree: 1 piece, 2 pieces."""
    return f"{len(pieces)} piece{'' if len(pieces) == 1 else 's'}"


def _before_cut(piece: "Chosen") -> str:
    return piece.mother if piece.how is How.CUT and piece.mother else piece.piece


def inspection_min(setting: Setting, pieces: Sequence[str]) -> int:
    """Return the minutes for looking over some pieces."""
    return math.ceil(setting.typical("inspect_set_up") + setting.typical("inspect_piece") * len(pieces))
