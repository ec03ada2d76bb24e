"""The swap tests of a family as a matrix."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from unfasten.report.model.sheet import TitleBlock


@dataclass(frozen=True, slots=True)
class SwapCell:
    """A part with a kind of donor."""

    state: Annotated[str, "how the last test turned out, in words; empty: none was made"]
    tests: Annotated[str, "ids of the tests"]
    detail: Annotated[str, "functions lost, messages, software and day of the last test"]
    matters: Annotated[str, "why the cell matters; empty: it does not"]
    is_gap: Annotated[bool, "whether a test is wanted"]
    against: Annotated[bool, "whether a measurement speaks against the exchange"]


@dataclass(frozen=True, slots=True)
class SwapRow:
    """A part with its cells."""

    part: Annotated[str, "id of the part"]
    name: Annotated[str, "name of the part"]
    pairing: Annotated[str, "pairing as recorded and as tests show it"]
    disagrees: Annotated[bool, "whether the two differ, or tests leave it open"]
    cells: Annotated[tuple[SwapCell, ...], "cells by column"]


@dataclass(frozen=True, slots=True)
class SwapTable:
    """The matrix of one record."""

    id: Annotated[str, "id of the product"]
    name: Annotated[str, "name of the product"]
    state: Annotated[str, "provisional or complete"]
    filled: Annotated[str, "cells that matter and are filled, of all that matter"]
    index: Annotated[
        str, "index as recorded, as tested, and with untested parts open; empty where no rule set covers the product"
    ]
    columns: Annotated[tuple[str, ...], "kinds of donor"]
    rows: Annotated[tuple[SwapRow, ...], "parts"]


@dataclass(frozen=True, slots=True)
class NextTest:
    """A test to run next."""

    number: Annotated[int, "place on the list"]
    product: Annotated[str, "product whose unit is tested"]
    part: Annotated[str, "the part"]
    donor: Annotated[str, "where it is to come from"]
    why: Annotated[str, "why it matters"]
    stake: Annotated[str, "points of the index that hang on it; empty: none"]


@dataclass(frozen=True, slots=True)
class SwapPage:
    """Everything that the swap matrix shows."""

    title: Annotated[TitleBlock, "title block"]
    matters: Annotated[str, "the rule which cells matter"]
    state: Annotated[str, "provisional until every cell that matters is filled"]
    tables: Annotated[tuple[SwapTable, ...], "a matrix for each record"]
    next: Annotated[tuple[NextTest, ...], "tests to run next, the most telling first"]
