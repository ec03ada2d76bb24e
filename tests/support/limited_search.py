"""Whether a part comes out under a limit: every legal order is tried on the replay's bench."""

from __future__ import annotations

from support.brute_force import all_macros
from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.replay import Bench
from unfasten.routes.result import Action
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.rules.case import Allowed


def comes_out(raw: Record, target: str, allowed: Allowed, *, at_worst: bool) -> bool:
    """At the worst every unknown cover is real and what is not known fails; else it is the other way round."""
    record = fold_log(raw)
    macros = [macro for macro in all_macros(record) if all(_fits(record, a, allowed, at_worst) for a in macro)]
    return _search(record, macros, target, unknown_covers(record) if at_worst else None)


def _fits(record: Record, action: Action, allowed: Allowed, at_worst: bool) -> bool:
    classes = [record.tools[tool].tool_class for tool in action.tools]
    if any(c not in allowed.tools if c is not None else at_worst for c in classes):
        return False
    if action.do == "prepare":
        return allowed.heat or action.what != "heat"
    if action.do == "release":
        reuse = record.joints[action.id].reuse
        return allowed.reuse is None or (reuse in allowed.reuse if reuse is not None else not at_worst)
    if action.do == "lift":
        parts = record.bundles[action.bundle].parts if action.bundle else (action.part,)
        return not allowed.without.intersection(parts)
    return True


def _search(record: Record, macros: list[tuple[Action, ...]], target: str, unknown: Unknown | None) -> bool:
    todo: list[tuple[Action, ...]] = [()]
    seen: set[object] = set()
    while todo:
        path = todo.pop()
        bench = Bench(record, unknown)
        for action in path:
            bench.do(action)
        if bench.is_lifted(target):
            return True
        state = frozenset(bench.released), tuple(sorted(bench.piece.items())), frozenset(bench.swung)
        if state in seen:
            continue
        seen.add(state)
        todo += [(*path, macro[-1]) for macro in macros if bench.why_not(macro[-1]) is None]
    return False
