"""Pictures of packages with invented markings: grey on black, tilted, speckled, blurred, and saved as JPEG."""

from __future__ import annotations

import io
from collections.abc import Sequence

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

#: letters and digits without those that no reader tells apart (I, O, Q)
ALPHABET = "ABCDEFGHJKLMNPRSTUVWXYZ0123456789"


def invented_lines(rng: np.random.Generator, lines: int = 3) -> tuple[str, ...]:
    """Markings of 6 to 10 characters that no maker uses."""
    return tuple("".join(rng.choice(list(ALPHABET), rng.integers(6, 11))) for _ in range(lines))


def package_picture(lines: Sequence[str], seed: int, turned: int = 0, size: int = 420) -> bytes:
    """A JPEG of one package with these lines, turned by so many quarter turns anticlockwise."""
    rng = np.random.default_rng(seed)
    scene = np.full((size, size), float(rng.integers(12, 30)), np.float32)
    body = Image.new("L", (size, size), 0)
    draw = ImageDraw.Draw(body)
    font = ImageFont.load_default(size=int(rng.integers(30, 38)))
    for number, line in enumerate(lines):
        draw.text((size * 0.16, size * (0.28 + 0.16 * number)), line, fill=int(rng.integers(14, 40)), font=font)
    scene += np.asarray(body, np.float32)
    moved = _tilted(scene, rng)
    speckle = rng.normal(0, 3.0, moved.shape) + 14.0 * (rng.random(moved.shape) > 0.997)
    soft = cv2.GaussianBlur(moved, (0, 0), float(rng.uniform(0.6, 1.2))) + speckle
    grey = np.clip(np.rot90(soft, turned), 0, 255).astype(np.uint8)
    out = io.BytesIO()
    Image.fromarray(np.ascontiguousarray(grey)).convert("RGB").save(out, "JPEG", quality=int(rng.integers(70, 92)))
    return out.getvalue()


def _tilted(scene: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.float32]:
    size = scene.shape[0]
    corners = np.array([[0, 0], [size, 0], [size, size], [0, size]], np.float32)
    seen = (corners + rng.uniform(-0.03, 0.03, (4, 2)) * size).astype(np.float32)
    how = cv2.getPerspectiveTransform(corners, seen)
    return np.asarray(cv2.warpPerspective(scene, how, (size, size), borderMode=cv2.BORDER_REPLICATE), np.float32)
