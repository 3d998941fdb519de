"""The stock ledger: append-only events and the state folded from them. The only SQL in ramet."""
