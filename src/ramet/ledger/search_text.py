"""The words by which a piece is found, in one spelling: the same on every database."""

import re
import unicodedata
from operator import attrgetter

from ramet.domain.piece import Piece, name_key

_WORD = re.compile(r"[^\W_]+")
_PLAIN = str.maketrans({chr(code): " " for code in range(128) if not chr(code).isalnum()})
_DIGITS = re.compile(r"[0-9]+")
_LONGEST_DIGITS = 9
_texts = attrgetter(
    *("piece", "strain", "taxon", "system", "tank", "spot"),
    *("source", "permit", "promised_to", "mounted_on", "note"),
)


def search_text(piece: Piece) -> str:
    """Return the words of a piece, each once, with a blank before each."""
    texts = [text for text in _texts(piece) if text]
    return " " + " ".join(dict.fromkeys(words(" ".join(texts))))


def words(text: str) -> list[str]:
    """Return the words of a text without case, accents and marks."""
    if text.isascii():
        return text.translate(_PLAIN).lower().split()
    bare = "".join(mark for mark in unicodedata.normalize("NFKD", text) if not unicodedata.combining(mark))
    return _WORD.findall(bare.casefold())


def sort_name(name: str) -> str:
    """Return a name such that E2 comes before E10: numbers in it are filled up with zeros."""
    return _DIGITS.sub(lambda found: found[0].zfill(_LONGEST_DIGITS), name_key(name))[:240]
