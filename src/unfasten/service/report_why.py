"""Why other parts have to move on a route: which joints they hide and which lifts they bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from unfasten.record.fold import lift_of
from unfasten.record.record import Record
from unfasten.report.model.procedure import Why
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown
from unfasten.service.report_routes import object_of
from unfasten.service.report_words import joint_name, listing, part_name

_BECAUSE: Final = MappingProxyType(
    {"listed": "covers {}", "either": "covers {}, where clearing one of several suffices", "open": "may cover {}"}
)


@dataclass(frozen=True, slots=True)
class Block:
    """A later action that parts moved earlier made possible: its name, its parts, its covers, its unknown covers."""

    what: str
    about: tuple[str, ...]
    covers: tuple[tuple[str, ...], ...]
    open: tuple[str, ...]


def moved_parts(record: Record, action: Action) -> tuple[str, ...]:
    """Give the parts that an action takes out or swings aside; none for a release or preparation."""
    if action.bundle is not None:
        return record.bundles[action.bundle].parts
    if action.swing is not None:
        return (record.swings[action.swing].part,)
    return (action.part,) if action.part is not None else ()


def why_moved(record: Record, unknown: Unknown, actions: Sequence[Action], target: str) -> tuple[Why, ...]:
    """Give for every part moved on the way to `target` what it was in the way of, in the order of the route."""
    rows = []
    for number, action in enumerate(actions):
        parts = moved_parts(record, action)
        if not parts or action.part == target:
            continue
        blocks = [block_of(record, unknown, later) for later in actions[number + 1 :] if later.do != "prepare"]
        blocks.sort(key=lambda block: target not in block.about)
        rows.append(_row(record, action, parts, blocks, target))
    return tuple(rows)


def block_of(record: Record, unknown: Unknown, action: Action) -> Block:
    """Give what one release, lift or swing lies under or behind."""
    if action.joint is not None:
        way = action.way or 0
        open_covers = unknown.ways.get((action.joint, way), ())
        joint = record.joints[action.joint]
        return Block(joint_name(record, action.joint), joint.holds, joint.ways[way].under, open_covers)
    if action.bundle is not None:
        lift, open_covers = record.bundles[action.bundle].lift, unknown.bundles.get(action.bundle, ())
    elif action.swing is not None:
        lift, open_covers = record.swings[action.swing].lift, ()
    else:
        part = action.part or ""
        lift, open_covers = lift_of(record.parts[part]), unknown.parts.get(part, ())
    parts = moved_parts(record, action)
    return Block(f"the lift of {object_of(record, action)}", parts, lift.behind, open_covers)


def _row(record: Record, action: Action, parts: tuple[str, ...], blocks: list[Block], target: str) -> Why:
    moved = object_of(record, action)
    over = {kind: [block.what for block in blocks if kind == _kind(block, parts)] for kind in _BECAUSE}
    for kind, because in _BECAUSE.items():
        if over[kind]:
            return Why(moved, because.format(listing(_unique(over[kind]))), kind)
    if target in parts:
        return Why(moved, f"{part_name(record, target)} comes out with it", "listed")
    return Why(moved, "comes out on the way", "listed")


def _kind(block: Block, parts: tuple[str, ...]) -> str | None:
    """Tell how parts stand in the way of a later action: listed, one of several, open, or not at all."""
    clauses = [clause for clause in block.covers if set(parts) & set(clause)]
    if clauses:
        return "listed" if any(len(clause) == 1 for clause in clauses) else "either"
    return "open" if set(parts) & set(block.open) else None


def _unique(names: list[str]) -> list[str]:
    kept = list(dict.fromkeys(names))
    return kept if len(kept) <= 5 else [*kept[:4], f"{len(kept) - 4} more"]


def open_pairs(record: Record, unknown: Unknown, low: Sequence[Action], high: Sequence[Action]) -> tuple[str, ...]:
    """Give, in words, the unknown covers that the high route clears and the low route leaves in place."""
    spared = set(_moved(record, high)) - set(_moved(record, low))
    pairs: dict[str, list[str]] = {}
    for action in high:
        if action.do == "prepare":
            continue
        block = block_of(record, unknown, action)
        for part in block.open:
            if part in spared:
                pairs.setdefault(part, []).append(block.what)
    return tuple(f"{part_name(record, part)} over {listing(_unique(what))}" for part, what in pairs.items())


def _moved(record: Record, actions: Sequence[Action]) -> Iterator[str]:
    for action in actions:
        yield from moved_parts(record, action)
