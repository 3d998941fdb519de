"""The box lifted apart: its layers one above the other, seen from the front right, in parallel perspective.

No length is lost in the distance, so bags of one size look one size.
"""

from math import copysign, cos, pi, sin
from xml.sax.saxutils import escape, quoteattr

from ramet.domain.words import Stance
from ramet.formats.plan import Bag, Box, Pack, Pad
from ramet.papers.layers import Layer, above_all
from ramet.papers.marks import FONT, INK, KELP, PAPER, SAND, STONE
from ramet.papers.words import plain

Point = tuple[float, float]
_ALONG = 0.88
_DOWN = 0.36
"""How far on paper one goes sideways and down for 1 mm along either edge of the box."""
_LID_GAP_MM = 40
_LIP_MM = 40


def lifted_svg(box: Box, layers: tuple[Layer, ...]) -> str:
    """Return the drawing of a box with its layers and its lid lifted apart."""
    step = 0.8 * (box.inner_mm[0] + box.inner_mm[1]) * _DOWN
    parts = [_tray(box)]
    for index, layer in enumerate(layers):
        parts.append(_layer(layer, index * step))
    lift = (len(layers) - 1) * step + 0.5 * step
    lid = [pack for pack in layers[-1].packs if above_all(layers[-1], pack)]
    parts += [_pack(pack, lift) for pack in lid]
    top = max(lift + box.inner_mm[2], 0) + _LID_GAP_MM
    parts.append(_lid(box, top))
    return _framed(box, "".join(parts), top)


def pack_word(pack: Pack) -> str:
    """Name a pack in a word or two: what it does, or else its kind without its mass."""
    if pack.warms:
        return "heat"
    kind = pack.kind.lower()
    if kind.startswith(("ice", "gel", "cold", "frozen")):
        return "cold"
    return " ".join(part for part in plain(kind).split() if not part.endswith(("g", "kg")))


def _project(x: float, y: float, z: float) -> Point:
    """Return the place on paper of a place in the box: x to the right and down, y to the right and up."""
    return (x + y) * _ALONG, (x - y) * _DOWN - z


def _framed(box: Box, body: str, top: float) -> str:
    wall = box.wall_mm
    left, _ = _project(-wall, -wall, 0)
    right, _ = _project(box.inner_mm[0] + wall, box.inner_mm[1] + wall, 0)
    _, low = _project(box.inner_mm[0] + wall, -wall, 0)
    _, high = _project(-wall, box.inner_mm[1] + wall, top)
    pad = 6
    view = f"{left - pad:.1f} {high - pad:.1f} {right - left + 2 * pad:.1f} {low - high + 2 * pad + 10:.1f}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{right - left + 2 * pad:.1f}" '
        f'height="{low - high + 2 * pad + 10:.1f}" font-family={quoteattr(FONT)}>'
        f"<title>{escape(f'Box {box.id}, lifted apart')}</title>{body}</svg>"
    )


def _polygon(points: list[Point], fill: str, stroke: str = INK, width: float = 1.4) -> str:
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in points)
    return (
        f'<polygon points="{path}" fill="{fill}" stroke="{stroke}" stroke-width="{width:g}" '
        'stroke-linejoin="round"/>'
    )


def _tray(box: Box) -> str:
    """The floor and the two far walls, cut low; the near walls are left away."""
    wall = box.wall_mm
    long, deep, _ = box.inner_mm
    outer = [(-wall, -wall), (long + wall, -wall), (long + wall, deep + wall), (-wall, deep + wall)]
    floor = _polygon([_project(x, y, 0) for x, y in outer], SAND)
    inner = _polygon([_project(x, y, 0) for x, y in ((0, 0), (long, 0), (long, deep), (0, deep))], PAPER)
    back = _wall([(-wall, deep + wall), (long + wall, deep + wall)])
    left = _wall([(-wall, -wall), (-wall, deep + wall)])
    corner = _project(0, 0, 0)
    dot = f'<circle cx="{corner[0]:.1f}" cy="{corner[1]:.1f}" r="6" fill="{KELP}"/>'
    return floor + back + left + inner + dot


def _wall(ends: list[Point]) -> str:
    low = [_project(x, y, 0) for x, y in ends]
    high = [_project(x, y, _LIP_MM) for x, y in reversed(ends)]
    return _polygon(low + high, SAND, STONE)


def _layer(layer: Layer, lift: float) -> str:
    board = "" if layer.board is None else _board(layer.board, lift)
    bodies: list[tuple[tuple[int, ...], tuple[int, ...], str]] = []
    bodies += [(bag.at_mm, bag.size_mm, _bag(bag, lift)) for bag in layer.bags]
    bodies += [
        (pack.at_mm, pack.size_mm, _pack(pack, lift)) for pack in layer.packs if not above_all(layer, pack)
    ]
    return board + "".join(_far_first(bodies))


def _far_first(bodies: list[tuple[tuple[int, ...], tuple[int, ...], str]]) -> list[str]:
    """Order bodies so that none is painted over by one behind it.

    The eye looks along +y and -x. Of two boxes that do not overlap, one is wholly behind, to the left of,
    or below the other; painting those that nothing unpainted lies behind first is exact.
    """
    left = list(bodies)
    painted: list[str] = []
    while left:
        first = next(
            (one for one in left if not any(_behind(other, one) for other in left if other is not one)),
            left[0],
        )
        left.remove(first)
        painted.append(first[2])
    return painted


def _behind(
    one: tuple[tuple[int, ...], tuple[int, ...], str], other: tuple[tuple[int, ...], tuple[int, ...], str]
) -> bool:
    (at, size, _), (there, extent, _) = one, other
    if at[2] + size[2] <= there[2]:
        return True
    if there[2] + extent[2] <= at[2]:
        return False
    if at[1] >= there[1] + extent[1]:
        return True
    if there[1] >= at[1] + size[1]:
        return False
    return at[0] + size[0] <= there[0]


def _bag(bag: Bag, lift: float) -> str:
    (x, y, z), (wide, deep, high) = bag.at_mm, bag.size_mm
    ring = _footprint(wide, deep, 2.6 if bag.stance is Stance.STANDS else 6.0)
    low = [_project(x + u, y + v, z + lift) for u, v in ring]
    top = [_project(x + u, y + v, z + high + lift) for u, v in ring]
    centre = _project(x + wide / 2, y + deep / 2, z + high + lift)
    size = min(0.42 * deep, 0.46 * wide, 1.7 * wide / max(len(bag.id), 1))
    return (
        f"<g data-bag={quoteattr(bag.id)}><title>{escape(bag.id)}</title>"
        f"{_polygon(_hull(low + top), SAND)}{_polygon(top, PAPER)}"
        f'<text x="{centre[0]:.1f}" y="{centre[1] + 0.34 * size:.1f}" font-size="{size:.1f}" '
        f'font-weight="800" text-anchor="middle" fill="{INK}">{escape(bag.id)}</text></g>'
    )


def _footprint(wide: float, deep: float, roundness: float) -> list[Point]:
    """A closed curve that fills a rectangle: 2 is an ellipse, larger is squarer."""

    def bent(value: float) -> float:
        return copysign(abs(value) ** (2 / roundness), value)

    angles = [2 * pi * step / 48 for step in range(48)]
    return [(wide / 2 * (1 + bent(cos(a))), deep / 2 * (1 + bent(sin(a)))) for a in angles]


def _hull(points: list[Point]) -> list[Point]:
    """The convex outline of a set of points."""

    def half(ordered: list[Point]) -> list[Point]:
        chain: list[Point] = []
        for point in ordered:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], point) <= 0:
                chain.pop()
            chain.append(point)
        return chain[:-1]

    ordered = sorted(points)
    return half(ordered) + half(ordered[::-1])


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _pack(pack: Pack, lift: float) -> str:
    (x, y, z), (wide, deep, high) = pack.at_mm, pack.size_mm
    corners = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
    low = [_project(u, v, z + lift) for u, v in corners]
    top = [_project(u, v, z + high + lift) for u, v in corners]
    centre = _project(x + wide / 2, y + deep / 2, z + high + lift)
    size = min(1.4 * wide / max(len(pack_word(pack)), 4), 0.5 * deep, 34.0)
    return (
        f"<g data-pack={quoteattr(pack.kind)}><title>{escape(pack.kind)}</title>"
        f"{_polygon(_hull(low + top), KELP)}{_polygon(top, KELP, PAPER, 1)}"
        f'<text x="{centre[0]:.1f}" y="{centre[1] + 0.34 * size:.1f}" font-size="{size:.1f}" '
        f'font-weight="600" text-anchor="middle" fill="{PAPER}">{escape(pack_word(pack))}</text></g>'
    )


def _board(board: Pad, lift: float) -> str:
    (x, y, z), (wide, deep, thick) = board.at_mm, board.size_mm
    corners = [(x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep)]
    low = [_project(u, v, z + lift) for u, v in corners]
    top = [_project(u, v, z + thick + lift) for u, v in corners]
    return (
        f"<g><title>board</title>{_polygon(_hull(low + top), SAND, STONE)}{_polygon(top, PAPER, STONE)}</g>"
    )


def _lid(box: Box, at_z: float) -> str:
    """The lid as an outline, so that what is under it stays in sight."""
    wall = box.wall_mm
    long, deep, _ = box.inner_mm
    corners = [(-wall, -wall), (long + wall, -wall), (long + wall, deep + wall), (-wall, deep + wall)]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in (_project(u, v, at_z) for u, v in corners))
    return (
        f'<polygon points="{path}" fill="none" stroke="{STONE}" stroke-width="1.6" stroke-dasharray="9 6">'
        "<title>lid</title></polygon>"
    )
