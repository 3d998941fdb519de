"""Which keys of a shipment its form shows, and how; all other keys are kept as the file has them."""

from dataclasses import dataclass
from typing import Literal

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.domain.words import Form, Rank

Kind = Literal["text", "number", "whole", "size", "choice", "tick", "moment"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One field: its key, label and kind. `quantity` names what a size is of; `per` turns its key's unit.

    `zone_of` tells whose clock a moment is on; `suggest` names a list of words to choose from.
    """

    key: str
    label: str
    kind: Kind = "text"
    hint: str = ""
    quantity: str = ""
    per: float = 1.0
    options: tuple[tuple[str, str], ...] = ()
    zone_of: Literal["sender", "receiver"] = "sender"
    suggest: str = ""
    unit: str = ""
    usual: str = ""


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of tables: `spare` empty rows follow those that are there; a row counts by one of `names`."""

    path: tuple[str, ...]
    title: str
    one: str
    entries: tuple[Entry, ...]
    names: tuple[str, ...]
    spare: int = 2
    least: int = 1


@dataclass(frozen=True, slots=True)
class Section:
    """A table of the file as a group of fields."""

    path: tuple[str, ...]
    title: str
    entries: tuple[Entry, ...]


def _words(*codes: str) -> tuple[tuple[str, str], ...]:
    return tuple((code, code.replace("_", " ")) for code in codes)


YES_NO = (("unknown", "not known yet"), ("yes", "yes"), ("no", "no"))

SECTIONS = (
    Section((), "The shipment", (Entry("name", "Name"),)),
    Section(
        ("sender",),
        "From",
        (
            Entry("name", "Sender"),
            Entry("place", "Place"),
            Entry("zone", "Sender's time zone", suggest="zones"),
        ),
    ),
    Section(
        ("receiver",),
        "To",
        (
            Entry("name", "Receiver"),
            Entry("place", "Place"),
            Entry("zone", "Receiver's time zone", suggest="zones"),
            Entry("lay_hands", "Children or untrained people reach into the tank", "tick"),
        ),
    ),
    Section(
        (),
        "Due",
        (Entry("due", "In the tank by", "moment", hint="on the receiver's clock", zone_of="receiver"),),
    ),
    Section(
        ("carrier",),
        "Carrier",
        (
            Entry("live_aquatics", "Takes live aquatic animals", "choice", options=YES_NO),
            Entry("heat_packs", "Takes heat packs", "choice", options=YES_NO),
        ),
    ),
    Section(
        ("tank",),
        "Receiving tank",
        (
            Entry(
                "volume_l", "Water", "size", hint="tank and sump, less rock and sand", quantity="tank_volume"
            ),
            Entry("length_mm", "Length", "size", quantity="span"),
            Entry("width_mm", "Front to back", "size", quantity="span"),
            Entry("age_weeks", "Age", "number", unit="weeks"),
            Entry("temperature_c", "Temperature", "size", quantity="temperature"),
            Entry("salinity", "Salinity", "number", hint="practical salinity, near 35"),
            Entry("alkalinity_dkh", "Alkalinity", "size", quantity="alkalinity", per=MEQ_L_PER_DKH),
            Entry("calcium_mg_l", "Calcium", "number", unit="mg/L"),
            Entry("magnesium_mg_l", "Magnesium", "number", unit="mg/L"),
            Entry("nitrate_mg_l", "Nitrate", "number", unit="mg/L"),
            Entry("phosphate_mg_l", "Phosphate", "number", unit="mg/L"),
            Entry("photoperiod_h", "Light a day", "number", unit="h"),
        ),
    ),
)
REQUESTS = Rows(
    ("request",),
    "What is wanted",
    "Line",
    (
        Entry("id", "Line", hint="a short name", usual=""),
        Entry("rank", "Rank", "choice", options=_words(*Rank)),
        Entry("count", "How many", "whole", usual="1"),
        Entry("strain", "Strain", suggest="strains"),
        Entry("taxon", "or taxon", suggest="taxa"),
        Entry("form", "or form", "choice", options=(("", "any"), *_words(*Form))),
        Entry("min_length_mm", "At least", "size", quantity="length"),
        Entry("max_length_mm", "At most", "size", quantity="length"),
        Entry("value", "Worth", "whole", usual="10"),
        Entry("may_cut", "May be cut for it", "tick", usual="yes"),
        Entry("last_of_strain", "May take the last", "tick"),
    ),
    ("id", "strain", "taxon", "form"),
    least=4,
)
BOXES = Rows(
    ("box",),
    "Boxes at hand",
    "Box",
    (Entry("type", "Box", "choice"), Entry("count", "How many", "whole", usual="1")),
    ("type",),
    spare=1,
    least=2,
)
LEGS = Rows(
    ("leg",),
    "The way",
    "Leg",
    (
        Entry("name", "Leg"),
        Entry("end", "Until", "moment", hint="on the sender's clock"),
        Entry(
            "surroundings",
            "Where",
            "choice",
            options=_words("vehicle", "depot", "aircraft", "outdoors", "indoors"),
        ),
        Entry("low_c", "Coldest", "size", quantity="temperature"),
        Entry("high_c", "Warmest", "size", quantity="temperature"),
    ),
    ("name", "end"),
    spare=2,
    least=3,
)
ZONES = Rows(
    ("tank", "zone"),
    "Zones of the tank",
    "Zone",
    (
        Entry("name", "Zone"),
        Entry("area_cm2", "Ground", "size", quantity="area"),
        Entry("par_low", "Light from", "number", unit="PAR"),
        Entry("par_high", "to", "number", unit="PAR"),
        Entry("flow_cm_s", "Flow", "size", quantity="flow"),
    ),
    ("name", "area_cm2"),
    spare=1,
    least=3,
)
ROWS = (REQUESTS, BOXES, LEGS, ZONES)
LEAVES = Entry("leaves", "Leaves", "moment", hint="when the carrier takes the boxes, on the sender's clock")
