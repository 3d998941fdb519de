"""The optional libraries that photos need, loaded when they are needed, with a clear word when missing."""

from typing import Any

from ramet.domain.errors import BrokenEnvironment

_HOW = "pip install 'ramet[photos]' (opencv-python-headless, pillow, pillow-heif)"


def pillow() -> Any:
    """Return Pillow's Image module, able to read HEIC too. Raises BrokenEnvironment when it is missing."""
    try:
        from PIL import Image
        from pillow_heif import register_heif_opener
    except ModuleNotFoundError as error:
        raise BrokenEnvironment(f"photos need “{error.name}”, which is not installed: {_HOW}") from error
    register_heif_opener()
    return Image


def opencv() -> Any:
    """Return OpenCV. Raises BrokenEnvironment when it is missing."""
    try:
        import cv2
    except ModuleNotFoundError as error:
        raise BrokenEnvironment(f"areas from photos need “{error.name}”, not installed: {_HOW}") from error
    return cv2
