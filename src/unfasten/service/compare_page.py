"""The comparison as a page: its context, and writing it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from string import ascii_uppercase

from unfasten import __version__
from unfasten.compare.conform import Rule
from unfasten.compare.difference import Difference
from unfasten.compare.headline import ORDER_RULE, TIERS, Headline
from unfasten.compare.pins import Pins
from unfasten.record.record import Record
from unfasten.report.model.comparison import (
    ComparePage,
    CompareStep,
    EvidenceRow,
    FollowRow,
    HeadlineGroup,
    HeadlineRow,
    RecordHead,
)
from unfasten.report.model.sheet import TitleBlock
from unfasten.report.model.span import Span
from unfasten.rules.assessment import Assessment
from unfasten.service.assess import DEFAULT_RULES
from unfasten.service.cautions import deference
from unfasten.service.compare import Comparison, Step, compare, subject
from unfasten.service.compare_tables import depth_table, exchange_rows, part_rows, points_span, score_table, time_table
from unfasten.service.compare_words import WORDS, sentence
from unfasten.service.report_words import NAME, NOT_KNOWN, NOT_STATED, clean
from unfasten.service.writing import write_pages

#: places of the order whose first headline the lead of a step names
_LEAD = 4
#: pieces of evidence shown of a difference that follows from another
_SHOWN = 8


def compare_page(
    records: Sequence[Record], on: date, *, pins: Pins | None = None, rules: str = DEFAULT_RULES, budget_s: float = 2.0
) -> ComparePage:
    """Compare records and give the context of the page; raises `CallError` as `compare` does."""
    return page_of(compare(records, on, pins=pins, rules=rules, budget_s=budget_s))


def write_comparison(found: Comparison, out: Path) -> Path:
    """Write the page as `compare-<ids>.html` into a folder; raises `CallError` where that cannot be written to."""
    from unfasten.report.pages import render_compare

    ids = "-".join(dict.fromkeys(record.product.id for record in found.records))
    name = f"compare-{ids}"[:120] + ".html"
    return write_pages(out, {name: render_compare(page_of(found)).encode("utf-8")})[0]


def page_of(found: Comparison) -> ComparePage:
    """The context of a comparison already made."""
    rule = Rule()
    rows, pools = exchange_rows(found, rule)
    return ComparePage(
        title=family_title(found.records, "Comparison of records", found.assessments[0].rules, found.on),
        records=tuple(
            _head(letter, record, assessment)
            for letter, record, assessment in zip(ascii_uppercase, found.records, found.assessments, strict=False)
        ),
        order=ORDER_RULE,
        steps=tuple(_step(step) for step in found.steps),
        depths=depth_table(found),
        times=time_table(found),
        scores=score_table(found),
        parts=part_rows(found),
        rule=str(rule),
        exchanges=rows,
        pools=pools,
        not_proven=found.unproven,
    )


def family_title(records: Sequence[Record], kind: str, rules: str, on: date) -> TitleBlock:
    """Title block of a sheet about several records."""
    names = [clean(record.product.name, NAME) for record in records]
    sheets = [record.sheet for record in records]
    makers = list(dict.fromkeys(clean(record.product.maker, NAME) for record in records))
    states = [state for state in ("draft", "provisional", "final") if any(s.state == state for s in sheets)]
    owners = list(dict.fromkeys(clean(sheet.owner, NAME) for sheet in sheets if sheet.owner))
    people = list(dict.fromkeys(clean(sheet.by, NAME) for sheet in sheets if sheet.by))
    return TitleBlock(
        owner=", ".join(owners) or NOT_STATED,
        number="+".join(record.product.id for record in records)[:60],
        edition=", ".join(str(sheet.edition) for sheet in sheets),
        issued=on.isoformat(),
        title=f"{', '.join(names)}: {kind.casefold()}",
        document_type=kind,
        creator=", ".join(people) or f"unfasten {__version__}",
        approved_by="not approved",
        state=states[0],
        product=f"{', '.join(makers)}: {', '.join(names)}",
        rules=rules,
        rules_on=on.isoformat(),
        defer=deference(),
    )


def _head(letter: str, record: Record, assessment: Assessment) -> RecordHead:
    product = record.product
    span: Span | None = points_span(assessment.points) if assessment.points is not None else None
    grade = assessment.grade.as_json() if assessment.grade else {}
    classes = sorted({str(grade[end]) for end in ("low", "high") if end in grade})
    return RecordHead(
        letter=letter,
        id=product.id,
        name=clean(product.name, NAME),
        released=product.released.isoformat() if product.released else NOT_KNOWN,
        sheet=f"edition {record.sheet.edition}, {record.sheet.state}",
        index=span,
        classes=" or ".join(classes),
    )


def _step(step: Step) -> CompareStep:
    before, after = (clean(side.record.product.name, NAME) for side in (step.pair.before, step.pair.after))
    groups: dict[int, list[HeadlineRow]] = {}
    for number, headline in enumerate(step.headlines, 1):
        groups.setdefault(headline.tier, []).append(_headline(step, number, headline))
    firsts = {one.tier: one for one in reversed(step.headlines)}
    lead = [f"{sentence(step.pair, firsts[tier])}." for tier in sorted(firsts)[:_LEAD]]
    return CompareStep(
        title=f"{before} → {after}",
        lead=" ".join(lead) or "No difference.",
        groups=tuple(HeadlineGroup(TIERS[tier].capitalize(), tuple(rows)) for tier, rows in groups.items()),
    )


def _headline(step: Step, number: int, headline: Headline) -> HeadlineRow:
    effect = "" if headline.effect == "neither" else headline.effect
    measured = "; ".join(dict.fromkeys(one.measured.says() for one in headline.differences if one.measured is not None))
    evidence = tuple(row for one in headline.differences for row in _evidence(step, one))
    return HeadlineRow(
        number=number,
        kind=headline.lead.kind,
        text=sentence(step.pair, headline, measured=False),
        effect=effect,
        measured=measured,
        evidence=evidence,
        follows=tuple(_follow(step, one) for one in headline.follows),
    )


def _follow(step: Step, one: Difference) -> FollowRow:
    evidence = _evidence(step, one)
    return FollowRow(
        name=clean(subject(step.pair, one), NAME),
        what=WORDS.get(one.what) or one.what,
        before=clean(one.before),
        after=clean(one.after),
        evidence=evidence[:_SHOWN],
        more=max(0, len(evidence) - _SHOWN),
    )


def _evidence(step: Step, one: Difference) -> tuple[EvidenceRow, ...]:
    ordered = sorted(one.evidence, key=lambda item: item.side == "after")
    letters = {"before": ascii_uppercase[step.before], "after": ascii_uppercase[step.after]}
    return tuple(EvidenceRow(letters[e.side], clean(e.at, 200), clean(e.says, 600), e.kind) for e in ordered)
