"""Results: survivors by strain, packing and route with honest bands, and taking result files in."""

from typing import Any

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput
from ramet.formats.result import DAYS
from ramet.ledger.store import exists
from ramet.services.sending.outcomes import GROUPS, Survival, read_outcomes, survival, survival_of_all
from ramet.services.shelf import shipments
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm, refused, write_once
from ramet.web.pages.sending import take_upload
from ramet.web.render import go_to, render

routes = APIRouter()
HEADS = {"strain": "Strain", "packing": "Bag and gas", "route": "Route and hours", "shipment": "Shipment"}


@routes.get("/results")
def results(request: Request, desk: AtDesk, by: str = "strain", day: str = "") -> Response:
    """Show survivors on a day by one of the groups."""
    return _page(request, desk, FormState(), by, day)


@routes.post("/results")
def take(request: Request, desk: AtDesk, sent: SentForm) -> Response:
    """Take a result file in; the same file again changes nothing."""
    told: list[str] = []

    def write() -> str:
        told.append(take_upload(desk, sent))
        return "/results"

    try:
        address = write_once(desk, sent, write)
    except BadInput as error:
        form = refused(Sent({"result": "", **sent.fields}, {}), error, {"format": "result"})
        return _page(request, desk, form, "strain", "", 422)
    return go_to(request, address, *told)


def _page(request: Request, desk: Desk, form: FormState, by: str, day: str, status: int = 200) -> Response:
    outcomes = read_outcomes(desk.ledger) if exists(desk.ledger) else ()
    chosen = by if by in GROUPS else "strain"
    on = int(day) if day.isdigit() and int(day) in DAYS else 7
    context: dict[str, Any] = {
        "form": form,
        "by": chosen,
        "head": HEADS[chosen],
        "groups": HEADS,
        "day": on,
        "days": DAYS,
        "rows": [_row(desk, one) for one in survival(outcomes, on, chosen)],
        "all": _row(desk, survival_of_all(outcomes, on)),
        "pieces": len(outcomes),
        "shipments": _shipments(desk),
    }
    return render(request, "results/results.html", context, status=status)


def _row(desk: Desk, one: Survival) -> dict[str, Any]:
    share = one.alive / one.watched if one.watched else None
    percent = desk.say.number
    return {
        "group": desk.say.words(one.group),
        "alive": desk.say.number(one.alive, 0),
        "watched": desk.say.number(one.watched, 0),
        "unknown": desk.say.number(one.unknown, 0),
        "share": "–" if share is None else f"{percent(100 * share, 0)} %",
        "band": f"{percent(100 * one.low, 0)} to {percent(100 * one.high, 0)} %",
        "low": round(200 * one.low, 1),
        "high": round(200 * one.high, 1),
        "at": None if share is None else round(200 * share, 1),
    }


def _shipments(desk: Desk) -> list[dict[str, Any]]:
    """The planned shipments, where results are entered."""
    return [
        {
            "key": place.key,
            "name": place.name,
            "due": desk.say.day(place.plan.shipment.due.date()),
        }
        for place in shipments(desk.files)
        if place.plan is not None
    ]
