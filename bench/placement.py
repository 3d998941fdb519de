"""How well and how fast corals are placed, and how long a tank's report takes: `python -m bench.placement`.

Invented pieces of ten genera in a tank of 1.2 × 0.6 m with 120 spots on rock, as many sets as seeds.
"""

import random
import sys
import time

from ramet.domain.words import Form, Rank
from ramet.formats.receiving import Tank
from ramet.formats.shipment import Shipment
from ramet.formats.toml_reader import read_toml
from ramet.reference.tables import DATA, load_reference
from ramet.services.receiving.placing import PlacedPiece, place
from ramet.services.tank import ArrivingBag, ArrivingPiece, tank_report

PIECES, SEEDS, BUDGET_S = 40, 5, 5.0
SIZES = {"frags of 25 to 45 mm": 45.0, "colonies of 45 to 80 mm": 80.0}
KINDS = (
    ("Acropora millepora", Form.BRANCHING),
    ("Montipora capricornis", Form.PLATING),
    ("Montipora digitata", Form.BRANCHING),
    ("Pocillopora damicornis", Form.BRANCHING),
    ("Seriatopora hystrix", Form.BRANCHING),
    ("Favites abdita", Form.MASSIVE),
    ("Caulastraea furcata", Form.PHACELOID),
    ("Zoanthus sociatus", Form.MAT),
    ("Sinularia flexibilis", Form.LEATHER),
    ("Porites lobata", Form.MASSIVE),
)


def main() -> None:
    """Print pieces placed, gap to the bound and seconds of processor time, for each size and seed."""
    reference = load_reference()
    for words, longest_mm in SIZES.items():
        for seed in range(SEEDS):
            start = time.process_time()
            found = place(reference, tank(seed), pieces(seed, longest_mm), BUDGET_S, seed)
            spent = time.process_time() - start
            *counts, points = found.goals
            stand = sum(goal.value for goal in counts)
            gap = (points.bound - points.value) / max(1, points.value)
            print(
                f"{words}, set {seed}: {stand} of {PIECES} stand, {points.value} points of at most "
                f"{points.bound}, gap {gap:.1%}; {spent:.2f} s",
                flush=True,
            )
    print(f"report of {PIECES} corals without placement: {report_s(reference):.2f} s", flush=True)


def tank(seed: int) -> Tank:
    """Return a tank of 1.2 × 0.6 m whose spots stand in ten columns of twelve, a little out of line."""
    draw = random.Random(seed)
    spots = []
    for column in range(12):
        for row in range(10):
            x, y = 60 + column * 98 + draw.randint(-10, 10), 60 + row * 53 + draw.randint(-8, 8)
            height = 40 * row + draw.randint(-15, 15)
            spots.append(
                {"at_mm": (x, y), "height_mm": max(0, height), "par": 60 + 26 * row + draw.randint(-10, 10)}
            )
    given = {"volume_l": 380, "length_mm": 1200, "width_mm": 600, "flow_from": "left", "spot": spots}
    water = {"alkalinity_dkh": 8.0, "calcium_mg_l": 420.0, "magnesium_mg_l": 1300.0}
    return Tank.model_validate(given | water)


def pieces(seed: int, longest_mm: float) -> list[PlacedPiece]:
    """Return forty pieces of ten genera, each genus in two strains, a third of them musts."""
    draw = random.Random(1000 + seed)
    ranks = (Rank.MUST, Rank.WANT, Rank.FILLER)
    return [
        PlacedPiece(
            f"p{n:02d}",
            f"s{n % 20}",
            *KINDS[n % len(KINDS)],
            (draw.uniform(0.56, 1) * longest_mm, draw.uniform(0.45, 0.9) * longest_mm, draw.uniform(15, 60)),
            ranks[n % 3],
        )
        for n in range(PIECES)
    ]


def report_s(reference: object) -> float:
    """Return the processor time of a whole tank report for forty corals."""
    shipment = read_toml(DATA / "demo" / "shipment.toml", Shipment)
    if isinstance(shipment, tuple):
        sys.exit("\n".join(map(str, shipment)))
    corals = [
        ArrivingPiece(one.piece, one.taxon, one.form, one.size_mm, None, 150.0, one.piece)
        for one in pieces(0, 45.0)
    ]
    bags = [ArrivingBag(one.piece, 0.5, 22.0, 3.0, 35.0) for one in corals]
    start = time.process_time()
    tank_report(load_reference(), shipment.tank, shipment.goods, corals, bags)
    return time.process_time() - start


if __name__ == "__main__":
    main()
