"""The command line: one file per command; each parses, calls one service and shows the answer."""
