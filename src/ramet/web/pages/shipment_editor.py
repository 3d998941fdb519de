"""A shipment as a form and as a file: build it, change it, save it only when it holds together."""

from collections.abc import Mapping
from dataclasses import dataclass

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput, StaleWrite
from ramet.formats.shipment import Shipment
from ramet.formats.toml_text import toml_text
from ramet.ledger.stock_page import StockQuery, stock_facets
from ramet.ledger.store import Ledger
from ramet.services.own_gear import read_gear
from ramet.services.planning.gather import read_shipment
from ramet.services.shelf import (
    SHIPMENT,
    ShelfPlace,
    free_key,
    save_shipment,
    shipment_text,
    shipments,
    version_of,
)
from ramet.web.desk import AtDesk, Desk
from ramet.web.formatting import zone_names
from ramet.web.forms import FormState, Sent, SentForm, problem_words, write_once
from ramet.web.pages.shipments import find_place, stations_of
from ramet.web.render import go_to, render
from ramet.web.shipment_fields import BOXES, LEAVES, ROWS, SECTIONS, Entry, Rows
from ramet.web.shipment_form import label_of, row_count, shown_fields, typed_shipment, with_errors

routes = APIRouter()
STARTER = 'name = ""\n'
_LONGEST_LIST = 2_000


@dataclass(frozen=True, slots=True)
class FieldView:
    """A field as the template shows it."""

    name: str
    entry: Entry
    unit: str


@dataclass(frozen=True, slots=True)
class Group:
    """Fields under one title: a section, or one row of a list."""

    title: str
    fields: tuple[FieldView, ...]


@routes.get("/shipments/new")
def new_shipment(request: Request, desk: AtDesk) -> Response:
    """Show an empty form, from the sender of the latest shipment."""
    values = shown_fields(None, desk.say)
    latest = next((place.shipment for place in shipments(desk.files) if place.shipment), None)
    if latest is not None:
        before = shown_fields(latest, desk.say)
        values |= {name: text for name, text in before.items() if name.startswith(("sender.", "carrier."))}
    return _form(request, desk, None, FormState(values))


@routes.post("/shipments/new")
def save_new(request: Request, sent: SentForm, desk: AtDesk) -> Response:
    """Keep a new shipment."""
    return _save(request, desk, None, sent)


@routes.get("/shipments/{key}/edit")
def edit_shipment(request: Request, key: str, desk: AtDesk) -> Response:
    """Show a shipment in its form."""
    place = find_place(desk, key)
    if place.shipment is None:
        return go_to(
            request, f"/shipments/{key}/file", "This file does not read as a shipment; mend it here."
        )
    return _form(request, desk, place, FormState(shown_fields(place.shipment, desk.say)))


@routes.post("/shipments/{key}/edit")
def save_edit(request: Request, key: str, sent: SentForm, desk: AtDesk) -> Response:
    """Keep a changed shipment."""
    return _save(request, desk, find_place(desk, key), sent)


@routes.get("/shipments/{key}/file")
def edit_file(request: Request, key: str, desk: AtDesk) -> Response:
    """Show a shipment as its file."""
    place = find_place(desk, key)
    return _file(request, place, FormState({"text": shipment_text(place)}))


@routes.post("/shipments/{key}/file")
def save_file(request: Request, key: str, sent: SentForm, desk: AtDesk) -> Response:
    """Keep a shipment as it was typed."""
    place = find_place(desk, key)
    text = sent.fields.get("text", "").replace("\r\n", "\n")

    def write() -> str:
        _keep(desk, key, text, sent.get("version"))
        return f"/shipments/{key}"

    try:
        return go_to(request, write_once(desk, sent, write), "Kept. Plan it again to see what it changes.")
    except BadInput as error:
        lines = tuple(
            f"line {problem.place.line or 1}, {problem_words(problem)}" for problem in error.problems
        )
        return _file(request, place, FormState({"text": text}, {}, lines), 422)
    except StaleWrite:
        words = "Somebody saved this file meanwhile. Theirs is shown below yours; saving now keeps yours."
        return _file(request, place, FormState({"text": text}, {}, (words,)), 409, shipment_text(place))


def _save(request: Request, desk: Desk, place: ShelfPlace | None, sent: Sent) -> Response:
    shipment = place.shipment if place else None
    text = shipment_text(place) if place else STARTER
    typed = typed_shipment(text, shipment, sent, desk.say)
    if typed.errors:
        return _form(request, desk, place, with_errors(typed, sent), 422)
    gear = read_gear(desk.files) if place is None else None
    if gear is not None:
        typed.data["gear"] = gear.model_dump(exclude_defaults=True)
    new_text = toml_text(typed.data)

    def write() -> str:
        key = place.key if place else free_key(desk.files, str(typed.data.get("name", "")))
        _keep(desk, key, new_text, sent.get("version"))
        return f"/shipments/{key}"

    try:
        where = write_once(desk, sent, write)
    except BadInput as error:
        return _form(request, desk, place, with_errors(typed, sent, error.problems), 422)
    except StaleWrite:
        return _form(request, desk, place, _both_values(sent, shipment, desk), 409)
    return go_to(request, where, "Kept. Plan it to see whether it works.")


def _keep(desk: Desk, key: str, text: str, version: str) -> None:
    save_shipment(
        desk.files, key, text, version, lambda path: read_shipment(path, desk.today, desk.reference)
    )


def _both_values(sent: Sent, shipment: Shipment | None, desk: Desk) -> FormState:
    """Tell where a form and what somebody else saved meanwhile differ, both values in words."""
    now = shown_fields(shipment, desk.say)
    errors = {
        name: f"Somebody changed this meanwhile: it now says “{value or 'nothing'}”, you have "
        f"“{sent.get(name) or 'nothing'}”. Saving again keeps yours."
        for name, value in now.items()
        if name in sent.fields and sent.get(name) != value.strip()
    }
    words = "Somebody saved this shipment meanwhile. Fields that differ show both values."
    return FormState(sent.fields, errors, (words,), {name: label_of(name) for name in errors})


def _form(
    request: Request, desk: Desk, place: ShelfPlace | None, form: FormState, status: int = 200
) -> Response:
    strains, taxa = known_words(desk)
    context = {
        "place": place,
        "stations": stations_of(request, place) if place else (),
        "form": form,
        "version": version_of(place.folder / SHIPMENT) if place else "",
        "sections": [_group(section.title, section.path, section.entries, desk) for section in SECTIONS],
        "leaves": FieldView(LEAVES.key, LEAVES, ""),
        "lists": [(rows, _row_groups(rows, form.values, desk)) for rows in ROWS],
        "suggestions": {"strains": strains, "taxa": taxa, "zones": zone_names()},
        "kept": _kept_besides(place),
    }
    return render(request, "shipment/edit.html", context, status=status)


def _file(
    request: Request, place: ShelfPlace, form: FormState, status: int = 200, theirs: str = ""
) -> Response:
    context = {
        "place": place,
        "stations": stations_of(request, place),
        "form": form,
        "version": version_of(place.folder / SHIPMENT),
        "theirs": theirs,
    }
    return render(request, "shipment/file.html", context, status=status)


def _group(title: str, path: tuple[str, ...], entries: tuple[Entry, ...], desk: Desk) -> Group:
    fields = (FieldView(".".join((*path, one.key)), one, _unit(one, desk)) for one in entries)
    return Group(title, tuple(fields))


def _row_groups(rows: Rows, values: Mapping[str, str], desk: Desk) -> list[Group]:
    entries = tuple(_with_boxes(one, desk) if rows is BOXES else one for one in rows.entries)
    return [
        _group(f"{number + 1}", (*rows.path, str(number)), entries, desk)
        for number in range(row_count(rows, values))
    ]


def _with_boxes(entry: Entry, desk: Desk) -> Entry:
    if entry.key != "type":
        return entry
    boxes = tuple((row.id, row.id.replace("_", " ")) for row in desk.reference.boxes.values())
    return Entry("type", entry.label, "choice", options=(("", "none"), *boxes))


def _unit(entry: Entry, desk: Desk) -> str:
    return desk.say.unit(entry.quantity) if entry.quantity else entry.unit


def known_words(desk: Desk) -> tuple[list[str], list[str]]:
    """Return the strains and taxa in stock, to suggest from."""
    if not desk.has_ledger:
        return [], []
    return desk.remembered("strains and taxa", _known_in)


def _known_in(book: Ledger) -> tuple[list[str], list[str]]:
    strains, taxa = (stock_facets(book, field, StockQuery()) for field in ("strain", "taxon"))
    return [one.value for one in strains[:_LONGEST_LIST]], [one.value for one in taxa[:_LONGEST_LIST]]


def _kept_besides(place: ShelfPlace | None) -> tuple[str, ...]:
    """Return the names of tables that the file has and the form does not show."""
    if place is None or place.shipment is None:
        return ()
    shown = {"name", "due", "sender", "receiver", "carrier", "tank", "request", "box", "leg"}
    return tuple(sorted(place.shipment.model_fields_set - shown))
