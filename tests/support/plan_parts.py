"""Parts that every plan made by hand has, as plain data; what differs between plans is given."""

from collections.abc import Sequence
from typing import Any

Data = dict[str, Any]


def made_from(ledger_version: int, marks: str, solver: str, platform: str) -> Data:
    """What a plan was made from; `marks` are the hashes of ledger, shipment and tables in short."""
    ledger, shipment, tables = (mark * (64 // len(mark)) for mark in marks.split())
    return {
        "ramet": "0.1.0",
        "today": "2027-01-04",
        "effort": "quick",
        "ledger_version": ledger_version,
        "ledger_sha256": ledger,
        "shipment_sha256": shipment,
        "reference_sha256": tables,
        "solver": solver,
        "platform": platform,
    }


def goal(name: str, value: float, bound: float | None = None) -> Data:
    """A goal of the choice; without a bound it is proven."""
    far = value if bound is None else bound
    gap = abs(far - value) / max(1.0, abs(value))
    return {"goal": name, "value": value, "bound": far, "gap": gap, "proven": bound is None}


def optimum(*goals: Data) -> Data:
    """How good the choice is: the goals, and the first that is open, else the last."""
    shown = next((one for one in goals if not one["proven"]), goals[-1])
    head = {key: shown[key] for key in ("value", "bound", "gap")}
    return {"goals": list(goals), **head, "stopped_early": False}


def band(low: float, typical: float, high: float, unit: str) -> Data:
    """A number with its band."""
    return {"low": low, "typical": typical, "high": high, "unit": unit, "origin": "invented"}


def bands(middle: Sequence[float], spread: float) -> Data:
    """A series with so much below and above it."""
    return {
        "p05": [value - spread for value in middle],
        "p50": list(middle),
        "p95": [value + spread for value in middle],
    }


def steady(low: float, mid: float, high: float, hours: int) -> Data:
    """A series that stays where it is."""
    return {name: [value] * hours for name, value in (("p05", low), ("p50", mid), ("p95", high))}


def in_a_bag(temperature: Data, oxygen: Data, ph: Data, ammonia: Data) -> Data:
    """The series of one bag."""
    return {
        "temperature_c": temperature,
        "oxygen_mg_l": oxygen,
        "ph_total": ph,
        "unionised_ammonia_umol_l": ammonia,
    }


def demand(day: int, alkalinity: Data, calcium: Data, magnesium: Data) -> Data:
    """What the corals take from the receiving tank on a day."""
    return {"day": day, "alkalinity": alkalinity, "calcium": calcium, "magnesium": magnesium}


def biofilter(ammonia_in: Data, capacity: Data, note: str = "") -> Data:
    """A biofilter that is enough, with one bag of media sent."""
    counts = {"media_needed": 1, "media_sent": 1, "enough": True, "note": note}
    return {"ammonia_in": ammonia_in, "capacity": capacity, **counts}


def light(piece: str, source: float, start: float, target: float, verdict: str) -> Data:
    """How a piece is brought to its light in four weeks."""
    steps = {"source_par": source, "start_par": start, "target_par": target}
    return {"piece": piece, **steps, "days": 28, "verdict": verdict}
