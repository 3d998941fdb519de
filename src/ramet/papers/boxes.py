"""Drawings of a box, made from the plan's numbers: each layer from above, and all of it lifted apart."""

from typing import Literal
from xml.sax.saxutils import escape, quoteattr

from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Box, Pack, Pad, Plan
from ramet.papers.layers import Layer, above_all, layers_of
from ramet.papers.lifted import lifted_svg, pack_word
from ramet.papers.marks import FONT, INK, KELP, PAPER, SAND, STONE, class_mark
from ramet.papers.words import CLASS, STANCE

View = Literal["layer", "lifted"]
RULER_MM = 36
"""Room for the rulers along the left and the front edge, in drawing units (1 unit = 1 mm of the box)."""
TOP_MM = 6
TAG_MM = 14.0
"""Height of the letters that name a pack."""


def box_svg(plan: Plan, box_id: str, *, view: View = "layer", layer: int = 1) -> str:
    """Return a drawing of one box: a `layer` from above (counted from below), or the box lifted apart.

    One unit of the drawing is one millimetre of the box. Each bag is an element with its id in `data-bag`.
    """
    box = next(box for box in plan.boxes if box.id == box_id)
    layers = layers_of(plan, box)
    if view == "lifted":
        return lifted_svg(box, layers)
    return _layer_svg(box, layers[layer - 1], len(layers))


def layer_origin_mm(box: Box) -> tuple[float, float]:
    """Return where the front left inner corner lies in a layer drawing; y counts upwards from there."""
    return RULER_MM + box.wall_mm, TOP_MM + box.wall_mm + box.inner_mm[1]


def _layer_svg(box: Box, layer: Layer, count: int) -> str:
    long, deep, _ = box.inner_mm
    width = RULER_MM + long + 2 * box.wall_mm + TOP_MM
    height = TOP_MM + deep + 2 * box.wall_mm + RULER_MM
    title = f"Box {box.id}, layer {layer.number} of {count}, from above"
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}" height="{height:g}" font-family={quoteattr(FONT)}>',
        f"<title>{escape(title)}</title>",
        _patterns(),
        _walls(box),
        *(_void(box, pad) for pad in layer.voids),
        *(_fill(box, pad.at_mm, pad.size_mm) for pad in layer.fills),
        *(_pack(box, layer, pack) for pack in layer.packs if not above_all(layer, pack)),
        *(_bag(box, bag) for bag in layer.bags),
        *(_pack(box, layer, pack) for pack in layer.packs if above_all(layer, pack)),
        _pack_words(box, layer),
        *(_bag_words(box, bag) for bag in layer.bags),
        _rulers(box),
        "</svg>",
    ]
    return "".join(parts)


def _patterns() -> str:
    return (
        '<defs><pattern id="wall" width="7" height="7" patternUnits="userSpaceOnUse">'
        f'<rect width="7" height="7" fill="{SAND}"/><circle cx="2" cy="2" r=".9" fill="{STONE}"/>'
        f'<circle cx="5.5" cy="5.5" r=".9" fill="{STONE}"/></pattern>'
        '<pattern id="fill" width="9" height="9" patternUnits="userSpaceOnUse">'
        f'<path d="M0 6 Q2.2 2 4.5 6 T9 6" fill="none" stroke="{STONE}" stroke-width=".8"/></pattern>'
        '<pattern id="pack" width="6" height="6" patternUnits="userSpaceOnUse">'
        f'<path d="M0 6 L6 0" stroke="{INK}" stroke-width="1"/></pattern></defs>'
    )


def _walls(box: Box) -> str:
    wall = box.wall_mm
    long, deep, _ = box.inner_mm
    return (
        f'<rect x="{RULER_MM}" y="{TOP_MM}" width="{long + 2 * wall:g}" height="{deep + 2 * wall:g}" rx="4" '
        f'fill="url(#wall)" stroke="{INK}" stroke-width="1.6"/>'
        f'<rect x="{RULER_MM + wall:g}" y="{TOP_MM + wall:g}" width="{long}" height="{deep}" '
        f'fill="{PAPER}" stroke="{INK}" stroke-width="1.6"/>'
    )


def _place(box: Box, at_mm: tuple[int, ...], size_mm: tuple[int, ...]) -> tuple[float, float]:
    """Return the upper left corner of a body in the drawing, whose y runs downwards."""
    left, front = layer_origin_mm(box)
    return left + at_mm[0], front - at_mm[1] - size_mm[1]


def _bag(box: Box, bag: Bag) -> str:
    x, y = _place(box, bag.at_mm, bag.size_mm)
    wide, deep = bag.size_mm[0], bag.size_mm[1]
    stands = bag.stance is Stance.STANDS
    rx = (0.32 if stands else 0.08) * min(wide, deep)
    note = f"{bag.id}, {CLASS[bag.bag_class]}, {STANCE[bag.stance]}"
    seam = (
        f'<path d="M{x + 5:g} {y + 4:g} V{y + deep - 4:g}" stroke="{INK}" stroke-width="1" '
        'stroke-dasharray="4 3"/>'
    )
    return (
        f"<g data-bag={quoteattr(bag.id)}><title>{escape(note)}</title>"
        f'<rect x="{x:g}" y="{y:g}" width="{wide}" height="{deep}" rx="{rx:g}" fill="{PAPER}" '
        f'stroke="{INK}" stroke-width="2.2"/>{"" if stands else seam}</g>'
    )


def _bag_words(box: Box, bag: Bag) -> str:
    """Class mark, id and order of sealing, with a halo that keeps them clear of lines drawn across."""
    x, y = _place(box, bag.at_mm, bag.size_mm)
    wide, deep = bag.size_mm[0], bag.size_mm[1]
    size = min(0.34 * deep, 0.36 * wide, 1.5 * wide / max(len(bag.id), 1))
    mark = 0.2 * min(deep, wide)
    halo = f'stroke="{PAPER}" stroke-width="{0.16 * size:g}" paint-order="stroke" stroke-linejoin="round"'
    return (
        f'<g transform="translate({x + wide / 2 - mark / 2:g} {y + 0.12 * deep:g}) scale({mark / 16:g})">'
        f"{class_mark(bag.bag_class)}</g>"
        f'<g text-anchor="middle" fill="{INK}" {halo}>'
        f'<text x="{x + wide / 2:g}" y="{y + 0.46 * deep + 0.36 * size:g}" font-size="{size:g}" '
        f'font-weight="800">{escape(bag.id)}</text>'
        f'<text x="{x + wide / 2:g}" y="{y + 0.86 * deep:g}" font-size="{0.54 * size:g}">'
        f"seal {bag.sealing_order}</text></g>"
    )


def _pack(box: Box, layer: Layer, pack: Pack) -> str:
    x, y = _place(box, pack.at_mm, pack.size_mm)
    wide, deep = pack.size_mm[0], pack.size_mm[1]
    over = above_all(layer, pack)
    body = "none" if over else "url(#pack)"
    dash = ' stroke-dasharray="7 4"' if over else ""
    return (
        f"<g data-pack={quoteattr(pack.kind)}><title>{escape(pack.kind)}: {escape(pack.reason)}</title>"
        f'<rect x="{x:g}" y="{y:g}" width="{wide}" height="{deep}" fill="{body}" stroke="{KELP}" '
        f'stroke-width="3"{dash}/></g>'
    )


def _pack_words(box: Box, layer: Layer) -> str:
    """Name the packs in the nearer of rear and front wall, where no bag is hidden, with a line to each."""
    _, front = layer_origin_mm(box)
    middle_mm = box.inner_mm[1] / 2
    packs = sorted(layer.packs, key=lambda pack: (pack.at_mm[0], pack.at_mm[1]))
    rear = [pack for pack in packs if pack.at_mm[1] + pack.size_mm[1] / 2 >= middle_mm]
    inset = max(box.wall_mm - 1.35 * TAG_MM, 0) / 2
    return _tags(box, layer, rear, TOP_MM + inset) + _tags(
        box, layer, [pack for pack in packs if pack not in rear], front + inset
    )


def _tags(box: Box, layer: Layer, packs: list[Pack], top: float) -> str:
    parts: list[str] = []
    free_from = RULER_MM + 4.0
    for pack in packs:
        x, y = _place(box, pack.at_mm, pack.size_mm)
        word = pack_word(pack) + (" above" if above_all(layer, pack) else "")
        wide, middle = 0.56 * TAG_MM * len(word) + 10, x + pack.size_mm[0] / 2
        left = max(middle - wide / 2, free_from)
        edge = y if top < y else y + pack.size_mm[1]
        parts.append(
            f'<path d="M{left + wide / 2:g} {top + TAG_MM / 2:g} L{middle:g} {edge:g}" stroke="{KELP}" '
            f'stroke-width="2.2"/><rect x="{left:g}" y="{top:g}" width="{wide:g}" height="{1.35 * TAG_MM:g}" '
            f'rx="3" fill="{KELP}"/><text x="{left + wide / 2:g}" y="{top + 1.02 * TAG_MM:g}" '
            f'font-size="{TAG_MM:g}" font-weight="600" text-anchor="middle" fill="{PAPER}">'
            f"{escape(word)}</text>"
        )
        free_from = left + wide + 4
    return "".join(parts)


def _fill(box: Box, at_mm: tuple[int, ...], size_mm: tuple[int, ...]) -> str:
    x, y = _place(box, at_mm, size_mm)
    return (
        f'<rect x="{x:g}" y="{y:g}" width="{size_mm[0]}" height="{size_mm[1]}" fill="url(#fill)" '
        f'stroke="{STONE}" stroke-width=".8"><title>fill</title></rect>'
    )


def _void(box: Box, pad: Pad) -> str:
    x, y = _place(box, pad.at_mm, pad.size_mm)
    return (
        f'<rect x="{x:g}" y="{y:g}" width="{pad.size_mm[0]}" height="{pad.size_mm[1]}" fill="url(#fill)" '
        f'opacity="0.5"><title>paper or foam, {pad.size_mm[2]} mm high</title></rect>'
    )


def _rulers(box: Box) -> str:
    left, front = layer_origin_mm(box)
    long, deep, _ = box.inner_mm
    below, beside = front + box.wall_mm, left - box.wall_mm
    marks = [
        f'<path d="M{left + x:g} {below:g} v{5 if x % 100 else 8}" stroke="{INK}" stroke-width="1"/>'
        + _ruler_text(left + x, below + 20, x)
        for x in range(0, long + 1, 50)
    ]
    marks += [
        f'<path d="M{beside:g} {front - y:g} h-{5 if y % 100 else 8}" stroke="{INK}" stroke-width="1"/>'
        + _ruler_text(beside - 22, front - y + 4, y)
        for y in range(0, deep + 1, 50)
    ]
    corner = f'<circle cx="{left:g}" cy="{front:g}" r="7" fill="{KELP}" stroke="{PAPER}" stroke-width="2"/>'
    return "".join(marks) + corner


def _ruler_text(x: float, y: float, mm: int) -> str:
    if mm % 100:
        return ""
    return f'<text x="{x:g}" y="{y:g}" font-size="11" text-anchor="middle" fill="{INK}">{mm}</text>'
