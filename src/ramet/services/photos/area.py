"""The live area of a piece from one photo with a printed scale card, with its error."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ramet.domain.band import Band
from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.reference.scale_cards import load_scale_cards
from ramet.reference.tables import Reference
from ramet.science.photo_scale import Outline, Points, area_error, outline, raised_share
from ramet.services.photos.find_card import FoundCard, Picture, find_card
from ramet.services.photos.intake import SeenPhoto, look_at, picture_of
from ramet.services.photos.segment import segment

Pixel = tuple[float, float]
RULER_MM = 100.0
_FRAME_MM = 36.0


@dataclass(frozen=True, slots=True)
class AreaOrder:
    """How to measure. Pixels count from the upper left of the upright photo.

    `outline_px` is the coral drawn by hand; without it the coral is found by colour, at `seed_px` if given.
    `above_mm` is the height of the tissue above the card; `ruler_mm` what the card's ruler of 100 mm
    measures as printed, None when nobody checked.
    """

    outline_px: Sequence[Pixel] = ()
    seed_px: Pixel | None = None
    above_mm: float | None = None
    ruler_mm: float | None = None


@dataclass(frozen=True, slots=True)
class PhotoArea:
    """A measured area with its band [cm²], sizes seen from above [mm], and what makes up its error.

    `errors` are relative errors of the area by cause; the band is two of their sum in quadrature.
    """

    area_cm2: Band
    length_mm: float
    width_mm: float
    perimeter_mm: float
    card: str
    found_by: str
    mm_per_px: float
    residual_mm: float
    camera_mm: float
    errors: dict[str, float]
    outline_px: tuple[Pixel, ...]


def measure_area(data: bytes, name: str, order: AreaOrder, reference: Reference) -> PhotoArea:
    """Return the area of the coral in a photo.

    Raises BadInput for a photo that can't be read, without a card, or without a coral to be found in it.
    """
    _check(order, name)
    seen = look_at(data, name, reference)
    picture: Picture = np.asarray(picture_of(data, name, reference))
    found = find_card(picture, load_scale_cards(), name)
    if order.outline_px:
        shape, by = found.view.on_card(np.array(order.outline_px, dtype=float)), "an outline drawn by hand"
    else:
        shape, by = segment(picture, found, _seed_on_card(found, order), name), "its colour"
    camera_mm = _camera_mm(seen, found, reference)
    return _result(found, shape, by, order, camera_mm, reference, name)


def _result(
    found: FoundCard,
    shape: Points,
    by: str,
    order: AreaOrder,
    camera_mm: float,
    reference: Reference,
    name: str,
) -> PhotoArea:
    try:
        flat = outline(shape)
    except ValueError as error:
        raise BadInput([Problem(Place(name, column="outline"), None, str(error))]) from error
    printed = (order.ruler_mm or RULER_MM) / RULER_MM
    raised = raised_share(order.above_mm or 0.0, camera_mm)
    # A card printed larger makes true millimetres larger; tissue above it looks larger than it is.
    factor = printed**2 / raised
    errors = _errors(found, flat, order, camera_mm, reference)
    area = flat.area_cm2 * factor
    spread = 2 * area_error(tuple(errors.values()))
    side = factor**0.5
    return PhotoArea(
        area_cm2=Band(area * max(0.0, 1 - spread), area, area * (1 + spread)),
        length_mm=flat.length_mm * side,
        width_mm=flat.width_mm * side,
        perimeter_mm=flat.perimeter_mm * side,
        card=found.card.name,
        found_by=by,
        mm_per_px=found.mm_per_px,
        residual_mm=found.view.residual_mm,
        camera_mm=camera_mm,
        errors=errors,
        outline_px=tuple((float(x), float(y)) for x, y in found.view.in_photo(shape)),
    )


def _errors(
    found: FoundCard, flat: Outline, order: AreaOrder, camera_mm: float, reference: Reference
) -> dict[str, float]:
    """Return the standard relative errors of the area by cause."""

    def value(parameter: str) -> float:
        return reference.parameters[parameter].band.typical

    by_hand = bool(order.outline_px)
    edge_mm = value("photo_edge_error_px") * found.mm_per_px
    outline_share = value("photo_outline_hand_error" if by_hand else "photo_outline_auto_error")
    height_mm = value("photo_height_error_mm") if order.above_mm is None else 1.0
    across = found.card.size_mm[0]
    return {
        "view of the card": 2 * found.view.residual_mm / across * 2,
        "scale of the print": 2 * (0.0005 if order.ruler_mm is not None else value("photo_print_error")),
        "height above the card": 2 * height_mm / camera_mm,
        "edge of the outline": edge_mm * flat.perimeter_mm / (flat.area_cm2 * 100) / 2,
        "what counts as live": outline_share,
    }


def _camera_mm(seen: SeenPhoto, found: FoundCard, reference: Reference) -> float:
    """Return the camera's height above the card [mm], from its lens where the photo tells that."""
    if seen.focal_35_mm is None:
        return reference.parameter("photo_camera_mm").band.typical
    focal_px = seen.focal_35_mm / _FRAME_MM * max(seen.width_px, seen.height_px)
    return focal_px * found.mm_per_px


def _seed_on_card(found: FoundCard, order: AreaOrder) -> tuple[float, float] | None:
    if order.seed_px is None:
        return None
    x, y = found.view.on_card(np.array([order.seed_px], dtype=float))[0]
    return float(x), float(y)


def _check(order: AreaOrder, name: str) -> None:
    problems = []
    if order.outline_px and len(order.outline_px) < 3:
        expected = "three points of the outline or more"
        problems.append(Problem(Place(name, column="outline"), str(len(order.outline_px)), expected))
    if order.above_mm is not None and not -50 <= order.above_mm <= 150:
        problems.append(Problem(Place(name, column="above_mm"), f"{order.above_mm:g}", "-50 to 150 mm"))
    if order.ruler_mm is not None and not 80 <= order.ruler_mm <= 120:
        expected = "80 to 120 mm: what the card's ruler of 100 mm measures as printed"
        problems.append(Problem(Place(name, column="ruler_mm"), f"{order.ruler_mm:g}", expected))
    if problems:
        raise BadInput(problems)
