"""The printed scale cards: which markers they bear, where, and how large."""

from dataclasses import dataclass
from pathlib import Path

from ramet.domain.errors import BrokenTable
from ramet.domain.problems import Place, Problem

TABLE = Path(__file__).parent.parent / "data" / "scale_cards.csv"
GAP_MM = 4.0
"""White paper that stays between a marker and the window: a detector needs it to see the black rim."""
GRID = 4
"""A marker has so many squares a side inside its black rim of one square."""


@dataclass(frozen=True, slots=True)
class Marker:
    """A square marker: its number, its squares row by row (True: white), upper left corner and side [mm]."""

    id: int
    bits: tuple[bool, ...]
    x_mm: float
    y_mm: float
    side_mm: float

    @property
    def corners_mm(self) -> tuple[tuple[float, float], ...]:
        """The four corners, clockwise from the upper left."""
        right, low = self.x_mm + self.side_mm, self.y_mm + self.side_mm
        return (self.x_mm, self.y_mm), (right, self.y_mm), (right, low), (self.x_mm, low)


@dataclass(frozen=True, slots=True)
class ScaleCard:
    """Four markers round a window. The window is what the photo measures in, between the markers [mm]."""

    name: str
    markers: tuple[Marker, ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height over all markers."""
        corners = [corner for marker in self.markers for corner in marker.corners_mm]
        return max(x for x, _ in corners), max(y for _, y in corners)

    @property
    def window_mm(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom of the window, which may be cut out."""
        side = self.markers[0].side_mm + GAP_MM
        width, height = self.size_mm
        return side, GAP_MM, width - side, height - GAP_MM


def load_scale_cards() -> dict[str, ScaleCard]:
    """Return the cards by name. Raises BrokenTable when the table does not hold together."""
    import csv

    markers: dict[str, list[Marker]] = {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        for line, row in enumerate(csv.DictReader(file), start=2):
            bits = tuple(bit == "1" for bit in row["bits"])
            if len(bits) != GRID * GRID:
                expected = f"{GRID * GRID} squares"
                raise BrokenTable([Problem(Place(str(TABLE), line, "bits"), row["bits"], expected)])
            place = (float(row["x_mm"]), float(row["y_mm"]), float(row["side_mm"]))
            markers.setdefault(row["card"], []).append(Marker(int(row["marker"]), bits, *place))
    return {name: ScaleCard(name, tuple(some)) for name, some in markers.items()}
