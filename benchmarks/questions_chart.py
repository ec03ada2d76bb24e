"""Table and chart of the simulation of questions: an SVG of our own in the look of a technical drawing."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from statistics import mean

Result = tuple[str, dict[str, float], dict[str, float], dict[str, int]]

#: Okabe and Ito's palette, which people with any colour vision can tell apart
COLOURS = ("#999999", "#56b4e9", "#e69f00", "#f0e442", "#009e73", "#0072b2")
INK = "#1a1a1a"
LEFT, TOP, BAR, GAP, WIDE = 250, 58, 13, 22, 520


def tables(cells: Sequence[str], results: Sequence[Result], steps: Sequence[str], grades: Sequence[str]) -> str:
    """Both tables in Markdown: shares of all pairs asked, means over the products of a cell."""
    out = [
        "Until the steps of every priority part are exact:\n",
        *_head(["operations, known at the start", "products", "pairs", "open", *steps]),
    ]
    for cell in cells:
        rows = [r for r in results if r[0] == cell]
        out.append(_row([cell, *_sizes(rows), *(_share([r[1][name] for r in rows]) for name in steps)]))
    out += ["", "Until the class is settled, over the products whose class is open at the start:\n"]
    out += _head(["operations, known at the start", "open at the start", *grades, "class not that of the truth"])
    for cell in cells:
        rows = [r for r in results if r[0] == cell]
        some = [r for r in rows if r[2]]
        shares = [_share([r[2][name] for r in some]) if some else "-" for name in grades]
        wrong, games = sum(r[3]["wrong"] for r in some), len(some) * (len(grades) - 1)
        out.append(_row([cell, f"{len(some)} of {len(rows)}", *shares, f"{wrong} of {games} games"]))
    return "\n".join(out)


def _sizes(rows: Sequence[Result]) -> list[str]:
    return [f"{len(rows)}", *(f"{mean(r[3][key] for r in rows):.0f}" for key in ("pairs", "open"))]


def _share(values: Sequence[float]) -> str:
    return f"{100 * mean(values):.1f} %"


def _head(names: Sequence[str]) -> list[str]:
    return [_row(names), _row(["---", *("---:" for _ in names[1:])])]


def _row(values: Sequence[str]) -> str:
    return f"| {' | '.join(values)} |"


def chart(cells: Sequence[str], results: Sequence[Result], steps: Sequence[str], least: str) -> str:
    """Bars: share of all pairs asked, by cell and strategy; thin lines from the least to the most of a cell."""
    block = BAR * len(steps) + GAP
    height = TOP + block * len(cells) + 60
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {LEFT + WIDE + 90} {height}" '
        f'font-family="sans-serif" font-size="11" fill="{INK}" role="img" aria-label="Share of all pairs asked">',
        f'<rect width="100%" height="100%" fill="#ffffff"/><rect x="6" y="6" width="{LEFT + WIDE + 78}" '
        f'height="{height - 12}" fill="none" stroke="{INK}" stroke-width="0.7"/>',
        '<text x="20" y="28" font-size="13" font-weight="bold">Questions until every priority part is exact</text>',
        '<text x="20" y="45">share of all pairs of way and part asked; bar: mean over the products, line: '
        "least to most; dashed: no strategy can do with fewer</text>",
    ]
    bottom = TOP + block * len(cells)
    for percent in range(0, 101, 10):
        x = LEFT + WIDE * percent / 100
        out.append(f'<path d="M{x:.1f} {TOP}V{bottom}" stroke="{INK}" stroke-width="0.25"/>')
        out.append(f'<text x="{x:.1f}" y="{bottom + 14}" text-anchor="middle">{percent} %</text>')
    for number, cell in enumerate(cells):
        rows = [r for r in results if r[0] == cell]
        y = TOP + block * number + GAP / 2
        out += _label(cell, y + BAR * len(steps) / 2)
        for index, name in enumerate(steps):
            out += _bar([r[1][name] for r in rows], y + BAR * index, COLOURS[index % len(COLOURS)])
        x = LEFT + WIDE * mean(r[1][least] for r in rows)
        out.append(
            f'<path d="M{x:.1f} {y - 3:.1f}v{BAR * (len(steps) - 1) + 3}" stroke="{INK}" stroke-dasharray="4 2"/>'
        )
    out += _legend(steps, bottom + 36)
    return "\n".join([*out, "</svg>", ""])


def _label(cell: str, y: float) -> list[str]:
    size, _, known = cell.partition(", ")
    known = "none known" if known == "none" else known
    return [
        f'<text x="{LEFT - 10}" y="{y - 2:.1f}" text-anchor="end" font-weight="bold">{escape(size)} operations</text>',
        f'<text x="{LEFT - 10}" y="{y + 11:.1f}" text-anchor="end" font-size="9.5">{escape(known)}</text>',
    ]


def _bar(values: Sequence[float], y: float, colour: str) -> list[str]:
    low, middle, high = (LEFT + WIDE * v for v in (min(values), mean(values), max(values)))
    line = y + BAR / 2
    return [
        f'<rect x="{LEFT}" y="{y + 1:.1f}" width="{middle - LEFT:.1f}" height="{BAR - 3}" fill="{colour}" '
        f'stroke="{INK}" stroke-width="0.5"/>',
        f'<path d="M{low:.1f} {line:.1f}H{high:.1f}M{low:.1f} {line - 3:.1f}v6M{high:.1f} {line - 3:.1f}v6" '
        f'stroke="{INK}" stroke-width="0.7"/>',
        f'<text x="{high + 5:.1f}" y="{line + 3.5:.1f}" font-size="9.5">{100 * mean(values):.1f}</text>',
    ]


def _legend(steps: Sequence[str], y: float) -> list[str]:
    out, x = [], 20
    for index, name in enumerate(steps):
        out.append(
            f'<rect x="{x}" y="{y - 9}" width="12" height="10" fill="{COLOURS[index]}" '
            f'stroke="{INK}" stroke-width="0.5"/>'
        )
        out.append(f'<text x="{x + 17}" y="{y}">{escape(name)}</text>')
        x += 24 + round(5.7 * len(name))
    return out
