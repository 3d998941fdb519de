"""What the page of a journey shows: a bag, what was changed, and how margins move with it."""

from collections.abc import Mapping
from dataclasses import dataclass

from ramet.domain.errors import BadInput
from ramet.domain.words import Gas
from ramet.formats.plan import BagForecast, Plan
from ramet.papers.facts_of import by_margin
from ramet.papers.words import held_band
from ramet.reference.tables import Reference
from ramet.services.planning.adjustment import Adjustment, Room
from ramet.services.planning.what_ifs import AS_PLANNED, room_to_adjust, try_out

DRAWS = 64


@dataclass(frozen=True, slots=True)
class WishForm:
    """The sliders as they stand: text for the form, the wish they make, and what is wrong with them."""

    values: Mapping[str, str]
    wish: Adjustment
    errors: Mapping[str, str]

    @property
    def changes(self) -> bool:
        """Tell whether anything is done differently."""
        return self.wish != AS_PLANNED


@dataclass(frozen=True, slots=True)
class MarginRow:
    """A bag's hold and margin as planned and with the wish; `now` None: as planned."""

    bag: str
    planned: BagForecast
    now: BagForecast | None
    holds: str


def read_wish(query: Mapping[str, str]) -> WishForm:
    """Read the sliders from an address; what is not a number is told and left as planned."""
    errors: dict[str, str] = {}
    numbers = {name: _number(query, name, errors) for name in ("water", "packs", "leaves", "waits")}
    gas = query.get("gas", "")
    wish = Adjustment(
        water_factor=1.0 + (numbers["water"] or 0.0) / 100.0,
        gas=Gas(gas) if gas in set(Gas) else None,
        heat_packs=round(numbers["packs"] or 0.0),
        leaves_h=numbers["leaves"] or 0.0,
        waits_h=numbers["waits"] or 0.0,
    )
    values = {name: query.get(name, "") or "0" for name in numbers} | {"gas": gas}
    return WishForm(values, wish, errors)


def with_wish(plan: Plan, form: WishForm, reference: Reference) -> tuple[Plan | None, dict[str, str]]:
    """Return the plan with the forecast that a wish makes, and what cannot be done.

    The plan is None when nothing is asked, when it cannot be done, or when the plan is of an older kind.
    """
    if not form.changes:
        return None, {}
    try:
        forecast = try_out(reference, plan, form.wish, DRAWS)
    except BadInput as error:
        names = {"water_factor": "water", "heat_packs": "packs", "leaves_h": "leaves", "waits_h": "waits"}
        told = ((one.place.column or "", one.expected) for one in error.problems)
        return None, {names.get(column, column): f"Expected {expected}." for column, expected in told}
    if forecast is None:
        return None, {}
    waited = plan.horizon_h + form.wish.waits_h
    return plan.model_copy(update={"forecast": forecast, "horizon_h": waited}), {}


def room_of(plan: Plan, reference: Reference) -> Room | None:
    """Return how far the sliders go; None for a plan that cannot be forecast again."""
    return room_to_adjust(reference, plan)


def margin_rows(plan: Plan, tried: Plan | None) -> tuple[MarginRow, ...]:
    """Return a row for each bag, thinnest planned margin first."""
    now = {bag.id: bag for bag in tried.forecast.bags} if tried else {}
    return tuple(
        MarginRow(
            bag.id,
            bag,
            now.get(bag.id),
            held_band((now.get(bag.id) or bag).hold_h, (tried or plan).horizon_h),
        )
        for bag in by_margin(plan)
    )


def _number(query: Mapping[str, str], name: str, errors: dict[str, str]) -> float | None:
    text = query.get(name, "").replace(",", ".").replace("−", "-")
    if not text:
        return None
    try:
        value = float(text)
    except ValueError:
        errors[name] = f"Expected a number, found “{query[name]}”."
        return None
    return value if abs(value) < 1e6 else None
