"""Numbers, sizes and days as this grower writes and reads them: the one place for units and locales."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from zoneinfo import ZoneInfo, available_timezones

from ramet.domain.quantities import MEQ_L_PER_DKH, UNITS, to_unit
from ramet.formats.preferences import Preferences
from ramet.papers.words import DAYS, MONTHS, listing, plain, plural

NARROW = "\u202f"
NOBREAK = "\u00a0"


@cache
def zone_names() -> tuple[str, ...]:
    """Return every time zone that this machine knows; looking for them takes a while."""
    return tuple(sorted(available_timezones()))


@dataclass(frozen=True, slots=True)
class Locale:
    """How a region writes: signs in numbers, order of a day, clock of 12 or 24 hours, first day of a week."""

    name: str
    decimal: str
    group: str
    day: str
    clock_12: bool
    monday_first: bool


LOCALES = {
    "en-US": Locale("United States", ".", ",", "{wd}, {mon} {d}, {y}", True, False),
    "en-CA": Locale("Canada", ".", ",", "{wd} {y}-{m:02}-{d:02}", True, False),
    "en-GB": Locale("United Kingdom", ".", ",", "{wd} {d} {mon} {y}", False, True),
    "en-AU": Locale("Australia", ".", ",", "{wd} {d} {mon} {y}", True, True),
    "de-DE": Locale("Germany", ",", ".", "{wd} {d:02}.{m:02}.{y}", False, True),
    "fr-FR": Locale("France", ",", NARROW, "{wd} {d:02}/{m:02}/{y}", False, True),
    "es-ES": Locale("Spain", ",", ".", "{wd} {d:02}/{m:02}/{y}", False, True),
    "nl-NL": Locale("Netherlands", ",", ".", "{wd} {d:02}-{m:02}-{y}", False, True),
    "sv-SE": Locale("Sweden", ",", NARROW, "{wd} {y}-{m:02}-{d:02}", False, True),
    "ja-JP": Locale("Japan", ".", ",", "{wd} {y}/{m:02}/{d:02}", False, False),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """How one kind of quantity is written: the word of its unit, scale and shift from the base, decimals."""

    unit: str
    scale: float = 1.0
    shift: float = 0.0
    digits: int = 1


_METRIC = {
    "length": Shown("mm", digits=0),
    "span": Shown("cm", 0.1, digits=0),
    "area": Shown("cm²", digits=0),
    "mass": Shown("kg"),
    "volume": Shown("L", digits=2),
    "tank_volume": Shown("L", digits=0),
    "temperature": Shown("°C"),
    "warmth": Shown("°C"),
    "flow": Shown("cm/s", digits=0),
}
_US = {
    "length": Shown("in", 1 / 25.4, digits=2),
    "span": Shown("in", 1 / 25.4, digits=1),
    "area": Shown("in²", 1 / 6.4516, digits=1),
    "mass": Shown("lb", 1 / 0.45359237, digits=1),
    "volume": Shown("fl oz", 1 / 0.0295735295625, digits=0),
    "tank_volume": Shown("gal", 1 / 3.785411784, digits=0),
    "temperature": Shown("°F", 1.8, 32.0),
    "warmth": Shown("°F", 1.8),
    "flow": Shown("in/s", 1 / 2.54, digits=1),
}
_ALKALINITY = {
    "dkh": Shown("dKH", 1 / MEQ_L_PER_DKH, digits=1),
    "meq_l": Shown("meq/L", digits=2),
    "mg_l_caco3": Shown("mg/L CaCO₃", 50.0435, digits=0),
}
_BASE = {"length": "mm", "span": "mm", "area": "cm2", "mass": "kg", "volume": "l", "tank_volume": "l",
         "temperature": "c", "flow": "cm_s", "alkalinity": "meq_l"}  # fmt: skip
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
_PLAIN = re.compile(r"\d+(?:\.\d+)?")
_MEASURED = re.compile(
    r"((?:\d+(?:\.\d+)?(?: to | × |–))*\d+(?:\.\d+)?)[ \u00a0](mm|cm|cm²|kg|L|cm/s)(?![\w/²])"
)
# A level, or a difference when the words before it say so: "swings by 1.5 °C", "± 2 °C".
_WARMTH = re.compile(
    r"(?P<apart>\bby (?:at most )?|± ?)?(?P<values>(?:-?\d+(?:\.\d+)?(?: to | and |–))*-?\d+(?:\.\d+)?)"
    r"[ \u00a0]°C(?! \(-?\d+(?:\.\d+)?[ \u00a0]°F\))"
)
_SIGNED = re.compile(r"-?\d+(?:\.\d+)?")
_TOLD = {"mm": ("length", 1.0), "cm": ("length", 10.0), "cm²": ("area", 1.0), "kg": ("mass", 1.0),
         "L": ("volume", 1.0), "cm/s": ("flow", 1.0)}  # fmt: skip
_NUMBER = re.compile(r"[+\-−]?\d+([.,]\d+)?|[+\-−]?[.,]\d+")


@dataclass(frozen=True, slots=True)
class Wording:
    """Writes values in one grower's units, signs and zone. Values come in the unit of the design's keys."""

    preferences: Preferences

    @property
    def locale(self) -> Locale:
        """The region's way of writing."""
        return LOCALES[self.preferences.locale]

    def number(self, value: float | None, digits: int = 1) -> str:
        """Write a number with a real minus sign; what is not known is a dash."""
        if value is None:
            return "–"
        text = f"{value:,.{digits}f}"
        if not any(sign in "123456789" for sign in text):
            text = text.lstrip("-")
        swapped = text.replace(",", "\0").replace(".", self.locale.decimal).replace("\0", self.locale.group)
        return swapped.replace("-", "−")

    def count(self, value: int, one: str, many: str | None = None) -> str:
        """Write a count with its noun."""
        return plural(value, one, many).replace(str(value), self.number(value, 0), 1)

    def size(self, kind: str, value: float | None, *, unit: bool = True) -> str:
        """Write a quantity of a kind (`length`, `volume`, …) given in its base unit (mm, L, …)."""
        shown = self._shown(kind)
        if value is None:
            return "–"
        text = self.number(value * shown.scale + shown.shift, shown.digits)
        return f"{text}{NOBREAK}{shown.unit}" if unit else text

    def sizes(self, values_mm: tuple[float, ...]) -> str:
        """Write length × width × height in one piece that no line break parts."""
        parts = f"{NOBREAK}×{NOBREAK}".join(self.size("length", value, unit=False) for value in values_mm)
        return f"{parts}{NOBREAK}{self.unit('length')}"

    def unit(self, kind: str) -> str:
        """Return the word of the unit in which a kind of quantity is written."""
        return self._shown(kind).unit

    def scale(self, kind: str) -> float:
        """Return what one base unit is in the unit that is shown, for rates and differences."""
        return self._shown(kind).scale

    def plain_number(self, kind: str, value: float | None) -> str:
        """Write a value for a form field: its number alone, as precise as it is shown."""
        if value is None:
            return ""
        shown = self._shown(kind)
        text = f"{value * shown.scale + shown.shift:.{shown.digits + 1}f}".rstrip("0").rstrip(".")
        return text.replace(".", self.locale.decimal)

    def read(self, kind: str, text: str) -> float:
        """Read a typed quantity into its base unit; a bare number is in the unit that is shown.

        Raises ValueError with what is expected.
        """
        typed = text.strip()
        shown, base = self._shown(kind), _BASE[kind]
        if _NUMBER.fullmatch(typed):
            return (self.plain(typed) - shown.shift) / shown.scale
        try:
            return to_unit(typed.replace(",", ".").replace("−", "-"), base)
        except ValueError:
            known = ", ".join(sorted(name for name in UNITS[base] if name.isascii()))
            raise ValueError(f"a number in {shown.unit}, or with one of these units: {known}") from None

    def plain(self, text: str) -> float:
        """Read a typed number without unit, with point or comma. Raises ValueError with what is expected."""
        typed = text.strip()
        if not _NUMBER.fullmatch(typed):
            raise ValueError(f"a number, such as 12{self.locale.decimal}5")
        return float(typed.replace("−", "-").replace(",", "."))

    def day(self, value: date | None) -> str:
        """Write a day with its weekday and year."""
        if value is None:
            return "–"
        name = self.locale.day.format(
            wd=DAYS[value.weekday()], d=value.day, m=value.month, mon=MONTHS[value.month - 1], y=value.year
        )
        return name.replace(" ", NOBREAK)

    def clock(self, value: datetime, zone: str | None = None) -> str:
        """Write the time of day in a zone, the grower's own when none is given."""
        there = value.astimezone(ZoneInfo(zone or self.preferences.zone))
        if not self.locale.clock_12:
            return f"{there:%H:%M}"
        return f"{there.hour % 12 or 12}:{there:%M}{NOBREAK}{'am' if there.hour < 12 else 'pm'}"

    def moment(self, value: datetime, zone: str | None = None) -> str:
        """Write day, time and the short name of the zone."""
        place = zone or self.preferences.zone
        there = value.astimezone(ZoneInfo(place))
        return f"{self.day(there.date())} {self.clock(value, place)}{NOBREAK}{there.tzname() or place}"

    def told(self, text: str) -> str:
        """Write a sentence of a service this way: days by region, sizes and warmth in the grower's system."""
        dated = _DAY.sub(lambda found: self.day(date.fromisoformat(found[0])), text)
        if self.preferences.units == "metric":
            return dated
        return _MEASURED.sub(self._measured, _WARMTH.sub(self._warm, dated))

    def _warm(self, found: re.Match[str]) -> str:
        apart = found["apart"] or ""
        shown = self._shown("warmth" if apart else "temperature")

        def turned(number: re.Match[str]) -> str:
            value = float(number[0]) * shown.scale + shown.shift
            return self.number(value, 1 if "." in number[0] or apart else 0)

        return f"{apart}{_SIGNED.sub(turned, found['values'])}{NOBREAK}{shown.unit}"

    def _measured(self, found: re.Match[str]) -> str:
        kind, to_base = _TOLD[found[2]]
        shown = self._shown(kind)

        def turned(number: re.Match[str]) -> str:
            return self.number(float(number[0]) * to_base * shown.scale, shown.digits)

        return f"{_PLAIN.sub(turned, found[1])}{NOBREAK}{shown.unit}"

    def words(self, code: str) -> str:
        """Turn a code into words."""
        return plain(code)

    def listing(self, cites: str | None) -> str:
        """Name the CITES appendix of a taxon."""
        return listing(cites)

    def _shown(self, kind: str) -> Shown:
        if kind == "alkalinity":
            return _ALKALINITY[self.preferences.alkalinity]
        return (_US if self.preferences.units == "us" else _METRIC)[kind]
