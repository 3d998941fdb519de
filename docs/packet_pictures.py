"""Draws the pictures of the README from the demo: `python docs/packet_pictures.py`, or `make pictures`."""

import tempfile
from pathlib import Path

import pypdfium2

from ramet.domain.words import Effort
from ramet.reference.tables import load_reference
from ramet.services.demo import run_demo

PICTURES = Path(__file__).parent / "pictures"
SHEETS = {
    "cover.png": "Stays behind, and what would change that",
    "box.png": "Box A",
    "journey.png": "The journey",
    "tank.png": "Where each piece goes",
}
SCALE = 1.4


def main() -> None:
    """Plan the demo and save the sheets that hold the texts of `SHEETS`."""
    with tempfile.TemporaryDirectory() as folder:
        run_demo(Path(folder), load_reference(), 1, Effort.QUICK, print)
        packet = pypdfium2.PdfDocument(Path(folder) / "packet.pdf")
        texts = [page.get_textpage().get_text_range() for page in packet]
        PICTURES.mkdir(exist_ok=True)
        for name, heading in SHEETS.items():
            number = next(i for i, text in enumerate(texts) if heading in text)
            packet[number].render(scale=SCALE).to_pil().quantize(32).save(PICTURES / name, optimize=True)


if __name__ == "__main__":
    main()
