"""Use of a board: exact areas, what overlaps, and an uncertainty in which the common scale is common."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from skimage.draw import polygon2mask

from unfasten.evidence.fields import InvalidFileError
from unfasten.photo.identify.boarduse import Body, Side, Uncertain, View, board_use, total
from unfasten.photo.identify.outline import area, area_u, around, covered, crosses_itself, touching
from unfasten.service.boarduse import use_of_board

BOARD = ((0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (0.0, 30.0))


def rectangle(x: float, y: float, width: float, height: float) -> tuple[tuple[float, float], ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def test_areas_of_known_shapes() -> None:
    assert area(BOARD) == area(BOARD[::-1]) == 1800
    assert around(BOARD) == 180
    circle = [(math.cos(t), math.sin(t)) for t in np.linspace(0, 2 * math.pi, 360, endpoint=False)]
    assert area(circle) == pytest.approx(180 * math.sin(2 * math.pi / 360))
    notch = [(0, 0), (4, 0), (4, 4), (2, 1), (0, 4)]
    assert area(notch) == 10


def test_crossings() -> None:
    assert not crosses_itself(BOARD)
    assert crosses_itself([(0, 0), (2, 2), (2, 0), (0, 2)])
    assert crosses_itself([(0, 0), (4, 0), (4, 4), (2, 0), (0, 4)])


def test_covered_area_counts_once_what_lies_twice() -> None:
    one, other = rectangle(0, 0, 4, 4), rectangle(3, 3, 4, 4)
    assert covered([one, other]) == pytest.approx(31)
    assert covered([one, rectangle(1, 1, 1, 1)]) == pytest.approx(16)
    assert covered([one, rectangle(4, 0, 4, 4)]) == pytest.approx(32)
    assert covered([]) == 0
    assert touching([one, rectangle(9, 9, 1, 1), other]) == [[0, 2], [1]]


def test_covered_area_agrees_with_an_independent_raster() -> None:
    rng = np.random.default_rng(3)
    for _ in range(12):
        outlines = []
        for _ in range(5):
            angles = np.sort(rng.uniform(0, 2 * np.pi, 7))
            reach = rng.uniform(1, 3, 7)
            middle = rng.uniform(3, 7, 2)
            outlines.append(
                [(middle[0] + r * math.cos(t), middle[1] + r * math.sin(t)) for r, t in zip(reach, angles, strict=True)]
            )
        step = 0.01
        mask = np.zeros((1000, 1000), bool)
        for outline in outlines:
            mask |= polygon2mask(mask.shape, np.array(outline) / step - 0.5)
        assert covered(outlines) == pytest.approx(mask.sum() * step**2, abs=0.15)


def test_uncertainty_of_an_area_agrees_with_a_simulation() -> None:
    rng = np.random.default_rng(5)
    outline = np.array([(0, 0), (14, 1), (13, 9), (6, 11), (1, 8)], float)
    u = 0.05
    drawn = [area([tuple(p) for p in outline + rng.normal(0, u, outline.shape)]) for _ in range(20_000)]
    assert np.std(drawn) == pytest.approx(area_u([tuple(p) for p in outline], u), rel=0.03)


def test_common_causes_add_up_and_fall_out_of_ratios() -> None:
    one, other = Uncertain(10.0, {"scale": 0.2, "a": 0.3}), Uncertain(40.0, {"scale": 0.8, "b": 0.1})
    both = total([one, other])
    assert (both.value, both.causes["scale"]) == (50.0, 1.0)
    assert both.u == pytest.approx(math.sqrt(1.0 + 0.09 + 0.01))
    ratio = one.over(other)
    assert ratio.causes["scale"] == pytest.approx(0)
    assert ratio.u == pytest.approx(0.25 * math.hypot(0.3 / 10, 0.1 / 40))


def test_equal_bodies_share_one_measurement() -> None:
    one = Body("capacitor", 0.02, sides=(1.0, 0.5))
    many = Body("capacitor", 0.02, sides=(1.0, 0.5), count=100)
    assert many.area.value == pytest.approx(50)
    assert many.area.u == pytest.approx(100 * one.area.u)


def test_the_stated_uncertainty_agrees_with_a_simulation_of_photographs() -> None:
    """Scale, edges and pointing drawn anew for each photograph; board and bodies are on the same one."""
    rng = np.random.default_rng(8)
    scale_u, edge_u, u = 0.004, 0.03, 0.05
    view = View("p", scale_u, edge_u)
    shapes = [rectangle(2, 2, 14, 14), rectangle(20, 3, 11.5, 13), rectangle(40, 5, 10, 14.5)]
    side = Side(
        "front", Body("board", u, BOARD, view=view), tuple(Body(str(n), u, s, view=view) for n, s in enumerate(shapes))
    )
    (stated,) = board_use([side]).sides

    def seen(outline: tuple[tuple[float, float], ...], scale: float, edge: float) -> float:
        corners = np.array(outline)
        outward = np.sign(corners - corners.mean(axis=0))
        return area([tuple(p) for p in (corners + edge * outward + rng.normal(0, u, corners.shape)) * scale])

    shares, areas = [], []
    for _ in range(8000):
        scale, edge = 1 + rng.normal(0, scale_u), rng.normal(0, edge_u)
        bodies = sum(seen(shape, scale, edge) for shape in shapes)
        areas.append(bodies)
        shares.append(bodies / seen(BOARD, scale, edge))
    assert np.std(areas) == pytest.approx(stated.body_area.u, rel=0.04)
    assert np.std(shares) == pytest.approx(stated.share.u, rel=0.04)
    inside = np.abs(np.array(shares) - np.mean(shares)) <= 1.96 * stated.share.u
    assert 0.93 < inside.mean() < 0.97


def test_overlaps_and_overhangs_are_named_and_counted_once_in_the_empty_share() -> None:
    board = Body("board", 0.0, BOARD)
    under, upper = Body("logic", 0.0, rectangle(2, 2, 10, 10)), Body("memory", 0.0, rectangle(2, 2, 10, 10))
    beyond = Body("socket", 0.0, rectangle(55, 5, 10, 6))
    (side,) = board_use([Side("front", board, (under, upper, beyond))]).sides
    assert side.body_area.value == 260
    assert side.share.value == pytest.approx(260 / 1800)
    assert side.empty.value == pytest.approx(1 - (100 + 30) / 1800)
    assert any("logic and memory overlap" in text for text in side.says)
    assert any("socket reaches 30.0 mm² beyond the board" in text for text in side.says)


def test_a_side_that_was_not_outlined_is_unknown_and_not_empty() -> None:
    board = Body("board", 0.0, BOARD)
    one = board_use([Side("front", board, (Body("a", 0.0, rectangle(0, 0, 30, 30)),))])
    assert (one.over_one, one.over_both) == (None, None)
    full = Body("full", 0.0, rectangle(0, 0, 60, 20))
    two = board_use([Side("front", board, (full,)), Side("back", board, (full,))])
    assert two.over_one is not None
    assert two.over_both is not None
    assert two.over_one.value == pytest.approx(4 / 3)  # more than the whole of one side
    assert two.over_both.value == pytest.approx(2 / 3)


def test_sides_that_differ_in_area_are_questioned() -> None:
    front = Side("front", Body("board (front)", 0.05, BOARD), ())
    back = Side("back", Body("board (back)", 0.05, rectangle(0, 0, 58, 30)), ())
    assert any("differ in area by 60.0 mm²" in text for text in board_use([front, back]).says)
    assert not any("differ" in text for text in board_use([front, Side("back", front.board, ())]).says)


FILE = """\
format: unfasten-board/1
views: {front-photo: {scale_u: 0.15 %, edge_u: 0.02 mm}}
sides:
  front:
    board: {view: front-photo, outline: [[0, 0], [60, 0], [60, 30], [0, 30]], u: 0.05 mm}
    bodies:
      logic: {view: front-photo, outline: [[2, 2], [16, 2], [16, 16], [2, 16]], u: 0.03 mm}
      flash: {size: 11.5 x 13.0 ± 0.03 mm}
      capacitor: {view: front-photo, size: 1.0 x 0.5 ± 0.02 mm, count: 46}
  back:
    board: {view: front-photo, outline: [[0, 0], [60, 0], [60, 30], [0, 30]], u: 0.05 mm}
    bodies: {}
"""


def test_a_file_of_outlines(tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    path.write_text(FILE, encoding="utf-8")
    front, back = use_of_board(path).sides
    assert front.bodies == 48
    assert front.body_area.value == pytest.approx(196 + 149.5 + 23)
    assert (back.bodies, back.share.value) == (0, 0)
    causes = {part["cause"] for part in front.as_json()["budget_percent"]}  # type: ignore[attr-defined]
    assert causes == {
        "scale of front-photo",
        "edges on front-photo",
        "pointing, board (front)",
        "pointing, logic (front)",
        "pointing, flash (front)",
        "pointing, capacitor (front)",
    }


@pytest.mark.parametrize(
    ("old", "new", "code"),
    [
        ("unfasten-board/1", "board/2", "data.wrong-kind"),
        ("0.15 %", "0.15", "data.wrong-kind"),
        ("u: 0.03 mm", "u: 0.03", "identify.no-length"),
        ("u: 0.03 mm", "v: 0.03 mm", "data.unknown-key"),
        ("11.5 x 13.0 ± 0.03 mm", "11.5 x 13.0 mm", "identify.no-uncertainty"),
        ("11.5 x 13.0 ± 0.03 mm", "11.5 mm", "identify.no-size"),
        ("count: 46", "count: 4.5", "data.wrong-kind"),
        ("count: 46", "count: 0", "data.wrong-kind"),
        ("logic: {view: front-photo", "logic: {view: front-foto", "data.unknown-word"),
        ("[16, 16], [2, 16]]", "[2, 16], [16, 16]]", "identify.bad-outline"),
        ("[[2, 2], [16, 2], [16, 16], [2, 16]]", "[[2, 2], [16, 2]]", "identify.bad-outline"),
        ("[[2, 2], [16, 2], [16, 16], [2, 16]]", "[[2, 2], [16, 2], [9, 2]]", "identify.bad-outline"),
        ("[16, 2]", "[16, two]", "data.wrong-kind"),
        ("[16, 2]", "16", "data.wrong-kind"),
        (
            "flash: {size",
            "flash: {view: front-photo, u: 0.1 mm, outline: [[0, 0], [1, 0], [1, 1]], size",
            "data.missing-key",
        ),
        ("  back:\n", "  edge: {board: {size: 1 x 1 ± 0.1 mm}, bodies: {}}\n  back:\n", "data.out-of-range"),
    ],
)
def test_files_are_read_strictly(tmp_path: Path, old: str, new: str, code: str) -> None:
    assert old in FILE
    path = tmp_path / "board.yaml"
    path.write_text(FILE.replace(old, new, 1), encoding="utf-8")
    with pytest.raises(InvalidFileError) as caught:
        use_of_board(path)
    assert code in [problem.code for problem in caught.value.problems]
    assert all(problem.remedy for problem in caught.value.problems)


def test_all_problems_are_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "board.yaml"
    text = FILE.replace("0.15 %", "x").replace("count: 46", "count: x").replace("u: 0.03 mm", "u: x")
    path.write_text(text, encoding="utf-8")
    with pytest.raises(InvalidFileError) as caught:
        use_of_board(path)
    assert len(caught.value.problems) == 3
