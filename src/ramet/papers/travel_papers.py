"""What must travel with the boxes: the contents by scientific name and count, papers of origin, marks."""

from collections import Counter
from typing import Any

from ramet.formats.plan import Chosen, Plan
from ramet.papers import words

Context = dict[str, Any]
ASK = "Check your local rules and ask a licensed professional."

MARKS = (
    "Names and addresses of sender and receiver on the outside of each box, easy to see.",
    "LIVE ANIMALS on the top and at least one side, in letters of 25 mm or more.",
    "THIS WAY UP with arrows on all four sides.",
    "The list of contents by scientific name and number goes with the boxes, and says whether any animal "
    "is venomous.",
    "Copies of the papers of origin (permit, certificate, invoice) in the same envelope.",
)


def travel_context(plan: Plan) -> Context | None:
    """Return the papers that go with the boxes; nothing when no piece travels."""
    if not plan.bags:
        return None
    head = plan.shipment
    boxes = [box for box in plan.boxes if box.bags]
    return {
        "sender": head.sender,
        "sender_place": head.sender_place,
        "receiver": head.receiver,
        "receiver_place": head.receiver_place,
        "sent": words.zoned(head.departs, head.sender_zone),
        "boxes": str(len(boxes)),
        "total": _rows(plan.chosen),
        "count": len(plan.chosen),
        "goods": [f"{bag.goods} (bag {bag.id}, {words.box_name(bag.box)})" for bag in plan.bags if bag.goods],
        "outside": [
            {
                "box": words.box_name(box.id),
                "number": f"{index} of {len(boxes)}",
                "mass": words.kilograms(box.mass_kg),
                "list": _short_list(plan, box.id),
            }
            for index, box in enumerate(boxes, start=1)
        ],
        "marks": list(MARKS),
        "ask": ASK,
    }


def _rows(chosen: tuple[Chosen, ...]) -> list[Context]:
    counts = Counter(
        (one.taxon, words.listing(one.cites), one.source or "not given", one.permit or "not given")
        for one in chosen
    )
    return [
        {"taxon": taxon, "count": count, "cites": cites, "source": source, "permit": permit}
        for (taxon, cites, source, permit), count in sorted(counts.items())
    ]


def _short_list(plan: Plan, box_id: str) -> list[Context]:
    inside = {bag.id for bag in plan.bags if bag.box == box_id}
    counts = Counter(one.taxon for one in plan.chosen if one.bag in inside)
    corals = [{"count": str(count), "taxon": taxon, "goods": ""} for taxon, count in sorted(counts.items())]
    goods = [
        {"count": "", "taxon": "", "goods": bag.goods} for bag in plan.bags if bag.id in inside and bag.goods
    ]
    return corals + goods
