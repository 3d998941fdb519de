"""Photos drawn by arithmetic: a scale card and a shape of known area, seen by a tilted camera.

Nothing here is shared with what measures: the camera is a pinhole that projects points of the card's plane,
and the picture is drawn from a fine flat canvas.
"""

import io
import math
from dataclasses import dataclass

import cv2
import numpy as np
from PIL import Image

from ramet.reference.scale_cards import ScaleCard, load_scale_cards

PX_PER_MM = 8
MARGIN_MM = 25
PAPER, CORAL, GROUND = (244, 242, 236), (118, 84, 46), (196, 200, 205)


@dataclass(frozen=True)
class Camera:
    """A pinhole camera above the middle of the card: height [mm], tilt and turn [°], lens [px]."""

    height_mm: float = 380.0
    tilt_deg: float = 12.0
    turn_deg: float = 8.0
    focal_px: float = 1700.0
    size_px: tuple[int, int] = (1600, 1200)

    def homography(self, middle_mm: tuple[float, float], above_mm: float = 0.0) -> np.ndarray:
        """From points in mm, on the card or at a height above it, to pixels of the photo."""
        tilt, turn = math.radians(self.tilt_deg), math.radians(self.turn_deg)
        about_z = np.array(
            [[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]]
        )
        about_x = np.array(
            [[1, 0, 0], [0, math.cos(tilt), -math.sin(tilt)], [0, math.sin(tilt), math.cos(tilt)]]
        )
        rotation = about_x @ about_z
        offset = np.array([0, 0, self.height_mm - above_mm]) - rotation @ np.array([*middle_mm, 0.0])
        plane = np.c_[rotation[:, 0], rotation[:, 1], offset]
        lens = np.array(
            [[self.focal_px, 0, self.size_px[0] / 2], [0, self.focal_px, self.size_px[1] / 2], [0, 0, 1]]
        )
        return lens @ plane


def disc(x_mm: float, y_mm: float, radius_mm: float, points: int = 720) -> np.ndarray:
    """A disc; its area is πr² but for one part in 80,000."""
    angles = np.linspace(0, 2 * math.pi, points, endpoint=False)
    return np.c_[x_mm + radius_mm * np.cos(angles), y_mm + radius_mm * np.sin(angles)]


def lobed(x_mm: float, y_mm: float, radius_mm: float, lobes: int, depth: float) -> np.ndarray:
    """A rosette r = R (1 + d cos nφ); its area is πR² (1 + d²/2)."""
    angles = np.linspace(0, 2 * math.pi, 1440, endpoint=False)
    radius = radius_mm * (1 + depth * np.cos(lobes * angles))
    return np.c_[x_mm + radius * np.cos(angles), y_mm + radius * np.sin(angles)]


def rectangle(x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> np.ndarray:
    """A rectangle from its upper left corner."""
    x, y = x_mm + width_mm, y_mm + height_mm
    return np.array([[x_mm, y_mm], [x, y_mm], [x, y], [x_mm, y]])


def card_of(name: str) -> ScaleCard:
    """A card of the table."""
    return load_scale_cards()[name]


def middle_of(card: ScaleCard) -> tuple[float, float]:
    """The middle of a card."""
    width, height = card.size_mm
    return width / 2, height / 2


def draw(
    shape_mm: np.ndarray | None,
    card: ScaleCard,
    camera: Camera,
    *,
    noise: float = 3.0,
    print_scale: float = 1.0,
    hide: int | None = None,
    colours: tuple[tuple[int, int, int], tuple[int, int, int]] = (CORAL, PAPER),
) -> np.ndarray:
    """The photo as an array. `print_scale` stretches the card, as a printer may; `hide` covers a marker."""
    width, height = card.size_mm
    canvas = np.full(
        (round((height + 2 * MARGIN_MM) * PX_PER_MM), round((width + 2 * MARGIN_MM) * PX_PER_MM), 3),
        GROUND,
        np.uint8,
    )
    _fill(canvas, rectangle(-8, -8, width + 16, height + 16), colours[1])
    for marker in card.markers:
        if marker.id != hide:
            _marker(canvas, marker)
    if shape_mm is not None:
        _fill(canvas, shape_mm / print_scale, colours[0])
    flat = np.array([[1 / PX_PER_MM, 0, -MARGIN_MM], [0, 1 / PX_PER_MM, -MARGIN_MM], [0, 0, 1]])
    stretch = np.diag([print_scale, print_scale, 1.0])
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    middle = tuple(print_scale * each for each in middle_of(card))
    view = np.linalg.inv(half) @ camera.homography(middle) @ stretch @ flat @ half
    photo = cv2.warpPerspective(canvas, view, camera.size_px, flags=cv2.INTER_LINEAR, borderValue=GROUND)
    photo = cv2.GaussianBlur(photo, (3, 3), 0.6).astype(float)  # a lens blurs by about a pixel
    dice = np.random.default_rng(7)
    return np.clip(photo + dice.normal(0, noise, photo.shape), 0, 255).astype(np.uint8)


def jpeg(photo: np.ndarray, *, exif: Image.Exif | None = None) -> bytes:
    """The photo as a phone would store it."""
    stream = io.BytesIO()
    more = {} if exif is None else {"exif": exif}
    Image.fromarray(photo).save(stream, "JPEG", quality=92, **more)
    return stream.getvalue()


def _marker(canvas: np.ndarray, marker: object) -> None:
    cell = marker.side_mm / 6
    _fill(canvas, rectangle(marker.x_mm, marker.y_mm, marker.side_mm, marker.side_mm), (12, 12, 12))
    for n, white in enumerate(marker.bits):
        if white:
            x, y = marker.x_mm + (1 + n % 4) * cell, marker.y_mm + (1 + n // 4) * cell
            _fill(canvas, rectangle(x, y, cell, cell), PAPER)


def _fill(canvas: np.ndarray, shape_mm: np.ndarray, colour: tuple[int, int, int]) -> None:
    shift = 6
    # A pixel of the canvas is a square from its edge; the drawing routine counts from pixel middles.
    points = np.round(((shape_mm + MARGIN_MM) * PX_PER_MM - 0.5) * (1 << shift)).astype(np.int32)
    cv2.fillPoly(canvas, [points], colour, lineType=cv2.LINE_AA, shift=shift)
