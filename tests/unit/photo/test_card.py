"""The card as the scale: its edges fitted, its round corners left out, a word where it cannot be told."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from tests.support.mat_photo import BENT, lens_of

from unfasten.photo.card import SeenCard, card_mm, card_scale, find_card, near_card, picked_card
from unfasten.photo.facts import PhotoError
from unfasten.photo.measure import Pointing, measure
from unfasten.photo.pose import Height
from unfasten.photo.rendered import INK, Camera, Sheet, camera_over, photograph
from unfasten.photo.scale import Object, Optics, scaled

LENS = lens_of(1000, 750, 1000.0, BENT)
OPTICS = Optics(1000, 750, LENS)
PLACE = np.array([60.0, 60.0])


def rounded(width: float, height: float, radius: float) -> np.ndarray:
    """A rectangle with round corners, from the origin."""
    out = []
    for x, y, start in (
        (width - radius, radius, -90),
        (width - radius, height - radius, 0),
        (radius, height - radius, 90),
        (radius, radius, 180),
    ):
        turn = np.radians(start + np.linspace(0, 90, 24))
        out.append(np.column_stack([x + radius * np.cos(turn), y + radius * np.sin(turn)]))
    return np.vstack(out)


def bench(*shapes: tuple[np.ndarray, float]) -> Sheet:
    sheet = Sheet(np.full((1440, 2000), 0.2, np.float32), 8.0)
    for shape, tone in shapes:
        sheet.polygon(shape, tone)
    sheet.disc((185.0, 80.0), 20.0, INK)
    return sheet


CARD = (rounded(85.60, 53.98, 3.18) + PLACE, 0.7)


@cache
def shot(tilt: float, towards: float = 60.0, spin: float = 15.0) -> tuple[np.ndarray, Camera]:
    camera = camera_over(LENS, (125.0, 90.0), 300.0, tilt, towards, spin)
    return photograph([bench(CARD)], camera, np.random.default_rng(3)), camera


def corners_off(card: SeenCard, camera: Camera) -> float:
    truth = camera.seen(card_mm() + PLACE)
    return min(float(np.abs(np.roll(truth, turn, axis=0) - card.corners).max()) for turn in range(4))


def test_bowed_edges_are_found_where_they_are() -> None:
    """A soft photo of a card near the rim of a bent lens: normals off the bowed edge would misread it."""
    lens = lens_of(1000, 750, 900.0, (-0.2, 0.03, 0.0, 0.0, 0.0))
    camera = camera_over(lens, (125.0, 60.0), 300.0, 10.0, 90.0, 0.0)
    picture = photograph([bench(CARD)], camera, np.random.default_rng(3), blur=1.6, noise=0.0)
    found = find_card(picture, Optics(1000, 750, lens))
    # the long edge bows by half a pixel there; along straight normals its corner came out 0.27 px off
    truth = camera.seen(card_mm() + PLACE)
    low = camera.seen(np.linspace(card_mm()[3] + PLACE, card_mm()[2] + PLACE, 3))
    assert abs(float(low[1, 1] - (low[0, 1] + low[2, 1]) / 2)) > 0.4
    assert min(float(np.abs(np.roll(truth, turn, axis=0) - found.corners).max()) for turn in range(4)) < 0.13
    assert found.blur == pytest.approx(1.6, rel=0.2)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 40.0])
def test_corners_are_found_to_a_tenth_of_a_pixel(tilt: float) -> None:
    picture, camera = shot(tilt)
    card = find_card(picture, OPTICS)
    assert corners_off(card, camera) < 0.12
    assert card.share > 0.8


def test_distance_beside_the_card() -> None:
    picture, camera = shot(30.0)
    scale = scaled(card_scale(find_card(picture, OPTICS)), OPTICS, Object())
    (found,) = measure(scale.view, "distance", camera.seen(np.array([[185.0, 70], [185, 90]])), Pointing(0.05))
    assert found.value == pytest.approx(20.0, abs=0.05)
    assert any("0.76 mm over the bench" in note for note in scale.notes)


def test_height_counts_from_the_bench_and_not_from_the_card() -> None:
    picture, _ = shot(20.0)
    reference = card_scale(find_card(picture, OPTICS))
    assert scaled(reference, OPTICS, Object(Height(0.76, 0.0))).view.rise.height == pytest.approx(0.0)
    assert scaled(reference, OPTICS, Object(Height(2.0, 0.1))).view.rise.height == pytest.approx(1.24)


@pytest.mark.parametrize("order", [[0, 1, 2, 3], [1, 2, 3, 0], [3, 2, 1, 0]])
def test_rough_picks_are_drawn_to_the_edges(order: list[int]) -> None:
    picture, camera = shot(20.0)
    rough = camera.seen(card_mm() + PLACE)[order] + np.array([[3.0, -2], [2, 3], [-3, 1], [2, -2]])
    card = near_card(picture, rough, LENS)
    assert card is not None
    assert corners_off(card, camera) < 0.12


def test_picks_without_edges_are_taken_as_they_are() -> None:
    picture, camera = shot(20.0)
    corners = camera.seen(card_mm() + PLACE)
    assert near_card(np.full_like(picture, 128), corners, LENS) is None
    scale = scaled(picked_card(corners, 0.5, 0.25), OPTICS, Object())
    (found,) = measure(scale.view, "distance", camera.seen(np.array([[70.0, 75], [130, 105]])), Pointing(0.5))
    assert found.value == pytest.approx(np.hypot(60, 30), rel=1e-6)


def refused(picture: np.ndarray) -> str:
    with pytest.raises(PhotoError) as caught:
        find_card(picture, OPTICS)
    return caught.value.code


def test_no_card() -> None:
    assert refused(np.full((600, 800), 120, np.uint8)) == "photo.no-card"


def test_sheet_of_paper_is_no_card() -> None:
    camera = camera_over(LENS, (110.0, 90.0), 300.0, 15.0, 60.0)
    paper = np.array([[50.0, 50], [162, 50], [162, 129.2], [50, 129.2]])
    assert refused(photograph([bench((paper, 0.75))], camera, np.random.default_rng(1))) == "photo.no-card"


def test_two_cards() -> None:
    camera = camera_over(LENS, (110.0, 100.0), 330.0, 10.0, 60.0)
    other = (rounded(85.60, 53.98, 3.18) + np.array([60.0, 120.0]), 0.6)
    assert refused(photograph([bench(CARD, other)], camera, np.random.default_rng(1))) == "photo.several-cards"
