"""An assessment as plain text: the index, every point down to the joint, tool or fact, what is open, the readings."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from unfasten.evidence.interval import Interval, decimal_text, short_text
from unfasten.evidence.parameter import Figure
from unfasten.rules.assessment import Assessment
from unfasten.rules.node import Node

WIDTH = 118
_BRANCH, _LAST, _STEM, _GAP = "├─ ", "└─ ", "│  ", "   "


def explain(answer: Assessment, product: str) -> list[str]:
    """Lines of text; a figure that is open is written low to high."""
    head = [product, f"{answer.title} ({answer.rules}), on {answer.on}"]
    if not answer.applies or answer.index is None:
        return [*head, *textwrap.wrap(f"The rules do not apply: {answer.reason}.", WIDTH)]
    return [
        *head,
        "",
        *_index_lines(answer),
        "",
        *_tree(answer.index),
        *_open_lines(answer),
        *_off_scale_lines(answer),
        *_reading_lines(answer),
        *_source_lines(answer),
    ]


def _index_lines(answer: Assessment) -> list[str]:
    if answer.points is None or answer.grade is None:
        return [f"R  withheld: {answer.reason}"]
    state = "" if answer.points.is_known else "   (open: see below)"
    out = [f"R  {answer.points}   class {answer.grade}{state}", *(f"   {text}" for text in answer.grade.reasons)]
    return out + [f"{name:<5} {_figure(node.interval):<14} {node.title}" for name, node in answer.scores.items()]


def _tree(index: Node) -> list[str]:
    out = [f"R {_figure(index.interval)}: {'; '.join(index.reasons)}"]
    for number, score in enumerate(index.children):
        out += _branch(score, f"{score.id}  {score.title}", "", number == len(index.children) - 1)
    return out


def _branch(node: Node, name: str, stem: str, last: bool) -> list[str]:
    weight = "" if node.weight is None else f"  x {short_text(node.weight)}"
    out = [f"{stem}{_LAST if last else _BRANCH}{name}  {_figure(node.interval)}{weight}"]
    below = stem + (_GAP if last else _STEM)
    leaves = [child for child in node.children if _is_leaf(child)]
    inner = [child for child in node.children if not _is_leaf(child)]
    for text in [*_texts(node), *_leaf_texts(leaves)]:
        out += _wrapped(text, below + (_STEM if inner else _GAP))
    for number, child in enumerate(inner):
        shown, title = _folded(child)
        out += _branch(shown, title, below, number == len(inner) - 1)
    return out


def _folded(node: Node) -> tuple[Node, str]:
    """A priority part with one part is shown as one branch."""
    if node.weight is None or len(node.children) != 1:
        return node, node.title
    only = node.children[0]
    title = node.title if only.title == node.title else f"{node.title} ({only.title})"
    folded = Node(node.id, title, node.interval, (*node.reasons, *only.reasons), only.children, node.weight,
                  (*node.uses, *only.uses), (*node.facts, *only.facts), (*node.remarks, *only.remarks))  # fmt: skip
    return folded, title


def _is_leaf(node: Node) -> bool:
    return node.id.startswith(("joints.", "tools."))


def _texts(node: Node) -> Iterator[str]:
    """The sentences of a node, then the facts it rests on."""
    yield from node.reasons
    for fact in node.facts:
        yield f"[{fact.at}: {fact.says} ({fact.origin})]"


def _leaf_texts(leaves: list[Node]) -> Iterator[str]:
    """Joints or tools by their points and level, the deciding ones first."""
    groups: dict[tuple[str, str], list[str]] = {}
    ranked = sorted(leaves, key=lambda leaf: leaf.interval.low if leaf.interval else 0)
    for leaf in ranked:
        level, more = leaf.reasons[0], "; ".join(leaf.reasons[1:])
        groups.setdefault((_figure(leaf.interval), level), []).append(f"{leaf.title} ({more})" if more else leaf.title)
    for (figure, level), names in groups.items():
        yield f"{figure} {level}: {', '.join(names)}"


def _figure(points: Interval | None) -> str:
    return "withheld" if points is None else str(points)


def _wrapped(text: str, stem: str) -> list[str]:
    lines = textwrap.wrap(text, max(WIDTH - len(stem), 40), break_long_words=False, break_on_hyphens=False)
    return [stem + line if not number else f"{stem}  {line}" for number, line in enumerate(lines)]


def _open_lines(answer: Assessment) -> list[str]:
    if not answer.open:
        return ["", "Open: nothing."]
    out = ["", "Open, widest effect on the index first:"]
    for item in answer.open:
        out.append(f"- {item.what}  [{item.where}]")
        text = (
            f"{', '.join(item.points_of)}: {item.could_be} points; the index moves by up to {decimal_text(item.moves)}"
        )
        out += _wrapped(text, "  ")
    return out


def _off_scale_lines(answer: Assessment) -> list[str]:
    if not answer.off_scale:
        return []
    return ["", "Off the scale of the law:", *(f"- {i.what}  [{i.where}], {i.score}" for i in answer.off_scale)]


def _reading_lines(answer: Assessment) -> list[str]:
    out = ["", "Readings taken (change one with --reading NAME=OPTION):"]
    for taken in answer.readings:
        out += _wrapped(f"- {taken.id}={taken.chosen}: {taken.meaning}", "")
        out += [f"  {effect.text}" for effect in taken.effects]
    return out


def _source_lines(answer: Assessment) -> list[str]:
    """The figures used with their places; joints and tools carry their facts at fixed places of the record."""
    nodes = answer.index.walk() if answer.index else ()
    used: dict[str, Figure] = {figure.id: figure for node in nodes for figure in node.uses}
    used |= {figure.id: figure for figure in (answer.grade.uses if answer.grade else ())}
    out = ["", "Facts of joints stand at joints.ID.reuse, of tools at tools.ID.class (seen). Figures used:"]
    for name, figure in sorted(used.items()):
        out.append(f"- {name}: {figure.cite}; since {figure.since}, confidence {figure.confidence}")
    return out if answer.note is None else [*out, "", *textwrap.wrap(answer.note, WIDTH)]
