"""The index: its band on the scale, the tree of scores, and the open facts."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from unfasten.report.model.span import Span


@dataclass(frozen=True, slots=True)
class Border:
    """One class of the scale."""

    letter: Annotated[str, "class letter"]
    start: Annotated[Decimal, "lowest index of the class"]


@dataclass(frozen=True, slots=True)
class Band:
    """An index on its scale."""

    span: Annotated[Span, "the index"]
    least: Annotated[Decimal, "lower end of the scale"]
    most: Annotated[Decimal, "upper end of the scale"]
    borders: Annotated[tuple[Border, ...], "classes, lowest first; empty: the scale has none"]
    classes: Annotated[str, "class or classes that the interval touches, such as `B` or `C–B`"]
    word: Annotated[str, "`settled` or `open`"]


@dataclass(frozen=True, slots=True)
class OpenFact:
    """A fact that is missing and what it can change."""

    what: Annotated[str, "what is missing"]
    where: Annotated[str, "place in the record"]
    affects: Annotated[str, "figures that it moves"]
    could_be: Annotated[str, "what those figures could be, low to high"]


@dataclass(frozen=True, slots=True)
class ScoreNode:
    """One score with the reasons it rests on."""

    id: Annotated[str, "name of the score in the rules"]
    title: Annotated[str, "the score in words"]
    weight: Annotated[str, "weight in the score above; empty: not weighted"]
    span: Annotated[Span, "the score"]
    reasons: Annotated[tuple[str, ...], "why it is so, down to the joint, tool or fact"]
    open: Annotated[tuple[str, ...], "what is missing for one number"]
    children: Annotated[tuple[ScoreNode, ...], "scores that it is made of"]


@dataclass(frozen=True, slots=True)
class IndexSection:
    """The index with its tree."""

    applies: Annotated[bool, "whether the rule set covers the product"]
    reason: Annotated[str, "why it does not; empty where it does"]
    rules: Annotated[str, "id of the rule set"]
    rules_title: Annotated[str, "title of the rule set"]
    tree: Annotated[tuple[ScoreNode, ...], "the scores it is made of"]
    readings: Annotated[tuple[str, ...], "readings chosen where the text leaves a choice"]
