"""Why other parts have to move on a route, in words: which joints they hide and which lifts they bar."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Final

from unfasten.record.record import Record
from unfasten.report.model.procedure import Why
from unfasten.routes.explain import Prerequisite, prerequisites
from unfasten.routes.reasons import Reason, covers_of, moved_parts, reasons
from unfasten.routes.result import Action, Reach
from unfasten.routes.unknown import Unknown
from unfasten.service.report_routes import object_of
from unfasten.service.report_words import joint_name, listing, part_name

_BECAUSE: Final = MappingProxyType(
    {"listed": "covers {}", "either": "covers {}, where clearing one of several suffices", "open": "may cover {}"}
)


def why_moved(
    record: Record, unknown: Unknown, actions: Sequence[Action], target: str, costs: Mapping[Action, str] | None = None
) -> tuple[Why, ...]:
    """Give for every part moved on the way to `target` what it was in the way of, in the order of the route.

    `costs`: what each move costs, in words, where that was computed (`move_costs`).
    """
    rows = []
    for number, action in enumerate(actions):
        if moved_parts(record, action) and action.part != target:
            row = _row(record, action, reasons(record, unknown, actions, number), target)
            rows.append(replace(row, costs=(costs or {}).get(action, "")))
    return tuple(rows)


def move_costs(record: Record, unknown: Unknown, reach: Reach) -> dict[Action, str]:
    """What would be saved if a part moved on the way were in nothing's way, for each move of the route shown."""
    route = reach.high or reach.low
    if route is None:
        return {}
    world = unknown if reach.high is not None else Unknown({}, {}, {})
    return {one.action: _cost(one) for one in prerequisites(record, world, route)}


def _cost(one: Prerequisite) -> str:
    if not one.steps and not one.time:
        return "nothing: there is another way as good"
    steps = f"{one.steps} step{'' if abs(one.steps) == 1 else 's'}" if one.steps else "no step"
    return f"{steps}, {float(one.time):.1f} s"


def blocked_words(record: Record, reason: Reason) -> str:
    """Name what a cover was in the way of."""
    if reason.kind == "release":
        return joint_name(record, reason.what)
    name = part_name(record, reason.what) if reason.what in record.parts else reason.what
    return f"the lift of {name}"


def _row(record: Record, action: Action, why: tuple[Reason, ...], target: str) -> Why:
    moved = object_of(record, action)
    near = sorted(why, key=lambda reason: not _about(record, reason, target))
    for kind, because in _BECAUSE.items():
        over = [blocked_words(record, reason) for reason in near if reason.how == kind]
        if over:
            return Why(moved, because.format(listing(few(over))), kind)
    if target in moved_parts(record, action):
        return Why(moved, f"{part_name(record, target)} comes out with it", "listed")
    return Why(moved, "comes out on the way", "listed")


def _about(record: Record, reason: Reason, target: str) -> bool:
    """Tell whether a reason concerns the target itself: its own lift, or a joint that holds it."""
    if reason.kind == "release":
        return target in record.joints[reason.what].holds
    return reason.what == target


def few(names: list[str]) -> list[str]:
    """Each name once, and no more than five of them."""
    kept = list(dict.fromkeys(names))
    return kept if len(kept) <= 5 else [*kept[:4], f"{len(kept) - 4} more"]


def open_pairs(record: Record, unknown: Unknown, low: Sequence[Action], high: Sequence[Action]) -> tuple[str, ...]:
    """Give, in words, the unknown covers that the high route clears and the low route leaves in place."""
    spared = set(_moved(record, high)) - set(_moved(record, low))
    pairs: dict[str, list[str]] = {}
    for action in high:
        if action.do == "prepare":
            continue
        for part in covers_of(record, unknown, action)[1]:
            if part in spared:
                pairs.setdefault(part, []).append(_what(record, action))
    return tuple(f"{part_name(record, part)} over {listing(few(what))}" for part, what in pairs.items())


def _what(record: Record, action: Action) -> str:
    return joint_name(record, action.joint) if action.joint else f"the lift of {object_of(record, action)}"


def _moved(record: Record, actions: Sequence[Action]) -> Iterator[str]:
    for action in actions:
        yield from moved_parts(record, action)
