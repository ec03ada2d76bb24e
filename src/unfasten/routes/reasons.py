"""What stands in the way of what on a route: reasons as data, for words, tables and the structure drawing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown


@dataclass(frozen=True, slots=True)
class Reason:
    """A cover and what it is over. `what` is a joint (with `way`), part, bundle or swing; `how` the kind of evidence.

    `listed`: the record lists it as a cover; `either`: one of several of which any one suffices; `open`: an unknown
    cover, real in the high world only.
    """

    cover: str
    kind: Literal["release", "lift", "swing"]
    what: str
    way: int | None
    how: Literal["listed", "either", "open"]


def moved_parts(record: Record, action: Action) -> tuple[str, ...]:
    """Give the parts that an action takes out or swings aside; none for a release or preparation."""
    if action.bundle is not None:
        return record.bundles[action.bundle].parts
    if action.swing is not None:
        return (record.swings[action.swing].part,)
    return (action.part,) if action.part is not None else ()


def covers_of(record: Record, unknown: Unknown, action: Action) -> tuple[tuple[tuple[str, ...], ...], tuple[str, ...]]:
    """Give the listed clauses over a release or before a lift or swing, and its unknown covers."""
    if action.joint is not None:
        way = action.way or 0
        return record.joints[action.joint].ways[way].under, unknown.ways.get((action.joint, way), ())
    if action.bundle is not None:
        return record.bundles[action.bundle].lift.behind, unknown.bundles.get(action.bundle, ())
    if action.swing is not None:
        return record.swings[action.swing].lift.behind, ()
    part = action.part or ""
    return lift_of(record.parts[part]).behind, unknown.parts.get(part, ())


def reasons(record: Record, unknown: Unknown, actions: Sequence[Action], number: int) -> tuple[Reason, ...]:
    """Give what the parts moved by action `number` were in the way of, among the later actions of a route.

    A clause that an earlier move had already cleared is no reason. `unknown` are the covers real in the route's world.
    """
    parts = set(moved_parts(record, actions[number]))
    earlier = {part for action in actions[:number] for part in moved_parts(record, action)}
    out: list[Reason] = []
    for action in actions[number + 1 :]:
        if action.do == "prepare":
            continue
        clauses, open_covers = covers_of(record, unknown, action)
        for clause in clauses:
            if not earlier & set(clause):
                how: Literal["listed", "either"] = "listed" if len(clause) == 1 else "either"
                out += [Reason(part, action.do, action.id, action.way, how) for part in clause if part in parts]
        fresh = [part for part in open_covers if part in parts and part not in earlier]
        out += [Reason(part, action.do, action.id, action.way, "open") for part in fresh]
    return tuple(out)
