"""Benchmarks: one module per subject, each run with `python -m bench.NAME`."""
