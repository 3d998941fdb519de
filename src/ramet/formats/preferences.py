"""How a grower wants numbers and days written."""

from typing import Literal
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import field_validator

from ramet.formats.fields import FileModel

Units = Literal["metric", "us"]
AlkalinityUnit = Literal["dkh", "meq_l", "mg_l_caco3"]
LocaleTag = Literal["en-US", "en-CA", "en-GB", "en-AU", "de-DE", "fr-FR", "es-ES", "nl-NL", "sv-SE", "ja-JP"]


class Preferences(FileModel):
    """Units, signs and zone; kept beside the ledger."""

    units: Units = "metric"
    alkalinity: AlkalinityUnit = "dkh"
    locale: LocaleTag = "en-US"
    zone: str = "UTC"

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, zone: str) -> str:
        try:
            ZoneInfo(zone)
        except (ZoneInfoNotFoundError, ValueError, OSError):
            raise ValueError("the name of a time zone, such as America/Chicago") from None
        return zone
