"""Rectified views: a rectangle of the plane seen from straight above, in one resampling with lens and tilt together."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.mat import Box
from unfasten.photo.plane import Points
from unfasten.photo.view import View
from unfasten.photo.vision import vision

#: exact positions are computed every so many pixels and joined bilinearly
_COARSE: Final = 16
_MOST_SIDE: Final = 6000


def native_scale(view: View, box: Box) -> float:
    """Pixels of the photo per mm at the middle of a box, the finer of two directions."""
    x, y = box.x + box.width / 2, box.y + box.height / 2
    at = view.to_px(np.array([[x, y], [x + 1, y], [x, y + 1]]))
    return float(max(np.linalg.norm(at[1] - at[0]), np.linalg.norm(at[2] - at[0])))


def rectify(picture: NDArray[np.uint8], view: View, box: Box, scale: float) -> NDArray[np.uint8]:
    """The box of the plane at `scale` px a mm, from straight above; outside the photo it is black.

    Pixel (i, j) of the result shows the point ((i + 0.5) / scale, (j + 0.5) / scale) of the box [mm].
    """
    cv2 = vision()
    width, height = round(box.width * scale), round(box.height * scale)
    if max(width, height) > _MOST_SIDE:
        raise ValueError(f"{width} x {height} px are more than is made; lower the scale")
    nx, ny = -(-width // _COARSE) + 1, -(-height // _COARSE) + 1
    x, y = np.meshgrid(np.arange(nx) * _COARSE, np.arange(ny) * _COARSE)
    mm = (np.column_stack([x.ravel(), y.ravel()]) + 0.5) / scale + [box.x, box.y]
    seen = view.to_px(mm).reshape(ny, nx, 2).astype(np.float32)
    # a coarse node must fall on the pixel it was computed for: the affine map takes fine pixels to coarse ones
    shrink = np.array([[1 / _COARSE, 0, 0], [0, 1 / _COARSE, 0]])
    maps = cv2.warpAffine(seen, shrink, (width, height), flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
                          borderMode=cv2.BORDER_REPLICATE)  # fmt: skip
    mx, my = cv2.convertMaps(maps[:, :, 0], maps[:, :, 1], cv2.CV_16SC2)
    return np.asarray(cv2.remap(picture, mx, my, cv2.INTER_LINEAR), np.uint8)


def rectified_to_mm(points: Points, box: Box, scale: float) -> Points:
    """Points of the plane [mm] of points in a rectified view [px]."""
    return np.asarray((points + 0.5) / scale + np.array([box.x, box.y]), float)
