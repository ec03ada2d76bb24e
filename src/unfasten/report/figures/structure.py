"""The structure drawing: boxes in layers, orthogonal lines for covers, plain lines for joints."""

from __future__ import annotations

from html import escape
from typing import Final

from unfasten.report.figures.layers import places, reduced
from unfasten.report.figures.svg import drawing, element, line, rect, text
from unfasten.report.figures.tracks import BOX_HEIGHT, MARGIN, WIDTH, Plan, route_lines
from unfasten.report.model.structure import CoverLine, HoldLine, Node, Structure

TOP: Final = 30.0
LINE: Final = 15
KINDS: Final = {"listed": "", "either": " either", "open": " maybe"}


def structure_figure(structure: Structure, style: str = "") -> str:
    """Draw the structure; the route of the chosen part is marked."""
    covers = reduced(structure.covers, [node.part for node in structure.nodes])
    plan = route_lines(places(structure, covers), covers, TOP)
    route = next((set(node.route) for node in structure.nodes if node.part == structure.chosen), set())
    body = [_surface()]
    body += [_hold(plan, hold, route) for hold in structure.holds]
    lines = sorted(plan.lines, key=lambda item: _marked(item[0].upper, item[0].lower, route))
    body += [_cover(cover, points, route) for cover, points in lines]
    body += [_box(plan, node, route) for node in structure.nodes]
    body.append(_frame(structure, plan))
    label = (
        f"Structure of {len(structure.nodes)} parts in layers from the surface down; "
        f"the route to {structure.chosen_name} is marked. The operation sheets say the same in words."
    )
    body.append(_legend(structure, plan.height + 48))
    return drawing(WIDTH, plan.height + 58, "".join(body), label, style)


def _surface() -> str:
    return line(MARGIN, 14, WIDTH - MARGIN, 14, "thick") + text(WIDTH - MARGIN, 9.5, "surface", "small soft", "end")


def _frame(structure: Structure, plan: Plan) -> str:
    y = plan.height + 2
    ground = "".join(line(x, y + 22, x - 6, y + 29, "hair") for x in _steps(MARGIN + 8, WIDTH - MARGIN, 9))
    name = text(WIDTH / 2, y + 15, f"{structure.frame} (stays)", "strong", "middle")
    return rect(MARGIN, y, WIDTH - 2 * MARGIN, 22, "box") + name + ground


def _legend(structure: Structure, y: float) -> str:
    """Say in one line what the lines and marks mean."""
    samples = (
        ("cover", "covers"),
        ("cover either", "one of several covers suffices"),
        ("cover maybe", "may cover: open"),
    )
    x, parts = MARGIN, []
    for cls, words in samples:
        parts += [
            line(x, y - 3, x + 30, y - 3, cls),
            element("path", d=f"M{x + 34:.1f} {y - 3:.1f}l-6 -2.6v5.2z", cls="tip"),
        ]
        parts.append(text(x + 40, y, words, "small soft"))
        x += 62 + 5.2 * len(words)
    parts += [line(x, y - 3, x + 30, y - 3, "hold"), text(x + 38, y, "joined (2×: by two fasteners)", "small soft")]
    x += 200
    parts += [_ground(x, y - 7, 4), text(x + 34, y, f"fixed to {structure.frame} by 4 fasteners", "small soft")]
    x += 70 + 5.2 * len(f"fixed to {structure.frame} by 4 fasteners")
    parts.append(text(x, y, "bold: named by the rules", "small strong"))
    parts.append(
        text(
            WIDTH - MARGIN,
            y,
            f"number in the box: steps; marked: route to {structure.chosen_name}",
            "small soft",
            "end",
        )
    )
    return element("g", "".join(parts), cls="legend")


def _steps(start: float, stop: float, step: float) -> list[float]:
    return [start + step * number for number in range(int((stop - start) / step) + 1)]


def _marked(one: str, other: str, route: set[str]) -> bool:
    return one in route and other in route


def _on(marked: bool) -> str:
    return " on" if marked else ""


def _hold(plan: Plan, hold: HoldLine, route: set[str]) -> str:
    ends = _ends(plan, hold.one, hold.other)
    (x1, y1), (x2, y2) = ends
    on = _on(_marked(hold.one, hold.other, route))
    parts = [element("path", d=f"M{x1:.1f} {y1:.1f}L{x2:.1f} {y2:.1f}", cls=f"hold{on}")]
    parts += [element("circle", cx=x, cy=y, r=1.6, cls=f"dot{on}") for x, y in ends]
    if hold.count > 1:
        length = max(((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5, 1.0)
        away = min(16.0, length / 2) / length
        parts.append(
            text(x1 + (x2 - x1) * away, y1 + (y2 - y1) * away + 2.5, f"{hold.count}×", "tiny soft halo", "middle")
        )
    return element("g", "".join(parts), cls="joint", data_a=hold.one, data_b=hold.other)


def _ends(plan: Plan, one: str, other: str) -> tuple[tuple[float, float], tuple[float, float]]:
    """Points where the straight line between two boxes leaves the one and meets the other."""
    a, b = _middle(plan, one), _middle(plan, other)
    if plan.width[one] > plan.width[other]:
        a = (min(max(b[0], plan.left[one]), plan.left[one] + plan.width[one]), a[1])
    if plan.width[other] > plan.width[one]:
        b = (min(max(a[0], plan.left[other]), plan.left[other] + plan.width[other]), b[1])
    return _edge(plan, one, a, b), _edge(plan, other, b, a)


def _middle(plan: Plan, part: str) -> tuple[float, float]:
    return plan.left[part] + plan.width[part] / 2, plan.top[part] + BOX_HEIGHT / 2


def _edge(plan: Plan, part: str, inside: tuple[float, float], outside: tuple[float, float]) -> tuple[float, float]:
    dx, dy = outside[0] - inside[0], outside[1] - inside[1]
    half = plan.left[part] + plan.width[part] - inside[0] if dx > 0 else inside[0] - plan.left[part]
    share = min(half / abs(dx) if dx else 1.0, BOX_HEIGHT / 2 / abs(dy) if dy else 1.0, 1.0)
    return inside[0] + share * dx, inside[1] + share * dy


def _cover(cover: CoverLine, points: tuple[tuple[float, float], ...], route: set[str]) -> str:
    on = _on(_marked(cover.upper, cover.lower, route))
    path = "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    x, y = points[-1]
    tip = f"M{x:.1f} {y:.1f}l-2.6 -5.4h5.2z"
    ends = {"data_a": cover.upper, "data_b": cover.lower}
    return element("path", d=path, cls=f"cover{KINDS[cover.kind]}{on}", **ends) + element(
        "path", d=tip, cls=f"tip{on}", **ends
    )


def _box(plan: Plan, node: Node, route: set[str]) -> str:
    x, y = plan.left[node.part], plan.top[node.part]
    width = plan.width[node.part]
    words = [node.name] if width > 3 * LINE * 6 else two_lines(node.name)
    cls = "strong small" if node.priority else "small"
    base = y + 13.0
    parts = [element("title", escape(f"{node.name}: {node.steps} steps")), rect(x, y, width, BOX_HEIGHT, "box")]
    parts += [text(x + 5, base + 11 * number, word, cls) for number, word in enumerate(words)]
    parts.append(text(x + width - 4, y + BOX_HEIGHT - 4, node.steps, "tiny", "end"))
    if node.fixed:
        parts.append(_ground(x, y + BOX_HEIGHT, node.fixed))
    marks = f"node {'prime' if node.priority else 'plain'}{_on(node.part in route)}"
    return element("g", "".join(parts), cls=marks, data_part=node.part, data_route=" ".join(node.route))


def _ground(x: float, y: float, count: int) -> str:
    """Draw the mark of a fixed support under the left end of a box, with the number of fasteners."""
    strokes = "".join(f"M{x + dx:.1f} {y:.1f}l-3 4" for dx in (5, 9, 13, 17))
    return element("path", d=strokes, cls="hair") + text(x + 20, y + 6.5, str(count), "tiny soft")


def two_lines(name: str) -> list[str]:
    """Break a name into at most two lines of at most 15 characters, cut with an ellipsis where it is longer."""
    lines = [""]
    for word in name.split(" "):
        candidate = f"{lines[-1]} {word}".strip()
        if len(candidate) <= LINE:
            lines[-1] = candidate
        else:
            lines.append(word)
    lines = [part for part in lines if part] or [""]
    if len(lines) > 2:
        lines = [lines[0], " ".join(lines[1:])]
    return [part if len(part) <= LINE else part[: LINE - 1] + "…" for part in lines]
