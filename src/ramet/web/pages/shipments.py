"""Shipments: the list, and for each whether it will work, the planning, and the papers."""

from dataclasses import dataclass

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import FileResponse, Response

from ramet.domain.words import Effort
from ramet.services.pack_off import packing_of
from ramet.services.sending.plan_changes import plan_changes
from ramet.services.shelf import ShelfPlace, place_of, remove_shipment, shipments
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import SentForm, write_once
from ramet.web.plan_views import pack_words, plan_view, planning_view, status_mark
from ramet.web.planners import Planners
from ramet.web.render import go_to, render

routes = APIRouter()
EFFORTS = (
    (Effort.QUICK.value, "quick: a first answer in seconds"),
    (Effort.NORMAL.value, "normal: good, mostly proven"),
    (Effort.THOROUGH.value, "thorough: minutes, for the last piece"),
)
BAGS_SEALED = (
    "{} sealed already, and a new plan would not be what lies in the boxes. Swap or withdraw pieces on the "
    "packing page, which leaves sealed bags alone; or take the sealings back there first."
)
_TYPES = {
    ".pdf": "application/pdf",
    ".ics": "text/calendar",
    ".json": "application/json",
    ".toml": "text/plain",
}


@dataclass(frozen=True, slots=True)
class Station:
    """A page of one shipment: its path below the shipment's, icon and word, and whether it needs a plan."""

    path: str
    icon: str
    words: str
    needs_plan: bool = True


STATIONS = (
    Station("", "plan", "Plan", needs_plan=False),
    Station("/boxes", "box", "Boxes"),
    Station("/journey", "journey", "Journey"),
    Station("/calendar", "calendar", "Calendar"),
    Station("/tank", "receiving", "Receiving tank"),
    Station("/packing", "packing", "Packing"),
    Station("/opening", "opening", "Opening"),
    Station("/results", "results", "Results"),
)


def find_place(desk: Desk, key: str) -> ShelfPlace:
    """Return a shipment, or answer that there is none."""
    place = place_of(desk.files, key)
    if place is None:
        raise HTTPException(404, f"There is no shipment “{key}” on the shelf.")
    return place


def stations_of(request: Request, place: ShelfPlace) -> tuple[Station, ...]:
    """Return the pages that a shipment has now."""
    there = request.app.state.addresses
    return tuple(
        one
        for one in STATIONS
        if f"/shipments/{{key}}{one.path}" in there and (place.plan is not None or not one.needs_plan)
    )


def planners_of(request: Request) -> Planners:
    """Return the app's planners."""
    planners: Planners = request.app.state.planners
    return planners


@routes.get("/shipments")
def list_shipments(request: Request, desk: AtDesk) -> Response:
    """Show every shipment with its verdict."""
    return render(request, "shipment/list.html", {"places": shipments(desk.files), "mark": status_mark})


@routes.get("/shipments/{key}")
def show_shipment(request: Request, key: str, desk: AtDesk) -> Response:
    """Show whether a shipment will work, and why."""
    place = find_place(desk, key)
    before = place.plan_before
    context = {
        "place": place,
        "stations": stations_of(request, place),
        "view": plan_view(place.plan) if place.plan else None,
        "planning": planning_view(planners_of(request).latest(desk, key)),
        "changes": plan_changes(before, place.plan) if place.plan and before else None,
        "efforts": EFFORTS,
        "mark": status_mark,
        "pack_words": pack_words,
    }
    response = render(request, "shipment/plan.html", context, fragment="planning")
    planning = context["planning"]
    if request.headers.get("hx-target") == "planning" and not getattr(planning, "is_open", False):
        response.headers["HX-Refresh"] = "true"
    return response


@routes.post("/shipments/{key}/plan")
def plan_shipment(request: Request, key: str, sent: SentForm, desk: AtDesk) -> Response:
    """Plan in the background."""
    place = find_place(desk, key)
    if not desk.has_ledger:
        return go_to(request, "/import", "A plan is made from your stock: bring it in first.")
    sealed = len(packing_of(desk.ledger, place.plan).sealed) if place.plan is not None else 0
    if sealed:
        raise HTTPException(409, BAGS_SEALED.format(desk.say.count(sealed, "bag is", "bags are")))
    effort = sent.get("effort")
    known = effort if effort in {one.value for one in Effort} else Effort.NORMAL.value
    planners_of(request).ask(desk, place, Effort(known))
    return go_to(request, f"/shipments/{key}")


@routes.post("/shipments/{key}/stop")
def stop_planning(request: Request, key: str, desk: AtDesk) -> Response:
    """Ask the planning to stop with the best plan it has."""
    planners_of(request).stop(desk, key)
    return go_to(request, f"/shipments/{key}")


@routes.post("/shipments/{key}/remove")
def remove(request: Request, key: str, sent: SentForm, desk: AtDesk) -> Response:
    """Take a shipment off the shelf."""
    place = find_place(desk, key)

    def write() -> str:
        planners_of(request).stop(desk, key)
        remove_shipment(desk.files, key)
        return "/shipments"

    where = write_once(desk, sent, write)
    return go_to(request, where, f"{place.name} is off the shelf; its folder lies in “removed”.")


@routes.get("/shipments/{key}/papers/{name}")
def paper(key: str, name: str, desk: AtDesk) -> Response:
    """Send one file of a shipment."""
    place = find_place(desk, key)
    if name not in place.papers:
        raise HTTPException(404, f"This shipment has no file “{name}” yet.")
    path = place.folder / name
    return FileResponse(path, media_type=_TYPES[path.suffix], filename=f"{key}-{name}")
