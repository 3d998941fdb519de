"""A tank is laid out to scale once its size and spots were measured, else in rows by name."""

from datetime import date

from ramet.domain.piece import Piece
from ramet.domain.places import SpotRecord
from ramet.domain.words import Form
from ramet.services.tank_layout import tank_layout

TODAY = date(2027, 1, 4)


def piece(name: str, spot: str | None, par: float | None = None) -> Piece:
    size = (40.0, 40.0, 40.0)
    return Piece(name, "S", "Favites abdita", Form.MASSIVE, "north", "N1", *size, spot=spot, par=par)


def test_spots_stand_in_rows_by_name_while_nothing_was_measured() -> None:
    layout = tank_layout(
        "north", "N1", [piece("A", "rack 10"), piece("B", "rack 2"), piece("C", None)], (), TODAY
    )
    assert not layout.to_scale
    first, second = sorted(layout.spots, key=lambda one: (-one.y_mm, one.x_mm))
    assert (first.name, second.name) == ("rack 2", "rack 10")
    assert [one.piece for one in layout.loose] == ["C"]


def test_spots_stand_where_they_were_measured_with_the_latest_light() -> None:
    records = [
        SpotRecord("north", "N1", date(2026, 1, 1), length_mm=900, width_mm=450),
        SpotRecord("north", "N1", date(2026, 1, 1), spot="Rack 1", x_mm=100, y_mm=200, par=80),
        SpotRecord("North", "n1", date(2026, 6, 1), spot="rack 1", par=120),
        SpotRecord("north", "N1", date(2027, 6, 1), spot="rack 1", par=300),
        SpotRecord("north", "N2", date(2026, 6, 1), spot="rack 9", par=10),
    ]
    layout = tank_layout("north", "N1", [piece("A", "rack 1", par=99)], records, TODAY)
    assert layout.to_scale
    (spot,) = layout.spots
    assert (spot.x_mm, spot.y_mm, spot.par) == (100, 200, 120)


def test_light_read_at_the_piece_stands_in_for_that_of_its_spot() -> None:
    layout = tank_layout("north", "N1", [piece("A", "rack 1", par=99)], (), TODAY)
    assert layout.spots[0].par == 99
