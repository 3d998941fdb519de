"""What all tests share: hypothesis draws the same examples every time, and a slow machine is no failure."""

from hypothesis import settings

settings.register_profile("ramet", deadline=None, derandomize=True)
settings.load_profile("ramet")
