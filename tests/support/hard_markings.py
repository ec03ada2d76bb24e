"""Harder pictures of packages: tilted cameras, faint prints, dotted laser marks, glare, blur; each of its own kind."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType

import cv2
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Grey = NDArray[np.float32]
SIZE = 480


def hard_picture(kind: str, lines: Sequence[str], seed: int) -> NDArray[np.uint8]:
    """A picture (height, width, 3) of a package with these lines, made hard in one way; the seed says how much."""
    return HARD[kind](lines, np.random.default_rng(seed))


def _body(lines: Sequence[str], ink: float, height: int = 36) -> Grey:
    """The marking alone, as bright as `ink`, upright, on 0."""
    picture = Image.new("L", (SIZE, SIZE), 0)
    font = ImageFont.load_default(size=height)
    for number, line in enumerate(lines):
        ImageDraw.Draw(picture).text((SIZE * 0.14, SIZE * (0.28 + 0.17 * number)), line, fill=255, font=font)
    return np.asarray(picture, np.float32) * (ink / 255)


def _dots(lines: Sequence[str], ink: float, rng: np.random.Generator) -> Grey:
    """The marking as a laser writes it: round dots on a grid, about ten to the height of a capital, some missing."""
    pitch = float(rng.uniform(3.0, 3.8))
    small = Image.new("L", (int(SIZE / pitch), int(SIZE / pitch)), 0)
    font = ImageFont.load_default(size=13)
    for number, line in enumerate(lines):
        at = (small.width * 0.08, small.height * (0.24 + 0.19 * number))
        ImageDraw.Draw(small).text(at, line, fill=255, font=font)
    scene = np.zeros((SIZE, SIZE), np.float32)
    for y, x in np.argwhere(np.asarray(small) > 110):
        if rng.random() < 0.03:
            continue
        centre = (round(16 * (x + 0.5) * pitch), round(16 * (y + 0.5) * pitch))
        cv2.circle(scene, centre, round(16 * 0.36 * pitch), ink, -1, cv2.LINE_AA, 4)
    return scene


def _finished(
    scene: Grey, rng: np.random.Generator, base: float, noise: float = 3.0, blur: float = 0.8
) -> NDArray[np.uint8]:
    soft = cv2.GaussianBlur(scene + base, (0, 0), blur) + rng.normal(0, noise, scene.shape)
    grey = np.clip(soft, 0, 255).astype(np.uint8)
    done, data = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 88])
    assert done
    return np.asarray(cv2.cvtColor(cv2.imdecode(data, cv2.IMREAD_GRAYSCALE), cv2.COLOR_GRAY2BGR), np.uint8)


def _tilted(lines: Sequence[str], rng: np.random.Generator) -> NDArray[np.uint8]:
    """The camera leans by 30 to 50 degrees, and the package is turned by up to 20."""
    lean, turn = np.radians(rng.uniform(30, 50)), np.radians(rng.uniform(-20, 20))
    half, focal = SIZE / 2, 1.6 * SIZE
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    c, s = np.cos(turn), np.sin(turn)
    flat = corners @ np.array([[c, s], [-s, c]])
    depth = focal + flat[:, 1] * np.sin(lean)
    seen = np.stack([flat[:, 0] * focal / depth, flat[:, 1] * np.cos(lean) * focal / depth], axis=1) + half
    how = cv2.getPerspectiveTransform((corners + half).astype(np.float32), seen.astype(np.float32))
    scene = cv2.warpPerspective(_body(lines, 55), how, (SIZE, SIZE), flags=cv2.INTER_AREA)
    return _finished(np.asarray(scene, np.float32), rng, 25)


def _faint(lines: Sequence[str], rng: np.random.Generator) -> NDArray[np.uint8]:
    """4 to 9 shades brighter than the package, in noise of 3."""
    return _finished(_body(lines, float(rng.uniform(4, 9))), rng, 24)


def _dotted(lines: Sequence[str], rng: np.random.Generator) -> NDArray[np.uint8]:
    return _finished(_dots(lines, float(rng.uniform(35, 60)), rng), rng, 24, blur=0.6)


def _glare(lines: Sequence[str], rng: np.random.Generator) -> NDArray[np.uint8]:
    """A lamp mirrored in the package: a spot so bright that a part of the marking drowns."""
    y, x = np.mgrid[0:SIZE, 0:SIZE].astype(np.float32) / SIZE
    far = ((x - rng.uniform(0.3, 0.7)) ** 2 + (y - rng.uniform(0.35, 0.65)) ** 2) / rng.uniform(0.015, 0.04)
    scene = _body(lines, 45) + 300 * np.exp(-far)
    return _finished(np.asarray(scene, np.float32), rng, 25)


def _blurred(lines: Sequence[str], rng: np.random.Generator) -> NDArray[np.uint8]:
    """Out of focus, at letters 26 px high."""
    return _finished(_body(lines, 60), rng, 25, noise=2.0, blur=float(rng.uniform(2.5, 4.0)))


HARD: Mapping[str, Callable[[Sequence[str], np.random.Generator], NDArray[np.uint8]]] = MappingProxyType(
    {"tilted": _tilted, "faint": _faint, "dotted": _dotted, "glare": _glare, "blurred": _blurred}
)
