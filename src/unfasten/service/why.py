"""Explaining a part for the doors: the chain of reasons in words, as text lines and as JSON."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from unfasten.record.fold import fold_log
from unfasten.record.record import Record
from unfasten.routes.explain import Alternative, Prerequisite, Saving, Why, explain
from unfasten.routes.reasons import covers_of, moved_parts
from unfasten.routes.result import Action, By
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.service.report_routes import object_of
from unfasten.service.report_why import blocked_words, few
from unfasten.service.report_words import joint_name, listing, part_name
from unfasten.service.routes import cautions_json, check_target
from unfasten.service.withoutwords import action_gerund, action_words, chain_words, difference


def why(record: Record, part: str, by: By = "steps", budget_s: float = 2.0) -> Why:
    """Explain the depth of one part; raises `CallError` for an unknown part or the one that stays."""
    check_target(record, part, "PART")
    return explain(record, part, by, budget_s)


def chain(record: Record, answer: Why) -> tuple[str, ...]:
    """The chain of reasons as sentences, from the part itself outwards; empty if there is no route."""
    folded = fold_log(record)
    unknown = unknown_covers(folded) if answer.world == "high" else Unknown({}, {}, {})
    actions = answer.route.actions if answer.route else ()
    return tuple(_sentences(folded, unknown, actions))


def actions_of(answer: Why) -> tuple[Action, ...]:
    """The actions of the explained route and of the ways that are set against it: what cautions are for."""
    routes = (answer.route, *(one.route for one in answer.alternatives))
    return tuple(action for route in routes if route is not None for action in route.actions)


def why_json(record: Record, answer: Why) -> dict[str, object]:
    """JSON of an explanation. A cost or saving in steps and seconds is the difference between two exact routes."""
    reach = answer.reach
    steps = None if reach.low is None else {"low": reach.steps_low, "high": reach.steps_high}
    out: dict[str, object] = {"target": reach.target, "reachable": reach.low is not None, "steps": steps}
    if reach.reason:
        out["reason"] = reach.reason
    if answer.route is None:
        return out
    return out | {
        "route": answer.world,
        "proven": answer.route.proven,
        "chain": list(chain(record, answer)),
        "prerequisites": [_prerequisite_json(one) for one in answer.prerequisites],
        "alternatives": [_alternative_json(record, one) for one in answer.alternatives],
        "access_holes": [_saving_json(one) for one in answer.holes],
        "by_hand": [_saving_json(one) for one in answer.by_hand],
        **cautions_json(record, actions_of(answer)),
    }


def over_words(record: Record, one: Prerequisite) -> str:
    """Say what a prerequisite is in the way of."""
    listed = [name for how in ("listed", "either") for name in _blocked(record, one, how)]
    perhaps = [name for name in _blocked(record, one, "open") if name not in listed]
    texts = []
    if listed:
        texts.append(f"covers {listing(few(listed))}")
    if perhaps:
        texts.append(f"may cover {listing(few(perhaps))}")
    return "; ".join(texts) or "comes out on the way"


def moved_words(record: Record, one: Prerequisite) -> str:
    """What a prerequisite does: `Back cover (swung aside)`, `Port set (in one piece)`, `Flex brace`."""
    how = " (swung aside)" if one.action.swing is not None else " (in one piece)" if one.action.bundle else ""
    return f"{object_of(record, one.action)}{how}"


def alternative_words(record: Record, answer: Why, one: Alternative) -> str:
    """Say what the best route without one choice costs more and what it does instead, or why there is none."""
    what = f"without {action_gerund(record, one.without)}"
    if one.route is None:
        chain = [text.rstrip(".") for text in chain_words(record, one.blocks, ()) if "question" not in text]
        return f"{what}: no way at all" + (f", for {'; '.join(chain)}" if chain else "")
    known = {(a.do, a.id, a.way) for a in answer.route.actions} if answer.route else set()
    fresh = [a for a in one.route.actions if a.do != "prepare" and (a.do, a.id, a.way) not in known]
    instead = listing(few([action_words(record, action) for action in fresh]))
    more = difference(one.steps, one.time)
    return f"{what}: {'just as good' if more == 'nothing more' else more}{'; instead ' + instead if instead else ''}"


def saving_words(record: Record, one: Saving) -> str:
    """Say what an access hole or a way by hand would save."""
    what = joint_name(record, one.action.joint) if one.action.joint else f"the lift of {object_of(record, one.action)}"
    if one.cover is None:
        return f"{what} undone by hand"
    return f"{what} free of {' or '.join(part_name(record, part) for part in one.cover)}"


def _sentences(record: Record, unknown: Unknown, actions: tuple[Action, ...]) -> Iterator[str]:
    """For each move, last first: what holds it; for each of its joints: what that lies under."""
    told: set[str] = set()
    for number in range(len(actions) - 1, -1, -1):
        action = actions[number]
        if action.do not in ("lift", "swing"):
            continue
        parts = set(moved_parts(record, action))
        held = [
            a for a in actions[:number]
            if a.do == "release" and a.id not in told and parts & set(record.joints[a.id].holds)
        ]  # fmt: skip
        told |= {a.id for a in held}
        if held:
            names = listing([joint_name(record, a.id) for a in held])
            yield f"{_moved_words(record, action)} is held by {names}."
        for one in (action, *held):
            yield from _lies_under(record, unknown, one)


def _lies_under(record: Record, unknown: Unknown, action: Action) -> Iterator[str]:
    clauses, open_covers = covers_of(record, unknown, action)
    what = joint_name(record, action.id) if action.joint else _moved_words(record, action)
    several = action.joint is not None and what.endswith("s")
    relation = ("lie under" if several else "lies under") if action.joint else "is behind"
    sure = [" or ".join(part_name(record, part) for part in clause) for clause in clauses]
    if sure:
        yield f"{what} {relation} {listing(sure)}."
    if open_covers:
        perhaps = listing([part_name(record, part) for part in open_covers])
        yield f"{what} perhaps {relation} {perhaps} (not known for sure)."


def _moved_words(record: Record, action: Action) -> str:
    if action.bundle is not None:
        return f"{object_of(record, action)} ({listing([part_name(record, p) for p in moved_parts(record, action)])})"
    return object_of(record, action)


def _blocked(record: Record, one: Prerequisite, how: str) -> list[str]:
    return list(dict.fromkeys(blocked_words(record, reason) for reason in one.reasons if reason.how == how))


def _prerequisite_json(one: Prerequisite) -> dict[str, object]:
    return _action_json(one.action) | {
        "because": [
            {"cover": r.cover, "over": r.kind, "id": r.what, "way": r.way, "how": r.how} for r in one.reasons
        ],
        "costs": _pair(one.steps, one.time),
    }  # fmt: skip


def _alternative_json(record: Record, one: Alternative) -> dict[str, object]:
    return {
        "without": _action_json(one.without),
        "reachable": one.route is not None,
        "costs_more": None if one.route is None else _pair(one.steps, one.time),
        "because": [] if one.route is not None else list(chain_words(record, one.blocks, ())),
    }


def _saving_json(one: Saving) -> dict[str, object]:
    cover: Iterable[str] = one.cover or ()
    return {"at": _action_json(one.action), "cover": list(cover), "saves": _pair(one.steps, one.time)}


def _action_json(action: Action) -> dict[str, object]:
    kind = next(k for k in ("joint", "part", "bundle", "swing") if getattr(action, k) is not None)
    return {"do": action.do, kind: action.id} | ({} if action.way is None else {"way": action.way})


def _pair(steps: int, time: Fraction) -> dict[str, object]:
    return {"steps": steps, "time_s": round(float(time), 6)}
