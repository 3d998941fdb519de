"""What to look for on arriving corals, how to dip them, when not to, and what to wear."""

from collections.abc import Sequence

from ramet.reference.facts import Dip
from ramet.reference.tables import Reference
from ramet.services.receiving.arriving import ArrivingBag, ArrivingPiece

_GUARDS = {
    "palytoxin": "Gloves and eye cover: {} can hold a strong poison. Keep water off eyes and wounds; no hot "
    "water, no steam.",
    "stinging_skin": "Gloves and covered arms: {} stings skin.",
}
_GUARDS_OTHERWISE = "Gloves and eye cover: {} can harm people."


def guards(reference: Reference, pieces: Sequence[ArrivingPiece]) -> tuple[str, ...]:
    """Return what hands and eyes need before the bag is touched."""
    by_toxin: dict[str, set[str]] = {}
    for one in pieces:
        genus = reference.genus(one.taxon)
        if genus is not None and genus.toxin:
            by_toxin.setdefault(genus.toxin, set()).add(genus.name)
    return tuple(
        _GUARDS.get(toxin, _GUARDS_OTHERWISE).format(", ".join(sorted(by_toxin[toxin])))
        for toxin in sorted(by_toxin)
    )


def inspection(reference: Reference, pieces: Sequence[ArrivingPiece]) -> tuple[str, ...]:
    """Return a line for each genus: the pests and diseases that live on it, and what rides on any mount."""
    genera = sorted({one.taxon.split()[0].capitalize() for one in pieces if one.taxon.split()})
    anywhere = [pest.words for pest in reference.pests.values() if not pest.host_genera]
    lines = []
    for genus in genera:
        own = [pest.words for pest in reference.pests.values() if genus in pest.host_genera]
        listed = "; ".join([*own, "eggs under the edge"] if own else ["eggs and bites under the edge"])
        lines.append(f"{genus}: {listed}")
    return (*lines, f"any mount: {'; '.join(anywhere)}") if lines else ()


def dip_of(reference: Reference, pieces: Sequence[ArrivingPiece]) -> Dip | None:
    """Return the class of dip for a bag, by its first coral: one bag holds one class of corals."""
    return reference.dip(pieces[0].taxon) if pieces else None


def postponed(reference: Reference, bag: ArrivingBag, pieces: Sequence[ArrivingPiece]) -> str:
    """Say whether the dip must wait from the start; empty when that is for the eye to decide."""
    if bag.margin_h < 0:
        return "put the dip off a day or two: a limit is expected to break before this bag is opened"
    cold = reference.parameter("straight_in_below_c").band.typical
    hot = reference.parameter("straight_in_above_c").band.typical
    if pieces and not cold <= bag.temperature_c <= hot:
        return f"put the dip off a day or two: the bag is expected at {bag.temperature_c:.1f} °C"
    return ""
