"""Frozen values and words. Standard library only; every other layer may import it."""
