"""Packing: lay out, go or no-go, bag after bag, hand over."""

from datetime import UTC, datetime, timedelta
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import FileResponse, Response

from ramet.domain.errors import BadInput
from ramet.domain.piece import Hold
from ramet.domain.problems import Place, Problem
from ramet.formats.plan import Plan
from ramet.ledger.store import Ledger
from ramet.services.health.holds_now import holds_now
from ramet.services.pack_off import (
    AtBench,
    Packing,
    decide,
    hand_over,
    lay_out,
    packing_of,
    seal,
    take_back,
    unseal,
)
from ramet.services.photos.photo_store import ENDING, keep_photo, small_photo
from ramet.services.photos.store import photo_folder, photo_path
from ramet.services.sending.planned_pieces import of_plan, planned_in_stock
from ramet.services.sending.read_label import label_in_photo, label_of
from ramet.services.sending.sent_pieces import bag_of
from ramet.services.shelf import ShelfPlace
from ramet.web import packing_view
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm, refused, write_once
from ramet.web.pages.shipments import stations_of
from ramet.web.render import go_to, render
from ramet.web.shipment_desk import AtPlanned, plan_of

routes = APIRouter()
BY = "at the bench"
_AS_TYPED = timedelta(days=7)
"""A sealing that waited on the phone for a connection keeps its own time, unless that is longer ago."""


@routes.get("/shipments/{key}/packing")
def packing(request: Request, desk: AtDesk, place: AtPlanned) -> Response:
    """Show what to lay out, the decision, and all bags in sealing order."""
    return _page(request, desk, place, FormState())


@routes.post("/shipments/{key}/packing/laid-out")
def laid_out(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Keep which things lie on the bench."""

    def write() -> str:
        lay_out(desk.ledger, plan_of(place), sent.all("item"), at_bench(sent))
        return f"{home(place)}#go"

    return go_to(request, write_once(desk, sent, write), "Kept what is laid out.")


@routes.post("/shipments/{key}/packing/decide")
def decided(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Keep the decision. A go wants every check ticked, or the word that it goes all the same."""
    plan, go = plan_of(place), sent.get("go") == "go"
    ticked = sent.all("check")
    missing = [one for one in packing_view.checks(plan, desk.say, None) if one["key"] not in ticked]
    if go and missing and sent.get("all_the_same") != "yes":
        words = "; ".join(str(one["text"]) for one in missing)
        form = FormState(sent.fields, {"all_the_same": f"Not ticked: {words}."}, ())
        return _page(request, desk, place, form, 422, ticked)

    def write() -> str:
        decide(desk.ledger, plan, go, ticked, sent.get("note"), at_bench(sent))
        return f"{home(place)}#bags" if go else home(place)

    words = "Go. The first bag is below." if go else "No-go. Nothing leaves today; the plan stays."
    return go_to(request, write_once(desk, sent, write), words)


@routes.post("/shipments/{key}/packing/find")
def find(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Lead to the bag that a typed name, a scanned code or a photo of a label names."""
    plan = plan_of(place)
    try:
        return go_to(request, f"{home(place)}/bags/{_named_bag(desk, plan, sent)}")
    except BadInput as error:
        form = refused(Sent({"bag": sent.get("bag"), **sent.fields}, {}), error, {"": "bag"})
        return _page(request, desk, place, form, 422)


@routes.get("/shipments/{key}/packing/bags/{bag_id}")
def bag(request: Request, desk: AtDesk, place: AtPlanned, bag_id: str) -> Response:
    """Show one bag as it is packed."""
    return _bag_page(request, desk, place, bag_id, FormState())


@routes.post("/shipments/{key}/packing/bags/{bag_id}/seal")
def sealed(request: Request, desk: AtDesk, place: AtPlanned, bag_id: str, sent: SentForm) -> Response:
    """Keep that a bag is sealed, with its photo, and lead on to the next."""
    plan = plan_of(place)
    try:
        photo = None
        if sent.uploads:
            jpeg = small_photo(sent.uploads[0][1], sent.uploads[0][0], desk.reference)
            photo = keep_photo(photo_folder(desk.ledger), jpeg)
    except BadInput as error:
        form = refused(Sent({"photo": "", **sent.fields}, {}), error, {"": "photo"})
        return _bag_page(request, desk, place, bag_id, form, 422)

    def write() -> str:
        after = seal(desk.ledger, plan, bag_id, at_bench(sent), photo)
        following = after.next_bag(plan)
        return f"{home(place)}#sent" if following is None else f"{home(place)}/bags/{following.id}"

    return go_to(request, write_once(desk, sent, write), f"Bag {bag_id} is sealed.")


@routes.post("/shipments/{key}/packing/bags/{bag_id}/unseal")
def unsealed(request: Request, desk: AtDesk, place: AtPlanned, bag_id: str, sent: SentForm) -> Response:
    """Take a sealing back."""

    def write() -> str:
        unseal(desk.ledger, plan_of(place), bag_id, at_bench(sent))
        return f"{home(place)}/bags/{bag_id}"

    return go_to(request, write_once(desk, sent, write), f"Bag {bag_id} counts as open again.")


@routes.post("/shipments/{key}/packing/sent")
def sent_off(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Keep that the carrier has the boxes, or take that back."""
    back = sent.get("what") == "back"

    def write() -> str:
        (take_back if back else hand_over)(desk.ledger, plan_of(place), at_bench(sent))
        return f"{home(place)}#sent"

    words = "Taken back; the pieces are in stock again." if back else "Handed over; the pieces count as sent."
    return go_to(request, write_once(desk, sent, write), words)


@routes.get("/photos/{sha256}.jpg")
def photo(desk: AtDesk, sha256: str) -> Response:
    """Send one photo."""
    path = photo_path(photo_folder(desk.ledger), sha256, ENDING)
    if not (len(sha256) == 64 and sha256.isalnum() and path.exists()):
        raise HTTPException(404)
    return FileResponse(path, media_type="image/jpeg", headers={"Cache-Control": "private, max-age=31536000"})


def _named_bag(desk: Desk, plan: Plan, sent: Sent) -> str:
    label = label_in_photo(sent.uploads[0][1], desk.reference) if sent.uploads else label_of(sent.get("bag"))
    if label is not None and label.shipment != plan.shipment.name:
        problem = Problem(Place("label", column="bag"), label.shipment, f"a label of {plan.shipment.name}")
        raise BadInput([problem])
    name = sent.get("bag") if label is None else label.bag
    found = bag_of(plan, name)
    if found is None:
        ids = ", ".join(one.id for one in sorted(plan.bags, key=lambda one: one.sealing_order))
        raise BadInput([Problem(Place("label", column="bag"), name or None, f"a bag of this plan: {ids}")])
    return found.id


def at_bench(sent: Sent | None = None) -> AtBench:
    """Return when a step was done: what the device noted while it had no connection, else now."""
    now = datetime.now(UTC)
    try:
        at = datetime.fromisoformat("" if sent is None else sent.get("done_at"))
    except ValueError:
        return AtBench(now, BY)
    return AtBench(at if at.tzinfo is not None and now - _AS_TYPED < at <= now else now, BY)


def home(place: ShelfPlace) -> str:
    """Return the address of a shipment's packing."""
    return f"/shipments/{place.key}/packing"


def _page(
    request: Request,
    desk: Desk,
    place: ShelfPlace,
    form: FormState,
    status: int = 200,
    ticked: tuple[str, ...] | None = None,
) -> Response:
    plan, say = plan_of(place), desk.say
    state = packing_of(desk.ledger, plan)
    holds = _holds(desk, plan) if state.decision is None else None
    context: dict[str, Any] = {
        "place": place,
        "stations": stations_of(request, place),
        "form": form,
        "state": _state(state, plan, desk),
        "items": packing_view.lay_out_items(plan, say),
        "laid_out": state.laid_out,
        "checks": packing_view.checks(plan, say, holds),
        "ticked": ticked if ticked is not None else state.decision.checks if state.decision else (),
        "legs": packing_view.planned_legs(plan),
        "thinnest": packing_view.thinnest(plan, say),
        "bags": packing_view.bag_rows(plan, state, say),
    }
    return render(request, "packing/packing.html", context, status=status)


def _holds(desk: Desk, plan: Plan) -> tuple[Hold, ...]:
    """Return the holds on planned pieces. All of the stock is read for it, once a version of the ledger."""

    def make(book: Ledger) -> tuple[Hold, ...]:
        with book.reading() as connection:
            return holds_now(connection, desk.reference, desk.today)

    return of_plan(plan, desk.remembered("holds", make))


def _state(state: Packing, plan: Plan, desk: Desk) -> dict[str, Any]:
    zone, following = plan.shipment.sender_zone, state.next_bag(plan)
    decision = state.decision
    return {
        "next": None if following is None else following.id,
        "sealed": len(state.sealed),
        "sent": None if state.sent_at is None else desk.say.moment(state.sent_at, zone),
        "decided": None if decision is None else desk.say.moment(decision.at, zone),
        "go": decision is not None and decision.go,
        "note": "" if decision is None else decision.note,
    }


def _bag_page(
    request: Request, desk: Desk, place: ShelfPlace, bag_id: str, form: FormState, status: int = 200
) -> Response:
    plan = plan_of(place)
    found = bag_of(plan, bag_id)
    if found is None:
        raise HTTPException(404, f"This plan has no bag {bag_id}.")
    state = packing_of(desk.ledger, plan)
    stock = planned_in_stock(desk.ledger, plan)
    context: dict[str, Any] = {
        "place": place,
        "form": form,
        "bag": packing_view.bag_view(plan, found, state, stock, desk.say),
        "state": _state(state, plan, desk),
    }
    return render(request, "packing/bag.html", context, status=status)
