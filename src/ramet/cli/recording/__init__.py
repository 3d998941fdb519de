"""The verbs of `ramet record`, a few of a kind to a file."""
