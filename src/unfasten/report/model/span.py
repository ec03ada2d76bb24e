"""Intervals: a figure that is open is never one number."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated


@dataclass(frozen=True, slots=True)
class Span:
    """An interval on a scale, as numbers for the figures and as the one text that every rendering prints."""

    low: Annotated[Decimal | None, "lower end; empty: there is no value"]
    high: Annotated[Decimal | None, "upper end; empty: no upper end is known"]
    text: Annotated[str, "the interval as printed, such as `5–7`; one number only where both ends agree"]
    open: Annotated[bool, "whether something not known keeps the ends apart"]


@dataclass(frozen=True, slots=True)
class Fact:
    """One line of a data sheet: a label, its value with unit, and where the value comes from."""

    label: Annotated[str, "what the value is"]
    value: Annotated[str, "the value with its unit, or `not known`"]
    origin: Annotated[str, "seen, measured, computed, claimed or assumed; empty where it does not apply"]


@dataclass(frozen=True, slots=True)
class Caution:
    """A hazard and the usual care against it."""

    letter: Annotated[str, "call-out letter, used again in the rows it belongs to; empty: it holds for the whole sheet"]
    level: Annotated[str, "`caution` or `stop`"]
    title: Annotated[str, "the hazard in a word or two"]
    text: Annotated[str, "usual care, short"]
    source: Annotated[str, "the published source with its confidence, or `common practice`"]
