"""What the page of the receiving tank shows: supply against demand, drawings, and places."""

from dataclasses import dataclass

from markupsafe import Markup

from ramet.domain.quantities import MEQ_L_PER_DKH
from ramet.formats.plan import Plan
from ramet.formats.tank_report import LightStep, Placement, TankReport
from ramet.papers.balance_chart import balance_spec
from ramet.papers.chart import Spec, config
from ramet.papers.tank_views import tank_front_svg, tank_top_svg
from ramet.web.charts import WIDTH, Chart, as_json
from ramet.web.formatting import Wording


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """Where a piece goes and how it comes to its light."""

    placement: Placement
    strain: str
    light: LightStep | None


@dataclass(frozen=True, slots=True)
class DemandRow:
    """What the corals take on a day, and what can be added, in words with units."""

    day: int
    alkalinity: str
    calcium: str
    magnesium: str


@dataclass(frozen=True, slots=True)
class ReceivingView:
    """A receiving tank as its page shows it."""

    report: TankReport
    chart: Chart | None
    rows: tuple[DemandRow, ...]
    supply: tuple[str, str, str]
    top: Markup | None
    front: Markup | None
    places: tuple[PlaceRow, ...]


def receiving_view(plan: Plan, picture: str, say: Wording) -> ReceivingView:
    """Return the receiving tank of a plan as its page shows it."""
    report = plan.tank
    strains = {one.piece: one.strain for one in plan.chosen}
    light = {one.piece: one for one in report.light}
    placed = sorted(report.placement, key=lambda one: one.order)
    drawn = any(one.at_mm is not None for one in placed)
    names = {piece: f"{piece}, {strain}" for piece, strain in strains.items()}
    added = [sum(getattr(one, name) for one in report.supply) for name in _PER_DAY]
    return ReceivingView(
        report=report,
        chart=_chart(report, picture, say) if report.demand else None,
        rows=tuple(_row(report, n, say) for n in range(len(report.demand))),
        supply=(_alkalinity(added[0], say), say.number(added[1], 2), say.number(added[2], 2)),
        top=Markup(tank_top_svg(report, names)) if drawn else None,
        front=Markup(tank_front_svg(report, names)) if drawn else None,
        places=tuple(PlaceRow(one, strains.get(one.piece, ""), light.get(one.piece)) for one in placed),
    )


def balance_of(report: TankReport, say: Wording, width: int = WIDTH) -> Spec:
    """Return the chart of supply against demand in the grower's unit."""
    return balance_spec(report, width=width, per_dkh=_per_dkh(say), unit=f"{say.unit('alkalinity')}/d")


_PER_DAY = ("alkalinity_dkh_d", "calcium_mg_l_d", "magnesium_mg_l_d")


def _chart(report: TankReport, picture: str, say: Wording) -> Chart:
    spec = {**balance_of(report, say), "config": config()}
    words = "Alkalinity that the corals take per day over half a year, against all that can be added"
    return Chart("balance", as_json(spec), words, picture, Markup("null"))


def _row(report: TankReport, index: int, say: Wording) -> DemandRow:
    one = report.demand[index]
    alkalinity = (one.alkalinity.typical, one.alkalinity.low, one.alkalinity.high)
    middle, low, high = (_alkalinity(value, say) for value in alkalinity)
    return DemandRow(
        one.day,
        f"{middle} ({low} to {high})",
        *(
            f"{say.number(band.typical, 2)} ({say.number(band.low, 2)} to {say.number(band.high, 2)})"
            for band in (one.calcium, one.magnesium)
        ),
    )


def _alkalinity(dkh: float, say: Wording) -> str:
    return say.number(dkh * _per_dkh(say), 2)


def _per_dkh(say: Wording) -> float:
    """Return what one dKH is in the grower's unit."""
    return MEQ_L_PER_DKH * say.scale("alkalinity")
