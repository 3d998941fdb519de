"""Finds a Chromium for tests that look at pages."""

import os
import shutil

import pytest

ARGUMENTS = ("--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run")
_NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def chromium() -> str:
    """Return the path of a Chromium; without one skip, or fail where nothing may be skipped."""
    found = next((path for name in _NAMES if (path := shutil.which(name))), None)
    if found is not None:
        return found
    words = "no Chromium found (Debian: sudo apt-get install chromium)"
    if os.environ.get("RAMET_REQUIRE_ALL") == "1":
        pytest.fail(words)
    pytest.skip(words)
