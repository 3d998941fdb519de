"""A number with its spread: what every reference value and every shown result carries."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Band:
    """Low, typical and high value in one unit; low <= typical <= high."""

    low: float
    typical: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.typical <= self.high:
            raise ValueError(
                f"a band needs low <= typical <= high, got {self.low}, {self.typical}, {self.high}"
            )

    def scaled(self, factor: float) -> "Band":
        """Return the band times a factor that is not negative."""
        if factor < 0:
            raise ValueError(f"a band scales by a factor of at least 0, got {factor}")
        return Band(self.low * factor, self.typical * factor, self.high * factor)

    def __add__(self, other: "Band") -> "Band":
        return Band(self.low + other.low, self.typical + other.typical, self.high + other.high)


def exactly(value: float) -> Band:
    """Return a band without spread."""
    return Band(value, value, value)
