"""A comparison as lines of text."""

from __future__ import annotations

from collections.abc import Iterator

from unfasten.compare.headline import ORDER_RULE, TIERS
from unfasten.service.compare import Comparison, Step, subject
from unfasten.service.compare_words import sentence
from unfasten.service.report_words import clean


def comparison_lines(found: Comparison) -> Iterator[str]:
    """Headlines of every step, in their order, with what follows from each below it."""
    weak = [row for row in found.rows if row.is_weak]
    shared = sum(None not in row.members for row in found.rows)
    yield f"{len(found.rows)} parts over {len(found.records)} records, {shared} in all of them"
    for row in weak:
        yield f"  look at this match: {' = '.join(m or '–' for m in row.members)} ({', '.join(row.reasons)})"
    for part in found.unproven:
        yield f"  not proven within the budget: {clean(part)}"
    yield ORDER_RULE
    for step in found.steps:
        yield ""
        yield from _step(step)


def _step(step: Step) -> Iterator[str]:
    before, after = (clean(side.record.product.name) for side in (step.pair.before, step.pair.after))
    yield f"{before} → {after}: {len(step.headlines)} headlines, {len(step.differences)} differences"
    if not step.headlines:
        yield "  no difference"
    tier = 0
    for number, headline in enumerate(step.headlines, 1):
        if headline.tier != tier:
            tier = headline.tier
            yield f"  {TIERS[tier]}"
        effect = "" if headline.effect == "neither" else f" [{headline.effect}]"
        yield f"  {number:>3}  {sentence(step.pair, headline)}{effect}"
        for one in headline.follows:
            yield "         " + clean(f"follows: {subject(step.pair, one)}, {one.what}: {one.before} → {one.after}")
