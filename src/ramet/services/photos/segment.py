"""Find the coral in the window of a scale card by its colour, when nobody has drawn its outline.

The window is seen straight from above after its perspective is taken out. What lies along its edges is taken
for the ground; what differs from it in colour, and hangs together with the seed, is the coral.
"""

import numpy as np
from numpy.typing import NDArray

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.science.photo_scale import Points
from ramet.services.photos.extra import opencv
from ramet.services.photos.find_card import FoundCard, Picture

_MOST_PX = 1000
_RIM = 0.06
"""The share of the window along each edge that is taken for the ground."""
_SHY_MM = 1.5
"""How far inside its line the window is looked at: scissors are no ruler."""
_LEAST_CONTRAST = 8.0
"""How far from the ground a coral must be, in spreads of the ground's own colour."""
_ROUNDS = 3


def segment(picture: Picture, found: FoundCard, seed_mm: tuple[float, float] | None, name: str) -> Points:
    """Return the outline of the coral on the card [mm].

    Raises BadInput when nothing in the window differs from its ground, or the coral meets its edge.
    """
    flat, per_mm, corner = _seen_from_above(picture, found)
    by_colour = _by_colour(flat)
    labelled, label = _piece_at(_refined(flat, by_colour), seed_mm, per_mm, corner, name)
    mask = (labelled == label).astype(np.uint8)
    _check_edge(mask, by_colour, name)
    cv2 = opencv()
    contours, _ = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    rim = max(contours, key=cv2.contourArea).reshape(-1, 2).astype(float)
    # The outermost pixels are those that the edge runs through, so it lies at their middles on average.
    on_card: Points = (rim + 0.5) / per_mm + corner
    return on_card


def _seen_from_above(picture: Picture, found: FoundCard) -> tuple[Picture, float, NDArray[np.float64]]:
    """Return the window without perspective, pixels per mm in it, and its upper left corner [mm]."""
    cv2 = opencv()
    left, top, right, bottom = found.card.window_mm
    left, top, right, bottom = left + _SHY_MM, top + _SHY_MM, right - _SHY_MM, bottom - _SHY_MM
    per_mm = min(1 / found.mm_per_px, _MOST_PX / max(right - left, bottom - top))
    size = (round((right - left) * per_mm), round((bottom - top) * per_mm))
    corner = np.array([left, top])
    to_window = np.array([[per_mm, 0, -left * per_mm], [0, per_mm, -top * per_mm], [0, 0, 1]])
    # Our pixels begin at their edge, OpenCV's have their middle at whole numbers.
    half = np.array([[1, 0, 0.5], [0, 1, 0.5], [0, 0, 1.0]])
    transform = np.linalg.inv(half) @ to_window @ found.view.to_card @ half
    flat: Picture = cv2.warpPerspective(picture, transform, size, flags=cv2.INTER_AREA)
    return flat, per_mm, corner


def _by_colour(flat: Picture) -> NDArray[np.uint8]:
    """Return what differs from the ground along the edges more than a threshold found in the picture."""
    cv2 = opencv()
    lab = cv2.cvtColor(cv2.GaussianBlur(flat, (5, 5), 0), cv2.COLOR_RGB2LAB).astype(np.float64)
    ground = lab[_rim_of(flat)]
    middle = np.median(ground, axis=0)
    spread = np.maximum(1.4826 * np.median(np.abs(ground - middle), axis=0), 2.0)
    far = np.sqrt((((lab - middle) / spread) ** 2).sum(axis=2))
    brightest = float(np.percentile(far, 99.5))
    if brightest < _LEAST_CONTRAST:
        return np.zeros(far.shape, np.uint8)
    scaled = np.clip(far * (255 / brightest), 0, 255).astype(np.uint8)
    level, _ = cv2.threshold(scaled, 0, 255, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    coral: NDArray[np.uint8] = (far > max(level * brightest / 255, _LEAST_CONTRAST / 2)).astype(np.uint8)
    return coral


def _refined(flat: Picture, coral: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Let the colours of both sides pull the border to where they part (GrabCut)."""
    cv2 = opencv()
    if not coral.any():
        return coral
    side = max(3, round(min(coral.shape) / 100) * 2 + 1)
    around = np.ones((side, side), np.uint8)
    coral = cv2.morphologyEx(cv2.morphologyEx(coral, cv2.MORPH_CLOSE, around), cv2.MORPH_OPEN, around)
    marks = np.full(coral.shape, cv2.GC_PR_BGD, np.uint8)
    marks[coral > 0] = cv2.GC_PR_FGD
    marks[cv2.erode(coral, around, iterations=2) > 0] = cv2.GC_FGD
    marks[cv2.dilate(coral, around, iterations=3) == 0] = cv2.GC_BGD
    marks[_rim_of(flat)] = cv2.GC_BGD
    if not (marks == cv2.GC_FGD).any():
        return coral
    cv2.setRNGSeed(1)
    model = np.zeros((1, 65)), np.zeros((1, 65))
    cv2.grabCut(flat, marks, None, *model, _ROUNDS, cv2.GC_INIT_WITH_MASK)
    kept = np.isin(marks, (cv2.GC_FGD, cv2.GC_PR_FGD)).astype(np.uint8)
    filled: NDArray[np.uint8] = cv2.morphologyEx(kept, cv2.MORPH_OPEN, around)
    return filled


def _piece_at(
    coral: NDArray[np.uint8],
    seed_mm: tuple[float, float] | None,
    per_mm: float,
    corner: NDArray[np.float64],
    name: str,
) -> tuple[NDArray[np.int32], int]:
    """Return the parts that hang together, and which of them is meant: at the seed, or the largest."""
    cv2 = opencv()
    _, labelled, stats, _ = cv2.connectedComponentsWithStats(coral, connectivity=8)
    if len(stats) < 2:
        expected = "a coral in the window that differs in colour from what is round it; or draw its outline"
        raise BadInput([Problem(Place(name), None, expected)])
    if seed_mm is None:
        return labelled, 1 + int(np.argmax(stats[1:, cv2.CC_STAT_AREA]))
    x, y = (np.array(seed_mm) - corner) * per_mm
    inside = 0 <= y < labelled.shape[0] and 0 <= x < labelled.shape[1]
    label = int(labelled[int(y), int(x)]) if inside else 0
    if label == 0:
        expected = "a point on the coral, inside the window of the card; or draw its outline"
        raise BadInput([Problem(Place(name, column="seed"), f"{x:.0f},{y:.0f}", expected)])
    return labelled, label


def _check_edge(mask: NDArray[np.uint8], by_colour: NDArray[np.uint8], name: str) -> None:
    """Refuse a coral whose colour goes on to the edge of the window: part of it lies outside."""
    cv2 = opencv()
    _, labelled = cv2.connectedComponents(by_colour, connectivity=8)
    mine = set(np.unique(labelled[(mask > 0) & (labelled > 0)]).tolist())
    edge = np.concatenate([labelled[0], labelled[-1], labelled[:, 0], labelled[:, -1]])
    if mine & set(np.unique(edge).tolist()):
        expected = "a coral wholly inside the window of the card: take the large card, or draw its outline"
        raise BadInput([Problem(Place(name), "it meets the edge of the window", expected)])


def _rim_of(flat: Picture) -> NDArray[np.bool_]:
    rim = np.ones(flat.shape[:2], dtype=bool)
    down, across = (max(2, round(side * _RIM)) for side in flat.shape[:2])
    rim[down:-down, across:-across] = False
    return rim
