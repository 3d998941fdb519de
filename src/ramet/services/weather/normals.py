"""The climate as a fallback: a month's mean temperature, with a daily swing and a wide band."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from ramet.domain.errors import BadInput
from ramet.domain.problems import Place, Problem
from ramet.formats.ambient import Ambient
from ramet.reference.climate import ClimatePlace, climate_places, find_places, near_names
from ramet.reference.tables import Reference
from ramet.services.weather.air import Air

WARMEST_HOUR = 15.0
"""The afternoon hour at which the air is warmest, as in the legs of a shipment."""
_BEFORE_H, _AFTER_H = 48.0, 120.0
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
    "November", "December",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class MonthlyNormals:
    """Normals that the user entered, or those of a place in the table."""

    ambient: Ambient
    trial: Path
    reference: Reference

    def air(self) -> Air:
        """Return the mean day of the month, with a cosine swing, and a band for the days about it."""
        ambient = self.ambient
        assert ambient.month is not None
        assert ambient.lasts_h is not None
        mean, where, source = self._mean(ambient.month)
        swing = self._typical("climate_half_swing_c")
        band = self._typical("climate_day_spread_c") if ambient.uncertain_c is None else ambient.uncertain_c
        leaves = self._leaves()
        hours = np.arange(-_BEFORE_H, ambient.lasts_h + _AFTER_H + 1e-9, 1.0)
        temperature = mean + swing * np.cos(2 * np.pi * (leaves + hours - WARMEST_HOUR) / 24)
        words = (
            f"climate of {where} in {MONTHS[ambient.month - 1]}, no forecast: mean {mean:g} °C, "
            f"± {swing:g} within a day, a day's mean ± {band:g}"
        )
        return Air(hours, temperature, ambient.lasts_h, leaves, band, words, source)

    def _mean(self, month: int) -> tuple[float, str, str]:
        if self.ambient.normals_c is not None:
            return self.ambient.normals_c[month - 1], "the normals in the trial", ""
        place = self._place()
        return place.monthly_c[month - 1], f"{place.name} ({place.country})", place.source

    def _place(self) -> ClimatePlace:
        name, country = self.ambient.place or "", self.ambient.country
        places = climate_places()
        found = find_places(name, country, places)
        if len(found) == 1:
            return found[0]
        where = Place(str(self.trial), None, "ambient.place")
        if found:
            countries = ", ".join(place.country for place in found)
            raise BadInput([Problem(where, name, f"a country too, one of: {countries}")])
        near = near_names(name, places)
        hint = f"nearest in writing: {', '.join(near)}; " if near else ""
        expected = (
            f"one of {len(places)} places of the table ({hint}or enter normals_c, twelve monthly means)"
        )
        raise BadInput([Problem(where, name if country is None else f"{name}, {country}", expected)])

    def _leaves(self) -> float:
        starts, at = self.ambient.starts, self.ambient.leaves_at
        clock = at or (starts.time() if starts is not None else None)
        return self._typical("climate_leaves_hour") if clock is None else clock.hour + clock.minute / 60

    def _typical(self, name: str) -> float:
        return self.reference.parameter(name).band.typical
