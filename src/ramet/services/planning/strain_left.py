"""How many pieces of each strain stay behind once all that goes has left."""

from collections import Counter
from collections.abc import Mapping, Sequence

from ramet.services.planning.gather import Inputs
from ramet.services.planning.loads import Load


def strain_left(inputs: Inputs, loads: Sequence[Load]) -> Mapping[str, int]:
    """Return for each strain (its name without case) how many pieces in stock stay; 0 for those not named."""
    going = {one.piece.casefold() for load in loads for one in load.parcel.candidates if one.mother is None}
    staying = (piece for piece in inputs.stock.pieces if piece.piece.casefold() not in going)
    return Counter(piece.strain.casefold() for piece in staying)
