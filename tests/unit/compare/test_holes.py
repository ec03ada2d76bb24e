"""Hole patterns: correspondence, pose, the hole out of place, symmetry, and patterns that say little."""

from __future__ import annotations

import random
from math import cos, radians, sin

import pytest

from unfasten.compare.holes import Fit, fit_holes
from unfasten.compare.partfacts import hole_words
from unfasten.record.part import Hole

Place = tuple[float, float]
L_SHAPE: list[Place] = [(0, 0), (50, 0), (50, 30), (0, 30), (10, 12)]


def holes(places: list[Place], u: float | None = 0.03, diameters: list[float] | None = None) -> list[Hole]:
    pm = "" if u is None else f" ± {u}"
    sizes = diameters or [1.6] * len(places)
    return [
        Hole.model_validate({"at": [f"{x + 100:.4f}{pm} mm", f"{y + 100:.4f}{pm} mm"], "diameter": f"{d} mm"})
        for (x, y), d in zip(places, sizes, strict=True)
    ]


def moved(places: list[Place], degrees: float = 37, shift: Place = (12.5, -7.25)) -> list[Place]:
    c, s = cos(radians(degrees)), sin(radians(degrees))
    return [(x * c - y * s + shift[0], x * s + y * c + shift[1]) for x, y in places]


def fit(first: list[Place], second: list[Place], u: float | None = 0.03) -> Fit:
    found = fit_holes(holes(first, u), holes(second, u))
    assert found is not None
    return found


def test_the_correspondence_is_found_in_any_order() -> None:
    order = [3, 0, 4, 1, 2]
    second = moved(L_SHAPE)
    found = fit(L_SHAPE, [second[i] for i in order])
    assert found.is_whole
    assert [order[j] for _, j in found.pairs] == [0, 1, 2, 3, 4]
    assert found.motion.turned == pytest.approx(37, abs=0.01)
    assert found.poses == 1


@pytest.mark.parametrize("odd", range(5))
def test_a_single_shifted_hole_is_named(odd: int) -> None:
    second = moved(L_SHAPE)
    second[odd] = (second[odd][0] + 0.6, second[odd][1])
    found = fit(L_SHAPE, second)
    assert [(one.first, one.second) for one in found.odd] == [(odd, odd)]
    assert found.odd[0].distance == pytest.approx(0.6, abs=0.01)
    assert found.doubtful == ()


def test_two_swapped_sizes_show_in_the_pairs() -> None:
    found = fit_holes(
        holes(L_SHAPE, diameters=[1.6, 2, 1.6, 1.6, 1.6]), holes(L_SHAPE, diameters=[2, 1.6, 1.6, 1.6, 1.6])
    )
    assert found is not None
    assert found.pairs == ((0, 0), (1, 1), (2, 2), (3, 3), (4, 4))


def test_a_mirrored_pattern_is_not_the_same_and_is_said_to_be_mirrored() -> None:
    found = fit(L_SHAPE, [(-x, y) for x, y in L_SHAPE])
    assert not found.is_whole
    assert found.mirrored


def test_a_scaled_pattern_is_not_the_same() -> None:
    found = fit(L_SHAPE, [(1.05 * x, 1.05 * y) for x, y in L_SHAPE])
    assert not found.same


def test_a_rectangle_lies_on_itself_in_two_ways() -> None:
    rectangle: list[Place] = [(0, 0), (40, 0), (40, 20), (0, 20)]
    assert fit(rectangle, moved(rectangle)).poses == 2


def test_sizes_tell_which_way_a_rectangle_lies() -> None:
    rectangle: list[Place] = [(0, 0), (40, 0), (40, 20), (0, 20)]
    sizes = [2.0, 1.6, 1.6, 1.6]
    turned = moved(rectangle, 180)
    found = fit_holes(holes(rectangle, diameters=sizes), holes(turned, diameters=sizes))
    assert found is not None
    assert found.poses == 1
    assert abs(found.motion.turned) == pytest.approx(180, abs=0.01)


def test_in_a_grid_the_odd_hole_may_be_one_of_two() -> None:
    grid: list[Place] = [(10.0 * i, 8.0 * j) for i in range(8) for j in range(5)]
    second = moved(grid)
    second[7] = (second[7][0] + 0.6, second[7][1])
    found = fit(grid, second)
    assert [one.first for one in found.odd] == [7]
    assert found.doubtful == (32,)  # 39 - 7: the same place with the grid turned by half


def test_holes_on_a_line_do_not_tell_a_mirror_image() -> None:
    line: list[Place] = [(0, 0), (10, 0), (25, 0)]
    found = fit(line, moved([(-x, y) for x, y in line]))
    assert found.is_whole
    assert found.is_line
    assert not found.mirrored


def test_two_holes_lie_on_two_holes_in_two_ways() -> None:
    assert fit([(0, 0), (36.6, 0)], [(0, 0), (36.6, 0)]).poses == 2


def test_two_holes_further_apart_are_not_the_same() -> None:
    assert not fit([(0, 0), (36.6, 0)], [(0, 0), (37.6, 0)]).same


def test_one_hole_lies_on_one_hole() -> None:
    found = fit([(3, 4)], [(9, 1)])
    assert found.is_whole
    assert found.gaps == (0.0,)


def test_a_missing_hole_is_left_over() -> None:
    found = fit(L_SHAPE, moved(L_SHAPE)[:4])
    assert found.only_first == (4,)
    assert found.odd == ()


def test_holes_at_one_place_do_no_harm() -> None:
    found = fit([(0, 0), (0, 0), (20, 0)], [(0, 0), (0, 0), (20, 0)])
    assert len(found.pairs) == 3


def test_nothing_to_lay_on_nothing() -> None:
    assert fit_holes([], holes(L_SHAPE)) is None


def test_an_uncertainty_not_assessed_stays_unknown() -> None:
    assert fit(L_SHAPE, moved(L_SHAPE), None).u is None


@pytest.mark.parametrize("seed", range(6))
def test_noise_within_its_uncertainty_names_no_hole(seed: int) -> None:
    rng = random.Random(seed)
    first: list[Place] = [(rng.uniform(0, 100), rng.uniform(0, 60)) for _ in range(40)]
    second = [(x + rng.gauss(0, 0.03), y + rng.gauss(0, 0.03)) for x, y in moved(first)]
    found = fit(first, second)
    assert found.is_whole, f"out of place {found.odd}"


def test_the_tight_pose_spreads_what_cannot_be_avoided() -> None:
    """A triangle of which one hole is 0.6 mm out: no pose does better than about 0.3 mm at the worst hole."""
    first: list[Place] = [(0, 0), (15.8, 0), (7.9, 12.7)]
    found = fit(first, [(0, 0), (16.4, 0), (7.9, 12.7)])
    assert max(found.gaps) == pytest.approx(0.3, abs=0.005)


def test_what_lies_alone_is_named_and_a_mirror_image_is_told_though_most_holes_lie_in_place() -> None:
    six = [*L_SHAPE, (33.0, 7.0)]
    missing = fit(six, moved(six[:5]))
    assert missing.only_first == (5,)
    assert hole_words(missing) == "hole 6 of the 6 without a partner"
    assert hole_words(fit(six[:4], six)) == "holes 5, 6 of the 6 without a partner"
    # a rectangle lies on its mirror image; the holes inside do not
    frame = [(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0), (10.0, 12.0)]
    image = fit(frame, [(-x, y) for x, y in frame])
    assert image.same
    assert len(image.odd) == 1
    assert hole_words(image).endswith("the one is the mirror image of the other")


def test_holes_may_lie_on_either_side_of_the_zero() -> None:
    centred = [(x - 25, y - 15) for x, y in L_SHAPE]
    below = [
        Hole.model_validate({"at": [f"{x} ± 0.03 mm", f"{y} ± 0.03 mm"], "diameter": "1.6 mm"}) for x, y in centred
    ]
    found = fit_holes(below, holes(L_SHAPE))
    assert found is not None
    assert found.is_whole
    assert str(below[0].at[0]) == "-25 ± 0.03 mm"
    with pytest.raises(ValueError, match="lies below zero"):
        Hole.model_validate({"at": ["1 mm", "1 mm"], "diameter": "-1.6 mm"})
