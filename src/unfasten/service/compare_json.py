"""A comparison as JSON."""

from __future__ import annotations

from unfasten.compare.difference import Difference
from unfasten.compare.headline import ORDER_RULE, TIERS, Headline
from unfasten.compare.measured import Change
from unfasten.service.compare import Comparison, Step, subject
from unfasten.service.compare_words import sentence


def comparison_json(found: Comparison) -> dict[str, object]:
    """Give the JSON form: records, aligned parts, and for each two neighbours the differences and headlines."""
    return {
        "records": [
            {"id": r.product.id, "name": r.product.name, "edition": r.sheet.edition, "state": r.sheet.state}
            for r in found.records
        ],
        "on": found.on.isoformat(),
        "rules": found.assessments[0].rules,
        "order": ORDER_RULE,
        "not_proven": list(found.unproven),
        "parts": [
            {"members": list(row.members), "reasons": list(row.reasons), "weak": row.is_weak} for row in found.rows
        ],
        "steps": [_step(step) for step in found.steps],
    }


def _step(step: Step) -> dict[str, object]:
    place = {id(one): number for number, one in enumerate(step.differences)}
    return {
        "from": step.pair.before.record.product.id,
        "to": step.pair.after.record.product.id,
        "headlines": [_headline(step, one, place) for one in step.headlines],
        "differences": [_difference(step, one) for one in step.differences],
    }


def _headline(step: Step, headline: Headline, place: dict[int, int]) -> dict[str, object]:
    return {
        "text": sentence(step.pair, headline),
        "place": headline.tier,
        "place_name": TIERS[headline.tier],
        "effect": headline.effect,
        "differences": [place[id(one)] for one in headline.differences],
        "follows": [place[id(one)] for one in headline.follows],
    }


def _difference(step: Step, one: Difference) -> dict[str, object]:
    return {
        "kind": one.kind,
        "what": one.what,
        "name": subject(step.pair, one),
        "about": {"before": one.about[0], "after": one.about[1]},
        "before": one.before,
        "after": one.after,
        "effect": one.effect,
        "place": one.tier,
        "note": one.note or None,
        "measured": None if one.measured is None else change_json(one.measured),
        "evidence": [{"side": e.side, "at": e.at, "says": e.says, "kind": e.kind} for e in one.evidence],
    }


def change_json(change: Change) -> dict[str, object]:
    """A measured difference: exact decimal texts in the base unit, and whether it exceeds k u."""
    return {
        "delta": f"{change.delta:f}",
        "u": None if change.u is None else f"{float(change.u):.3g}",
        "k": f"{change.k:f}",
        "verdict": change.beyond,
        "says": change.says(),
    }
