"""The drawing of a stock tank from above: spots shaded by light, marked by flow, with the pieces on them.

Every piece and every spot is a link, so that a piece moves by two taps; a script adds dragging.
"""

from urllib.parse import urlencode
from xml.sax.saxutils import escape, quoteattr

from markupsafe import Markup

from ramet.domain.piece import Piece, name_key
from ramet.papers.marks import FONT, INK, KELP, PAPER, STONE
from ramet.services.tank_layout import CELL_MM, SpotPlace, TankLayout
from ramet.web.formatting import Wording

_EDGE = 30.0
_BRIGHT_PAR = 350.0
_DARKEST = 0.42
_LEAST_R, _MOST_R = 24.0, 50.0


def tank_svg(layout: TankLayout, moving: str, held: frozenset[str], say: Wording) -> Markup:
    """Return the drawing; `moving` is the piece that waits for its new spot, empty when none does."""
    wide, high = layout.length_mm + 2 * _EDGE, layout.width_mm + 2 * _EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-_EDGE:g} {-_EDGE:g} {wide:g} {high:g}" '
        f'width="{wide:g}" height="{high:g}" font-family={quoteattr(FONT)} fill="{INK}">',
        f"<title>{escape(layout.tank)} from above</title>",
        f'<rect x="0" y="0" width="{layout.length_mm:g}" height="{layout.width_mm:g}" rx="8" fill="{PAPER}" '
        f'stroke="{INK}" stroke-width="4"/>',
        *(_spot(layout, spot, moving, say) for spot in layout.spots),
        *(_pieces(layout, spot, moving, held, say) for spot in layout.spots),
        "</svg>",
    ]
    return Markup("".join(parts))


def view_address(layout: TankLayout, **more: str) -> str:
    """Return the address of a tank's page."""
    return "/tanks/view?" + urlencode({"system": layout.system, "tank": layout.tank, **more})


def _spot(layout: TankLayout, spot: SpotPlace, moving: str, say: Wording) -> str:
    side = CELL_MM - 8
    x, y = spot.x_mm - side / 2, layout.width_mm - spot.y_mm - side / 2
    shade = 0.0 if spot.par is None else _DARKEST * max(0.0, 1 - spot.par / _BRIGHT_PAR)
    told = [] if spot.par is None else [f"{say.number(spot.par, 0)} PAR"]
    if spot.flow_cm_s is not None:
        told.append(f"flow {say.size('flow', spot.flow_cm_s)}")
    words = ", ".join([spot.name, *told])
    body = (
        f"<title>{escape(words)}</title>"
        f'<rect x="{x:g}" y="{y:g}" width="{side:g}" height="{side:g}" rx="6" fill="{PAPER}" '
        f'stroke="{STONE}" stroke-width="1.5" stroke-dasharray="{"none" if spot.pieces else "6 5"}"/>'
        f'<rect x="{x:g}" y="{y:g}" width="{side:g}" height="{side:g}" rx="6" fill="{INK}" '
        f'fill-opacity="{shade:.3f}"/>{_waves(spot, x, y)}'
        f'<text x="{x + side / 2:g}" y="{y + side - 7:g}" font-size="15" text-anchor="middle">'
        f"{escape(spot.name)}</text>"
    )
    data = f"data-spot={quoteattr(spot.name)}"
    if not moving:
        return f"<g {data}>{body}</g>"
    query = urlencode({"piece": moving, "tank": layout.tank, "system": layout.system, "spot": spot.name})
    label = quoteattr(f"Move {moving} to {words}")
    ring = (
        f'<rect x="{x - 2:g}" y="{y - 2:g}" width="{side + 4:g}" height="{side + 4:g}" rx="8" fill="none" '
        f'stroke="{KELP}" stroke-width="4"/>'
    )
    return f'<a href="/stock/do/move?{escape(query)}" aria-label={label} {data}>{body}{ring}</a>'


def _waves(spot: SpotPlace, x: float, y: float) -> str:
    """One wave for gentle flow, two for middling, three for strong."""
    if spot.flow_cm_s is None:
        return ""
    count = 1 if spot.flow_cm_s < 10 else 2 if spot.flow_cm_s < 20 else 3
    return "".join(
        f'<path d="M{x + 8:g} {y + 12 + 7 * n:g} q4 -5 8 0 t8 0" fill="none" stroke="{INK}" '
        'stroke-width="1.8"/>'
        for n in range(count)
    )


def _pieces(layout: TankLayout, spot: SpotPlace, moving: str, held: frozenset[str], say: Wording) -> str:
    count = len(spot.pieces)
    columns = 1 if count == 1 else 2 if count <= 4 else 3
    scale = 1.0 if count == 1 else 0.55 if columns == 2 else 0.36
    step = (CELL_MM - 20) / columns
    drawn = []
    for n, piece in enumerate(spot.pieces[:9]):
        x = spot.x_mm + (n % columns - (columns - 1) / 2) * step
        y = layout.width_mm - spot.y_mm - 8 + (n // columns - ((min(count, 9) - 1) // columns) / 2) * step
        drawn.append(_piece(layout, piece, (x, y), scale, moving, held, say))
    return "".join(drawn)


def _piece(
    layout: TankLayout,
    piece: Piece,
    at: tuple[float, float],
    scale: float,
    moving: str,
    held: frozenset[str],
    say: Wording,
) -> str:
    radius = max(_LEAST_R, min(_MOST_R, piece.length_mm / 2)) * scale
    is_held, is_moving = name_key(piece.piece) in held, piece.piece == moving
    words = (
        f"{piece.piece}, {piece.strain}, {say.size('length', piece.length_mm)}{', held' if is_held else ''}"
    )
    size = min(24 * scale, 2.6 * radius / max(len(piece.piece), 3) * 1.25)
    bar = (
        f'<path d="M{-0.7 * radius:g} {0.7 * radius:g} L{0.7 * radius:g} {-0.7 * radius:g}" stroke="{INK}" '
        f'stroke-width="2.5"/>'
        if is_held
        else ""
    )
    where = view_address(layout) if is_moving else view_address(layout, move=piece.piece)
    return (
        f'<a href="{escape(where)}" data-piece={quoteattr(piece.piece)} '
        f"aria-label={quoteattr(words + (', leave it' if is_moving else ', move it'))}>"
        f'<g transform="translate({at[0]:g} {at[1]:g})"><title>{escape(words)}</title>'
        f'<circle r="{radius:g}" fill="{PAPER}" stroke="{KELP if is_moving else INK}" '
        f'stroke-width="{6 if is_moving else 2.4}"/>{bar}'
        f'<text y="{size * 0.36:g}" font-size="{size:g}" font-weight="600" text-anchor="middle" '
        f'stroke="{PAPER}" stroke-width="{size * 0.16:g}" paint-order="stroke">{escape(piece.piece)}'
        "</text></g></a>"
    )
