"""The stock ledger: append-only events and the state they add up to. The only place that speaks SQL."""

from ramet.ledger.store import Ledger, open_ledger

__all__ = ["Ledger", "open_ledger"]
