"""The title block (fields after ISO 7200) and the summary."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.score import Band, OpenFact
from unfasten.report.model.span import Caution, Fact, Span


@dataclass(frozen=True, slots=True)
class TitleBlock:
    """What stands in the title block of every sheet."""

    owner: Annotated[str, "legal owner"]
    number: Annotated[str, "identification number"]
    edition: Annotated[str, "edition of the record"]
    issued: Annotated[str, "date of issue, YYYY-MM-DD"]
    title: Annotated[str, "title of the document"]
    document_type: Annotated[str, "document type"]
    creator: Annotated[str, "who made the record"]
    approved_by: Annotated[str, "approval person"]
    state: Annotated[str, "draft, provisional or final"]
    product: Annotated[str, "maker and product"]
    rules: Annotated[str, "id of the rule set"]
    rules_on: Annotated[str, "day on which the rules were taken, YYYY-MM-DD"]
    defer: Annotated[str, "the line that defers to local rules and qualified persons"]


@dataclass(frozen=True, slots=True)
class KeyDepth:
    """How deep one part of interest sits, and why."""

    part: Annotated[str, "id of the part"]
    name: Annotated[str, "name of the part"]
    steps: Annotated[Span, "steps to the part, pairing additions included"]
    time: Annotated[Span, "time to the part [s]"]
    because: Annotated[str, "what comes off on the way, in one sentence"]


@dataclass(frozen=True, slots=True)
class Summary:
    """The first sheet: what it is, how it scores, how deep battery and display sit, and what is still open."""

    lead: Annotated[str, "the result in one or two sentences"]
    facts: Annotated[tuple[Fact, ...], "data of the product and of the record"]
    band: Annotated[Band | None, "index on its scale; empty: no rule set covers the product"]
    depths: Annotated[tuple[KeyDepth, ...], "battery and display assembly"]
    open: Annotated[tuple[OpenFact, ...], "what is not known, and which figures it moves"]
    state: Annotated[str, "what the state of the record means"]
    cautions: Annotated[tuple[Caution, ...], "hazards of the product as a whole"]
