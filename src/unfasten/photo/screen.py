"""Telling that a mat was photographed off a screen: its pixel grid stands as sharp lines in the spectrum of bare paper.

What can be told honestly is only that: a screen shows the mat at any size, so its lengths mean nothing until the check
line was measured on the screen itself.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from unfasten.photo.edges import Grey

_SIDE: Final = 256
#: shortest wave that counts [px], and longest: paper, light and lens blur make longer ones
_SHORT: Final = 2.0
_LONG: Final = 14.0
_NEAR: Final = 0.07
#: most that the means of blocks of bare paper differ, as light falls off [code]
_BARE: Final = 40.0
#: height of a line over the noise round it, in standard deviations of the noise
_LINE: Final = 11.0
NOTE: Final = (
    "the bare field shows a fine regular grid, as a screen or a coarse print has: a mat on a screen is not 1:1; "
    "measure its check lines with a ruler and state what you read"
)


def has_grid(grey: Grey, corners: NDArray[np.float64]) -> bool:
    """Tell whether bare paper inside four corners in the photo [px] carries a fine regular grid.

    The calmest of several square patches is looked at, so that parts on the field do not matter.
    """
    patches = [patch for patch in _patches(grey, corners) if patch.shape == (_SIDE, _SIDE)]
    if not patches:
        return False
    calm = min(patches, key=lambda patch: float(np.ptp(_blocks(patch))))
    if float(np.ptp(_blocks(calm))) > _BARE:
        return False
    return _sharpest(calm.astype(float)) > _LINE


def _patches(grey: Grey, corners: NDArray[np.float64]) -> list[Grey]:
    """Square patches round a grid of points inside the corners."""
    out = []
    for u in (0.2, 0.35, 0.5, 0.65, 0.8):
        for v in (0.25, 0.5, 0.75):
            top, low = corners[0] * (1 - u) + corners[1] * u, corners[3] * (1 - u) + corners[2] * u
            x, y = (round(float(value)) - _SIDE // 2 for value in top * (1 - v) + low * v)
            if x >= 0 and y >= 0:
                out.append(grey[y : y + _SIDE, x : x + _SIDE])
    return out


def _blocks(patch: Grey) -> NDArray[np.float64]:
    """Means of blocks of 32 px: alike where the paper is bare."""
    return np.asarray(patch.reshape(_SIDE // 32, 32, _SIDE // 32, 32).mean((1, 3)), float)


def _sharpest(patch: NDArray[np.float64]) -> float:
    """Height of the sharpest line of the spectrum over what lies round it, in units of its expected noise."""
    window = np.hanning(_SIDE)
    flat = (patch - patch.mean()) * np.outer(window, window)
    power = np.abs(np.fft.rfft2(flat)) ** 2
    fy, fx = np.fft.fftfreq(_SIDE)[:, None], np.fft.rfftfreq(_SIDE)[None, :]
    wave = np.hypot(fx, fy)
    # JPEG works in blocks of 8 px: their own grid is left out
    blocks = (np.abs(fx * 8 - np.rint(fx * 8)) < _NEAR) | (np.abs(fy * 8 - np.rint(fy * 8)) < _NEAR)
    inside = (wave >= 1 / _LONG) & (wave <= 1 / _SHORT) & ~blocks
    heights = power[inside]
    # the power of noise is exponential: its median is ln 2 of its mean, so a line stands out by its ratio to that
    return float(heights.max() / (np.median(heights) / np.log(2))) ** 0.5 if heights.size else 0.0
