"""The record typed into a trial itself."""

from dataclasses import dataclass

import numpy as np

from ramet.formats.ambient import Ambient
from ramet.services.weather.air import Air


@dataclass(frozen=True, slots=True)
class TypedRecord:
    """Hours and temperatures of the trial, as they stand."""

    ambient: Ambient

    def air(self) -> Air:
        """Return the record; it knows the clock only when the trial says when it starts."""
        ambient = self.ambient
        starts = ambient.starts
        clock = starts.time() if starts is not None else ambient.leaves_at
        return Air(
            hours=np.array(ambient.hours),
            temperature_c=np.array(ambient.temperature_c),
            lasts_h=ambient.hours[-1],
            clock_h=None if clock is None else clock.hour + clock.minute / 60,
            uncertain_c=ambient.uncertain_c or 0.0,
            words="the record in the trial",
            source="",
        )
