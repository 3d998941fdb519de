"""The plan, `ramet-plan/1`: all that a shipment needs, as one value (design promise; extend, never break)."""

from datetime import date
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from ramet.domain.words import BagClass, Form, Gas, How, PackingRule, Rank, Stance, Status
from ramet.formats.fields import FileModel
from ramet.formats.rates import SideRounding
from ramet.formats.tank_report import TankReport
from ramet.formats.told_journey import ToldJourney
from ramet.formats.usual_plan import UsualPlan

WholeMm = Annotated[int, Field(ge=0)]
AtMm = tuple[WholeMm, WholeMm, WholeMm]
"""Distance of a body's lower corner from an inner corner of the box; x along, y across, z up."""
BodyMm = tuple[Annotated[int, Field(gt=0)], Annotated[int, Field(gt=0)], Annotated[int, Field(gt=0)]]


class Plan(FileModel):
    """A whole plan. The same inputs, seed and `today` give the same bytes."""

    format: Literal["ramet-plan/1"] = "ramet-plan/1"
    status: Status
    verdict: str
    shipment: "ShipmentHead"
    seed: int
    made_from: "MadeFrom"
    horizon_h: float
    chosen: tuple["Chosen", ...]
    left_out: tuple["LeftOut", ...]
    bags: tuple["Bag", ...]
    boxes: tuple["Box", ...]
    tasks: tuple["Task", ...]
    forecast: "Forecast"
    tank: TankReport
    optimum: "Optimum"
    cautions: tuple["Caution", ...]
    defaults_used: tuple[str, ...]
    journey: ToldJourney | None = None
    usual: UsualPlan | None = None
    rules: tuple["RuleSetting", ...] = ()
    changes: tuple["AtTheBench", ...] = ()
    cost: "Cost | None" = None
    no_cost: str = ""
    other_ways: tuple["OtherWay", ...] = ()
    substitutes: tuple["Substitutes", ...] = ()


class AtTheBench(FileModel):
    """A change after the planning: which bags were sealed by then, what is withdrawn, what goes instead.

    `bags` are the new ones; they take the opening order of the bag that is `not_sent`, and never its name.

    `ledger_version` is that of the stock the change was judged by.
    """

    on: date
    ledger_version: int
    sealed: tuple[str, ...]
    withdrawn: str
    brought_in: tuple[str, ...]
    bags: tuple[str, ...]
    words: tuple[str, ...]
    not_sent: str = ""


class BoxPrice(FileModel):
    """What one box costs to send."""

    box: str
    billed_kg: float
    price: Decimal


class Cost(FileModel):
    """What the carrier asks by the user's rate table; `per_piece` over the pieces that go."""

    currency: str
    zone: str
    total: Decimal
    per_piece: Decimal | None
    boxes: tuple[BoxPrice, ...]


class OtherWay(FileModel):
    """The same shipment in another way, solved again by expected margins: what it would carry, bill and cost.

    `gains` and `loses` count pieces by request line against this plan; `proven` tells that no better set
    exists for it.
    """

    kind: Literal["one_box_fewer", "one_box_more", "two_days"]
    text: str
    boxes: int
    pieces: int
    billed_kg: float
    cost: Decimal | None = None
    cost_per_piece: Decimal | None = None
    gains: dict[str, int]
    loses: dict[str, int]
    proven: bool


class Substitute(FileModel):
    """A piece that can take the place of a chosen one of its line, and the planned bags that fit it."""

    piece: str
    strain: str
    taxon: str
    size_mm: tuple[float, float, float]
    how: How
    bags: tuple[str, ...]


class Substitutes(FileModel):
    """What stands ready for a line, the best first; `note` says what to do when nothing does."""

    request: str
    ranked: tuple[Substitute, ...]
    note: str = ""


class RuleSetting(FileModel):
    """A rule of packing in words, and whether the shipment keeps it."""

    rule: PackingRule
    words: str
    on: bool


class Terms(FileModel):
    """How the carrier bills: outer volume over a divisor, sides rounded first, mass rounded up to a step."""

    divisor_cm3_kg: float = Field(gt=0)
    side_rounding: SideRounding
    mass_step_kg: float = Field(gt=0)


class ShipmentHead(FileModel):
    """Who sends what to whom, and when."""

    name: str
    sender: str
    sender_zone: str
    receiver: str
    receiver_zone: str
    lay_hands: bool
    sealed_from: AwareDatetime
    departs: AwareDatetime
    arrives: AwareDatetime
    due: AwareDatetime
    sender_place: str = ""
    receiver_place: str = ""
    terms: Terms | None = None


class MadeFrom(FileModel):
    """Hashes and versions of everything a plan depends on."""

    ramet: str
    today: date
    effort: str
    ledger_version: int
    ledger_sha256: str
    shipment_sha256: str
    reference_sha256: str
    overrides: tuple[str, ...] = ()
    solver: str
    platform: str


class Chosen(FileModel):
    """A piece that goes. `ancestor` is its oldest known ancestor: what makes two pieces one strain.

    `strain_left` counts what stays of its strain once all chosen have left; `last_may_go` tells that its line
    gives even the last one away.
    """

    request: str
    piece: str
    strain: str
    taxon: str
    bag_class: BagClass = Field(alias="class")
    how: How
    rank: Rank
    bag: str
    form: Form
    size_mm: tuple[float, float, float]
    mother: str | None = None
    ancestor: str | None = None
    ready_on: date
    source: str | None = None
    permit: str | None = None
    cites: str | None = None
    toxin: str | None = None
    value: int
    strain_left: int | None = Field(default=None, ge=0)
    last_may_go: bool = False


class Reason(FileModel):
    """Why something stayed behind, and what would change that.

    `binds` names the smallest set of rules and wants found by solving again: none of them can be spared.
    `tried` tells that the shipment was solved again with that change, and the piece went.
    """

    code: str
    text: str
    would_fit_if: str
    piece: str | None = None
    binds: tuple[str, ...] = ()
    tried: bool = False


class LeftOut(FileModel):
    """A request line that is not, or not wholly, met."""

    request: str
    rank: Rank
    wanted: int
    sent: int
    reasons: tuple[Reason, ...] = Field(min_length=1)


class Bag(FileModel):
    """One sealed bag. Sizes are outer sizes when filled; `at_mm` places it in `box`.

    A divided bag has as many `compartments` as pieces; water and gas are those of all together.
    """

    id: str
    pieces: tuple[str, ...]
    goods: str | None = None
    bag_class: BagClass = Field(alias="class")
    type: str
    stance: Stance
    water_l: float = Field(ge=0)
    gas_l: float = Field(ge=0)
    gas: Gas
    film_um: float
    layers: int = Field(ge=1)
    compartments: int = Field(default=1, ge=1)
    closed_l: float = Field(gt=0)
    size_mm: BodyMm
    mass_kg: float = Field(gt=0)
    box: str
    at_mm: AtMm
    sealing_order: int = Field(ge=1)
    opening_order: int = Field(ge=1)


class Pack(FileModel):
    """A heat or cold pack. `air_gap_mm` must stay free between it and any bag."""

    kind: str
    warms: bool
    at_mm: AtMm
    size_mm: BodyMm
    outside_liner: bool
    air_gap_mm: int = Field(ge=0)
    reason: str


class Pad(FileModel):
    """A board that carries a layer, fill that carries a board, or a void filled so that nothing shifts."""

    kind: Literal["board", "fill", "void"]
    at_mm: AtMm
    size_mm: BodyMm


class Box(FileModel):
    """One insulated box. `tare_kg` is the empty box with liner, without packs, boards and absorbent."""

    id: str
    type: str
    tare_kg: float | None = None
    inner_mm: BodyMm
    outer_mm: BodyMm
    wall_mm: float
    mass_kg: float
    max_kg: float
    billed_kg: float
    packs: tuple[Pack, ...]
    pads: tuple[Pad, ...]
    bags: tuple[str, ...]
    absorbent_g: int = Field(default=0, ge=0)


class Task(FileModel):
    """One piece of work. `after` names tasks that must have ended, `gap_h` hours before it starts."""

    id: str
    kind: str
    title: str
    pieces: tuple[str, ...]
    starts: AwareDatetime
    ends: AwareDatetime
    latest_start: AwareDatetime
    bench_min: int = Field(ge=0)
    after: tuple[str, ...]
    gap_h: float = 0.0
    note: str = ""


class Bands(FileModel):
    """A time series with its 5th, 50th and 95th percentile."""

    p05: tuple[float, ...]
    p50: tuple[float, ...]
    p95: tuple[float, ...]


class Percentiles(FileModel):
    """Hold time in hours from sealing; `censored_share` of the scenarios outlast the horizon."""

    p05: float
    p50: float
    p95: float
    censored_share: float


class BagSeries(FileModel):
    """What happens in a bag over `Forecast.hours`."""

    temperature_c: Bands
    oxygen_mg_l: Bands
    ph_total: Bands
    unionised_ammonia_umol_l: Bands


class LimitLine(FileModel):
    """A limit to draw into a series: a level beyond which `hours` in all end the hold (0: at once)."""

    code: str
    words: str
    quantity: str
    below: bool
    level: float
    hours: float


class Sway(FileModel):
    """How closely a hold goes with one uncertain parameter: rank correlation over all scenarios."""

    parameter: str
    words: str
    rank_correlation: float


class BagForecast(FileModel):
    """Until when a bag holds, and how sure that is. margin_h = hold_h.p05 - needed_h.

    `hold_late_p05_h` is the 5th percentile when the boxes wait `late_h` at the leg that a delay lengthens;
    margin_late_h = hold_late_p05_h - needed_h - late_h. `chance_ok` is the chance that all limits hold until
    the bag is opened, delays among the scenarios; `chance_late` the same when it is opened `late_h` late.
    `sways` are the parameters that the hold goes with most; none where no limit broke.
    """

    id: str
    hold_h: Percentiles
    needed_h: float
    margin_h: float
    hold_late_p05_h: float | None = None
    margin_late_h: float
    first_limit: str
    chance_ok: float
    chance_late: float | None = None
    hangs_on: str
    sways: tuple[Sway, ...] = ()
    opened_ammonia_umol_l: float
    series: BagSeries
    limits: tuple[LimitLine, ...] = ()


class BoxForecast(FileModel):
    """Air temperature in a box."""

    id: str
    temperature: Bands


class Leg(FileModel):
    """A stretch of the route, in hours from departure."""

    name: str
    start_h: float
    end_h: float
    surroundings: str


class Forecast(FileModel):
    """The journey over all scenarios. Hour 0 is the departure; series start there."""

    scenarios: int
    late_h: float
    hours: tuple[float, ...]
    legs: tuple[Leg, ...]
    ambient_c: Bands
    boxes: tuple[BoxForecast, ...]
    bags: tuple[BagForecast, ...]


class Goal(FileModel):
    """One goal of the choice; gap = |bound - value| / max(1, |value|)."""

    goal: str
    value: float
    bound: float
    gap: float
    proven: bool


class Optimum(FileModel):
    """How good the choice is; value, bound and gap of the first goal not proven, else of the last."""

    goals: tuple[Goal, ...]
    value: float
    bound: float
    gap: float
    stopped_early: bool


class Caution(FileModel):
    """Something a careful person would say before the boxes leave."""

    code: str
    text: str
    source: str


Plan.model_rebuild()
