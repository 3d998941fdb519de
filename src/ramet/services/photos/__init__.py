"""Photos of pieces: kept beside the ledger by what is in them, and measured with a printed scale card."""
