"""Write the printable scale cards."""

from pathlib import Path

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.papers.packet import Paper
from ramet.papers.scale_card import scale_card_pdf
from ramet.reference.scale_cards import load_scale_cards

__all__ = ["Paper", "write_scale_cards"]


def write_scale_cards(path: Path, paper: Paper) -> None:
    """Write the page of all scale cards. Raises BadInput when it can't be written there."""
    pdf = scale_card_pdf(list(load_scale_cards().values()), paper)
    try:
        path.write_bytes(pdf)
    except OSError as error:
        raise BadInput([Problem(Place(str(path)), error.strerror, "a file that can be written")]) from error
