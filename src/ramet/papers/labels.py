"""Bag labels to cut: what must be read at arm's length, and a code that a phone reads."""

import io
from typing import Any

import segno

from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Plan
from ramet.papers import words
from ramet.papers.packing_list import contents, guard_words, mark_of

Context = dict[str, Any]

QR_MASK = 0
"""Any of the eight masks of a QR code is valid; weighing all of them is most of the work."""


def labels_context(plan: Plan) -> list[Context]:
    """Return one label for each bag, in the order of sealing, so that a cut stack is in working order."""
    return [_label(plan, bag) for bag in sorted(plan.bags, key=lambda bag: bag.sealing_order)]


def bag_payload(plan: Plan, bag_id: str) -> str:
    """Return the text in a bag's code."""
    return f"ramet:bag:{bag_id}:{plan.shipment.name}"


def qr_svg(payload: str) -> str:
    """Return a QR code with medium error correction and its quiet zone, as SVG."""
    stream = io.BytesIO()
    code = segno.make(payload, error="m", micro=False, mask=QR_MASK)
    code.save(stream, kind="svg", border=4, xmldecl=False, svgns=True, omitsize=True, nl=False)
    return stream.getvalue().decode()


def _label(plan: Plan, bag: Bag) -> Context:
    return {
        "id": bag.id,
        "box": words.box_name(bag.box),
        "open": str(bag.opening_order),
        "seal": str(bag.sealing_order),
        "of": str(len(plan.bags)),
        "mark": mark_of(bag),
        "class": words.CLASS[bag.bag_class],
        "contents": contents(plan, bag),
        "up": bag.stance is Stance.STANDS,
        "stance": "THIS WAY UP" if bag.stance is Stance.STANDS else "LAY FLAT",
        "water": f"{words.filling(bag, bag.water_l)} water, "
        f"{words.filling(bag, bag.gas_l)} {words.GAS[bag.gas]}",
        "guard": guard_words(plan, bag),
        "inside": "live coral in seawater" if bag.pieces else "goods, no coral",
        "shipment": plan.shipment.name,
        "qr": qr_svg(bag_payload(plan, bag.id)),
    }
