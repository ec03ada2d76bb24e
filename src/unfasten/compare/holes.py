"""Two hole patterns: which hole is which, how the one lies on the other, and which single hole is out of place.

Rigid motion only (rotation and shift): a mirrored part does not fit. The correspondence is found, not assumed: poses
are proposed by the longest pairs of holes of equal distance, the pose with the most holes in place wins, and the holes
that are left over are named. Where several poses serve equally (a symmetric pattern), that is said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from math import hypot, log, sqrt
from typing import TYPE_CHECKING, Final

from unfasten.compare.rigid import Motion, best_fit, distances, minimax
from unfasten.record.part import Hole

if TYPE_CHECKING:
    from numpy import ndarray

#: chance that a pattern whose holes are all in place shows one as out of place (common practice)
FALSE_ALARM: Final = 0.01
#: [mm] used to find the pose where an uncertainty was not assessed; no verdict rests on it
ASSUMED: Final = 0.05
#: [mm] least distance that counts as out of place, however small the uncertainty
FLOOR: Final = 0.01
#: most holes of a part that are matched; the time grows with the cube of their number
MOST: Final = 300
#: pairs of holes that propose poses, and poses looked at for each
_BASES: Final = 8
_POSES: Final = 400
#: poses with this many holes less in place than the best are settled too: settling may yet change the count
_BEHIND: Final = 1


@dataclass(frozen=True)
class Pattern:
    """Holes of one part: places (n, 2) [mm], standard uncertainty along an axis (n,) [mm] or None."""

    holes: tuple[Hole, ...]

    @cached_property
    def places(self) -> ndarray:
        """Centres, shape (n, 2) [mm]."""
        from numpy import array

        return array([[float(hole.at[0].si), float(hole.at[1].si)] for hole in self.holes]).reshape(-1, 2)

    @cached_property
    def u(self) -> float | None:
        """Greatest standard uncertainty of a place along an axis [mm]; None if one is not assessed."""
        found = [axis.u_si for hole in self.holes for axis in hole.at]
        return None if None in found or not found else max(float(one) for one in found if one is not None)

    @cached_property
    def is_line(self) -> bool:
        """Tell whether all holes lie on one line, so that the handedness of the part cannot be told from them."""
        from numpy.linalg import svd

        spread = svd(self.places - self.places.mean(axis=0), compute_uv=False)
        return len(self.holes) < 3 or float(spread[-1]) <= ASSUMED * sqrt(len(self.holes))


@dataclass(frozen=True)
class OutOfPlace:
    """A hole that is not where its partner is: numbers from 0, shift in the plane of the second part [mm]."""

    first: int
    second: int
    shift: tuple[float, float]
    distance: float


@dataclass(frozen=True)
class Fit:
    """How the first pattern lies on the second.

    `pairs` are (hole of the first, hole of the second); `motion` lays the holes in place on their partners, `tight` is
    the motion with the least greatest distance over all pairs, with those distances in `gaps` [mm]. `same` tells
    whether at least half of the holes are in place; only then is `odd` a list of single holes out of place. `doubtful`
    are other holes that might be the odd ones as well. `poses` counts the ways in which the pattern lies on the other
    equally well.
    """

    pairs: tuple[tuple[int, int], ...]
    motion: Motion
    tight: Motion
    gaps: tuple[float, ...]
    u: float | None
    same: bool
    odd: tuple[OutOfPlace, ...]
    doubtful: tuple[int, ...]
    only_first: tuple[int, ...]
    only_second: tuple[int, ...]
    poses: int
    mirrored: bool
    is_line: bool

    @property
    def is_whole(self) -> bool:
        """Tell whether every hole of either part has a partner in place."""
        return self.same and not (self.odd or self.only_first or self.only_second)


@dataclass(frozen=True)
class _Pose:
    """Holes in place, in the pose with the least squares over them; `pairs` has partners for the others too.

    `left` is the greatest distance of a hole that is not in place from its partner [mm], `alike` counts pairs of like
    size, `turn` is the angle without sign [degree].
    """

    held: tuple[tuple[int, int], ...]
    pairs: tuple[tuple[int, int], ...]
    left: float
    alike: int
    turn: float
    motion: Motion

    @property
    def rank(self) -> tuple[int, int, float, float, tuple[tuple[int, int], ...]]:
        """Sorts the best pose first."""
        return -len(self.held), -self.alike, round(self.left, 6), round(self.turn, 6), self.held


def fit_holes(first: Sequence[Hole], second: Sequence[Hole]) -> Fit | None:
    """Lay the first pattern on the second; None where either has no holes, or more than are matched."""
    if not first or not second or max(len(first), len(second)) > MOST:
        return None
    a, b = Pattern(tuple(first)), Pattern(tuple(second))
    reach = _reach(a, b)
    poses = _poses(a, b, reach)
    best = poses[0]
    few = min(len(first), len(second))
    same = len(best.held) >= min(2, few) and 2 * len(best.held) >= max(len(first), len(second))
    equal = [pose for pose in poses if pose.rank[:2] == best.rank[:2] and pose.left <= 1.25 * best.left + reach]
    odd = {i for i, _ in best.pairs} - {i for i, _ in best.held}
    doubtful = {i for pose in equal for i in {i for i, _ in pose.pairs} - {i for i, _ in pose.held}} - odd
    return _fit(a, b, best, reach, same, tuple(sorted(doubtful)) if same else (), len(equal) if same else 0)


def _reach(a: Pattern, b: Pattern) -> float:
    """Distance within which a hole is in place [mm]: Rayleigh distributed, so that a false alarm is rare."""
    u = hypot(a.u or ASSUMED, b.u or ASSUMED)
    return max(u * sqrt(2 * log(max(len(a.holes), len(b.holes)) / FALSE_ALARM)), FLOOR)


def _shrunk(reach: float, count: int) -> float:
    """Reach for residuals of a fit over `count` holes: three of their coordinates are used up by the pose."""
    return reach * sqrt(max(0.25, 1 - 3 / (2 * count)))


def _fit(a: Pattern, b: Pattern, pose: _Pose, reach: float, same: bool, doubtful: tuple[int, ...], poses: int) -> Fit:
    from numpy import array

    left, right = array([i for i, _ in pose.pairs]), array([j for _, j in pose.pairs])
    tight = minimax(a.places[left], b.places[right])
    moved = pose.motion.of(a.places)
    odd = tuple(_out(moved, b, i, j) for i, j in pose.pairs if (i, j) not in pose.held) if same else ()
    is_line = a.is_line and b.is_line
    return Fit(
        pairs=pose.pairs,
        motion=pose.motion,
        tight=tight,
        gaps=tuple(float(gap) for gap in distances(tight, a.places[left], b.places[right])),
        u=None if a.u is None or b.u is None else (a.u**2 + b.u**2) ** 0.5,
        same=same,
        odd=odd,
        doubtful=doubtful,
        only_first=tuple(i for i in range(len(a.holes)) if i not in set(left.tolist())),
        only_second=tuple(j for j in range(len(b.holes)) if j not in set(right.tolist())),
        poses=poses,
        mirrored=not is_line and len(pose.held) < len(a.holes) and _is_mirror(a, b, reach),
        is_line=is_line,
    )


def _out(moved: ndarray, b: Pattern, i: int, j: int) -> OutOfPlace:
    x, y = (float(value) for value in b.places[j] - moved[i])
    return OutOfPlace(i, j, (x, y), hypot(x, y))


def _completed(a: Pattern, b: Pattern, held: tuple[tuple[int, int], ...], motion: Motion) -> _Pose:
    """Give the holes that are left over partners with the least sum of squared distances."""
    from scipy.optimize import linear_sum_assignment  # type: ignore[import-untyped]
    from scipy.spatial.distance import cdist  # type: ignore[import-untyped]

    taken, used = {i for i, _ in held}, {j for _, j in held}
    left = [i for i in range(len(a.holes)) if i not in taken]
    right = [j for j in range(len(b.holes)) if j not in used]
    alike, turn = _alike(a, b, held), abs(motion.turned)
    if not left or not right:
        return _Pose(held, held, 0.0, alike, turn, motion)
    gap = cdist(motion.of(a.places)[left], b.places[right])
    rows, columns = linear_sum_assignment(gap**2)
    more = [(left[i], right[j]) for i, j in zip(rows, columns, strict=True)]
    return _Pose(held, tuple(sorted((*held, *more))), float(gap[rows, columns].max()), alike, turn, motion)


def _is_mirror(a: Pattern, b: Pattern, reach: float) -> bool:
    """Tell whether the mirror image of the first pattern lies on the second with every hole in place."""
    if len(a.holes) != len(b.holes):
        return False
    from numpy import array

    image = Pattern(a.holes)
    image.__dict__["places"] = a.places * array([-1.0, 1.0])
    return len(_poses(image, b, reach)[0].held) == len(a.holes)


def _poses(a: Pattern, b: Pattern, reach: float) -> list[_Pose]:
    """Poses with their holes in place, the best first: most holes, most of like size, least left over, least turn.

    The first bases share no hole. With k holes out of place at most k of them are spoilt, so once t bases were tried
    every pose with fewer than t holes out of place is known.
    """
    seen: set[tuple[tuple[int, int], ...]] = set()
    found: dict[tuple[tuple[int, int], ...], Motion] = {}
    most = min(len(a.holes), len(b.holes))
    for tried, (one, other) in enumerate(_bases(a), 1):
        for motion in _proposals(a, b, one, other, reach):
            pairs = _in_place(a, b, motion, 2 * reach)
            if pairs and pairs not in seen:
                seen.add(pairs)
                held, settled = _settled(a, b, pairs, reach)
                found[held] = settled
        if any(most - len(pairs) < tried for pairs in found):
            break
    if not found:
        found[((0, 0),)] = best_fit(a.places[:1], b.places[:1])
    top = max(len(held) for held in found)
    return sorted((_completed(a, b, p, motion) for p, motion in found.items() if len(p) == top), key=lambda p: p.rank)


def _bases(a: Pattern) -> list[tuple[int, int]]:
    """Pairs of holes that propose poses: the longest first, each hole once before any comes twice."""
    from scipy.spatial.distance import cdist

    length = cdist(a.places, a.places)
    every = sorted(combinations(range(len(a.holes)), 2), key=lambda pair: (-length[pair], pair))
    if not every:
        return [(0, 0)]
    used: set[int] = set()
    apart = []
    for pair in every:
        if not used & set(pair):
            apart.append(pair)
            used |= set(pair)
    rest = [pair for pair in every if pair not in set(apart)]
    return [*apart, *rest][:_BASES] if len(a.holes) > 3 else every


def _proposals(a: Pattern, b: Pattern, one: int, other: int, reach: float) -> list[Motion]:
    """Motions that lay two holes on two holes at the same distance, and nearly as many holes in place as any of them.

    In the complex plane a motion is z -> turn z + shift.
    """
    from numpy import angle, array, exp, nonzero

    if one == other:
        return [best_fit(a.places[:1], b.places[j : j + 1]) for j in range(len(b.holes))]
    p, q = a.places @ array([1, 1j]), b.places @ array([1, 1j])
    span, gap = p[other] - p[one], q[None, :] - q[:, None]
    starts, ends = nonzero((abs(abs(gap) - abs(span)) <= 2 * reach) & (abs(gap) > 0))
    turns = exp(1j * (angle(gap[starts, ends]) - angle(span)))
    shifts = (q[starts] + q[ends]) / 2 - turns * (p[one] + p[other]) / 2
    turns, shifts = turns[:_POSES], shifts[:_POSES]
    if not len(turns):
        return []
    counts = array([_count(turn * p + shift, q, 2 * reach) for turn, shift in zip(turns, shifts, strict=True)])
    return [
        Motion(float(angle(turn)), (float(shift.real), float(shift.imag)))
        for turn, shift, count in zip(turns, shifts, counts, strict=True)
        if count >= counts.max() - _BEHIND
    ]


def _count(moved: ndarray, q: ndarray, reach: float) -> int:
    """Count moved points (n,) with a point of `q` (m,) within reach, all complex [mm]."""
    return int((abs(moved[:, None] - q[None, :]).min(axis=1) <= reach).sum())


def _in_place(a: Pattern, b: Pattern, motion: Motion, reach: float) -> tuple[tuple[int, int], ...]:
    """Pairs of holes that lie on one another within reach [mm], each the nearest of the other."""
    from scipy.spatial.distance import cdist

    gap = cdist(motion.of(a.places), b.places)
    near, back = gap.argmin(axis=1), gap.argmin(axis=0)
    return tuple((i, int(j)) for i, j in enumerate(near) if gap[i, j] <= reach and back[j] == i)


def _settled(
    a: Pattern, b: Pattern, pairs: tuple[tuple[int, int], ...], reach: float
) -> tuple[tuple[tuple[int, int], ...], Motion]:
    """Fit the pose to the holes proposed, keep those that are then in place, and fit it to these."""
    motion = _laid(a, b, pairs)
    for _ in range(3):
        kept = _in_place(a, b, motion, reach)
        if kept == pairs or not kept:
            break
        pairs = kept
        motion = _laid(a, b, pairs)
    while len(pairs) > 1:
        left, right = zip(*pairs, strict=True)
        gaps = distances(motion, a.places[list(left)], b.places[list(right)])
        if float(gaps.max()) <= _shrunk(reach, len(pairs)):
            break
        pairs = tuple(pair for index, pair in enumerate(pairs) if index != int(gaps.argmax()))
        motion = _laid(a, b, pairs)
    return pairs, motion


def _laid(a: Pattern, b: Pattern, pairs: Sequence[tuple[int, int]]) -> Motion:
    return best_fit(a.places[[i for i, _ in pairs]], b.places[[j for _, j in pairs]])


def _alike(a: Pattern, b: Pattern, pairs: Sequence[tuple[int, int]]) -> int:
    """Count pairs of holes that agree in diameter, to a tenth of a millimetre, and in thread."""
    return sum(_size(a.holes[i]) == _size(b.holes[j]) for i, j in pairs)


def _size(hole: Hole) -> tuple[float | None, str | None]:
    return (None if hole.diameter is None else round(float(hole.diameter.si), 1)), hole.thread
