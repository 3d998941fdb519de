"""Settings: units, region, zone, and the grower's own files."""

from zoneinfo import available_timezones

from fastapi import APIRouter, Request
from starlette.responses import Response

from ramet.domain.errors import BadInput
from ramet.services.preferences import save_preferences
from ramet.web.desk import InOffice
from ramet.web.formatting import LOCALES
from ramet.web.forms import FormState, SentForm, refused
from ramet.web.render import go_to, render

routes = APIRouter()
UNITS = (("metric", "metric: mm, L, kg, °C"), ("us", "US: in, fl oz, gal, lb, °F"))
ALKALINITY = (("dkh", "dKH"), ("meq_l", "meq/L"), ("mg_l_caco3", "mg/L CaCO₃"))


@routes.get("/settings")
def settings(request: Request) -> Response:
    """Show all settings."""
    return _page(request, FormState())


@routes.post("/settings/writing")
def save_writing(request: Request, sent: SentForm, office: InOffice) -> Response:
    """Keep units, region and zone."""
    try:
        save_preferences(
            office.files, {name: sent.get(name) for name in ("units", "alkalinity", "locale", "zone")}
        )
    except BadInput as error:
        return _page(request, refused(sent, error), 422)
    return go_to(request, "/settings", "Kept. Every page follows it from now on.")


def _page(request: Request, form: FormState, status: int = 200) -> Response:
    return render(
        request,
        "settings/settings.html",
        {
            "form": form,
            "units": UNITS,
            "alkalinity": ALKALINITY,
            "locales": [(tag, f"{locale.name} ({tag})") for tag, locale in LOCALES.items()],
            "zones": sorted(available_timezones()),
        },
        status=status,
    )
