"""What stands ready for each line when a piece is rejected on packing day, or what to cut for it before."""

from collections.abc import Sequence

from ramet.domain.words import How, PackingRule
from ramet.formats.plan import Substitute, Substitutes
from ramet.services.planning.candidates import Candidate, Candidates, substitutes
from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load

_MOST = 3


def ranked_substitutes(inputs: Inputs, found: Candidates, loads: Sequence[Load]) -> tuple[Substitutes, ...]:
    """Return for each line that sends something the pieces that could take a place in it, best first.

    Whole pieces come first, then cuts still to be made: cut with the others, they are spares against rejects.
    Nothing where the rule is off.
    """
    if PackingRule.PROPOSE_SPARES not in inputs.rules:
        return ()
    sent = [one for load in loads for one in load.parcel.candidates]
    going = frozenset(one.piece for one in sent)
    mothers = frozenset(one.mother for one in sent if one.mother is not None)
    rows = []
    for index, request in enumerate(inputs.shipment.request):
        here = [load for load in loads if load.parcel.line == index]
        if here:
            cuts = [
                one
                for one in found.candidates
                if one.request == index and one.how is How.CUT and not going & {one.piece, one.mother}
            ]
            ranked = [*substitutes(inputs, index, going | mothers), *cuts][:_MOST]
            rows.append(
                Substitutes(
                    request=request.id,
                    ranked=tuple(_row(inputs, one, here) for one in ranked),
                    note=_note(ranked),
                )
            )
    return tuple(rows)


def _row(inputs: Inputs, one: Candidate, here: Sequence[Load]) -> Substitute:
    return Substitute(
        piece=one.piece,
        strain=one.strain,
        taxon=one.taxon,
        size_mm=one.size_mm,
        how=one.how,
        bags=tuple(load.id for load in here if _fits(inputs, one, load)),
    )


def _fits(inputs: Inputs, one: Candidate, load: Load) -> bool:
    """Tell whether a piece fits the bag of a chosen one as planned: of its taxon, form, system; no larger."""
    was = load.parcel.candidates
    return (
        len(was) == 1
        and (one.taxon, one.form) == (was[0].taxon, was[0].form)
        and one.stock.system == was[0].stock.system
        and all(side <= old for side, old in zip(sorted(one.size_mm), sorted(was[0].size_mm), strict=True))
    )


def _note(ranked: Sequence[Candidate]) -> str:
    if not ranked:
        return "nothing else in stock answers to this line: look after what goes"
    if all(one.how is How.CUT for one in ranked):
        mothers = ", ".join(sorted({one.mother or "" for one in ranked}))
        return f"cut a spare from {mothers} with the others, against rejects on packing day"
    return ""
