"""A logger's record as its chart on a page: specification, words, and the address of the still picture."""

from markupsafe import Markup

from ramet.formats.plan import Bands, Plan
from ramet.papers.chart import Spec, config
from ramet.papers.logger_chart import logger_spec
from ramet.services.sending.logger_record import Comparison, forecast_of
from ramet.web.charts import WIDTH, Chart, as_json
from ramet.web.formatting import Wording


def logger_chart_of(plan: Plan, found: Comparison, key: str, say: Wording) -> Chart:
    """Return the chart of one box: the forecast's band and the logger's readings."""
    words = f"Air in box {found.box}: the band of the forecast, its middle, and what the logger recorded"
    spec = as_json({**logger_spec_of(plan, found, say, WIDTH), "config": config()})
    picture = f"/shipments/{key}/results/loggers/{found.box}.svg"
    return Chart(f"logger-{found.box}", spec, words, picture, Markup("null"))


def logger_spec_of(plan: Plan, found: Comparison, say: Wording, width: int) -> Spec:
    """Return the specification in the grower's unit of temperature."""
    bands, record = forecast_of(plan, found.box), found.record
    if say.preferences.units == "us":
        bands = Bands(p05=_f(bands.p05), p50=_f(bands.p50), p95=_f(bands.p95))
        record = tuple(zip((h for h, _ in record), _f(tuple(t for _, t in record)), strict=True))
    return logger_spec(plan, found.box, bands, record, width=width, unit=say.unit("temperature"))


def _f(values: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(value * 1.8 + 32 for value in values)
