"""The sender's side of opening: the page for the receiver, and what was seen, by hand or as a file."""

from datetime import UTC, date, datetime, time
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.result import DAYS, Condition, ResultFile, Seen
from ramet.papers.chart import draw_alone
from ramet.papers.labels import qr_svg
from ramet.papers.opening_page import CONDITIONS
from ramet.services.open import receivers_page, take_result
from ramet.services.record_outcome import import_result
from ramet.services.sending.logger_record import keep_logger, read_logger, read_loggers
from ramet.services.sending.outcomes import PieceOutcome, outcomes_of
from ramet.services.sending.sent_pieces import key_of
from ramet.services.shelf import PLAN, ShelfPlace, version_of
from ramet.web.config import is_loopback
from ramet.web.desk import AtDesk, Desk
from ramet.web.forms import FormState, Sent, SentForm, refused, write_once
from ramet.web.logger_views import logger_chart_of, logger_spec_of
from ramet.web.pages.opening import attachment, entered, link_ends, noting, opening_link
from ramet.web.pages.shipments import stations_of
from ramet.web.render import go_to, render
from ramet.web.shipment_desk import AtPlanned, plan_of

routes = APIRouter()
BY_HAND = "typed in by the sender"


@routes.get("/shipments/{key}/opening")
def opening_of(request: Request, desk: AtDesk, place: AtPlanned) -> Response:
    """Show the link and the file for the receiver."""
    link = opening_link(request, place)
    context = {
        "place": place,
        "stations": stations_of(request, place),
        "plan": plan_of(place),
        "link": link,
        "link_svg": qr_svg(link),
        "link_ends": link_ends(desk),
        "only_here": is_loopback(request.url.hostname or ""),
        "seen": len(outcomes_of(desk.ledger, key_of(plan_of(place)))),
    }
    return render(request, "opening/opening.html", context)


@routes.get("/shipments/{key}/results")
def results_of(request: Request, desk: AtDesk, place: AtPlanned) -> Response:
    """Show what was seen of a shipment's pieces, logger records, and forms to enter more."""
    return _page(request, desk, place, FormState())


@routes.get("/shipments/{key}/opening.html")
def page_file(request: Request, place: AtPlanned, address: str = "") -> Response:
    """Send the receiver's page as a file; with `address` it also sends results to this server."""
    send_to = f"{opening_link(request, place)}/result" if address == "yes" else ""
    page = receivers_page(place, send_to)
    if page is None:
        raise HTTPException(404)
    return attachment(place, page)


@routes.post("/shipments/{key}/results/seen")
def seen(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Enter what the receiver told about one day."""
    try:
        result = _typed_result(desk, place, sent)
    except BadInput as error:
        return _page(request, desk, place, refused(sent, error), 422)
    told: list[str] = []

    def write() -> str:
        report = import_result(desk.ledger, result, place.plan, noting(desk, BY_HAND, "this form"))
        told.append(entered(desk, report))
        return f"/shipments/{place.key}/results?day={sent.get('day')}#seen"

    return go_to(request, write_once(desk, sent, write), *told)


@routes.post("/shipments/{key}/results/logger")
def logger(request: Request, desk: AtDesk, place: AtPlanned, sent: SentForm) -> Response:
    """Keep a logger's record of a box."""
    try:
        if not sent.uploads:
            raise BadInput(
                [Problem(Place("logger", column="logger"), None, "a table: times and temperatures")]
            )
        with TemporaryDirectory() as folder:
            path = Path(folder) / Path(sent.uploads[0][0]).name
            path.write_bytes(sent.uploads[0][1])
            keep_logger(place.folder, plan_of(place), sent.get("box"), path)
    except BadInput as error:
        return _page(request, desk, place, refused(Sent({"logger": "", **sent.fields}, {}), error), 422)
    return go_to(
        request, f"/shipments/{place.key}/results#loggers", f"Kept the record of box {sent.get('box')}."
    )


@routes.get("/shipments/{key}/results/loggers/{box}.svg")
def logger_picture(desk: AtDesk, place: AtPlanned, box: str) -> Response:
    """Send the still picture of a logger's chart."""
    plan = plan_of(place)
    found = read_logger(place.folder, plan, box)
    if found is None:
        raise HTTPException(404)
    return Response(draw_alone(logger_spec_of(plan, found, desk.say, 560)), media_type="image/svg+xml")


def take_upload(desk: Desk, sent: Sent) -> str:
    """Enter an uploaded result file and say what that did. Raises BadInput."""
    if not sent.uploads:
        raise _wrong("result", None, "a result file")
    name, data = sent.uploads[0]
    return entered(desk, take_result(desk.ledger, desk.files, data, noting(desk, "sent as a file", name)))


def _typed_result(desk: Desk, place: ShelfPlace, sent: Sent) -> ResultFile:
    """The form's rows as a result of its own: one for each piece with a condition."""
    plan, day = plan_of(place), sent.get("day")
    if day not in {str(one) for one in DAYS}:
        raise BadInput(
            [Problem(Place("form", column="day"), day, f"one of the days {', '.join(map(str, DAYS))}")]
        )
    try:
        on = date.fromisoformat(sent.get("on"))
    except ValueError:
        raise BadInput(
            [Problem(Place("form", column="on"), sent.get("on"), "a day, such as 2027-01-31")]
        ) from None
    at = min(datetime.combine(on, time(12), UTC), datetime.now(UTC))
    known = {one.value for one in Condition}
    told = {one.piece: sent.get(f"condition {one.piece}") for one in plan.chosen}
    rows = [
        Seen.model_validate(
            {"piece": piece, "day": int(day), "seen_at": at, "condition": condition}
            | {"note": sent.get(f"note {piece}")[:2000]}
        )
        for piece, condition in told.items()
        if condition in known
    ]
    if not rows:
        raise _wrong("seen", None, "a condition for at least one piece")
    return ResultFile(
        format="ramet-result/1",
        shipment=plan.shipment.name,
        due=plan.shipment.due,
        plan_sha256=version_of(place.folder / PLAN),
        made_at=datetime.now(UTC),
        device="typed in",
        bags=(),
        seen=tuple(rows),
    )


def _wrong(field: str, value: str | None, expected: str) -> BadInput:
    return BadInput([Problem(Place("form", column=field), value, expected)])


def _page(request: Request, desk: Desk, place: ShelfPlace, form: FormState, status: int = 200) -> Response:
    plan = plan_of(place)
    ours = {one.piece: one for one in outcomes_of(desk.ledger, key_of(plan))}
    day = form.value("day") or request.query_params.get("day", "0")
    context: dict[str, Any] = {
        "place": place,
        "stations": stations_of(request, place),
        "form": form,
        "conditions": [(one.value, name, what) for one, name, what in CONDITIONS],
        "names": {one.value: name for one, name, _ in CONDITIONS},
        "days": DAYS,
        "day": int(day) if day.isdigit() and int(day) in DAYS else 0,
        "on": form.value("on") or desk.today.isoformat(),
        "rows": [_row(one.piece, one.strain, one.bag, ours.get(one.piece)) for one in plan.chosen],
        "seen_days": [one for one in DAYS if any(one in each.seen for each in ours.values())],
        "loggers": [
            (one, logger_chart_of(plan, one, place.key, desk.say)) for one in read_loggers(place.folder, plan)
        ],
        "boxes": [box.id for box in plan.boxes if box.bags],
    }
    return render(request, "results/shipment.html", context, status=status)


def _row(piece: str, strain: str, bag: str, outcome: PieceOutcome | None) -> dict[str, Any]:
    seen = {} if outcome is None else outcome.seen
    photos = [one.photo for one in seen.values() if one.photo]
    return {"piece": piece, "strain": strain, "bag": bag, "seen": seen, "photos": photos}
