"""Withdraw or swap a piece at the bench; what is sealed stays, and the answer comes in a moment."""

import time
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from starlette.background import BackgroundTask
from starlette.responses import Response

from ramet.domain.errors import BadInput, RametError
from ramet.services.pack_off import packing_of
from ramet.services.sending.change_at_bench import BenchOrder, change_plan, print_papers, ready_instead
from ramet.services.shelf import ShelfPlace
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, SentForm, problem_words, write_once
from ramet.web.pages.packing import at_bench, home
from ramet.web.render import go_to, render
from ramet.web.shipment_desk import AtPlanned, plan_of

routes = APIRouter()


@routes.get("/shipments/{key}/packing/pieces/{piece}")
def piece(request: Request, desk: AtDesk, place: AtPlanned, piece: str) -> Response:
    """Ask what shall go in place of a piece."""
    return _page(request, desk, place, piece, FormState())


@routes.post("/shipments/{key}/packing/pieces/{piece}")
def change(request: Request, desk: AtDesk, place: AtPlanned, piece: str, sent: SentForm) -> Response:
    """Change the plan, then print its papers while the grower goes on."""
    order = BenchOrder(desk.ledger, place, desk.reference, desk.today, at_bench(sent))
    wanted = sent.get("instead") or None
    told: list[str] = []
    changed = []

    def write() -> str:
        began = time.perf_counter()
        done = change_plan(order, piece, wanted)
        changed.append(done.plan)
        told.append(
            f"{' '.join(done.words)} Planned again in {desk.say.number(time.perf_counter() - began)} s."
        )
        return f"{home(place)}#bags"

    try:
        address = write_once(desk, sent, write)
    except BadInput as error:
        form = FormState(sent.fields, {}, tuple(problem_words(problem) for problem in error.problems))
        return _page(request, desk, place, piece, form, 422)
    except RametError as error:
        return _page(request, desk, place, piece, FormState(sent.fields, {}, (str(error),)), 422)
    response = go_to(request, address, *told)
    if changed:
        response.background = BackgroundTask(print_papers, place, changed[0])
    return response


def _page(
    request: Request, desk: Desk, place: ShelfPlace, piece: str, form: FormState, status: int = 200
) -> Response:
    plan = plan_of(place)
    chosen = next((one for one in plan.chosen if one.piece == piece), None)
    if chosen is None:
        raise HTTPException(404, f"{piece} is not in this plan, or was withdrawn already.")
    order = BenchOrder(desk.ledger, place, desk.reference, desk.today, at_bench())
    context: dict[str, Any] = {
        "place": place,
        "form": form,
        "one": chosen,
        "sealed": chosen.bag in packing_of(desk.ledger, plan).sealed,
        "instead": [
            {"piece": each.piece, "strain": each.stock.strain, "size": desk.say.sizes(each.size_mm)}
            | {"where": f"{each.stock.system} · {each.stock.tank}"}
            for each in ready_instead(order, piece)
        ],
    }
    return render(request, "packing/piece.html", context, status=status)
