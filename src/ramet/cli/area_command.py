"""`ramet area`: the live area of a piece from a photo with a printed scale card."""

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ramet.cli.quantity_option import in_unit
from ramet.cli.recording.shared import Hand, recording_options

if TYPE_CHECKING:
    from ramet.services.photos.area import PhotoArea


@click.command("area")
@click.argument("photo", type=click.Path(path_type=Path, dir_okay=False), metavar="PHOTO")
@click.option("--piece", default=None, help="Enter it as a measurement of this piece, with the photo.")
@click.option("--at", "at", default=None, metavar="X,Y", help="A pixel on the coral, where several are seen.")
@click.option(
    "--outline", default=None, metavar="POINTS", help="The outline in pixels: a file, or X,Y X,Y X,Y ..."
)
@click.option(
    "--above",
    "above_mm",
    default=None,
    callback=in_unit("mm"),
    help="Height of the live tissue above the card (default: at its height, less sure).",
)
@click.option(
    "--ruler",
    "ruler_mm",
    default=None,
    callback=in_unit("mm"),
    help="What the card's ruler of 100 mm measures as printed.",
)
@click.option(
    "--show",
    type=click.Path(path_type=Path, dir_okay=False),
    default=None,
    help="Write the photo with the outline.",
)
@recording_options
def command(
    hand: Hand,
    photo: Path,
    piece: str | None,
    at: str | None,
    outline: str | None,
    above_mm: float | None,
    ruler_mm: float | None,
    show: Path | None,
) -> None:
    """Measure the live area in PHOTO, a picture with a printed scale card (`ramet card`).

    The coral is found by its colour; give --at or --outline where that does not do. Look at --show before
    you trust it.

    Example: ramet area IMG_0042.jpg --piece HB-02 --show seen.jpg
    """
    from ramet.services.photos.area import AreaOrder, measure_area
    from ramet.services.photos.files import outline_of, photo_bytes, point_of
    from ramet.services.photos.overlay import write_overlay

    reference = hand.reference()
    data = photo_bytes(photo)
    order = AreaOrder(
        outline_of(outline) if outline else (),
        point_of(at, "--at") if at else None,
        above_mm,
        ruler_mm,
    )
    found = measure_area(data, str(photo), order, reference)
    if show is not None:
        write_overlay(show, data, str(photo), found, reference)
    if not (hand.settings.as_json and piece is not None):
        click.echo(_as_json(found) if hand.settings.as_json else _as_text(found))
    if piece is not None:
        _enter(hand, piece, photo, data, found)


def _enter(hand: Hand, piece: str, photo: Path, data: bytes, found: "PhotoArea") -> None:
    from ramet.services.photos.store import photo_folder
    from ramet.services.recording.photo import Photo, measure_by_photo

    folder = photo_folder(hand.settings.ledger)
    order = Photo(piece, data, str(photo))
    hand.run(lambda ledger: measure_by_photo(ledger, folder, order, found, hand.reference(), hand.scribe))


def _as_json(found: "PhotoArea") -> str:
    from dataclasses import asdict

    return json.dumps({"format": "ramet-area/1", **asdict(found)}, ensure_ascii=False, indent=2)


def _as_text(found: "PhotoArea") -> str:
    area = found.area_cm2
    share = (area.high - area.typical) / area.typical
    causes = ", ".join(f"{name} {value:.1%}" for name, value in found.errors.items())
    return "\n".join(
        [
            f"live area from above: {area.typical:.1f} cm² ({area.low:.1f} to {area.high:.1f}, ±{share:.0%})",
            f"{found.length_mm:.0f} × {found.width_mm:.0f} mm; found by {found.found_by}; {found.card} card",
            f"error by cause: {causes}",
            f"a pixel spans {found.mm_per_px:.3f} mm; the card fits its print to {found.residual_mm:.2f} mm",
        ]
    )
