"""A stretch of air temperature around a departure, whatever it came from."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
_DAY_H = 24.0


@dataclass(frozen=True, slots=True)
class Air:
    """Air temperatures over hours from departure; negative hours lie before it.

    `lasts_h` is how long the journey takes. `clock_h` is the hour of the local day at departure, or None.
    Outside its own hours a record that holds a day or more repeats the nearest day; a shorter one holds
    its last value.
    """

    hours: Array
    temperature_c: Array
    lasts_h: float
    clock_h: float | None
    uncertain_c: float
    words: str
    source: str

    def at(self, hours: Array) -> Array:
        """Return the temperature at each hour from departure [°C]."""
        first, last = float(self.hours[0]), float(self.hours[-1])
        inside = np.asarray(hours, dtype=float)
        if last - first >= _DAY_H:
            days_over = np.maximum(0.0, np.ceil((inside - last) / _DAY_H))
            days_under = np.maximum(0.0, np.ceil((first - inside) / _DAY_H))
            inside = inside + _DAY_H * (days_under - days_over)
        return np.asarray(np.interp(inside, self.hours, self.temperature_c))

    def covers(self, from_h: float, until_h: float) -> bool:
        """Tell whether the record itself holds these hours."""
        return bool(from_h >= self.hours[0] - 1e-9 and until_h <= self.hours[-1] + 1e-9)

    def window(self, from_h: float, length_h: float) -> tuple[Array, Array]:
        """Return corners of the air from `from_h` on: hours from there, and temperatures."""
        corners = self.hours[(self.hours > from_h) & (self.hours < from_h + length_h)] - from_h
        grid = np.unique(np.concatenate([[0.0], corners, self._repeated(from_h, length_h), [length_h]]))
        return grid, self.at(grid + from_h)

    def _repeated(self, from_h: float, length_h: float) -> Array:
        """Return whole hours wherever the record does not reach: there it repeats and has other corners."""
        hours = np.arange(1.0, length_h)
        outside = (hours + from_h < self.hours[0]) | (hours + from_h > self.hours[-1])
        return np.asarray(hours[outside])


class WeatherSource(Protocol):
    """Anything that can tell the air around a departure."""

    def air(self) -> Air:
        """Return the air. Raises BadInput or BrokenEnvironment with what stands in the way."""
        ...
