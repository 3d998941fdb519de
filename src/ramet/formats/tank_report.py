"""What the receiving tank says, as a part of the plan (`ramet-plan/1`) and as the answer of `ramet tank`."""

from datetime import date
from typing import Literal

from ramet.formats.fields import FileModel, Share


class BandValue(FileModel):
    """A number with its band and where it comes from."""

    low: float
    typical: float
    high: float
    unit: str
    origin: str


class TankFrame(FileModel):
    """The tank as drawn: its sides, where its water comes from, and from where people look at it.

    `horizon_d` is the time over which `Placement.grows_mm` counts; the first row of heights is the back.
    """

    length_mm: float
    width_mm: float
    depth_mm: float | None = None
    display_l: float | None = None
    sump_l: float = 0.0
    displaced_l: float = 0.0
    flow_from: str | None = None
    viewed_from: tuple[str, ...] = ("front",)
    horizon_d: int = 180
    zones: tuple["ZoneFrame", ...] = ()
    rock_heights_mm: tuple[tuple[int, ...], ...] = ()


class ZoneFrame(FileModel):
    """A zone as drawn: its rectangle on the floor, the top of its rock, its light and flow."""

    name: str
    from_mm: tuple[int, int]
    to_mm: tuple[int, int]
    top_mm: int = 0
    par_low: float
    par_high: float
    flow_cm_s: float | None = None


class Demand(FileModel):
    """What the chosen pieces take from the tank per day, `day` days after arrival."""

    day: int
    alkalinity: BandValue
    calcium: BandValue
    magnesium: BandValue


class Balance(FileModel):
    """Alkalinity taken per day over the coming half year [dKH/d], against what all means can add."""

    days: tuple[int, ...]
    low: tuple[float, ...]
    typical: tuple[float, ...]
    high: tuple[float, ...]
    supply_dkh_d: float


class DoseOnDay(FileModel):
    """What one pump gives, from a day on."""

    day: int
    ml_d: float


class Supply(FileModel):
    """One means of supply, and what it can add per day."""

    means: str
    alkalinity_dkh_d: float
    calcium_mg_l_d: float
    magnesium_mg_l_d: float
    dose_ml_d: float | None = None
    doses: tuple[DoseOnDay, ...] = ()
    doses_a_day: int | None = None
    outgrown_on_day: int | None = None
    note: str = ""


class Correction(FileModel):
    """How present water is brought to its target: no faster than corals bear."""

    what: Literal["alkalinity", "calcium", "magnesium"]
    unit: str
    now: float
    target: float
    per_day: float
    days: int
    with_means: str = ""
    amount_d: float | None = None
    amount_unit: str = ""
    note: str = ""


class TestDay(FileModel):
    """What is to be tested on a day after arrival, and why."""

    __test__ = False

    day: int
    on: date | None = None
    tests: tuple[str, ...]
    why: str


class Readiness(FileModel):
    """The test of the biofilter before the boxes leave; `needs_d` is how long before that it starts."""

    by_ammonia: bool
    needs_d: int
    starts_by: date | None = None
    steps: tuple[str, ...]


class Biofilter(FileModel):
    """Ammonia in against what the media can take, g N per day."""

    ammonia_in: BandValue
    capacity: BandValue
    media_needed: int
    media_sent: int
    enough: bool
    note: str
    chance: float | None = None
    readiness: Readiness | None = None


class LampStep(FileModel):
    """A lamp setting from a day on, as a share of the light that was measured and of full power."""

    day: int
    on: date | None = None
    share: float
    power: float


class LampPlan(FileModel):
    """One dated setting for the whole tank."""

    steps: tuple[LampStep, ...]
    photoperiod_h: float
    light_meter: str = ""
    map_from: Literal["zones", "spots", "lamps", "nothing"]
    map_error: float | None = None
    note: str = ""


class LightStep(FileModel):
    """How a piece is brought to its light. PAR in µmol m⁻² s⁻¹.

    `mesh` is the share of light that mesh over the piece keeps off until `mesh_until_day`, with the lamp as
    the lamp plan has it; `or_at` names a dimmer free spot to stand on until then instead.
    """

    piece: str
    source_par: float | None
    start_par: float
    target_par: float
    days: int
    verdict: str
    mesh: Share = 0.0
    mesh_until_day: int = 0
    or_at: str = ""
    daily_mol_m2: float | None = None


class Placement(FileModel):
    """Where a piece goes in the receiving tank; `at_mm` from the front left corner, y to the back.

    `radius_mm` is half its longest side, `grows_mm` what it grows sideways over the horizon, `reach_mm` how
    far its weapons reach past that.
    """

    piece: str
    zone: str
    at_mm: tuple[int, int] | None
    gap_mm: int
    order: int
    note: str = ""
    spot: str = ""
    height_mm: int = 0
    tall_mm: int = 0
    radius_mm: int = 0
    grows_mm: int = 0
    reach_mm: int = 0
    soft: bool = False
    par: float | None = None
    flow_cm_s: float | None = None


class FreeSpot(FileModel):
    """A spot on which nothing stands, and how wide a further piece may grow and reach there."""

    spot: str
    zone: str
    at_mm: tuple[int, int]
    height_mm: int = 0
    par: float | None = None
    flow_cm_s: float | None = None
    room_mm: int


class OpeningClock(FileModel):
    """When things happen to a bag, in minutes after opening starts (below 0: before)."""

    float_from: int
    open_at: int
    matched_at: int
    dip_until: int
    place_from: int


class Acclimation(FileModel):
    """How one bag is opened. `inspect` has a line for each genus in it."""

    bag: str
    float_min: int
    steps: tuple[str, ...]
    tub_salinity: float | None = None
    ramp_min: int = 0
    inspect: tuple[str, ...] = ()
    dip: str = ""
    dip_min: int = 0
    postpone: str = ""
    clock: OpeningClock | None = None


class Stage(FileModel):
    """A part of a staged stocking: which pieces, so many weeks after the first, and why then.

    Without a week the tank can't take them within twelve weeks as things are.
    """

    week: int | None
    on: date | None = None
    pieces: tuple[str, ...]
    reason: str


class TankReport(FileModel):
    """What the receiving tank says."""

    volume_l: float
    demand: tuple[Demand, ...]
    supply: tuple[Supply, ...]
    biofilter: Biofilter
    light: tuple[LightStep, ...]
    placement: tuple[Placement, ...]
    acclimation: tuple[Acclimation, ...]
    frame: TankFrame | None = None
    balance: Balance | None = None
    corrections: tuple[Correction, ...] = ()
    testing: tuple[TestDay, ...] = ()
    lamp: LampPlan | None = None
    free_spots: tuple[FreeSpot, ...] = ()
    staging: tuple[Stage, ...] = ()


TankReport.model_rebuild()
