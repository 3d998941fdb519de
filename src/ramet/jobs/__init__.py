"""Work in the background: a queue in the ledger, a runner in the server, the work in a child process."""
