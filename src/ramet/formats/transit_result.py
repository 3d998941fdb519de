"""The answer to a transit trial, `ramet-transit/1`: what happens in each bag, and what would change it."""

from typing import Literal

from ramet.formats.fields import FileModel


class ReachedLimit(FileModel):
    """A limit of a bag; `at_h` is when it is broken, hours from the start, or nothing."""

    code: str
    quantity: str
    below: bool
    level: float
    hours: float
    ends_hold: bool
    at_h: float | None


class Opened(FileModel):
    """What the water is like once it is opened and aired."""

    ph_total: float
    unionised_ammonia_umol_l: tuple[float, ...]


class TransitBag(FileModel):
    """What happens in one bag; `hold_h` equals the last hour when nothing ends the hold before."""

    id: str
    box: str | None
    temperature_c: tuple[float, ...]
    oxygen_mg_l: tuple[float, ...]
    ph_total: tuple[float, ...]
    alkalinity_meq_l: tuple[float, ...]
    ammonium_umol_l: tuple[float, ...]
    unionised_ammonia_umol_l: tuple[float, ...]
    limits: tuple[ReachedLimit, ...]
    hold_h: float
    holds_to_end: bool
    first_limit: str | None
    opened: Opened
    defaults_used: tuple[str, ...]
    cautions: tuple[str, ...]


class TransitBox(FileModel):
    """Air temperature in one box."""

    id: str
    air_c: tuple[float, ...]


class BagPercentile(FileModel):
    """One percentile of everything in a bag, hour by hour."""

    id: str
    temperature_c: tuple[float, ...]
    oxygen_mg_l: tuple[float, ...]
    ph_total: tuple[float, ...]
    alkalinity_meq_l: tuple[float, ...]
    ammonium_umol_l: tuple[float, ...]
    unionised_ammonia_umol_l: tuple[float, ...]
    hold_h: float
    opened: Opened


class Percentile(FileModel):
    """One percentile over all scenarios."""

    bags: tuple[BagPercentile, ...]
    boxes: tuple[TransitBox, ...]


class TransitPercentiles(FileModel):
    """5th, 50th and 95th percentile over `scenarios` draws; for each bag what its hold hangs on most.

    `chance_ok` is the chance that all limits of a bag hold to the last hour, `chance_day_late` that they hold
    when the boxes are held at a depot for a day on the way.
    """

    scenarios: int
    seed: int
    hangs_on: tuple[str, ...]
    p05: Percentile
    p50: Percentile
    p95: Percentile
    chance_ok: tuple[float, ...] = ()
    chance_day_late: tuple[float, ...] = ()


class TransitWeather(FileModel):
    """Where the air around the boxes comes from, and how far off it may be (half-width, scenarios only)."""

    words: str
    source: str
    uncertain_c: float


class MovedBy(FileModel):
    """How far one uncertain parameter moves a hold: at its 5th and 95th percentile, all else typical."""

    parameter: str
    words: str
    hold_low_h: float
    hold_high_h: float
    swing_h: float


class BagSensitivity(FileModel):
    """What moves the hold of a bag, most first. A hold that outlasts `looked_h` counts as that."""

    bag: str
    looked_h: float
    moved_by: tuple[MovedBy, ...]


class WhatIfRow(FileModel):
    """One bag under one change. `margin_h` is the 5th percentile of the hold minus the time needed.

    `beyond` says that even the 5th percentile outlasts `looked_h`; `p50_beyond` the same of the median.
    `chance_ok` is the share of scenarios in which the bag holds for the time needed. `delta_p05_h` is against
    the trial as written; `first_limit` is what ends the shortest holds, up to p05.
    """

    change: str
    words: str
    note: str
    bag: str
    needed_h: float
    looked_h: float
    hold_p05_h: float
    hold_p50_h: float
    beyond: bool
    p50_beyond: bool
    delta_p05_h: float
    margin_h: float
    chance_ok: float
    first_limit: str | None


class UsualWay(FileModel):
    """The same box packed the grower's usual way, beside the trial as written."""

    words: str
    as_written: tuple[WhatIfRow, ...]
    usual: tuple[WhatIfRow, ...]
    bags: tuple[TransitBag, ...]


class TransitResult(FileModel):
    """The answer, `ramet-transit/1`. Plain arrays are the run with every parameter at its typical value."""

    format: Literal["ramet-transit/1"] = "ramet-transit/1"
    name: str
    hours: tuple[float, ...]
    bags: tuple[TransitBag, ...]
    boxes: tuple[TransitBox, ...]
    reference_sha256: str
    overrides: tuple[str, ...]
    weather: TransitWeather
    ambient_c: tuple[float, ...]
    sensitivity: tuple[BagSensitivity, ...] = ()
    percentiles: TransitPercentiles | None = None
    what_ifs: tuple[WhatIfRow, ...] | None = None
    usual: UsualWay | None = None
