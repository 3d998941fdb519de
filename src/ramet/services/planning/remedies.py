"""What would change a reason met on the way to the choice: lifted, bagged and packed with all that goes."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from ramet.formats.plan import Reason
from ramet.optimise.explain import Entry, how_it_enters
from ramet.services.planning.bag_options import (
    BestWay,
    Parcel,
    best_way,
    coral_parcel,
    judge_bag_options,
)
from ramet.services.planning.boxing import ReadyBox, ready_boxes
from ramet.services.planning.candidates import (
    Candidate,
    Candidates,
    Refusal,
    all_objections,
    whole_candidate,
)
from ramet.services.planning.coefficients import to_problem
from ramet.services.planning.expected_heat import ExpectedHeat, equip
from ramet.services.planning.gather import Inputs
from ramet.services.planning.tank_room import tank_room
from ramet.services.planning.tighten import Packed

_OF_A_PIECE = frozenset(
    {"held", "promised", "too_small", "too_large", "not_healed", "last_of_strain", "no_light"}
)
_AT_ONCE = Entry()
_BAGS, _PACKS = "bags", "packs"
_MILDER_K = (5.0, 10.0, 20.0)
_OF_A_BAG = frozenset({"no_bag_holds", "no_bag_fits"})


@dataclass(frozen=True, slots=True)
class Remedies:
    """Tries what would change a refusal; holds what every try needs."""

    inputs: Inputs
    found: Candidates
    packed: Packed
    boxes: Sequence[ReadyBox]
    heat: Sequence[ExpectedHeat]
    _known: dict[str, tuple[Sequence[ReadyBox], Sequence[ExpectedHeat]]] = field(default_factory=dict)

    def tried(self, refusal: Refusal) -> Reason:
        """Return a refusal as a reason whose remedy was tried, or as it was met where none can be."""
        if refusal.code in _OF_A_PIECE:
            return self._of_a_piece(refusal)
        if refusal.code in _OF_A_BAG:
            return self._of_a_bag(refusal)
        return met(refusal)

    def _of_a_piece(self, refusal: Refusal) -> Reason:
        piece = next((one for one in self.inputs.stock.pieces if one.piece == refusal.piece), None)
        if piece is None:
            return met(refusal)
        objections = all_objections(self.inputs, refusal.request, piece)
        texts = [one.text for one in objections]
        woulds = [one.would_fit_if for one in objections]
        binds = [one.code for one in objections]
        candidate = whole_candidate(self.inputs, refusal.request, piece)
        parcel, thin = self._bagged(self.inputs, candidate, self.heat)
        if thin is not None:
            texts, woulds, binds = [*texts, thin.text], [*woulds, thin.would_fit_if], [*binds, thin.code]
            return self._told(refusal, texts, woulds, binds, _AT_ONCE).model_copy(update={"tried": False})
        entry = self._entry(parcel, last="last_of_strain" in binds)
        return self._told(refusal, texts, woulds, binds, entry)

    def _of_a_bag(self, refusal: Refusal) -> Reason:
        """Tell what breaks in the best bag; try oxygen, other bags and more packs where they are short."""
        candidate = next(
            (
                one
                for one in self.found.candidates
                if (one.request, one.piece) == (refusal.request, refusal.piece)
            ),
            None,
        )
        if candidate is None:
            return met(refusal)
        best = best_way(self.inputs, coral_parcel(self.inputs, (candidate,)), self.heat)
        text, would = refusal.text, refusal.would_fit_if
        if best is not None and best.breaks:
            text = f"{text}: {best.breaks}"
        for what, changed in (*self._at_hand(), *self._milder(best)):
            boxes, heat = self._equipped(what, changed)
            parcel, thin = self._bagged(changed, candidate, heat)
            if thin is None:
                entry = self._entry(parcel, boxes=boxes)
                words = _named(what, parcel, boxes)
                helped = self._told(refusal, [text], [words], [refusal.code], entry)
                both = f"{helped.would_fit_if}; or {would}" if best else helped.would_fit_if
                return helped.model_copy(update={"would_fit_if": both})
        binds = (refusal.code,)
        return Reason(code=refusal.code, text=text, would_fit_if=would, piece=refusal.piece, binds=binds)

    def _at_hand(self) -> Iterator[tuple[str, Inputs]]:
        """Yield what is not at hand and would be, from the easiest to get, with the inputs changed so."""
        shipment = self.inputs.shipment
        gear, carrier = shipment.gear, shipment.carrier
        if not gear.oxygen:
            yield "oxygen is at hand", self._with(gear=gear.model_copy(update={"oxygen": True}))
        if gear.bags:
            yield _BAGS, self._with(gear=gear.model_copy(update={"bags": {}}))
        if gear.packs:
            yield _PACKS, self._with(gear=gear.model_copy(update={"packs": {}}))
        if carrier.heat_packs == "no":
            takes = carrier.model_copy(update={"heat_packs": "yes"})
            yield "the carrier takes heat packs", self._with(carrier=takes)

    def _milder(self, best: BestWay | None) -> Iterator[tuple[str, Inputs]]:
        """Yield milder weather where cold or heat is what breaks first, from the least change."""
        word = "" if best is None else best.breaks.partition(" ")[0]
        sign = {"colder": 1.0, "warmer": -1.0}.get(word)
        for kelvin in _MILDER_K if sign is not None else ():
            legs = tuple(
                leg.model_copy(update={"low_c": leg.low_c + shift, "high_c": leg.high_c + shift})
                for leg in self.inputs.shipment.leg
                for shift in [kelvin * (sign or 0.0)]
            )
            change = "warmer" if word == "colder" else "cooler"
            yield f"the air on the way is {kelvin:g} °C {change}", self._with(leg=legs)

    def _equipped(self, what: str, changed: Inputs) -> tuple[Sequence[ReadyBox], Sequence[ExpectedHeat]]:
        """Return the boxes with their packs under a change, worked out once for all that ask for it."""
        if what not in self._known:
            self._known[what] = equip(changed, self.found.candidates, ready_boxes(changed))
        return self._known[what]

    def _with(self, **changes: object) -> Inputs:
        return replace(self.inputs, shipment=self.inputs.shipment.model_copy(update=changes))

    def _bagged(
        self, inputs: Inputs, candidate: Candidate, heat: Sequence[ExpectedHeat]
    ) -> tuple[Parcel, Refusal | None]:
        alone = coral_parcel(inputs, (candidate,))
        options = judge_bag_options(inputs, [alone], (), heat)
        return (options.parcels[0], None) if options.parcels else (alone, options.refusals[0])

    def _entry(
        self, parcel: Parcel, *, last: bool = False, boxes: Sequence[ReadyBox] | None = None
    ) -> Entry | None:
        """Return what else it takes for a bag to go with all that goes."""
        assert parcel.candidate is not None
        found = replace(self.found, candidates=(*self.found.candidates, parcel.candidate))
        if last:  # the remedy gives the last piece away
            strain = parcel.candidate.strain
            spare = {**found.spare_pieces, strain: found.spare_pieces.get(strain, 0) + 1}
            found = replace(found, spare_pieces=spare)
        room = tank_room(self.inputs, found.candidates)
        parcels = (*self.packed.parcels, parcel)
        problem = to_problem(self.inputs, found, parcels, self.boxes if boxes is None else boxes, room)
        return how_it_enters(problem, self.packed.result, len(parcels) - 1)

    def _told(
        self,
        refusal: Refusal,
        texts: Sequence[str],
        woulds: Sequence[str],
        binds: Sequence[str],
        entry: Entry | None,
    ) -> Reason:
        text, would = "; ".join(texts), ", and ".join(woulds)
        if entry is None:
            text += "; and no room was found for it then"
            would += ", and there is more room than any change that was tried makes"
            binds = [*binds, "no_room"]
        elif entry.needs:
            would += ", and " + ", and ".join(entry.needs)
            binds = [*binds, *entry.binds]
        elif entry.instead:
            would += f"; it would go in place of {entry.instead}"
        return Reason(
            code=refusal.code,
            text=text,
            would_fit_if=would,
            piece=refusal.piece,
            binds=tuple(binds),
            tried=entry is not None,
        )


def _named(what: str, parcel: Parcel, boxes: Sequence[ReadyBox]) -> str:
    """Return what is to be at hand, with the name of the bag or packs that would do."""
    if what == _BAGS:
        return f"a bag or cup like this is at hand: {parcel.ways[0].way.type.words}"
    if what == _PACKS:
        kinds = Counter(pack.type.id.replace("_", " ") for pack in boxes[0].packs)
        listed = ", ".join(f"{count} × {kind}" for kind, count in kinds.items())
        return f"more packs are at hand (box {boxes[0].id}: {listed or 'none'})"
    return what


def met(refusal: Refusal) -> Reason:
    """Return a refusal as it was met, its remedy not tried."""
    return Reason(
        code=refusal.code, text=refusal.text, would_fit_if=refusal.would_fit_if, piece=refusal.piece
    )
