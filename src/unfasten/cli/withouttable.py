"""Plain-text form of the answer to "could you not have reached it without ...?"."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace

from unfasten.cli.routetable import aligned, caution_lines, route_lines, span, stops
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.result import Route
from unfasten.routes.without import Side
from unfasten.service.askwords import question_text
from unfasten.service.report_words import part_name
from unfasten.service.why import saving_words
from unfasten.service.without import Answer, question_command
from unfasten.service.withoutwords import action_words, difference, doing

_WIDE = 100


def without_lines(record: Record, answer: Answer, path: str) -> list[str]:
    """Answer, figures of both worlds, proof or route, costs and questions."""
    folded, found = fold_log(record), answer.found
    target = found.reach.target
    lines = [f"{part_name(folded, target)}, {folded.product.name}: without {doing(folded, found.things)}?", ""]
    if stops(record):
        lines += caution_lines(record, ())
    lines += textwrap.wrap(answer.headline, _WIDE)
    if found.low.best is None:
        return lines
    lines += ["", *_figures(answer)]
    if not found.proven:
        lines.append("A search was not finished: the costs are those of the best routes found.")
    if found.reach.additions.high:
        lines.append(f"On top of each: {found.reach.additions} steps for pairing.")
    lines += _proof(answer)
    if stops(record):
        return lines
    lines += _listed("Done instead", answer.instead) + _listed("No longer done", answer.spared)
    if answer.shown is not None and found.verdict in ("choice", "open") and any(answer.instead or answer.spared):
        lines += ["", f"The way without {doing(folded, found.things)}"]
        reach = replace(found.reach, low=answer.shown, high=answer.shown)
        lines += [f"  {line}".rstrip() for line in route_lines(record, reach)]
    if found.verdict == "spared":
        lines += ["", f"That way, action by action: unfasten routes {path} --to {target}"]
    lines += _costs(folded, answer)
    lines += _questions(folded, answer, path)
    return [*lines, *(["", answer.filmed] if answer.filmed else [])]


def _figures(answer: Answer) -> list[str]:
    found = answer.found
    sides = [("if no open cover is real", found.low), ("if all open covers are real", found.high)]
    if found.low == found.high or not found.unknown:
        sides = [("", found.low)]
    rows = [("", "shortest", "without it", "costs")]
    rows += [(case, _route(side.best), _route(side.route), _more(side)) for case, side in sides]
    lines = aligned(rows if len(rows) > 2 else [row[1:] for row in rows])
    return [f"  {line}" for line in lines]


def _route(route: Route | None) -> str:
    if route is None:
        return "no route"
    text = f"{route.steps} step{'' if route.steps == 1 else 's'}, {float(route.time):.1f} s"
    return text + ("" if route.proven else f" (not proven: at least {span(route.bound, route.bound)})")


def _more(side: Side) -> str:
    if side.best is None:
        return "-"
    return difference(*side.more) if side.more is not None else "it cannot be spared"


def _proof(answer: Answer) -> list[str]:
    if not answer.chain:
        return []
    case = ", if every open cover is real" if answer.chain_of == "high" and answer.found.unknown else ""
    end = "Each waits for the next, so none of them can be the first." if len(answer.chain) > 1 else ""
    lines = ["", f"Why there is no other way{case}", *(f"  {sentence}" for sentence in answer.chain)]
    return lines + ([f"  {end}"] if end else [])


def _listed(title: str, texts: Sequence[str]) -> list[str]:
    if not texts:
        return []
    return ["", title, *textwrap.wrap(", ".join(texts), _WIDE, initial_indent="  ", subsequent_indent="  ")]


def _costs(record: Record, answer: Answer) -> list[str]:
    lines: list[str] = []
    for one in answer.moves:
        saved = difference(-one.steps, -one.time)
        text = "nothing would be saved" if saved == "nothing more" else f"the route would take {saved}"
        lines.append(f"  {action_words(record, one.action)}: if it were in nothing's way, {text}")
    if lines:
        lines = ["", "What it costs on the shortest way", *lines]
    if answer.holes:
        rows = [("change", "steps", "time [s]")]
        rows += [(saving_words(record, one), str(one.steps), f"{float(one.time):.1f}") for one in answer.holes[:6]]
        lines += ["", "An access hole would save", *(f"  {line}" for line in aligned(rows))]
    elif any(one.steps > 0 or one.time > 0 for one in answer.moves):
        lines += ["", "One access hole alone would save nothing."]
    return lines


def _questions(record: Record, answer: Answer, path: str) -> Iterator[str]:
    if answer.questions:
        yield ""
        yield "It rests on what is not known for sure. Ask, and enter the answer:"
    for cover in answer.questions:
        yield f"  {question_text(record, cover)}"
        yield f"    {question_command(path, cover)}"
