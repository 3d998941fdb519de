"""Tables on their way into the ledger."""
