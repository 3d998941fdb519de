"""`ramet photo`: keep a photo of a piece."""

from pathlib import Path

import click

from ramet.cli.recording.shared import Hand, recording_options


@click.command("photo")
@click.argument("piece")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE")
@click.option("--note", default=None)
@recording_options
def command(hand: Hand, piece: str, file: Path, note: str | None) -> None:
    """Keep a photo of PIECE beside the ledger, with its thumbnail, and link it to the piece.

    JPEG, PNG, WebP or HEIC. The file is kept as it is; exported copies hold no place and no device.

    Example: ramet photo HB-02 IMG_0042.HEIC --note "bite marks at the base"
    """
    from ramet.services.photos.files import photo_bytes
    from ramet.services.photos.store import photo_folder
    from ramet.services.recording.photo import Photo, add_photo

    order = Photo(piece, photo_bytes(file), str(file), note)
    folder = photo_folder(hand.settings.ledger)
    hand.run(lambda ledger: add_photo(ledger, folder, order, hand.reference(), hand.scribe))
