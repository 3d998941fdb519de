"""ramet: which coral pieces go, how each is packed, and until when each bag holds."""

__version__ = "0.1.0"
