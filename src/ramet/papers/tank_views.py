"""Drawings of the receiving tank from the plan's numbers: from above, and from where people stand.

One unit is one millimetre of the tank. Numbers are the order of gluing. A full line is the piece today,
dashes what it grows to, dots how far its weapons reach then.
"""

from collections.abc import Mapping, Sequence
from xml.sax.saxutils import escape, quoteattr

from ramet.formats.tank_report import FreeSpot, Placement, TankFrame, TankReport, ZoneFrame
from ramet.papers.marks import FONT, INK, KELP, PAPER, SAND, STONE

_EDGE, _FOOT, _TOP = 70, 160, 64
"""Room beside, below and above the tank for rulers, words and the legend."""
_LETTER = 30
_LEAST_DEPTH_MM = 400.0
_BRIGHT_PAR, _DARK_OPACITY = 350.0, 0.9


def tank_top_svg(report: TankReport, names: Mapping[str, str] | None = None) -> str:
    """Return the tank from above, its back at the top; `names` maps a piece to words for its tooltip."""
    frame = _frame(report)
    placed = [one for one in report.placement if one.at_mm is not None]
    body = (
        _sheet(frame.length_mm, frame.width_mm, "glass-top")
        + "".join(_rock_top(frame))
        + "".join(_zone_top(frame, zone) for zone in frame.zones)
        + "".join(_free(frame, one) for one in report.free_spots)
        + '<g clip-path="url(#glass-top)">'
        + "".join(_rings(one, _top_place(frame, one)) for one in placed)
        + "</g>"
        + "".join(_zone_words(frame, zone, placed) for zone in frame.zones)
        + "".join(_body_top(frame, one, names or {}) for one in placed)
        + _flow(frame)
        + _sides(frame)
        + _ruler(frame.length_mm, frame.width_mm)
        + _legend(frame.width_mm, frame.horizon_d, free=bool(report.free_spots))
    )
    return _svg(frame.length_mm, frame.width_mm, "The tank from above", body)


def tank_front_svg(
    report: TankReport, names: Mapping[str, str] | None = None, side: str | None = None
) -> str:
    """Return the tank as seen from a side, by default the first from which people look at it."""
    frame = _frame(report)
    seen_from = side or frame.viewed_from[0]
    wide = frame.length_mm if seen_from in ("front", "back") else frame.width_mm
    placed = [one for one in report.placement if one.at_mm is not None]
    high = _height(frame, placed)
    far_first = sorted(placed, key=lambda one: -_seen(frame, seen_from, one.at_mm or (0, 0))[1])
    body = (
        _sheet(wide, high, "glass-front")
        + "".join(_zone_front(frame, seen_from, zone, high) for zone in _far_zones(frame, seen_from))
        + _water_line(frame, wide, high)
        + "".join(_rock_front(frame, seen_from, high))
        + "".join(_pillar(frame, seen_from, one, high) for one in far_first)
        + '<g clip-path="url(#glass-front)">'
        + "".join(_body_front(frame, seen_from, one, high, names or {}) for one in far_first)
        + "</g>"
        + _ruler(wide, high)
        + _legend(high, frame.horizon_d)
    )
    return _svg(wide, high, f"The tank from the {seen_from}", body)


def _frame(report: TankReport) -> TankFrame:
    if report.frame is not None:
        return report.frame
    xs = [one.at_mm for one in report.placement if one.at_mm is not None]
    return TankFrame(
        length_mm=max((x for x, _ in xs), default=1000) + 100,
        width_mm=max((y for _, y in xs), default=400) + 100,
    )


def _svg(wide: float, high: float, title: str, body: str) -> str:
    view = f"{-_EDGE} {-_TOP} {wide + 2 * _EDGE:g} {high + _TOP + _FOOT:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{wide + 2 * _EDGE:g}" '
        f'height="{high + _TOP + _FOOT:g}" font-family={quoteattr(FONT)} font-size="{_LETTER}" fill="{INK}">'
        f"<title>{escape(title)}</title>{body}</svg>"
    )


def _sheet(wide: float, high: float, clip: str) -> str:
    return (
        f'<rect x="0" y="0" width="{wide:g}" height="{high:g}" fill="{PAPER}" stroke="{INK}" '
        'stroke-width="5"/>'
        f'<defs><clipPath id="{clip}"><rect width="{wide:g}" height="{high:g}"/></clipPath></defs>'
    )


def _shade(zone: ZoneFrame) -> float:
    """How dark a zone is drawn: bright ones stay white."""
    middle = (zone.par_low + zone.par_high) / 2
    return _DARK_OPACITY * max(0.0, 1 - middle / _BRIGHT_PAR)


def _zone_top(frame: TankFrame, zone: ZoneFrame) -> str:
    (left, front), (right, back) = zone.from_mm, zone.to_mm
    return (
        f'<rect x="{left}" y="{frame.width_mm - back:g}" width="{right - left}" height="{back - front}" '
        f'fill="{SAND}" fill-opacity="{_shade(zone):.2f}" stroke="{STONE}" stroke-width="2"/>'
    )


def _zone_words(frame: TankFrame, zone: ZoneFrame, placed: Sequence[Placement]) -> str:
    (left, front), (right, back) = zone.from_mm, zone.to_mm
    room = (right - left - 16) / (0.52 * _LETTER)
    words = f"{zone.name} {zone.par_low:.0f}–{zone.par_high:.0f}"
    if zone.flow_cm_s is not None and len(words) + 10 <= room:
        words += f", {zone.flow_cm_s:g} cm/s"
    size = min(_LETTER, _LETTER * room / max(len(words), 1))
    long = 0.52 * size * len(words)
    corners = [
        (x, y)
        for y in (frame.width_mm - back + size + 4, frame.width_mm - front - 8)
        for x in (left + 10 + step * max(0.0, right - left - long - 20) / 12 for step in range(13))
    ]
    x, y = min(corners, key=lambda corner: _covered(frame, placed, corner, long, size))
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" '
        f'stroke="{PAPER}" stroke-width="7" paint-order="stroke" stroke-linejoin="round">'
        f"{escape(words)}</text>"
    )


def _covered(
    frame: TankFrame, placed: Sequence[Placement], corner: tuple[float, float], long: float, high: float
) -> float:
    """How much of a line of words pieces would hide."""
    hidden = 0.0
    for one in placed:
        x, y = _top_place(frame, one)
        across = min(corner[0] + long, x + one.radius_mm) - max(corner[0], x - one.radius_mm)
        down = min(corner[1], y + one.radius_mm) - max(corner[1] - high, y - one.radius_mm)
        hidden += max(0.0, across) * max(0.0, down)
    return hidden


def _top_place(frame: TankFrame, one: Placement) -> tuple[float, float]:
    assert one.at_mm is not None
    return one.at_mm[0], frame.width_mm - one.at_mm[1]


def _rings(one: Placement, at: tuple[float, float]) -> str:
    grown = one.radius_mm + one.grows_mm
    ring = f'<circle cx="{at[0]:g}" cy="{at[1]:g}" fill="none" '
    return (
        f'{ring}r="{grown + one.reach_mm}" stroke="{STONE}" stroke-width="3" stroke-dasharray="1 9" '
        'stroke-linecap="round"/>'
        f'{ring}r="{grown}" stroke="{KELP}" stroke-width="3" stroke-dasharray="12 8"/>'
    )


def _body_top(frame: TankFrame, one: Placement, names: Mapping[str, str]) -> str:
    x, y = _top_place(frame, one)
    inner = (
        f'<circle cx="{x:g}" cy="{y:g}" r="{max(one.radius_mm - 8, 4)}" fill="none" stroke="{INK}" '
        'stroke-width="2.5"/>'
        if one.soft
        else ""
    )
    return (
        f"<g data-piece={quoteattr(one.piece)}><title>{escape(_told(one, names))}</title>"
        f'<circle cx="{x:g}" cy="{y:g}" r="{max(one.radius_mm, 6)}" fill="{PAPER}" stroke="{INK}" '
        f'stroke-width="4"/>{inner}{_number(one, x, y)}</g>'
    )


def _number(one: Placement, x: float, y: float) -> str:
    return (
        f'<text x="{x:g}" y="{y + 11:g}" text-anchor="middle" font-weight="800" stroke="{PAPER}" '
        f'stroke-width="6" paint-order="stroke" stroke-linejoin="round">{one.order}</text>'
    )


def _told(one: Placement, names: Mapping[str, str]) -> str:
    name = names.get(one.piece, "")
    return f"{one.order}: {one.piece}{', ' + name if name else ''}, {one.spot or one.zone}"


def _free(frame: TankFrame, one: FreeSpot) -> str:
    x, y = one.at_mm[0], frame.width_mm - one.at_mm[1]
    return (
        f'<path d="M{x - 7} {y:g} h14 M{x} {y - 7:g} v14" stroke="{STONE}" stroke-width="3">'
        f"<title>{escape(f'free: {one.spot or one.zone}, room for {one.room_mm} mm from the middle')}</title>"
        "</path>"
    )


_ARROWS = {
    "left": "M{a} {m} h{l} m-22 -14 l22 14 l-22 14",
    "right": "M{b} {m} h-{l} m22 -14 l-22 14 l22 14",
}


def _flow(frame: TankFrame) -> str:
    """An arrow above the tank (or beside it) with the way the water goes."""
    if frame.flow_from is None:
        return _above(0, "flow direction not given")
    if frame.flow_from == "changing":
        return _above(0, "flow changes direction")
    if frame.flow_from in _ARROWS:
        path = _ARROWS[frame.flow_from].format(a=110, b=330, m=-26, l=220)
        return _above(0, "flow") + _line(path)
    down = frame.flow_from == "back"
    start, step = (20, 150) if down else (170, -150)
    tip = "m-14 -22 l14 22 l14 -22" if down else "m-14 22 l14 -22 l14 22"
    return _line(f"M{-36} {start} v{step} {tip}") + _above(0, f"flow from the {frame.flow_from}")


def _line(path: str) -> str:
    return f'<path d="{path}" fill="none" stroke="{INK}" stroke-width="5" stroke-linejoin="round"/>'


def _above(x: float, words: str) -> str:
    return f'<text x="{x:g}" y="-16">{escape(words)}</text>'


def _sides(frame: TankFrame) -> str:
    """Words at the sides from which people look."""
    words = []
    for side in frame.viewed_from:
        x, y, turn = {
            "front": (frame.length_mm / 2, frame.width_mm + 72, 0),
            "back": (frame.length_mm - 120, -16, 0),
            "left": (-20, frame.width_mm / 2, -90),
            "right": (frame.length_mm + 34, frame.width_mm / 2, -90),
        }[side]
        words.append(
            f'<text x="{x:g}" y="{y:g}" text-anchor="middle" font-weight="600" '
            f'transform="rotate({turn} {x:g} {y:g})">seen from here</text>'
        )
    return "".join(words)


def _ruler(wide: float, high: float) -> str:
    """Marks every 200 mm along the front and up the left side, counted from the front left corner."""
    step, parts = 200, []
    for x in range(0, int(wide) + 1, step):
        parts.append(f'<path d="M{x} {high:g} v12" stroke="{INK}" stroke-width="3"/>')
        parts.append(f'<text x="{x}" y="{high + 38:g}" text-anchor="middle" font-size="24">{x}</text>')
    for y in range(step, int(high) + 1, step):
        at = high - y
        parts.append(f'<path d="M0 {at:g} h-12" stroke="{INK}" stroke-width="3"/>')
        parts.append(f'<text x="-16" y="{at + 8:g}" text-anchor="end" font-size="24">{y}</text>')
    return "".join(parts)


def _legend(high: float, horizon_d: int, *, free: bool = False) -> str:
    y, letter = high + 122, 26
    rows = (
        (f'r="16" fill="{PAPER}" stroke="{INK}" stroke-width="4"', "today, number: order of gluing"),
        (
            f'r="16" fill="none" stroke="{KELP}" stroke-width="3" stroke-dasharray="9 6"',
            f"grown in {horizon_d} d",
        ),
        (
            f'r="16" fill="none" stroke="{STONE}" stroke-width="4" stroke-dasharray="1 8" '
            'stroke-linecap="round"',
            "reach",
        ),
    )
    parts, x = [], 20.0
    for circle, words in rows:
        parts.append(f'<circle cx="{x:g}" cy="{y - 8:g}" {circle}/>')
        parts.append(f'<text x="{x + 26:g}" y="{y:g}" font-size="{letter}">{escape(words)}</text>')
        x += 70 + 0.5 * letter * len(words)
    if not free:
        return "".join(parts)
    parts.append(
        f'<path d="M{x - 7:g} {y - 8:g} h14 M{x:g} {y - 15:g} v14" stroke="{STONE}" stroke-width="3"/>'
    )
    parts.append(f'<text x="{x + 20:g}" y="{y:g}" font-size="{letter}">free spot</text>')
    return "".join(parts)


def _seen(frame: TankFrame, side: str, at: Sequence[float]) -> tuple[float, float]:
    """How far to the right, and how far away, a place lies as seen from a side."""
    x, y = at[0], at[1]
    return {
        "front": (x, y),
        "back": (frame.length_mm - x, frame.width_mm - y),
        "left": (frame.width_mm - y, x),
        "right": (y, frame.length_mm - x),
    }[side]


def _height(frame: TankFrame, placed: Sequence[Placement]) -> float:
    tops = [one.height_mm + one.tall_mm + one.grows_mm for one in placed]
    return max([frame.depth_mm or _LEAST_DEPTH_MM, *(top + 30 for top in tops)])


def _water_line(frame: TankFrame, wide: float, high: float) -> str:
    if frame.depth_mm is None or high <= frame.depth_mm:
        return ""
    at = high - frame.depth_mm
    return f'<path d="M0 {at:g} H{wide:g}" stroke="{KELP}" stroke-width="3" stroke-dasharray="20 10"/>'


def _far_zones(frame: TankFrame, side: str) -> list[ZoneFrame]:
    return sorted(frame.zones, key=lambda zone: -max(_seen(frame, side, zone.from_mm)[1], 0))


def _zone_front(frame: TankFrame, side: str, zone: ZoneFrame, high: float) -> str:
    if zone.top_mm <= 0:
        return ""
    ends = sorted(_seen(frame, side, corner)[0] for corner in (zone.from_mm, zone.to_mm))
    return (
        f'<rect x="{ends[0]:g}" y="{high - zone.top_mm:g}" width="{ends[1] - ends[0]:g}" '
        f'height="{zone.top_mm}" fill="{SAND}" stroke="{STONE}" stroke-width="2">'
        f"<title>{escape(zone.name)}</title></rect>"
    )


def _rock_cells(frame: TankFrame) -> list[tuple[float, float, float, float, int]]:
    """Left, front, width, depth and height of every cell of the height map."""
    rows = frame.rock_heights_mm
    if not rows:
        return []
    wide, deep = frame.length_mm / len(rows[0]), frame.width_mm / len(rows)
    return [
        (column * wide, (len(rows) - 1 - row) * deep, wide, deep, height)
        for row, heights in enumerate(rows)
        for column, height in enumerate(heights)
        if height > 0
    ]


def _rock_top(frame: TankFrame) -> list[str]:
    """The height map from above: the higher the darker."""
    cells = _rock_cells(frame)
    highest = max((cell[4] for cell in cells), default=1)
    return [
        f'<rect x="{x:g}" y="{frame.width_mm - y - deep:g}" width="{wide:g}" height="{deep:g}" fill="{SAND}" '
        f'fill-opacity="{_DARK_OPACITY * height / highest:.2f}"><title>{height} mm high</title></rect>'
        for x, y, wide, deep, height in cells
    ]


def _rock_front(frame: TankFrame, side: str, high: float) -> list[str]:
    """The height map as seen from a side, the far cells first."""
    seen = []
    for x, y, wide, deep, height in _rock_cells(frame):
        corners = [_seen(frame, side, at) for at in ((x, y), (x + wide, y + deep))]
        left, right = sorted(corner[0] for corner in corners)
        away = min(corner[1] for corner in corners)
        seen.append(
            (
                -away,
                f'<rect x="{left:g}" y="{high - height:g}" width="{right - left:g}" height="{height}" '
                f'fill="{SAND}" stroke="{STONE}" stroke-width="1.5"/>',
            )
        )
    return [drawn for _, drawn in sorted(seen)]


def _pillar(frame: TankFrame, side: str, one: Placement, high: float) -> str:
    """The rock under a piece, as a pillar, where neither map nor zone tells its height."""
    told = frame.rock_heights_mm or any(zone.top_mm > 0 for zone in frame.zones)
    if one.height_mm <= 0 or one.at_mm is None or told:
        return ""
    right, _ = _seen(frame, side, one.at_mm)
    half = one.radius_mm + 12
    return (
        f'<rect x="{right - half:g}" y="{high - one.height_mm:g}" width="{2 * half:g}" '
        f'height="{one.height_mm}" fill="{SAND}" stroke="{STONE}" stroke-width="1.5"/>'
    )


def _body_front(frame: TankFrame, side: str, one: Placement, high: float, names: Mapping[str, str]) -> str:
    assert one.at_mm is not None
    right, _ = _seen(frame, side, one.at_mm)
    foot = high - one.height_mm
    tall, wide = max(one.tall_mm, 12), max(one.radius_mm, 6)
    grown_wide, grown_tall = wide + one.grows_mm, tall + one.grows_mm
    return (
        f"<g data-piece={quoteattr(one.piece)}><title>{escape(_told(one, names))}</title>"
        f"{_dome(right, foot, grown_wide + one.reach_mm, grown_tall + one.reach_mm, 'reach')}"
        f"{_dome(right, foot, grown_wide, grown_tall, 'grown')}{_dome(right, foot, wide, tall, 'today')}"
        f"{_number(one, right, foot - max(tall / 2, 14))}</g>"
    )


_DOMES = {
    "reach": f'fill="none" stroke="{STONE}" stroke-width="3" stroke-dasharray="1 9" stroke-linecap="round"',
    "grown": f'fill="none" stroke="{KELP}" stroke-width="3" stroke-dasharray="12 8"',
    "today": f'fill="{PAPER}" stroke="{INK}" stroke-width="4"',
}


def _dome(middle: float, foot: float, wide: float, tall: float, kind: str) -> str:
    return (
        f'<path d="M{middle - wide:g} {foot:g} A{wide:g} {tall:g} 0 0 1 {middle + wide:g} {foot:g} Z" '
        f"{_DOMES[kind]}/>"
    )
