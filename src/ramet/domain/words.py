"""The closed word lists of the trade, as used in files, tables and pages (docs/glossary.md)."""

from enum import StrEnum


class Form(StrEnum):
    """Growth form: decides how a piece is cut, measured, bagged and grown."""

    BRANCHING = "branching"
    TABLE = "table"
    PLATING = "plating"
    ENCRUSTING = "encrusting"
    MASSIVE = "massive"
    COLUMNAR = "columnar"
    PHACELOID = "phaceloid"
    TUBULAR = "tubular"
    WALL = "wall"
    FLESHY = "fleshy"
    LEATHER = "leather"
    MAT = "mat"
    GORGONIAN = "gorgonian"
    DISC = "disc"


class BagClass(StrEnum):
    """What may share water in transit: nothing outside its own class does."""

    STONY = "stony"
    SOFT = "soft"
    ZOANTHID = "zoanthid"
    STINGING = "stinging"
    GOODS = "goods"


class Rank(StrEnum):
    """How much a request line matters."""

    MUST = "must"
    WANT = "want"
    FILLER = "filler"


class How(StrEnum):
    """How a chosen piece is made ready."""

    WHOLE = "whole"
    CUT = "cut"


class Gas(StrEnum):
    """What fills a bag above the water."""

    AIR = "air"
    OXYGEN = "oxygen"


class Stance(StrEnum):
    """How a bag travels in its box."""

    STANDS = "stands"
    LIES = "lies"


class Status(StrEnum):
    """The verdict on a plan."""

    READY = "ready"
    SHORT = "short"
    WAIT = "wait"
    IMPOSSIBLE = "impossible"


class Effort(StrEnum):
    """The solver budget a user asks for by name."""

    QUICK = "quick"
    NORMAL = "normal"
    THOROUGH = "thorough"


class Grade(StrEnum):
    """How well a reference row is supported."""

    PUBLISHED = "published"
    PRACTICE = "practice"
    ESTIMATE = "estimate"


class Tolerance(StrEnum):
    """Which set of transit limits a taxon takes."""

    SENSITIVE = "sensitive"
    ORDINARY = "ordinary"
    HARDY = "hardy"


class PackingRule(StrEnum):
    """A rule of packing that a shipment may switch off; a plan says which were."""

    SHARE_BAGS = "share_bags"
    TOUCHY_ALONE = "touchy_alone"
    SOFT_DOUBLED = "soft_doubled"
    SHARP_DOUBLED = "sharp_doubled"
    ONLY_SMALL_LIE = "only_small_lie"
    FRAGILE_ON_TOP = "fragile_on_top"
    SOFT_NEVER_ABOVE = "soft_never_above"
    SPREAD_MUSTS = "spread_musts"
    SPREAD_STRAINS = "spread_strains"
    SENSITIVE_OFF_WALLS = "sensitive_off_walls"
    MASS_CENTRED = "mass_centred"
    KEEP_LAST_PIECE = "keep_last_piece"
    THINNEST_OPENED_FIRST = "thinnest_opened_first"
    VOIDS_FILLED = "voids_filled"
    PROPOSE_SPARES = "propose_spares"
