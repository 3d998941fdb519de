"""The smallest stock list and shipment as a user would write them, and others made of the same lines.

All names are invented.
"""

TODAY = "2026-09-01"

_PIECES = """\
piece,strain,taxon,form,system,tank,spot,length_mm,width_mm,height_mm,par
F1,Field 1,Favites abdita,massive,north,N1,rack 1,40,40,25,120
F2,Field 1,Favites abdita,massive,north,N1,rack 2,45,45,30,120
D1,Dock 1,Montipora digitata,branching,north,N1,rack 3,45,35,40,150
D2,Dock 1,Montipora digitata,branching,north,N1,rack 4,50,35,40,150
Z1,Zinc 1,Zoanthus sp.,mat,north,N2,shelf,35,35,15,100
L1,Lamp 1,Sarcophyton glaucum,leather,north,N2,sand,50,50,40,100
"""


def stock_text(*, pieces: int = 6, spots: bool = True) -> str:
    """Return the first pieces as a stock list, with or without their spots."""
    rows = [row.split(",") for row in _PIECES.splitlines()[: pieces + 1]]
    return "".join(",".join(row if spots else [*row[:6], *row[7:]]) + "\n" for row in rows)


def request(line: str, wish: str, rank: str = "must", count: int = 1) -> str:
    """Return a request line; `wish` is the key that says what."""
    return f'[[request]]\nid = "{line}"\nrank = "{rank}"\ncount = {count}\n{wish}\n'


def leg(name: str, start: str, end: str, low_c: str, high_c: str, surroundings: str = "depot") -> str:
    """Return a stretch of the road."""
    around = f'surroundings = "{surroundings}"\nlow_c = {low_c}\nhigh_c = {high_c}\n'
    return f'[[leg]]\nname = "{name}"\nstart = {start}\nend = {end}\n{around}'


HONEYCOMB = request("honeycomb", 'taxon = "Favites"')
DIGITS = request("digits", 'taxon = "Montipora"')
BUTTONS = request("buttons", 'class = "zoanthid"', "want")
PARASOL = request("parasol", 'strain = "Lamp 1"', "filler")
CUBE = '[[box]]\ntype = "cube_305"\ncount = 1\n'
VAN_AND_DEPOT = leg("van and depot", "2026-09-22T14:00:00-05:00", "2026-09-23T09:00:00-05:00", "20", "24")
TAKES_ANIMALS = '[carrier]\nlive_aquatics = "yes"\n'


def shipment_text(
    *parts: str,
    due: str = "2026-09-23T10:00:00-05:00",
    parties: str = 'receiver = "Plains Library"\n',
    volume_l: str = "300",
) -> str:
    """Return a shipment to the small tank; the parts are its lines, boxes, legs and what else it has."""
    head = f'name = "Small reef"\ndue = {due}\n{parties}'
    tank = f"[tank]\nvolume_l = {volume_l}\nalkalinity_dkh = 8\ncalcium_mg_l = 420\nmagnesium_mg_l = 1300\n"
    return "\n".join((head, tank, *parts))


SMALLEST = shipment_text(HONEYCOMB, CUBE, VAN_AND_DEPOT, TAKES_ANIMALS)
"""One line, one box, one leg."""

SMALLEST_STOCK = stock_text(pieces=4, spots=False)
"""Two strains of two pieces."""

SHOP = shipment_text(
    *(HONEYCOMB, DIGITS, BUTTONS, PARASOL),
    *(CUBE, VAN_AND_DEPOT, "[gear]\noxygen = true\n", TAKES_ANIMALS),
    parties='sender = { name = "North room", zone = "America/Chicago" }\n'
    'receiver = { name = "Plains Library", zone = "America/Chicago" }\n',
)
"""A line of each rank, from a sender whose place on earth is known."""

WITH_UNITS = shipment_text(
    request("branching", 'taxon = "Acropora"', count=2),
    '[[box]]\ntype = "cube"\ncount = 1\ninner_mm = ["12 in", 305, "30.5 cm"]\n',
    leg("van", "2027-01-19T15:30:00-06:00", "2027-01-19T19:30:00-06:00", '"40 °F"', "12", "vehicle"),
    leg("depot", "2027-01-19T19:30:00-06:00", "2027-01-20T10:00:00-07:00", "2", "8"),
    due="2027-01-20T11:00:00-07:00",
    volume_l='"100 gal"',
)
"""Two legs, a box of one's own, and numbers with units beside them."""


def with_line(text: str, old: str, new: str) -> tuple[str, int]:
    """Return a text with its one line `old` replaced, or left out for nothing, and its number."""
    lines = text.split("\n")
    number = lines.index(old)
    assert old not in lines[number + 1 :]
    lines[number : number + 1] = [new] if new else []
    return "\n".join(lines), number + 1


def line_of(text: str, part: str) -> int:
    """Return the number of the first line that holds `part`."""
    return next(number for number, line in enumerate(text.split("\n"), start=1) if part in line)


def with_units_but(old: str, new: str) -> str:
    """Return the shipment with units, its one line `old` replaced."""
    return with_line(WITH_UNITS, old, new)[0]
