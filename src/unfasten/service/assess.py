"""Assessing a record under a rule set: hands the routes to the rules as facts."""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import date

from unfasten.record.fold import fold_log
from unfasten.record.paired import paired
from unfasten.record.record import Record
from unfasten.routes.pairing import untested
from unfasten.routes.result import Action, Reach, Route
from unfasten.routes.unknown import Unknown, unknown_covers
from unfasten.rules.assessment import Assessment
from unfasten.rules.engine import assess as assess_product
from unfasten.rules.facts import Pairing, Piece, Product, Taking, Undoing, Way
from unfasten.rules.library import edition
from unfasten.service.report_words import NAME, clean, joint_name, tool_name, words

__all__ = ["Assessment", "assess", "assess_record", "product_of"]

DEFAULT_RULES = "eu-2023-1669"
_NO_PRIORITY = (None, "other")


def assess_record(
    record: Record, on: date, ruleset: str = DEFAULT_RULES, readings: Mapping[str, str] | None = None
) -> Assessment:
    """Find the routes with the fewest steps to the priority parts and assess the record.

    Raises `CallError` as `assess` does. No route is searched where the rules do not apply or the call is wrong.
    """
    from unfasten.routes.solve import solve

    without_routes = assess(record, {}, on, ruleset, readings)
    if not without_routes.applies:
        return without_routes
    wanted = [n for n, part in record.parts.items() if part.role not in _NO_PRIORITY and not part.stays]
    return assess(record, solve(record, wanted), on, ruleset, readings)


def assess(
    record: Record,
    reaches: Mapping[str, Reach],
    on: date,
    ruleset: str = DEFAULT_RULES,
    readings: Mapping[str, str] | None = None,
    *,
    effects: bool = True,
) -> Assessment:
    """Assess a record by its reaches (fewest steps) on a day; without `effects` other readings are not tried.

    Raises `CallError` for an unknown rule set, reading or option.
    """
    return assess_product(edition(ruleset), product_of(record, reaches), on, readings, effects=effects)


def product_of(record: Record, reaches: Mapping[str, Reach]) -> Product:
    """The facts that rules judge: parts with a role and their routes, tools, and what the maker offers."""
    folded = fold_log(record)
    unknown = unknown_covers(folded)
    untried = untested(folded)
    pieces = tuple(
        _piece(folded, unknown, name, str(part.role), reaches.get(name), untried.get(name, 0))
        for name, part in folded.parts.items()
        if part.role not in _NO_PRIORITY
    )
    tools = {name: tool.tool_class for name, tool in folded.tools.items()}
    return Product(folded.product.category, pieces, tools, folded.supply, names_of(folded))


def names_of(record: Record) -> dict[str, str]:
    """What people call the parts, bundles, joints and tools of a record, by place (`joints.back-glue`)."""
    out = {f"parts.{name}": clean(part.name, NAME) for name, part in record.parts.items()}
    out |= {f"bundles.{name}": clean(bundle.name, NAME) or words(name) for name, bundle in record.bundles.items()}
    out |= {f"joints.{name}": joint_name(record, name) for name in record.joints}
    return out | {f"tools.{name}": tool_name(record, name) for name in record.tools}


def _piece(record: Record, unknown: Unknown, name: str, role: str, reach: Reach | None, untried: int) -> Piece:
    if reach is None:
        reason = "it is the part that stays" if record.parts[name].stays else "no route was searched"
        return Piece(name, role, reason=reason)
    more = reach.additions
    low, high = _way(record, unknown, reach.low, more.low), _way(record, unknown, reach.high, more.high)
    known = paired(record, name)
    pairing = Pairing(more.low, more.high, known.why if more.high or known.tests else "", known.tests, untried)
    return Piece(name, role, low, high, pairing, reach.reason)


def _way(record: Record, unknown: Unknown, route: Route | None, additions: int) -> Way | None:
    if route is None:
        return None
    bound = route.steps if route.proven else math.ceil(route.bound)
    releases = [action for action in route.actions if action.do == "release"]
    takings = [action for action in route.actions if action.do in ("lift", "swing")]
    return Way(
        route.steps + additions,
        bound + additions,
        tuple(_undoing(record, unknown, action) for action in releases),
        tuple(_taking(record, unknown, action) for action in takings),
    )


def _undoing(record: Record, unknown: Unknown, action: Action) -> Undoing:
    name, number = action.joint or "", action.way or 0
    joint = record.joints[name]
    prepared = [tool for preparation in joint.ways[number].prepare for tool in preparation.tools]
    covers = unknown.ways.get((name, number), ())
    return Undoing(name, number, joint.reuse, action.tools, tuple(dict.fromkeys(prepared)), covers)


def _taking(record: Record, unknown: Unknown, action: Action) -> Taking:
    if action.swing is not None:
        return Taking("swing", action.swing, (), action.tools)
    if action.bundle is not None:
        parts = record.bundles[action.bundle].parts
        return Taking("bundle", action.bundle, parts, action.tools, unknown.bundles.get(action.bundle, ()))
    part = action.part or ""
    return Taking("part", part, (part,), action.tools, unknown.parts.get(part, ()))
