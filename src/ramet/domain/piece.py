"""A piece as the ledger knows it on a day, and what keeps it from leaving."""

import unicodedata
from dataclasses import dataclass
from datetime import date

from ramet.domain.words import Form


@dataclass(frozen=True, slots=True)
class Piece:
    """State of one separately movable living coral. Sizes in mm, light in µmol m⁻² s⁻¹, flow in cm/s.

    `cut_on` is the day on which it was cut from its parent, `wounded_on` that of the last cut made on it.
    """

    piece: str
    strain: str
    taxon: str
    form: Form
    system: str
    tank: str
    length_mm: float
    width_mm: float
    height_mm: float
    parent: str | None = None
    spot: str | None = None
    heads: int | None = None
    mounted_on: str | None = None
    cut_on: date | None = None
    acquired_on: date | None = None
    source: str | None = None
    permit: str | None = None
    par: float | None = None
    flow_cm_s: float | None = None
    note: str | None = None
    promised_to: str | None = None
    defaults_used: tuple[str, ...] = ()
    wounded_on: date | None = None

    @property
    def healing_since(self) -> date | None:
        """The day of its youngest wound; None when none is known."""
        return max((day for day in (self.cut_on, self.wounded_on) if day is not None), default=None)

    @property
    def genus(self) -> str:
        """First word of the taxon."""
        return self.taxon.split()[0]


@dataclass(frozen=True, slots=True)
class Hold:
    """A reason why a piece may not leave. `direct` tells the piece with the finding from its contacts.

    `earliest` is the first day on which it can end; None when that cannot be told.
    """

    piece: str
    pest: str
    direct: bool
    since: date
    ends: str
    earliest: date | None = None

    @property
    def words(self) -> str:
        """The hold in a grower's words."""
        link = "found on it" if self.direct else "shares water with a piece that had it"
        return f"{self.pest} ({link}, since {self.since.isoformat()}); ends: {self.ends}"


@dataclass(frozen=True, slots=True)
class ThingHold:
    """A reason why a system's water, with the mounts and goods in it, may not leave; or goods by themselves.

    `goods` is None for the water. `earliest` is the first day on which it can end; None when that cannot be
    told.
    """

    system: str
    pest: str
    since: date
    ends: str
    earliest: date | None = None
    goods: str | None = None


@dataclass(frozen=True, slots=True)
class WaterRecord:
    """One reading of a system's water."""

    system: str
    on: date
    temperature_c: float
    salinity: float
    alkalinity_meq_l: float
    calcium_mg_l: float | None = None
    magnesium_mg_l: float | None = None
    nitrate_mg_l: float | None = None
    phosphate_mg_l: float | None = None
    ph: float | None = None


@dataclass(frozen=True, slots=True)
class StockSnapshot:
    """All that a plan reads from the ledger at one moment.

    `version` is the number of events behind it; `sha256` covers pieces, holds and water. `things` are the
    holds on water, mounts and goods.
    """

    version: int
    pieces: tuple[Piece, ...]
    holds: tuple[Hold, ...]
    water: tuple[WaterRecord, ...]
    sha256: str = ""
    things: tuple[ThingHold, ...] = ()


def name_key(name: str) -> str:
    """Return what two spellings of one name have in common: ids are unique without regard to case."""
    return name.lower() if name.isascii() else unicodedata.normalize("NFC", name).casefold()
