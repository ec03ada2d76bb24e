"""Structure drawing of a report: which part covers which, and which parts are held together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.record.types import Cover
from unfasten.report.model.structure import CoverLine, HoldLine, Node, Structure
from unfasten.routes.reasons import covers_of, moved_parts
from unfasten.routes.result import Reach
from unfasten.routes.unknown import Unknown
from unfasten.service.report_routes import shown_route
from unfasten.service.report_words import part_name, steps_span

_RANK = {"listed": 0, "either": 1, "open": 2}


def structure(record: Record, unknown: Unknown, reaches: Mapping[str, Reach]) -> Structure:
    """Give the drawing of all parts but the one that stays; the first battery's route is marked."""
    chosen = _chosen(record, reaches)
    nodes = tuple(_node(record, reach) for reach in reaches.values())
    return Structure(
        frame=part_name(record, record.frame),
        nodes=nodes,
        covers=_covers(record, unknown, reaches),
        holds=_holds(record),
        chosen=chosen,
        chosen_name=part_name(record, chosen) if chosen else "",
    )


def _chosen(record: Record, reaches: Mapping[str, Reach]) -> str:
    wanted = [name for name in reaches if record.parts[name].role == "battery"]
    return next(iter([*wanted, *reaches]), "")


def _node(record: Record, reach: Reach) -> Node:
    part = record.parts[reach.target]
    route = shown_route(reach)
    moved = [name for action in (route.actions if route else ()) for name in moved_parts(record, action)]
    fixed = sum(joint.count for joint in record.joints.values() if {reach.target, record.frame} <= set(joint.holds))
    return Node(
        part=reach.target,
        name=part_name(record, reach.target),
        steps=steps_span(reach).text,
        priority=part.role not in (None, "other"),
        fixed=fixed,
        route=tuple(dict.fromkeys([*moved, reach.target])),
    )


def _covers(record: Record, unknown: Unknown, reaches: Mapping[str, Reach]) -> tuple[CoverLine, ...]:
    kinds: dict[tuple[str, str], str] = {}
    carried = [name for name in record.parts if _meets_frame(record, name)]
    for joint in record.joints.values():
        for way in joint.ways:
            if any(record.frame in clause for clause in way.under):
                _note_underside(kinds, way.under, joint.holds, carried)
            else:
                _note(kinds, way.under, joint.holds)
    for name, part in record.parts.items():
        _note(kinds, lift_of(part).behind, (name,))
    for upper, lower in _open(record, unknown, reaches):
        kinds.setdefault((upper, lower), "open")
    return tuple(
        CoverLine(upper, lower, kind)
        for (upper, lower), kind in kinds.items()
        if record.frame not in (upper, lower) and upper != lower
    )


def _meets_frame(record: Record, part: str) -> bool:
    return any({part, record.frame} <= set(joint.holds) for joint in record.joints.values())


def _note_underside(
    kinds: dict[tuple[str, str], str], clauses: Iterable[Cover], held: Iterable[str], carried: list[str]
) -> None:
    """A joint that the part which stays covers sits on the underside of the held part that is fixed to the frame."""
    carriers = [name for name in held if name in carried]
    rest = [name for name in held if name not in carried]
    _note(kinds, [*clauses, *((name,) for name in carriers)], rest)


def _note(kinds: dict[tuple[str, str], str], clauses: Iterable[Cover], held: Iterable[str]) -> None:
    held = tuple(held)
    for clause in clauses:
        for upper in clause:
            for lower in held:
                if upper in held:
                    continue
                kind = "listed" if len(clause) == 1 else "either"
                kinds[upper, lower] = min(kind, kinds.get((upper, lower), "open"), key=_RANK.__getitem__)


def _open(record: Record, unknown: Unknown, reaches: Mapping[str, Reach]) -> Iterable[tuple[str, str]]:
    """Give the unknown covers that some part's high route clears and its low route leaves in place."""
    for reach in reaches.values():
        if reach.low is None or reach.high is None or reach.low.actions == reach.high.actions:
            continue
        kept = {name for action in reach.low.actions for name in moved_parts(record, action)}
        spared = {name for action in reach.high.actions for name in moved_parts(record, action)} - kept
        for action in reach.high.actions:
            if action.do == "prepare":
                continue
            held = record.joints[action.joint].holds if action.joint else moved_parts(record, action)
            for upper in covers_of(record, unknown, action)[1]:
                if upper in spared:
                    yield from ((upper, lower) for lower in held)


def _holds(record: Record) -> tuple[HoldLine, ...]:
    counts: dict[tuple[str, str], int] = {}
    for joint in record.joints.values():
        parts = sorted(name for name in joint.holds if not record.parts[name].stays)
        for place, one in enumerate(parts):
            for other in parts[place + 1 :]:
                counts[one, other] = counts.get((one, other), 0) + joint.count
    return tuple(HoldLine(one, other, count) for (one, other), count in counts.items())
