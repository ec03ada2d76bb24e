"""The comparison of two to eight records: headlines, aligned parts, depths, scores and exchanges."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from unfasten.report.model.sheet import TitleBlock
from unfasten.report.model.span import Span


@dataclass(frozen=True, slots=True)
class RecordHead:
    """One of the records compared: the head of its column."""

    letter: Annotated[str, "call-out letter of the record on this sheet"]
    id: Annotated[str, "id of the product"]
    name: Annotated[str, "name of the product"]
    released: Annotated[str, "day of release, or `not known`"]
    sheet: Annotated[str, "edition and state of the record"]
    index: Annotated[Span | None, "index; empty: no rule set covers the product"]
    classes: Annotated[str, "class or classes"]


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One piece of evidence of a difference."""

    letter: Annotated[str, "letter of the record it stands in"]
    at: Annotated[str, "place in the record, the log or the computation"]
    says: Annotated[str, "what stands there"]
    kind: Annotated[str, "record, measured, log or computed"]


@dataclass(frozen=True, slots=True)
class FollowRow:
    """A difference that follows from a headline."""

    name: Annotated[str, "what it is about"]
    what: Annotated[str, "the property"]
    before: Annotated[str, "before"]
    after: Annotated[str, "after"]
    evidence: Annotated[tuple[EvidenceRow, ...], "what it rests on, the first few"]
    more: Annotated[int, "how many more there are"]


@dataclass(frozen=True, slots=True)
class HeadlineRow:
    """One headline."""

    number: Annotated[int, "number on the list, by consequence for repair"]
    kind: Annotated[str, "kind of difference"]
    text: Annotated[str, "the difference in one sentence"]
    effect: Annotated[str, "`harder`, `easier`, `open` (the intervals overlap, or a fact is missing) or empty"]
    measured: Annotated[str, "the measured difference against its uncertainty; empty where nothing was measured"]
    evidence: Annotated[tuple[EvidenceRow, ...], "what it rests on"]
    follows: Annotated[tuple[FollowRow, ...], "what it brings with it"]


@dataclass(frozen=True, slots=True)
class HeadlineGroup:
    """Headlines of one place in the order of consequence."""

    title: Annotated[str, "what they concern"]
    rows: Annotated[tuple[HeadlineRow, ...], "the headlines"]


@dataclass(frozen=True, slots=True)
class CompareStep:
    """From one record to the next."""

    title: Annotated[str, "the two products"]
    lead: Annotated[str, "the greatest differences in one or two sentences"]
    groups: Annotated[tuple[HeadlineGroup, ...], "headlines by place; empty: no difference"]


@dataclass(frozen=True, slots=True)
class PartCell:
    """One part in one record."""

    id: Annotated[str, "id of the part; empty: not there"]
    lines: Annotated[tuple[str, ...], "fastening, size, mass, cable, holes, pairing, as recorded"]
    differs: Annotated[bool, "whether the comparison found a difference from the record before"]


@dataclass(frozen=True, slots=True)
class PartRow:
    """One part over all records."""

    name: Annotated[str, "name of the part"]
    is_priority: Annotated[bool, "whether the rules ask for it"]
    cells: Annotated[tuple[PartCell, ...], "the part in each record"]
    why: Annotated[str, "why these were taken for the same part"]
    is_weak: Annotated[bool, "whether a person should look at the match"]


@dataclass(frozen=True, slots=True)
class FigureRow:
    """A figure over all records: depth, time or a score."""

    name: Annotated[str, "what the figure is of"]
    cells: Annotated[tuple[Span | None, ...], "the figure in each record; empty: none"]


@dataclass(frozen=True, slots=True)
class FigureTable:
    """Figures of one kind, drawn on one scale."""

    title: Annotated[str, "what is shown"]
    unit: Annotated[str, "unit"]
    least: Annotated[Decimal, "lower end of the scale"]
    most: Annotated[Decimal, "upper end of the scale"]
    rows: Annotated[tuple[FigureRow, ...], "the figures"]


@dataclass(frozen=True, slots=True)
class CriterionRow:
    """One criterion of an exchange."""

    name: Annotated[str, "the criterion"]
    verdict: Annotated[str, "`shown`, `change`, `against`, `open` or `not applicable`"]
    chance: Annotated[str, "conformance probability; empty where it is no matter of measurement"]
    says: Annotated[str, "what it says"]


@dataclass(frozen=True, slots=True)
class ExchangeRow:
    """Whether a part serves in another record's place; exchanges with one answer for one reason are one row."""

    part: Annotated[str, "name of the part"]
    ways: Annotated[tuple[str, ...], "the exchanges: letter of the record it comes from, and of the one it goes into"]
    answer: Annotated[str, "`fits`, `fits with change`, `does not fit` or `not shown`"]
    worst: Annotated[str, "the criterion that decides"]
    chance: Annotated[
        str, "its conformance probability, least and greatest; empty where it is no matter of measurement"
    ]
    says: Annotated[str, "what it says"]
    next: Annotated[str, "what to measure or test next; empty: nothing"]
    criteria: Annotated[
        tuple[CriterionRow, ...], "all criteria of the first exchange of the row; of priority parts only"
    ]


@dataclass(frozen=True, slots=True)
class PoolRow:
    """Parts that can be stocked as one."""

    part: Annotated[str, "name of the part"]
    records: Annotated[str, "letters of the records whose parts pool"]


@dataclass(frozen=True, slots=True)
class ComparePage:
    """Everything that the comparison shows."""

    title: Annotated[TitleBlock, "title block"]
    records: Annotated[tuple[RecordHead, ...], "records, in the order given"]
    order: Annotated[str, "the rule of the order of headlines"]
    steps: Annotated[tuple[CompareStep, ...], "headlines from each record to the next"]
    depths: Annotated[FigureTable, "steps to every priority part"]
    times: Annotated[FigureTable, "time to every priority part"]
    scores: Annotated[FigureTable, "index and scores"]
    parts: Annotated[tuple[PartRow, ...], "all parts, aligned"]
    rule: Annotated[str, "decision rule of the exchanges"]
    exchanges: Annotated[tuple[ExchangeRow, ...], "exchanges of parts between the records"]
    pools: Annotated[tuple[PoolRow, ...], "parts that can be pooled"]
    not_proven: Annotated[tuple[str, ...], "routes that the search did not prove within its budget"]
