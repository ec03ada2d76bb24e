"""Photographs with a known truth: a sheet drawn in millimetres, seen by a camera with lens, tilt, blur and noise.

Light is rendered, blurred and then coded by the sRGB curve, as a camera does it. Everything measured on such a picture
can be set against where it was drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.edges import light
from unfasten.photo.lens import Lens
from unfasten.photo.markers import bits_of
from unfasten.photo.mat import Mat
from unfasten.photo.plane import Matrix, Points, project
from unfasten.photo.vision import vision

Light = NDArray[np.float32]
Picture = NDArray[np.uint8]
#: points (… x 2) [mm] to whether they are inside
Inside = Callable[[NDArray[np.float64]], NDArray[np.bool_]]

PAPER: Final = 0.80
INK: Final = 0.03
BENCH: Final = 0.25
_COARSE: Final = 8
_PARTS: Final = 64
_TURN: Final = 19
_LEVELS: Final = 65535


@dataclass(frozen=True, slots=True)
class Camera:
    """A camera over the plane: `rotation` and `translation` take plane points (mm, z towards the lens is negative)."""

    lens: Lens
    rotation: Matrix
    translation: NDArray[np.float64]

    @property
    def centre(self) -> NDArray[np.float64]:
        """Centre of the camera [mm]; its height over the plane is the negative third number."""
        return np.asarray(-self.rotation.T @ self.translation, float)

    @property
    def mm_px(self) -> Matrix:
        """Homography from the plane [mm] to ideal pixels."""
        columns = np.column_stack([self.rotation[:, 0], self.rotation[:, 1], self.translation])
        return np.asarray(self.lens.matrix @ columns, float)

    def seen(self, mm: Points, height: float = 0.0) -> Points:
        """Where points at a height over the plane [mm] appear in the photo [px]."""
        centre = self.centre
        share = height / -centre[2]
        on_plane = (mm - centre[:2] * share) / (1 - share)
        return self.lens.seen(project(self.mm_px, on_plane))

    def plane_of(self, seen: Points, height: float = 0.0) -> Points:
        """Points at a height over the plane [mm] that appear at points of the photo [px]."""
        centre = self.centre
        on_plane = project(np.asarray(np.linalg.inv(self.mm_px), float), self.lens.ideal(seen))
        return np.asarray(on_plane + (centre[:2] - on_plane) * (height / -centre[2]), float)


def camera_over(
    lens: Lens, at: tuple[float, float], distance: float, tilt: float = 0.0, towards: float = 0.0, spin: float = 0.0
) -> Camera:
    """A camera that looks at a point [mm] from a distance [mm], tilted [deg] towards a direction and turned [deg]."""
    t, a, s = math.radians(tilt), math.radians(towards), math.radians(spin)
    about_axis = np.array([[math.cos(s), -math.sin(s), 0], [math.sin(s), math.cos(s), 0], [0, 0, 1]])
    to_axis = np.array([[math.cos(a), math.sin(a), 0], [-math.sin(a), math.cos(a), 0], [0, 0, 1]])
    lean = np.array([[1, 0, 0], [0, math.cos(t), -math.sin(t)], [0, math.sin(t), math.cos(t)]])
    rotation = about_axis @ to_axis.T @ lean @ to_axis
    target = np.array([at[0], at[1], 0.0])
    return Camera(lens, rotation, np.array([0, 0, distance]) - rotation @ target)


@dataclass(slots=True)
class Sheet:
    """A drawing at a height over the plane: light per pixel, `scale` px a mm, `mask` where it is opaque (None: all)."""

    light: Light
    scale: float
    height: float = 0.0
    mask: Light | None = None
    origin: tuple[float, float] = (0.0, 0.0)

    def polygon(self, corners: Points, tone: float) -> None:
        """Fill a polygon [mm], its edges smoothed over the pixels they cross."""
        self._cover(corners, lambda xy: _inside(corners, xy), tone)

    def disc(self, centre: tuple[float, float], diameter: float, tone: float) -> None:
        """Fill a disc [mm]."""
        turn = np.linspace(0, 2 * math.pi, 180, endpoint=False)
        rim = np.array(centre) + diameter / 2 * np.column_stack([np.cos(turn), np.sin(turn)])
        self._cover(rim, lambda xy: np.linalg.norm(xy - np.array(centre), axis=-1) <= diameter / 2, tone)

    def _cover(self, outline: Points, inside: Inside, tone: float) -> None:
        """Cover what is inside: pixels that the outline crosses by their share, all others whole."""
        at = (outline - self.origin) * self.scale - 0.5
        low = np.maximum(np.floor(at.min(0)).astype(int) - 1, 0)
        high = np.minimum(np.ceil(at.max(0)).astype(int) + 2, self.light.shape[::-1])
        if (high <= low).any():
            return
        (nx, ny), corner = high - low, np.array(self.origin)
        x, y = np.meshgrid(low[0] + np.arange(nx), low[1] + np.arange(ny))
        middles = (np.stack([x, y], -1) + 0.5) / self.scale + corner
        cv2, line, whole = vision(), np.zeros((ny, nx), np.uint8), np.zeros((ny, nx), np.uint8)
        rim = [np.rint(at - low).astype(np.int32).reshape(-1, 1, 2)]
        cv2.fillPoly(whole, rim, 1)
        cv2.polylines(line, rim, True, 255, 3)
        share = whole.astype(np.float32)
        # a lattice and no grid: an edge along the rows is then placed to 1/64 of a pixel, not to 1/8
        number = np.arange(_PARTS)
        within = (np.column_stack([number, number * _TURN % _PARTS]) + 0.5)[None] / _PARTS - 0.5
        within = within / self.scale
        crossed = line > 0
        share[crossed] = inside(middles[crossed][:, None, :] + within).mean(1)
        place = (slice(low[1], high[1]), slice(low[0], high[0]))
        self.light[place] += (tone - self.light[place]) * share
        if self.mask is not None:
            self.mask[place] = np.maximum(self.mask[place], share)


def _inside(corners: Points, xy: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Even-odd rule."""
    out = np.zeros(xy.shape[:-1], bool)
    x, y = xy[..., 0], xy[..., 1]
    for (x1, y1), (x2, y2) in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if y1 != y2:
            out ^= ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
    return out


def mat_sheet(mat: Mat, scale: float = 8.0) -> Sheet:
    """The mat as printed: markers only where they matter for measuring, and the lines of field and cells."""
    sheet = Sheet(np.full((round(mat.height * scale), round(mat.width * scale)), PAPER, np.float32), scale)
    for marker, box in mat.markers.items():
        rows = bits_of(marker)
        cell = box.width / len(rows)
        sheet.polygon(np.array(box.corners), INK)
        for row, line in enumerate(rows):
            for column, bit in enumerate(line):
                if bit == "1":
                    x, y = box.x + column * cell, box.y + row * cell
                    sheet.polygon(np.array([(x, y), (x + cell, y), (x + cell, y + cell), (x, y + cell)]), PAPER)
    return sheet


def photograph(
    sheets: Sequence[Sheet],
    camera: Camera,
    rng: np.random.Generator,
    *,
    blur: float = 0.8,
    noise: float = 2.0,
    tone: float = 1.0,
    fine: int = 2,
) -> Picture:
    """A grey photo (height x width, 8 bit) of sheets, the lowest first; `blur` sigma [px], `noise` sigma [code].

    `tone` bends the curve of the codes: another power than that of sRGB, as cameras have. `fine`: how many times finer
    than the photo the scene is drawn.
    """
    cv2 = vision()
    lens = camera.lens
    width, height = lens.width * fine, lens.height * fine
    scene = np.full((height, width), BENCH, np.float32)
    for sheet in sheets:
        mx, my = _maps(camera, sheet, width, height, fine)
        drawn = cv2.remap(sheet.light, mx, my, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=BENCH)
        if sheet.mask is None:
            scene = drawn
        else:
            mask = cv2.remap(sheet.mask, mx, my, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=0)
            scene = scene + (drawn - scene) * mask
    scene = cv2.resize(scene, (lens.width, lens.height), interpolation=cv2.INTER_AREA)
    if blur > 0:
        scene = cv2.GaussianBlur(scene, (0, 0), blur)
    code = coded(scene)
    if tone != 1:
        code = np.asarray(255 * (code / 255) ** np.float32(tone), np.float32)
    if noise > 0:
        code = code + rng.standard_normal(code.shape, np.float32) * np.float32(noise)
    return np.clip(np.rint(code), 0, 255).astype(np.uint8)


def coded(scene: Light) -> Light:
    """Coded values 0..255 (not rounded) of light, by the sRGB curve."""
    at = (np.clip(scene, 0, 1) * np.float32(_LEVELS)).astype(np.uint16)
    return np.asarray(_curve()[at], np.float32)


@cache
def _curve() -> Light:
    return np.asarray(np.interp(np.linspace(0, 1, _LEVELS + 1), light(), np.arange(256.0)), np.float32)


def _maps(camera: Camera, sheet: Sheet, width: int, height: int, fine: int) -> tuple[Light, Light]:
    """Where on the sheet [px of the sheet] each fine pixel looks; exact on a coarse grid, bilinear between."""
    cv2 = vision()
    nx, ny = -(-width // _COARSE) + 1, -(-height // _COARSE) + 1
    x, y = np.meshgrid(np.arange(nx) * _COARSE, np.arange(ny) * _COARSE)
    seen = (np.column_stack([x.ravel(), y.ravel()]) + 0.5) / fine - 0.5
    mm = camera.plane_of(seen, sheet.height) - np.array(sheet.origin)
    at = (mm * sheet.scale - 0.5).reshape(ny, nx, 2).astype(np.float32)
    fx = np.arange(width, dtype=np.float32) / _COARSE
    fy = np.arange(height, dtype=np.float32) / _COARSE
    gx, gy = np.meshgrid(fx, fy)
    both = cv2.remap(at, gx, gy, cv2.INTER_LINEAR)
    return np.ascontiguousarray(both[:, :, 0]), np.ascontiguousarray(both[:, :, 1])
