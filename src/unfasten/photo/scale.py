"""From a reference in the photo to a view in millimetres, with every source of uncertainty that comes with it.

A reference is a set of points with known places: the mat's markers, a card, or four points of a known rectangle. (A
length between two points holds no plane; see `ruler.py`.)
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from unfasten.evidence.errors import DataError
from unfasten.photo.assumed import assumed
from unfasten.photo.budget import CARE, dof_of_doubt, rectangular
from unfasten.photo.lens import Lens, pinhole
from unfasten.photo.plane import Matrix, Plane, Points, fit_plane
from unfasten.photo.pose import NO_HEIGHT, Distance, Height, Pose, camera_pose, rise_over
from unfasten.photo.view import (
    Source,
    View,
    fit_source,
    height_source,
    lens_source,
    reference_source,
    relative_source,
)


@dataclass(frozen=True, slots=True)
class Reference:
    """Points of known place: `seen` in the photo [px], `mm` on the reference; `steps` are one-sigma moves of `mm`.

    `sigma` None: the scatter round the fitted plane tells it. `weight`: inverse covariance of `seen` (2n x 2n). `above`
    is the height of the reference's plane over the bench. `even`: the size lies anywhere within limits. `picked`: by
    the same person as what is measured.
    """

    kind: str
    seen: Points
    mm: Points
    steps: tuple[Points, ...]
    says: str
    says_size: str
    sigma: float | None = None
    dof: float = math.inf
    weight: Matrix | None = None
    above: Height = NO_HEIGHT
    even: bool = False
    picked: bool = False


@dataclass(frozen=True, slots=True)
class Optics:
    """What is known of the camera: a calibrated lens, or only a focal length [px] with its relative uncertainty."""

    width: int
    height: int
    lens: Lens | None = None
    focal: float | None = None
    u_focal: float = 0.0
    says: str = ""

    @property
    def pinhole(self) -> Lens | None:
        """A lens good enough to tell where the camera stood; None where no focal length is known."""
        if self.lens is not None:
            return self.lens
        return None if self.focal is None else pinhole(self.width, self.height, self.focal)

    @property
    def u_distance(self) -> float:
        """Relative standard uncertainty of a distance that follows from the focal length."""
        if self.lens is None:
            return self.u_focal
        return 0.0 if self.lens.cov is None else math.sqrt(float(self.lens.cov[0, 0])) / self.lens.focal


@dataclass(frozen=True, slots=True)
class Object:
    """What is asked about the object: its height over the bench (None: not stated) and a measured camera distance."""

    height: Height | None = None
    distance: Distance | None = None


@dataclass(frozen=True, slots=True)
class Scaled:
    """A view ready to measure on, where the camera stood (None: not known), and what to tell the reader."""

    view: View
    kind: str
    pose: Pose | None
    notes: tuple[str, ...] = field(default=())


def scaled(reference: Reference, optics: Optics, about: Object) -> Scaled:
    """Fit the plane of a reference, correct lens and height, and gather all sources of uncertainty.

    Raises `DataError` where a height is stated and nothing tells how far the camera was.
    """
    lens = optics.lens
    ideal = within(reference.seen if lens is None else lens.ideal(reference.seen), "scale")
    plane = fit_plane(ideal, reference.mm, sigma=reference.sigma, dof=reference.dof, weight=reference.weight)
    view = View(plane, lens)
    pose = None if optics.pinhole is None else camera_pose(plane, optics.pinhole)
    view, height_sources, notes = raised(view, reference.above, optics, pose, about)
    sources = [fit_source(view, reference.says, CARE if reference.picked else "")]
    if reference.steps:
        sources.append(reference_source(view, reference.steps, reference.says_size, even=reference.even))

    def refit(moved: Lens) -> Plane:
        return plane.refitted(moved.ideal(reference.seen), plane.target)

    told, lens_sources = lens_sources_of(view, optics, refit)
    view = view.with_sources(*sources, *lens_sources, *height_sources)
    return Scaled(view, reference.kind, pose, (*told, *notes))


def within(points: Points, where: str) -> Points:
    """The points; raises `DataError` where the lens profile does not hold at one of them."""
    if not np.isfinite(points).all():
        message = "a point lies where the lens profile does not hold"
        raise DataError(
            "photo.outside-lens", where, message, "keep away from the corners, or calibrate with points there"
        )
    return points


def lens_sources_of(view: View, optics: Optics, refit: Callable[[Lens], Plane]) -> tuple[list[str], list[Source]]:
    """The lens's part of the budget, and a note where no profile corrects the photo."""
    if optics.lens is not None:
        says = optics.says or "calibrated lens"
        if optics.lens.cov is None:
            return ["the lens profile does not state its uncertainty, so none is in the budget"], []
        return [], [lens_source(view, refit, says)]
    half = assumed("lens.none")
    note = f"no lens profile fits this photo: lengths may be off by {half:.1%}; 'unfasten camera calibrate' mends it"
    says = f"no lens profile: up to {half:.1%} measured on photos without correction, rectangular"
    return [note], [relative_source(view, "lens", rectangular(half), says)]


def raised(
    view: View, above: Height, optics: Optics, pose: Pose | None, about: Object
) -> tuple[View, list[Source], list[str]]:
    """The view at the object's height; a note where no height was stated."""
    if about.height is None:
        where = (
            "the plane of the scale" if above.value == 0 else f"the scale's plane, {above.value:g} mm over the bench"
        )
        note = f"no height is stated: the figure holds for what lies in {where}, and what stands higher reads long"
        return view, [], [note]
    height = Height(about.height.value - above.value, math.hypot(about.height.u, above.u))
    rise = rise_over(height, pose, optics.u_distance, about.distance)
    if rise is None:
        message = f"a height of {about.height.value:g} mm is stated, but not how far the camera was"
        remedy = "state the camera's distance, use a lens profile, or a photo that holds its focal length"
        raise DataError("photo.no-distance", "height", message, remedy)
    if rise.height >= 0.5 * rise.camera:
        message = f"the height {rise.height:g} mm is more than half of the camera's distance {rise.camera:.0f} mm"
        raise DataError("photo.too-high", "height", message, "check the height and the distance")
    view = replace(view, rise=rise)
    if rise.height == 0 and rise.u_height == 0:
        return view, [], []
    camera = f"camera {rise.camera:.0f} ± {rise.u_camera:.2g} mm"
    says = f"height {height.value:g} ± {height.u:.2g} mm over the scale, {camera}"
    return view, [height_source(view, says)], []


def stretched(mm: Points, u_x: float, u_y: float) -> tuple[Points, ...]:
    """One-sigma moves of a reference whose scale is known to relative parts along x and y."""
    return (mm * np.array([u_x, 0.0]), mm * np.array([0.0, u_y]))


def rectangle(
    seen: Points, width: tuple[float, float], height: tuple[float, float], u: float, doubt: float = 0.0
) -> Reference:
    """Four picked corners of a rectangle, the way a clock turns from the top left; sizes are (value, u) [mm]."""
    (w, u_w), (h, u_h) = width, height
    mm = np.array([[0, 0], [w, 0], [w, h], [0, h]], float)
    steps = stretched(mm, u_w / w, u_h / h)
    says = f"four corners picked to {u:g} px each"
    sides = f"sides {w:g} ± {u_w:.2g} mm and {h:g} ± {u_h:.2g} mm"
    return Reference("rectangle", seen, mm, steps, says, sides, u, dof_of_doubt(doubt), picked=True)


def mat_scale(seen: Points, mm: Points, check: Sequence[tuple[float, float]] | None, printed: float) -> Reference:
    """The mat's marker corners; `check` are the readings (value, u) [mm] of the check lines across and along.

    One reading stands for both lines. `printed` is the length they should have.
    """
    if check:
        across, along = (check[0], check[-1])
        factor = np.array([across[0] / printed, along[0] / printed])
        mm = mm * factor
        steps = stretched(mm, across[1] / across[0], along[1] / along[0])
        if len(check) == 1:
            steps = (steps[0] + steps[1],)
        size = "check lines read " + ", ".join(f"{value:g} ± {u:.2g} mm" for value, u in check)
    else:
        half = assumed("print.half-width")
        steps = stretched(mm, rectangular(half), rectangular(half))
        size = f"check lines not measured: print taken as true to {half:.1%}, rectangular"
    says = f"{len(seen)} corners of {len(seen) // 4} markers; their scatter round the plane"
    return Reference("mat", seen, mm, steps, says, size, even=not check)
