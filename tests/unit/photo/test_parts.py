"""Parts laid out on the mat: sizes against what was drawn, holes, order of letters, flags instead of guesses."""

from __future__ import annotations

from functools import cache

import cv2
import numpy as np
import pytest
import skimage.measure
from tests.support.mat_photo import BENT, fresh_mat, lens_of

from unfasten.photo.lens import Lens
from unfasten.photo.markers import find_mat
from unfasten.photo.mat import mat_of
from unfasten.photo.outline import sizes, sizes_moves
from unfasten.photo.parts import FoundPart, find_parts, letter_of
from unfasten.photo.pose import Height
from unfasten.photo.rectify import rectify
from unfasten.photo.rendered import PAPER, Sheet, camera_over, photograph
from unfasten.photo.scale import Object, Optics, mat_scale, scaled

NOWHERE = Object()
LENS = lens_of(1600, 1200, 1600.0, BENT)


def box(x: float, y: float, width: float, height: float, turn: float = 0.0) -> np.ndarray:
    a = np.radians(turn)
    rotation = np.array([[np.cos(a), -np.sin(a)], [np.sin(a), np.cos(a)]])
    corners = np.array([[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]]) * [width, height]
    return corners @ rotation.T + [x, y]


def laid_out(sheet: Sheet) -> None:
    sheet.polygon(box(75, 57.5, 70, 35), 0.05)
    for centre in ((45, 45), (105, 45), (105, 70)):
        sheet.disc(centre, 3.2, PAPER)
    sheet.disc((150, 60), 12, 0.3)
    sheet.disc((200, 60), 9, 0.1)
    sheet.disc((208.5, 60), 9, 0.1)
    sheet.polygon(np.array([[130.0, 90], [180, 90], [180, 100], [140, 100], [140, 120], [130, 120]]), 0.4)
    sheet.polygon(np.array([[262.0, 90], [280, 90], [280, 100], [262, 100]]), 0.1)
    sheet.polygon(box(70, 105, 30, 10, 20), 0.2)


def parts_of(picture: np.ndarray, lens: Lens = LENS, about: Object = NOWHERE) -> tuple[FoundPart, ...]:
    seen = find_mat(picture)
    optics = Optics(lens.width, lens.height, lens)
    view = scaled(mat_scale(seen.px, seen.mm, [(100.0, 0.05)], 100.0), optics, about).view
    return find_parts(cv2.merge([picture] * 3), picture, view, seen.mat.field)


@cache
def found(tilt: float) -> dict[str, FoundPart]:
    sheet = fresh_mat()
    laid_out(sheet)
    camera = camera_over(LENS, (148.5, 105.0), 400.0, tilt, 30.0, 5.0)
    return {part.letter: part for part in parts_of(photograph([sheet], camera, np.random.default_rng(1)))}


def value(part: FoundPart, name: str) -> float:
    return next(reading.value for reading in part.readings if reading.name == name)


@pytest.mark.parametrize("tilt", [0.0, 25.0])
@pytest.mark.parametrize(
    ("letter", "length", "width", "area"),
    [("A", 70, 35, 2450), ("B", 12, 12, 36 * np.pi), ("D", 50, 30, 700), ("F", 30, 10, 300)],
)
def test_sizes_are_those_drawn(tilt: float, letter: str, length: float, width: float, area: float) -> None:
    part = found(tilt)[letter]
    assert value(part, "length") == pytest.approx(length, abs=0.1)
    assert value(part, "width") == pytest.approx(width, abs=0.1)
    assert value(part, "area") == pytest.approx(area, rel=0.005)
    for reading in part.readings[:3]:
        truth = {"length": length, "width": width, "area": area}[reading.name]
        assert reading.holds(truth), reading.text


def test_centroid_is_on_the_mat() -> None:
    part = found(0.0)["F"]
    assert [value(part, "centroid x"), value(part, "centroid y")] == pytest.approx([70, 105], abs=0.05)


def test_holes_are_round_and_measured() -> None:
    part = found(25.0)["A"]
    assert len(part.holes) == 3
    for hole in part.holes:
        assert hole.round
        assert hole.readings[-1].value == pytest.approx(3.2, abs=0.03)
    centres = sorted((round(hole.readings[0].value), round(hole.readings[1].value)) for hole in part.holes)
    assert centres == [(45, 45), (105, 45), (105, 70)]


def test_round_part_has_a_diameter() -> None:
    parts = found(25.0)
    assert value(parts["B"], "diameter") == pytest.approx(12, abs=0.03)
    assert [letter for letter, part in parts.items() if part.readings[-1].name == "diameter"] == ["B"]


def test_touching_parts_are_flagged_and_not_parted() -> None:
    parts = found(25.0)
    assert parts["C"].flags == ("may-touch",)
    assert value(parts["C"], "length") == pytest.approx(17.5, abs=0.1)
    assert [letter for letter, part in parts.items() if "may-touch" in part.flags] == ["C"]


def test_part_over_the_edge_of_the_field_is_flagged() -> None:
    assert "leaves-field" in found(25.0)["E"].flags


def test_square_hole_is_not_round() -> None:
    sheet = fresh_mat()
    sheet.polygon(box(100, 70, 60, 40), 0.05)
    sheet.polygon(box(100, 70, 12, 6), PAPER)
    camera = camera_over(LENS, (148.5, 105.0), 400.0, 10.0)
    (part,) = parts_of(photograph([sheet], camera, np.random.default_rng(1)))
    assert [hole.round for hole in part.holes] == [False]


def test_bare_field_has_no_parts() -> None:
    camera = camera_over(LENS, (148.5, 105.0), 400.0, 10.0)
    assert parts_of(photograph([fresh_mat()], camera, np.random.default_rng(1))) == ()


def test_uneven_light_and_a_soft_shadow_are_no_parts() -> None:
    sheet = fresh_mat()
    sheet.polygon(box(100, 70, 40, 20), 0.1)
    camera = camera_over(LENS, (148.5, 105.0), 400.0, 10.0)
    picture = photograph([sheet], camera, np.random.default_rng(1)).astype(float)
    x, y = np.meshgrid(np.linspace(0, 1, 1600), np.linspace(0, 1, 1200))
    shadow = 1 - 0.06 * np.exp(-((x - 0.7) ** 2 + (y - 0.5) ** 2) / 0.01)
    uneven = np.clip(picture * (0.75 + 0.25 * x - 0.1 * y**2) * shadow, 0, 255).astype(np.uint8)
    (part,) = parts_of(uneven)
    assert value(part, "length") == pytest.approx(40, abs=0.1)


def test_outline_agrees_with_scikit_image() -> None:
    """Area, perimeter box and centroid of a piece by region properties of the library, on the same mask."""
    mask = np.zeros((800, 1000), np.uint8)
    cv2.fillPoly(mask, [np.array([[200, 150], [700, 250], [640, 560], [400, 430], [180, 500]])], 1)
    (region,) = skimage.measure.regionprops(mask)
    ((outline,), _) = cv2.findContours(mask, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    _, _, area, _, x, y = sizes(outline.reshape(-1, 2).astype(float))
    # the contour runs through the middles of the rim's pixels: half a pixel inside all round
    assert area + region.perimeter / 2 == pytest.approx(region.area, rel=0.003)
    assert [y, x] == pytest.approx(region.centroid, abs=0.3)


def test_length_and_width_are_those_of_the_smallest_rectangle() -> None:
    length, width, *_ = sizes(box(10, 20, 30, 12, 33))
    assert [length, width] == pytest.approx([30, 12], abs=1e-4)


def test_rectified_view_shows_the_mat_in_its_place() -> None:
    camera = camera_over(LENS, (148.5, 105.0), 400.0, 30.0, 40.0)
    sheet = fresh_mat()
    sheet.disc((100, 60), 10, 0.05)
    picture = photograph([sheet], camera, np.random.default_rng(1))
    seen = find_mat(picture)
    view = scaled(mat_scale(seen.px, seen.mm, None, 100.0), Optics(1600, 1200, LENS), Object()).view
    field = mat_of("A4").field
    flat = rectify(picture, view, field, 5.0)
    dark = np.argwhere(flat < 173)  # half of the light between paper and ink
    middle = (dark.mean(0)[::-1] + 0.5) / 5.0 + [field.x, field.y]
    assert middle == pytest.approx([100, 60], abs=0.05)
    assert np.ptp(dark[:, 0]) / 5.0 == pytest.approx(10, abs=0.4)
    assert np.ptp(dark[:, 1]) / 5.0 == pytest.approx(10, abs=0.4)


def test_letters_go_on_after_z() -> None:
    assert [letter_of(index) for index in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_phone_sized_part_above_the_mat_is_as_a_caliper_would_read_it() -> None:
    """150.2 mm x 71.6 mm with round corners, its upper face 7.4 mm over the mat."""
    size, corner, height = (150.2, 71.6), 9.0, 7.4
    turn = np.radians(np.linspace(0, 90, 13))
    arc = corner * np.column_stack([np.cos(turn), np.sin(turn)])
    middles = [
        (size[0] - corner, size[1] - corner),
        (corner, size[1] - corner),
        (corner, corner),
        (size[0] - corner, corner),
    ]
    quarter = np.array([[0.0, 1.0], [-1.0, 0.0]])
    arcs = [arc @ np.linalg.matrix_power(quarter, turns) + middle for turns, middle in enumerate(middles)]
    face = Sheet(np.full((1000, 1800), 0.06, np.float32), 8.0, height, np.zeros((1000, 1800), np.float32), (40.0, 30.0))
    face.polygon(np.vstack(arcs) + np.array([70.0, 38.0]), 0.06)
    camera = camera_over(LENS, (148.5, 95.0), 350.0, 12.0, 40.0)
    picture = photograph([fresh_mat(), face], camera, np.random.default_rng(1), blur=1.2, tone=1.1)
    (part,) = parts_of(picture, about=Object(Height(height, 0.05)))
    truths = {"length": size[0], "width": size[1], "area": size[0] * size[1] - (4 - np.pi) * corner**2}
    for reading in part.readings[:3]:
        assert reading.holds(truths[reading.name]), reading.text
    assert value(part, "length") == pytest.approx(150.2, abs=0.15)
    assert value(part, "width") == pytest.approx(71.6, abs=0.1)
    (flat,) = parts_of(picture)
    assert value(flat, "length") == pytest.approx(150.2 * 350 / (350 - height), rel=0.01)


def test_parts_seen_from_another_side_have_the_same_size() -> None:
    one, other = found(0.0)["D"], found(25.0)["D"]
    assert value(one, "area") == pytest.approx(value(other, "area"), rel=0.004)


def test_moves_of_the_sizes_are_their_derivatives() -> None:
    """Each point moved outwards a little, one after the other, against the first-order shares."""
    turn = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    points = np.column_stack([20 * np.cos(turn), 11 * np.sin(turn)]) @ np.array([[0.8, 0.6], [-0.6, 0.8]])
    outward = np.column_stack([11 * np.cos(turn), 20 * np.sin(turn)]) @ np.array([[0.8, 0.6], [-0.6, 0.8]])
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    moves = sizes_moves(points)
    small = 1e-4
    moved = []
    for index in range(len(points)):
        near = points.copy()
        near[index] += outward[index] * small
        moved.append((sizes(near) - sizes(points)) / small)
    true = np.array(moved).T
    assert moves[2] == pytest.approx(true[2], rel=0.02)
    assert moves[4:] == pytest.approx(true[4:], abs=0.02)
    assert np.linalg.norm(moves[3]) == pytest.approx(np.linalg.norm(true[3]), rel=0.2)
