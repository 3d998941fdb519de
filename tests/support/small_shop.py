"""The smallest shop that can send something: a ledger and a shipment whose plan takes a few seconds.

All names are invented.
"""

from datetime import date
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

from ramet.domain.words import Effort
from ramet.formats.plan import Plan
from ramet.formats.plan_text import plan_text
from ramet.papers.calendar_file import tasks_ics
from ramet.reference.tables import load_reference
from ramet.services.beside import files_beside, write_whole
from ramet.services.import_stock import import_files
from ramet.services.plan_shipment import PlanOrder, plan_shipment

TODAY = date(2026, 9, 1)
KEY = "small-reef"

STOCK = """\
piece,strain,taxon,form,system,tank,spot,length_mm,width_mm,height_mm,par
F1,Field 1,Favites abdita,massive,north,N1,rack 1,40,40,25,120
F2,Field 1,Favites abdita,massive,north,N1,rack 2,45,45,30,120
D1,Dock 1,Montipora digitata,branching,north,N1,rack 3,45,35,40,150
D2,Dock 1,Montipora digitata,branching,north,N1,rack 4,50,35,40,150
Z1,Zinc 1,Zoanthus sp.,mat,north,N2,shelf,35,35,15,100
L1,Lamp 1,Sarcophyton glaucum,leather,north,N2,sand,50,50,40,100
"""

SHIPMENT = """\
name = "Small reef"
due = 2026-09-23T10:00:00-05:00
sender = { name = "North room", zone = "America/Chicago" }
receiver = { name = "Plains Library", zone = "America/Chicago" }

[tank]
volume_l = 300
alkalinity_dkh = 8
calcium_mg_l = 420
magnesium_mg_l = 1300

[[request]]
id = "honeycomb"
rank = "must"
count = 1
taxon = "Favites"

[[request]]
id = "digits"
rank = "must"
count = 1
taxon = "Montipora"

[[request]]
id = "buttons"
rank = "want"
count = 1
class = "zoanthid"

[[request]]
id = "parasol"
rank = "filler"
count = 1
strain = "Lamp 1"

[[box]]
type = "cube_305"
count = 1

[[leg]]
name = "van and depot"
start = 2026-09-22T14:00:00-05:00
end = 2026-09-23T09:00:00-05:00
surroundings = "depot"
low_c = 20
high_c = 24

[gear]
oxygen = true

[carrier]
live_aquatics = "yes"
"""


def small_ledger(folder: Path, place: str = "") -> str:
    """Make the ledger of the shop, in a folder unless a place is given, and return its place."""
    stock = folder / "stock.csv"
    stock.write_text(STOCK)
    place = place or str(folder / "ramet.db")
    import_files(place, [stock], load_reference(), TODAY)
    return place


@cache
def small_shop_plan() -> Plan:
    """Return the plan of the shop's shipment, made once."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "shipment.toml").write_text(SHIPMENT)
        order = PlanOrder(small_ledger(folder), folder / "shipment.toml", TODAY, 1, Effort.QUICK)
        return plan_shipment(order, load_reference(), lambda _: None).plan


def on_the_shelf(place: str, *, planned: bool = True) -> Path:
    """Lay the shipment on the shelf beside a ledger, with its plan if asked, and return its folder."""
    folder = files_beside(place) / "shipments" / KEY
    write_whole(folder / "shipment.toml", SHIPMENT.encode())
    if planned:
        plan = small_shop_plan()
        write_whole(folder / "plan.json", plan_text(plan).encode())
        write_whole(folder / "tasks.ics", tasks_ics(plan))
    return folder
