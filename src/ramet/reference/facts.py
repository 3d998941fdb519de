"""What a loaded reference row is: a fact with its band, unit, source and grade."""

from dataclasses import dataclass
from enum import StrEnum

from ramet.domain.band import Band
from ramet.domain.words import BagClass, Form, Grade, Tolerance

SizeMm = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Fact:
    """One number. `is_default` tells that a class default stands in for a value nobody has published."""

    subject: str
    name: str
    unit: str
    band: Band
    source: str
    grade: Grade
    is_default: bool = False
    is_override: bool = False


@dataclass(frozen=True, slots=True)
class Genus:
    """What holds for a whole genus. `cites` is the appendix or None; `toxin` a caution code or None."""

    name: str
    family: str
    trait_class: str
    bag_class: BagClass
    default_form: Form
    tolerance: Tolerance
    cites: str | None
    toxin: str | None
    symbiotic: bool
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class LimitRow:
    """A dose that ends the hold of a bag, for a tolerance class (see `science.packed.Limit`)."""

    tolerance: Tolerance
    code: str
    words: str
    quantity: str
    below: bool
    level: float
    hours: float
    ends_hold: bool
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class BagType:
    """A bag or cup as bought. Round bags: flat width; rigid cups: inner diameter times pi / 2 as flat width.

    `closed_l` is what it holds when closed, after the allowance for corners and knot. A divided bag has
    `compartments` side by side, each of the flat width given; `closed_l` is that of all together.
    """

    id: str
    words: str
    flat_width_mm: float
    length_mm: float
    closed_l: float
    film_um: float
    layers: int
    rigid: bool
    may_lie: bool
    carries_kg: float
    stack_most: int
    tare_kg: float
    source: str
    grade: Grade
    compartments: int = 1


@dataclass(frozen=True, slots=True)
class BoxType:
    """An insulated box as bought: foam inner in a carton."""

    id: str
    words: str
    inner_mm: SizeMm
    wall_mm: float
    foam: str
    carton_mm: float
    tare_kg: float
    max_kg: float
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class FoamType:
    """Thermal conductivity at 24 °C and its relative change per °C of mean foam temperature."""

    id: str
    words: str
    k_w_mk: Band
    k_slope_per_c: float
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class PackType:
    """A heat pack (`watts`, hours) or a cold pack (latent heat at `melts_c`)."""

    id: str
    words: str
    warms: bool
    size_mm: SizeMm
    mass_kg: float
    watts: Band | None
    warm_up_h: float
    lasts_h: float
    melts_c: float | None
    latent_j_kg: float
    cp_j_kgk: float
    air_gap_mm: float
    source: str
    grade: Grade


class LivesOn(StrEnum):
    """What a pest needs to live: corals of its host genera, anything in the water, or fish."""

    CORALS = "corals"
    ANYTHING = "anything"
    FISH = "fish"


@dataclass(frozen=True, slots=True)
class Pest:
    """A pest, its hosts, and one full generation in days at given water temperatures.

    `treat_again_d` spans the days after a first treatment in which a second meets what has hatched since.
    """

    id: str
    words: str
    lives_on: LivesOn
    host_genera: frozenset[str]
    generation_d: tuple[tuple[float, float], ...]
    treat_again_d: tuple[int, int] | None
    clean_inspections: int
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class Dip:
    """A class of dip and the trait classes it is for (none named: any other); what must `never` be done."""

    id: str
    words: str
    trait_classes: frozenset[str]
    minutes: float
    never: str
    source: str
    grade: Grade


@dataclass(frozen=True, slots=True)
class CautionRow:
    """A caution, when it applies (a code the program tests), and its words."""

    code: str
    applies: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class ListedSpecies:
    """A species under the US Endangered Species Act; `status` is threatened or endangered."""

    taxon: str
    status: str
    source: str


@dataclass(frozen=True, slots=True)
class Source:
    """Where a row comes from; `seen` is how much of it was read: full, abstract, memory, or derived."""

    key: str
    citation: str
    link: str
    seen: str
