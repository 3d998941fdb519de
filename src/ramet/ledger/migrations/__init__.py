"""Steps from one form of the ledger tables to the next."""
