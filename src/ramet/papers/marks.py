"""Shapes that go with words. Grow rooms are lit blue, so a class or a verdict is a shape, never a hue.

Each mark is drawn in a field of 16 × 16 with one ink, and reads at 3 mm.
"""

from math import cos, pi, sin

from ramet.domain.words import BagClass, Status

INK = "#15170f"
"""Near black, warm."""
KELP = "#434a10"
"""The one accent: a brown-olive that reflects no blue, so that it turns dark, not pale, under grow lights."""
STONE = "#6b6a61"
"""For secondary lines; never for text that must be read wet."""
SAND = "#e6e3d8"
"""The one tint; bands, rulers and fill."""
PAPER = "#ffffff"

FONT = "Atkinson Hyperlegible Next"


def class_mark(bag_class: BagClass, ink: str = INK) -> str:
    """Return the SVG body of a bag class: hexagon, ring, three polyps, star, crate."""
    return _CLASS_MARKS[bag_class](ink)


def verdict_mark(status: Status, ink: str = INK) -> str:
    """Return the SVG body of a verdict: full disc, part disc, pause, cross."""
    ring = f'<circle cx="8" cy="8" r="6.9" fill="none" stroke="{ink}" stroke-width="1.6"/>'
    inner = {
        Status.READY: f'<circle cx="8" cy="8" r="4.6" fill="{ink}"/>',
        Status.SHORT: f'<path d="M8 3.4 A4.6 4.6 0 1 1 3.4 8 L8 8 Z" fill="{ink}"/>',
        Status.WAIT: f'<path d="M5.2 4.6 h2 v6.8 h-2 z M8.8 4.6 h2 v6.8 h-2 z" fill="{ink}"/>',
        Status.IMPOSSIBLE: (
            f'<path d="M5.2 5.2 L10.8 10.8 M10.8 5.2 L5.2 10.8" stroke="{ink}" stroke-width="2" '
            'stroke-linecap="round"/>'
        ),
    }
    return ring + inner[status]


def project_mark(ink: str = INK) -> str:
    """Return the project's mark: a mother stem, and one branch that has come free of it."""
    return (
        f'<path d="M6 15 V3.4" stroke="{ink}" stroke-width="2.6" stroke-linecap="round" fill="none"/>'
        f'<path d="M6 10.6 Q8.2 10.4 9 9.2" stroke="{ink}" stroke-width="2.2" fill="none"/>'
        f'<path d="M10.8 7.2 Q12.6 5 12.6 2.4" stroke="{ink}" stroke-width="2.6" '
        'stroke-linecap="round" fill="none"/>'
    )


def standalone(body: str, title: str) -> str:
    """Wrap the body of a mark as an SVG of its own."""
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 16 16" width="16" height="16">'
        f"<title>{title}</title>{body}</svg>"
    )


def _hexagon(ink: str) -> str:
    points = " ".join(
        f"{8 + 6.6 * cos(pi / 6 + k * pi / 3):.2f},{8 + 6.6 * sin(pi / 6 + k * pi / 3):.2f}" for k in range(6)
    )
    return f'<polygon points="{points}" fill="{ink}"/>'


def _ring(ink: str) -> str:
    return f'<circle cx="8" cy="8" r="5.2" fill="none" stroke="{ink}" stroke-width="3"/>'


def _polyps(ink: str) -> str:
    spots = ((8, 4.4), (4.2, 11), (11.8, 11))
    return "".join(f'<circle cx="{x}" cy="{y}" r="3.3" fill="{ink}"/>' for x, y in spots)


def _star(ink: str) -> str:
    points = " ".join(
        f"{8 + r * cos(k * pi / 8 - pi / 2):.2f},{8 + r * sin(k * pi / 8 - pi / 2):.2f}"
        for k in range(16)
        for r in (7.6 if k % 2 == 0 else 3.2,)
    )
    return f'<polygon points="{points}" fill="{ink}"/>'


def _crate(ink: str) -> str:
    return (
        f'<rect x="2.2" y="2.2" width="11.6" height="11.6" fill="none" stroke="{ink}" stroke-width="1.8"/>'
        f'<path d="M2.2 2.2 L13.8 13.8 M13.8 2.2 L2.2 13.8" stroke="{ink}" stroke-width="1.4"/>'
    )


_CLASS_MARKS = {
    BagClass.STONY: _hexagon,
    BagClass.SOFT: _ring,
    BagClass.ZOANTHID: _polyps,
    BagClass.STINGING: _star,
    BagClass.GOODS: _crate,
}
