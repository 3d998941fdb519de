"""Monthly means of common places, and where weather is asked for: tables beside those of the models."""

import csv
import difflib
from collections.abc import Sequence
from dataclasses import dataclass

from ramet.reference.tables import DATA

NORMALS = DATA / "climate_normals.csv"
SERVICES = DATA / "web_services.csv"
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")


@dataclass(frozen=True, slots=True)
class ClimatePlace:
    """A place with the mean air temperature of each month [°C], January first."""

    name: str
    country: str
    latitude: float
    longitude: float
    monthly_c: tuple[float, ...]
    source: str

    @property
    def southern(self) -> bool:
        """Tell whether January is summer here."""
        return self.latitude < 0


@dataclass(frozen=True, slots=True)
class WebService:
    """A service that is asked over the network, when the user allows it."""

    base_url: str
    forecast_days: int
    source: str


def climate_places() -> tuple[ClimatePlace, ...]:
    """Return all places of the table."""
    with NORMALS.open(encoding="utf-8", newline="") as lines:
        return tuple(_place(row) for row in csv.DictReader(lines))


def find_places(name: str, country: str | None, places: Sequence[ClimatePlace]) -> tuple[ClimatePlace, ...]:
    """Return the places of this name, in this country (two letters) when one is given."""
    return tuple(
        place
        for place in places
        if place.name.casefold() == name.strip().casefold()
        and (country is None or place.country.casefold() == country.casefold())
    )


def near_names(name: str, places: Sequence[ClimatePlace], count: int = 3) -> tuple[str, ...]:
    """Return the names that are written most like this one."""
    known = {place.name.casefold(): place.name for place in places}
    near = difflib.get_close_matches(name.strip().casefold(), list(known), n=count, cutoff=0.65)
    return tuple(known[one] for one in near)


def web_service(name: str) -> WebService:
    """Return the row of a web service."""
    with SERVICES.open(encoding="utf-8", newline="") as lines:
        rows = {row["service"]: row for row in csv.DictReader(lines)}
    row = rows[name]
    return WebService(row["base_url"], int(row["forecast_days"]), row["source"])


def _place(row: dict[str, str]) -> ClimatePlace:
    monthly = tuple(float(row[f"{month}_c"]) for month in _MONTHS)
    return ClimatePlace(
        row["place"], row["country"], float(row["latitude"]), float(row["longitude"]), monthly, row["source"]
    )
