"""The vision library, imported only when a photograph is looked at."""

from __future__ import annotations

from typing import Any

from unfasten.evidence.errors import CallError


def vision() -> Any:
    """Give the module `cv2`; raises `CallError` with the line that installs it where it is missing."""
    try:
        import cv2
    except ImportError as error:
        message = "looking at photographs needs the extra 'photo', which is not installed"
        raise CallError("photo.no-library", "", message, 'run: pip install "unfasten[photo]"') from error
    return cv2
