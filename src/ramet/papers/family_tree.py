"""A strain drawn as a family tree: time runs to the right, each piece beside its mother."""

from collections.abc import Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from ramet.domain.events import Standing
from ramet.domain.family import Family, Relative
from ramet.domain.piece import name_key
from ramet.papers.marks import FONT, INK, KELP, PAPER, SAND, STONE

_CARD = (196, 54)
_STEP = (236, 66)
_HEAD = 62
_EDGE = 18
_LINE = 18
_LONGEST = 25
_GONE = {
    Standing.SENT: "sent",
    Standing.LOST: "lost",
    Standing.SPLIT: "divided whole",
    Standing.FUSED: "fused",
}


def family_tree_svg(family: Family, origins: Sequence[str] = ()) -> str:
    """Return the drawing. A piece in stock has a full outline, one that is gone a broken one.

    `origins` are lines about the papers that the pieces inherit. Each piece is an element with its id in
    `data-piece`.
    """
    places = _places(family.members)
    head = _HEAD + _LINE * len(origins)
    columns = max((one.depth for one in family.members), default=0) + 1
    rows = max((row for _, row in places.values()), default=0) + 1
    title = f"Family of {family.strain}"
    width = max(2 * _EDGE + columns * _STEP[0] - (_STEP[0] - _CARD[0]), 420)
    height = head + rows * _STEP[1] + _EDGE
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" font-family={quoteattr(FONT + ", sans-serif")} role="img" aria-labelledby="t">',
        f'<title id="t">{escape(title)}</title>',
        f'<rect width="{width}" height="{height}" fill="{PAPER}"/>',
        f'<text x="{_EDGE}" y="30" font-size="19" font-weight="800" fill="{INK}">'
        f"{escape(family.strain)}</text>",
        f'<text x="{_EDGE}" y="50" font-size="13" fill="{INK}"><tspan font-style="italic">'
        f"{escape(family.taxon)}</tspan> · {_count(family)}</text>",
    ]
    parts += [
        f'<text x="{_EDGE}" y="{68 + _LINE * n}" font-size="12" fill="{INK}">{escape(line)}</text>'
        for n, line in enumerate(origins)
    ]
    corners = {
        key: (_EDGE + column * _STEP[0], head + row * _STEP[1]) for key, (column, row) in places.items()
    }
    parts += _links(family.members, corners)
    parts += (_card(one, *corners[name_key(one.piece)]) for one in family.members)
    return "".join([*parts, "</svg>"])


def _places(members: Sequence[Relative]) -> dict[str, tuple[int, int]]:
    """Return column and row of each piece: a first child stands in its mother's row, each other below."""
    found: dict[str, tuple[int, int]] = {}
    row = -1
    before: Relative | None = None
    for one in members:
        goes_on = before is not None and one.depth == before.depth + 1
        row += 0 if goes_on else 1
        found[name_key(one.piece)] = (one.depth, row)
        before = one
    return found


def _count(family: Family) -> str:
    alive = sum(1 for one in family.members if one.standing is Standing.ALIVE)
    gone = len(family.members) - alive
    return f"{alive} in stock" + (f", {gone} gone" if gone else "")


def _links(members: Sequence[Relative], corners: dict[str, tuple[int, int]]) -> Iterator[str]:
    middle = _CARD[1] / 2
    for one in members:
        x, y = corners[name_key(one.piece)]
        if one.depth and one.parent is not None:
            left, top = corners[name_key(one.parent)]
            bend = left + _CARD[0] + (_STEP[0] - _CARD[0]) / 2
            yield (
                f'<path d="M{left + _CARD[0]} {top + middle} H{bend} V{y + middle} H{x}" fill="none" '
                f'stroke="{KELP}" stroke-width="1.6"/>'
            )
        if one.fused_into is not None and (into := corners.get(name_key(one.fused_into))) is not None:
            start, end = y + middle + 8, into[1] + middle + 8
            bow = max(x, into[0]) + _CARD[0] + 22
            yield (
                f'<path d="M{x + _CARD[0]} {start} C{bow} {start} {bow} {end} {into[0] + _CARD[0]} {end}" '
                f'fill="none" stroke="{STONE}" stroke-width="1.4" stroke-dasharray="2 3"/>'
            )


def _card(one: Relative, x: int, y: int) -> str:
    alive = one.standing is Standing.ALIVE
    outline = "" if alive else ' stroke-dasharray="4 3"'
    born = "" if one.born_on is None else f", {one.born_on.isoformat()}"
    fate = one.place if alive else _GONE.get(one.standing, str(one.standing))
    if one.fused_into is not None:
        fate = f"fused into {one.fused_into}"
    words = f"{one.piece}: {one.size}{born}; {fate}"
    inner = x + 10
    fill = SAND if alive else PAPER
    return (
        f"<g data-piece={quoteattr(one.piece)}><title>{escape(words)}</title>"
        f'<rect x="{x}" y="{y}" width="{_CARD[0]}" height="{_CARD[1]}" rx="6" fill="{fill}" '
        f'stroke="{INK}" stroke-width="1.3"{outline}/>'
        f'<text x="{inner}" y="{y + 18}" font-size="14" font-weight="600" fill="{INK}">'
        f"{_cut(one.piece)}</text>"
        f'<text x="{inner}" y="{y + 33}" font-size="11" fill="{INK}">{_cut(one.size + born, 34)}</text>'
        f'<text x="{inner}" y="{y + 47}" font-size="11" fill="{INK}">{_cut(fate, 34)}</text></g>'
    )


def _cut(text: str, longest: int = _LONGEST) -> str:
    return escape(text if len(text) <= longest else text[: longest - 1] + "…")
