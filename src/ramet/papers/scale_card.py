"""The scale cards as a page to print: four markers round a window to cut out, and a ruler to check it."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from ramet.papers.packet import TEMPLATES, Paper, compiler
from ramet.reference.scale_cards import GRID, Marker, ScaleCard

RIM_MM = 6.0
"""White paper left round the markers: a detector needs it to see their black rim."""


def scale_card_pdf(cards: Sequence[ScaleCard], paper: Paper) -> bytes:
    """Return a page with these cards at their true size. The same cards give the same bytes."""
    data = {"paper": paper, "title": "ramet: scale cards", "cards": [_card(card) for card in cards]}
    text = json.dumps(data, ensure_ascii=False, sort_keys=True)
    pdf: bytes = compiler().compile(
        input=(TEMPLATES / "scale_card.typ").read_bytes(), format="pdf", sys_inputs={"card": text}
    )
    return pdf


def card_svg(card: ScaleCard) -> str:
    """Return a card as a drawing: a millimetre is a unit."""
    width, height = (side + 2 * RIM_MM for side in card.size_mm)
    shapes = [shape for marker in card.markers for shape in _marker(marker)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" '
        f'width="{width:g}mm" height="{height:g}mm"><title>{card.name} scale card</title>'
        f"{_rect(0, 0, width, height, '#fff')}{''.join(shapes)}{_cuts(card)}</svg>"
    )


def _card(card: ScaleCard) -> dict[str, Any]:
    width, height = (side + 2 * RIM_MM for side in card.size_mm)
    left, top, right, bottom = card.window_mm
    return {
        "name": card.name,
        "svg": card_svg(card),
        "width": width,
        "height": height,
        "window": f"{right - left:.0f} × {bottom - top:.0f} mm",
    }


def _marker(marker: Marker) -> Iterator[str]:
    cell = marker.side_mm / (GRID + 2)
    left, top = marker.x_mm + RIM_MM, marker.y_mm + RIM_MM
    yield _rect(left, top, marker.side_mm, marker.side_mm, "#000")
    for place, white in enumerate(marker.bits):
        if white:
            x, y = left + (1 + place % GRID) * cell, top + (1 + place // GRID) * cell
            yield _rect(x, y, cell, cell, "#fff")


def _cuts(card: ScaleCard) -> str:
    """Draw the lines to cut along: round the card, and round its window."""
    left, top, right, bottom = card.window_mm
    width, height = (side + 2 * RIM_MM for side in card.size_mm)
    boxes = ((0.2, 0.2, width - 0.4, height - 0.4), (left + RIM_MM, top + RIM_MM, right - left, bottom - top))
    return "".join(
        f'<rect x="{x:g}" y="{y:g}" width="{wide:g}" height="{high:g}" fill="none" stroke="#8a8a8a" '
        'stroke-width="0.25" stroke-dasharray="2 2"/>'
        for x, y, wide, high in boxes
    )


def _rect(x: float, y: float, width: float, height: float, fill: str) -> str:
    return (
        f'<rect x="{x:.4g}" y="{y:.4g}" width="{width:.4g}" height="{height:.4g}" fill="{fill}" '
        'shape-rendering="crispEdges"/>'
    )
