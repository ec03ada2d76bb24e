"""What the figures show: every part once, known solid and open hatched, and a drawing in which nothing collides."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import combinations, pairwise

import pytest

from support.report_record import bench_report, tarn_report
from unfasten.report.figures.depth import depth_figure
from unfasten.report.figures.layers import places, reduced
from unfasten.report.figures.scale import index_band, small_band
from unfasten.report.figures.structure import structure_figure, two_lines
from unfasten.report.figures.svg import element, hatched, text
from unfasten.report.figures.tracks import BOX_HEIGHT, WIDTH, Plan, route_lines
from unfasten.report.model.score import Band, Border
from unfasten.report.model.span import Span
from unfasten.report.model.structure import CoverLine, Node, Structure


def plan_of(drawing: Structure) -> tuple[Plan, tuple[CoverLine, ...]]:
    covers = reduced(drawing.covers, [node.part for node in drawing.nodes])
    return route_lines(places(drawing, covers), covers, 30.0), covers


def test_depth_chart_shows_every_part_once() -> None:
    report = tarn_report()
    drawn = re.findall(r'data-part="([a-z0-9-]+)"', depth_figure(report.depth))
    assert drawn == [row.part for row in report.depth.rows]
    assert len(set(drawn)) == len(drawn) == 51


def test_depth_chart_hatches_exactly_the_open_parts() -> None:
    report = tarn_report()
    rows = re.findall(r'<g class="(?:prime|plain)" data-part="([a-z0-9-]+)">(.*?)</g>', depth_figure(report.depth))
    hatched_parts = {part for part, body in rows if 'class="open"' in body}
    assert hatched_parts == {row.part for row in report.depth.rows if row.steps.open}
    assert hatched_parts


def test_depth_chart_says_that_a_part_cannot_be_reached() -> None:
    figure = depth_figure(bench_report().depth)
    row = next(body for body in figure.split("<g ") if 'data-part="buried"' in body)
    assert "not reachable" in row
    assert "known" not in row


@pytest.mark.parametrize("report", [tarn_report, bench_report], ids=["tarn-11", "bench"])
def test_boxes_of_the_structure_do_not_meet(report: object) -> None:
    plan, _ = plan_of(report().structure)  # type: ignore[operator]
    for one, other in combinations(plan.left, 2):
        apart_x = (
            plan.left[one] + plan.width[one] < plan.left[other] or plan.left[other] + plan.width[other] < plan.left[one]
        )
        assert apart_x or abs(plan.top[one] - plan.top[other]) > BOX_HEIGHT, (one, other)
    assert all(plan.left[name] > 0 and plan.left[name] + plan.width[name] < WIDTH for name in plan.left)


@pytest.mark.parametrize("report", [tarn_report, bench_report], ids=["tarn-11", "bench"])
def test_cover_lines_are_orthogonal_go_down_and_cross_no_box(report: object) -> None:
    plan, _ = plan_of(report().structure)  # type: ignore[operator]
    for cover, points in plan.lines:
        assert points[0][1] == plan.top[cover.upper] + BOX_HEIGHT
        assert points[-1][1] == plan.top[cover.lower]
        assert points[0][1] < points[-1][1]
        for (x1, y1), (x2, y2) in pairwise(points):
            assert x1 == x2 or y1 == y2
            for name in plan.left:
                assert not crosses(plan, name, min(x1, x2), max(x1, x2), min(y1, y2), max(y1, y2)), (cover, name)


def crosses(plan: Plan, name: str, left: float, right: float, top: float, bottom: float) -> bool:
    inside_x = right > plan.left[name] and left < plan.left[name] + plan.width[name]
    return inside_x and bottom > plan.top[name] and top < plan.top[name] + BOX_HEIGHT


def test_implied_covers_and_circles_are_left_out() -> None:
    lines = [CoverLine(a, b, "listed") for a, b in ("ab", "bc", "ac", "ca")]
    assert [(line.upper, line.lower) for line in reduced(lines, ["a", "b", "c"])] == [("a", "b"), ("b", "c")]


def test_parts_that_cover_each_other_still_get_drawn() -> None:
    nodes = tuple(Node(name, name, "1", False, 0, (name,)) for name in "ab")
    covers = (CoverLine("a", "b", "either"), CoverLine("b", "a", "either"))
    figure = structure_figure(Structure("frame", nodes, covers, (), "a", "a"))
    assert figure.count('class="box"') == 3


def test_structure_of_many_parts_splits_its_layers() -> None:
    nodes = tuple(Node(f"p{n}", f"p{n}", "2", False, 1, (f"p{n}",)) for n in range(61))
    covers = tuple(CoverLine("p0", f"p{n}", "listed") for n in range(1, 61))
    plan, _ = plan_of(Structure("frame", nodes, covers, (), "p1", "p1"))
    assert len(set(plan.top.values())) == 7


def test_structure_marks_the_route_of_the_chosen_part() -> None:
    report = tarn_report()
    marked = set(re.findall(r'<g class="node [a-z]+ on" data-part="([a-z0-9-]+)"', structure_figure(report.structure)))
    assert marked == set(next(node.route for node in report.structure.nodes if node.part == "battery"))


def band(low: str, high: str) -> Band:
    text_ = low if low == high else f"{low}–{high}"
    span = Span(Decimal(low), Decimal(high), text_, low != high)
    return Band(span, Decimal(1), Decimal(5), (Border("B", Decimal(1)), Border("A", Decimal(3))), "A", "open")


def test_index_band_is_solid_to_low_and_hatched_to_high() -> None:
    figure = index_band(band("2.00", "4.00"))
    assert 'width="150" height="14" class="known"' in figure  # a quarter of 600
    assert figure.count('class="open"') == 1
    assert 'class="open"' not in index_band(band("2.00", "2.00"))


def test_small_band_of_a_withheld_score_is_empty() -> None:
    assert "known" not in small_band(Span(None, None, "withheld", False))


def test_hatching_stays_inside_its_rectangle() -> None:
    numbers = [(float(x), float(y)) for x, y in re.findall(r"[ML](-?[\d.]+) (-?[\d.]+)", hatched(10, 20, 33, 7))]
    assert numbers
    assert all(10 <= x <= 43 and 20 <= y <= 27 for x, y in numbers)


def test_texts_and_attributes_are_escaped() -> None:
    assert text(0, 0, "<b>&") == '<text x="0" y="0">&lt;b&gt;&amp;</text>'
    assert element("g", cls='a"b') == '<g class="a&quot;b"/>'


@pytest.mark.parametrize(
    ("name", "lines"),
    [
        ("Battery", ["Battery"]),
        ("Rear camera bracket", ["Rear camera", "bracket"]),
        ("Hauptbetriebswerkbau", ["Hauptbetriebsw…"]),
        ("one two three four five six seven eight nine", ["one two three", "four five six …"]),
        ("", [""]),
    ],
)
def test_names_take_two_lines_at_most(name: str, lines: list[str]) -> None:
    assert two_lines(name) == lines
