"""Routes of a record for the doors: reach of parts, and its JSON and table forms."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from fractions import Fraction

from unfasten.evidence.errors import CallError
from unfasten.record.record import Record
from unfasten.routes.result import Action, Additions, By, Reach, Route
from unfasten.routes.solve import solve, solve_together
from unfasten.service.cautions import Care, deference, product_cautions, route_cautions, stop_of

_NONE = Additions()


def reach_of(record: Record, by: By = "steps", to: Sequence[str] = (), budget_s: float = 2.0) -> dict[str, Reach]:
    """Reach of every part except the one that stays, or of the parts `to`; raises `CallError` for an unknown part."""
    for name in to:
        check_target(record, name, "--to")
    return solve(record, to or None, by, budget_s)


def reach_together(record: Record, to: Sequence[str], by: By = "steps", budget_s: float = 2.0) -> dict[str, Reach]:
    """Reach of several parts by one route; its key and target are their ids joined with +."""
    for name in to:
        check_target(record, name, "--to")
    reach = solve_together(record, list(dict.fromkeys(to)), by, budget_s)
    return {reach.target: reach}


def routes_json(record: Record, reaches: dict[str, Reach], by: By) -> dict[str, object]:
    """Give the JSON that other programs rely on, with the cautions that the procedures in it need.

    `stop` names what stops every procedure (a swollen or damaged battery); null otherwise.
    """
    actions = [action for reach in reaches.values() for action in getattr(reach.high or reach.low, "actions", ())]
    return {"routes": [_reach_json(reach, by) for reach in reaches.values()], **cautions_json(record, actions)}


def cautions_json(record: Record, actions: Iterable[Action]) -> dict[str, object]:
    """Give the cautions that actions need, beside them in any JSON; `stop` as in `routes_json`."""
    cares = [*product_cautions(record), *route_cautions(record, actions)]
    stop = stop_of(record)
    return {
        "stop": None if stop is None else _care_json(stop),
        "cautions": [_care_json(care) for care in cares],
        "deference": deference(),
    }


def _care_json(care: Care) -> dict[str, str]:
    return {"title": care.title, "text": care.text, "source": care.source}


def check_target(record: Record, to: str, where: str) -> None:
    """Raise `CallError` unless `to` is a part that can be lifted; `where` is the place in the call."""
    if to not in record.parts:
        near = difflib.get_close_matches(to, record.parts, 1)
        remedy = f'did you mean "{near[0]}"?' if near else f"name one of {', '.join(record.parts)}"
        raise CallError("routes.unknown-part", where, f'the record has no part "{to}"', remedy)
    if record.parts[to].stays:
        raise CallError("routes.part-stays", where, f'"{to}" is the part that stays', "name a part that can be lifted")


def _reach_json(reach: Reach, by: By) -> dict[str, object]:
    low, high = reach.low, reach.high
    if low is None:
        return {"target": reach.target, "reachable": False, "steps": None, "time_s": None, "proven": True,
                "actions": [], "reason": reach.reason}  # fmt: skip
    steps = _span(low.steps, None if high is None else high.steps, by == "steps", reach.additions)
    time = _span(low.time, None if high is None else high.time, by == "time")
    proven = low.proven and (high is None or high.proven)
    out: dict[str, object] = {
        "target": reach.target,
        "reachable": True,
        "steps": steps,
        "time_s": time,
        "proven": proven,
        "actions": [action_json(action) for action in (high or low).actions],
    }
    if reach.additions.high:
        out["pairing"] = {"low": reach.additions.low, "high": reach.additions.high}
    if not proven:
        more = reach.additions
        least = None if high is None else _bound(high, more.high, by)
        out["bound"] = {"low": _bound(low, more.low, by), "high": least}
    if reach.reason is not None:
        out["reason"] = reach.reason
    return out


def _span(
    low: int | Fraction, high: int | Fraction | None, primary: bool, more: Additions = _NONE
) -> dict[str, int | float | None]:
    if high is not None and not primary:
        low, high = min(low, high), max(low, high)
    return {"low": _number(low + more.low), "high": None if high is None else _number(high + more.high)}


def _number(value: int | Fraction) -> int | float:
    return value if isinstance(value, int) else round(float(value), 6)


def _bound(route: Route, more: int, by: By) -> int | float:
    return int(route.bound) + more if by == "steps" else _number(route.bound)


def action_json(action: Action) -> dict[str, object]:
    """Give the JSON form of an action."""
    out: dict[str, object] = {"do": action.do}
    if action.joint is not None:
        out |= {"joint": action.joint, "way": action.way}
        if action.what is not None:
            out["what"] = action.what
    for kind in ("part", "bundle", "swing"):
        if getattr(action, kind) is not None:
            out[kind] = getattr(action, kind)
    return out | {"tools": list(action.tools), "side": action.side}
