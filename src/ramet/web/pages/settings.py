"""Settings: units, region, zone, own gear, and own reference rows."""

from fastapi import APIRouter, Request
from pydantic import ValidationError
from starlette.responses import Response

from ramet.domain.errors import BadInput
from ramet.formats.shipment import Gear
from ramet.reference.own_rows import HEADER
from ramet.services.own_gear import read_gear, save_gear
from ramet.services.own_rows_file import save_own_rows
from ramet.services.preferences import save_preferences
from ramet.web.desk import InOffice, Office
from ramet.web.formatting import LOCALES, zone_names
from ramet.web.forms import FormState, Sent, SentForm, problem_words, refused
from ramet.web.render import go_to, render

routes = APIRouter()
UNITS = (("metric", "metric: mm, L, kg, °C"), ("us", "US: in, fl oz, gal, lb, °F"))
ALKALINITY = (("dkh", "dKH"), ("meq_l", "meq/L"), ("mg_l_caco3", "mg/L CaCO₃"))


@routes.get("/settings")
def settings(request: Request, office: InOffice) -> Response:
    """Show all settings."""
    return _page(request, office, FormState())


@routes.post("/settings/writing")
def save_writing(request: Request, sent: SentForm, office: InOffice) -> Response:
    """Keep units, region and zone."""
    try:
        save_preferences(
            office.files, {name: sent.get(name) for name in ("units", "alkalinity", "locale", "zone")}
        )
    except BadInput as error:
        return _page(request, office, refused(sent, error), 422)
    return go_to(request, "/settings", "Kept. Every page follows it from now on.")


@routes.post("/settings/gear")
def keep_gear(request: Request, sent: SentForm, office: InOffice) -> Response:
    """Keep the gear that new shipments start from."""
    counts, errors = _counts(sent)
    values = {"bags": counts["bag"], "packs": counts["pack"], "oxygen": sent.get("oxygen") == "yes"}
    hours = sent.get("bench_hours_d")
    try:
        gear = Gear.model_validate({**values, "bench_hours_d": float(hours.replace(",", ".") or 4)})
    except (ValidationError, ValueError):
        errors["bench_hours_d"] = "Expected hours a day, above 0 and at most 24."
    if errors:
        return _page(request, office, FormState(sent.fields, errors), 422)
    save_gear(office.files, gear)
    return go_to(request, "/settings", "Kept. New shipments start from this gear.")


@routes.post("/settings/rows")
def keep_rows(request: Request, sent: SentForm, office: InOffice) -> Response:
    """Keep the grower's own reference rows."""
    text = sent.fields.get("rows", "").replace("\r\n", "\n")
    try:
        reference = save_own_rows(office.own_rows, text)
    except BadInput as error:
        wrong = tuple(f"line {one.place.line or 1}, {problem_words(one)}" for one in error.problems)
        return _page(request, office, FormState(sent.fields, {}, wrong), 422)
    count = len(reference.overrides)
    words = f"Kept: {count} rows of yours act from now on." if count else "Our own rows hold again."
    return go_to(request, "/settings", words)


def _page(request: Request, office: Office, form: FormState, status: int = 200) -> Response:
    gear = read_gear(office.files) or Gear()
    own_rows = office.own_rows
    context = {
        "form": form,
        "units": UNITS,
        "alkalinity": ALKALINITY,
        "locales": [(tag, f"{locale.name} ({tag})") for tag, locale in LOCALES.items()],
        "zones": zone_names(),
        "gear": gear,
        "rows": own_rows.read_text("utf-8") if own_rows.exists() else HEADER + "\n",
        "rows_from": str(office.config.own_rows or ""),
        "rows_header": HEADER,
    }
    return render(request, "settings/settings.html", context, status=status)


def _counts(sent: Sent) -> tuple[dict[str, dict[str, int]], dict[str, str]]:
    counts: dict[str, dict[str, int]] = {"bag": {}, "pack": {}}
    errors: dict[str, str] = {}
    for name, text in sent.fields.items():
        kind, _, row = name.partition(".")
        if kind not in counts or not text.strip():
            continue
        if text.strip().isdigit():
            counts[kind][row] = int(text)
        else:
            errors[name] = "Expected a whole number, or nothing for as many as it takes."
    return counts, errors
