"""Draw the families of docs/routes.md, each with the route that the program proves.

`python docs/make_families.py` writes docs/pictures/family-*.svg; with `--check` it writes nothing and exits with 1 if
one is out of date.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path

from unfasten.record.record import Record
from unfasten.report.figures.svg import PAPER, drawing, element, line, rect, text
from unfasten.routes.checkmodels import chain, layers, orders, star
from unfasten.routes.solve import solve

PICTURES = Path(__file__).parent / "pictures"
WIDTH, TOP, BOX_W, BOX_H, ROW = 460.0, 46.0, 66.0, 28.0, 48.0
Places = dict[str, tuple[float, float]]


def family(title: str, record: Record, target: str, places: Places) -> str:
    """A section through a product: the surface above, every part with its steps, the target drawn heavy."""
    reaches = solve(record)
    route = reaches[target].low
    if route is None or not route.proven:
        raise AssertionError(f"{title}: no proven route")
    lifted = [action.part for action in route.actions if action.do == "lift"]
    body = [line(12, TOP - 14, WIDTH - 12, TOP - 14, "thick"), text(14, TOP - 20, "surface", "small soft")]
    for joint in record.joints.values():
        part = joint.holds[0]
        body += [_arrow(places[cover], places[part]) for clause in joint.ways[0].under for cover in clause]
    for name, place in places.items():
        turn = f"{lifted.index(name) + 1}." if name in lifted else "–"
        body.append(_box(name, place, f"{turn} depth {reaches[name].steps_low}", name == target))
    bottom = max(y for _, y in places.values()) + BOX_H + 18
    facts = f"{target}: {route.steps} steps, {route.time} s, proven"
    return _sheet(title, facts, bottom, body)


def _box(name: str, place: tuple[float, float], words: str, prime: bool) -> str:
    x, y = place
    inside = rect(x, y, BOX_W, BOX_H, "box")
    inside += text(x + BOX_W / 2, y + (12 if words else 18), name, "small", "middle") + text(
        x + BOX_W / 2, y + 23, words, "mono", "middle"
    )
    return element("g", inside, cls="prime" if prime else "")


def _arrow(start: tuple[float, float], end: tuple[float, float]) -> str:
    x1, y1 = start[0] + BOX_W / 2, start[1] + BOX_H
    x2, y2 = end[0] + BOX_W / 2, end[1]
    tip = element("path", d=f"M{x2:.1f} {y2:.1f}l-2.5 -5h5z", cls="tip")
    return line(x1, y1, x2, y2 - 4, "cover") + tip


def _sheet(title: str, facts: str, bottom: float, body: list[str]) -> str:
    """Frame and title block round a drawing."""
    height = bottom + 34
    frame = [
        rect(0.5, 0.5, WIDTH - 1, height - 1, "line"),
        line(0, bottom, WIDTH, bottom),
        line(WIDTH * 0.36, bottom, WIDTH * 0.36, height),
        text(10, bottom + 21, title, "strong"),
        text(WIDTH * 0.36 + 10, bottom + 21, facts, "mono"),
    ]
    paper = element("style", "svg{background:#fff}")
    return drawing(WIDTH, height, paper + "".join([*body, *frame]), f"{title}. {facts}", PAPER) + "\n"


def _row(names: list[str], y: float) -> Places:
    gap = (WIDTH - BOX_W * len(names)) / (len(names) + 1)
    return {name: (gap + place * (BOX_W + gap), y) for place, name in enumerate(names)}


def pen() -> str:
    """The five connections of the pen with the two rules."""
    rules = [(3, 4), (1, 5)]
    places = {1: (66.0, TOP), 3: (200.0, TOP), 2: (330.0, TOP), 5: (66.0, TOP + ROW), 4: (200.0, TOP + ROW)}
    body = [_arrow(places[first], places[second]) for first, second in rules]
    body += [_box(f"connection {n}", place, "", prime=False) for n, place in places.items()]
    found, every = orders(5, rules), orders(5, [])
    return _sheet("Pen", f"{found} of {every} orders are legal", TOP + ROW + BOX_H + 18, body)


def figures() -> Mapping[str, str]:
    """Every drawing by the name of its file."""
    diagonal = {f"part-{n}": (22.0 + 70 * (n - 1), TOP + 36 * (n - 1)) for n in range(1, 7)}
    arms = [f"arm-{n}" for n in range(1, 6)]
    rows = [[f"part-{layer}-{place}" for place in range(1, 4)] for layer in range(1, 4)]
    grid: Places = {}
    for number, row in enumerate(rows):
        grid |= _row(row, TOP + 58 * number)
    return {
        "family-chain.svg": family("Chain", chain(6), "part-6", diagonal),
        "family-star.svg": family("Star", star(5), "hub", _row(arms, TOP) | _row(["hub"], TOP + 60)),
        "family-layers.svg": family("Layers", layers(3, 3), "part-3-2", grid),
        "family-pen.svg": pen(),
    }


def main() -> None:
    """Write or check."""
    old = []
    for name, drawn in figures().items():
        path = PICTURES / name
        if "--check" in sys.argv[1:]:
            old += [name] if not path.exists() or path.read_text("utf-8") != drawn else []
        else:
            path.write_text(drawn, "utf-8")
    if old:
        sys.exit(f"out of date: {', '.join(old)}; run python docs/make_families.py")


if __name__ == "__main__":
    main()
