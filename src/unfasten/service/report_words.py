"""Words and figures as every rendering prints them: cleaned text, intervals, times, kinds, classes."""

from __future__ import annotations

import unicodedata
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from unfasten.evidence.quantity import Quantity
from unfasten.record.record import Record
from unfasten.report.model.span import Span
from unfasten.routes.result import Reach

#: longest name printed in a table or drawing; the rest is cut with an ellipsis
NAME: Final = 80
NOT_KNOWN: Final = "not known"
NOT_STATED: Final = "not stated"
TOOL_CLASSES: Final = MappingProxyType(
    {
        "basic": "basic",
        "with-part": "supplied with the spare part",
        "with-product": "supplied with the product",
        "commercial": "commercially available",
        "proprietary": "proprietary",
    }
)
REUSE: Final = MappingProxyType(
    {
        "reusable": "reusable",
        "resupplied": "new, comes with the part",
        "removable": "new material",
        "none": "destroyed when undone",
    }
)
RENEWAL: Final = MappingProxyType(
    {
        "reusable": "use again",
        "resupplied": "renew, comes with the part",
        "removable": "renew",
        "none": "cannot be put back",
    }
)


def clean(text: str | None, most: int | None = None) -> str:
    """Give text on one line without control or direction characters (each becomes U+FFFD), cut to `most` characters."""
    if not text:
        return ""
    plain = "".join("\ufffd" if _harmful(char) else char for char in " ".join(text.split()))
    return plain if most is None or len(plain) <= most else plain[: most - 1] + "…"


def _harmful(char: str) -> bool:
    """Tell control, direction, private, surrogate and unassigned characters; scripts need the two joiners kept."""
    return char not in "\u200c\u200d" and unicodedata.category(char) in ("Cc", "Cf", "Co", "Cs", "Cn")


def words(name: str) -> str:
    """Give an id as words: `back-cover` becomes `Back cover`."""
    plain = name.replace("-", " ")
    return plain[:1].upper() + plain[1:]


def part_name(record: Record, part: str) -> str:
    """Name of a part as printed."""
    return clean(record.parts[part].name, NAME)


def joint_name(record: Record, joint: str) -> str:
    """Name of a joint as printed; its id in words where the record gives none."""
    return clean(record.joints[joint].name, NAME) or words(joint)


def tool_name(record: Record, tool: str) -> str:
    """Name of a tool as printed."""
    return clean(record.tools[tool].name, NAME)


def tools_text(record: Record, tools: tuple[str, ...]) -> str:
    """Tools used at the same time, or `by hand`."""
    return " + ".join(tool_name(record, tool) for tool in tools) or "by hand"


def seconds(time: Fraction | Decimal) -> Decimal:
    """Round a time in seconds to one decimal, half up."""
    exact = Fraction(time)
    return Decimal(int(exact * 10 + Fraction(1, 2))).scaleb(-1)


def clock(time: Fraction) -> str:
    """Give a time in seconds as min:s, rounded half up to the whole second."""
    whole = int(time + Fraction(1, 2))
    return f"{whole // 60}:{whole % 60:02d}"


def quantity(value: Quantity | None) -> str:
    """Give a quantity as written in the record, or `not known`."""
    return NOT_KNOWN if value is None else str(value)


def origin_of(value: Quantity | None, otherwise: str) -> str:
    """Origin of a quantity: measured where it has an uncertainty, else as the caller says; empty where not known."""
    if value is None:
        return ""
    return "measured" if value.u is not None else otherwise


def span(low: Decimal | int | None, high: Decimal | int | None, places: int = 0) -> Span:
    """Give an interval with its text; `high` None: no upper end is known, `low` None: no value at all."""
    if low is None:
        return Span(None, None, "none", False)
    first = _figure(Decimal(low), places)
    if high is None:
        return Span(Decimal(low), None, f"{first}–?", True)
    if Decimal(low) == Decimal(high):
        return Span(Decimal(low), Decimal(high), first, False)
    while _figure(Decimal(low), places) == _figure(Decimal(high), places):
        places += 1
    text = f"{_figure(Decimal(low), places)}–{_figure(Decimal(high), places)}"
    return Span(Decimal(low), Decimal(high), text, True)


def _figure(value: Decimal, places: int) -> str:
    return str(value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP))


def steps_span(reach: Reach) -> Span:
    """Steps to a part, pairing additions included."""
    return span(reach.steps_low, reach.steps_high)


def time_span(reach: Reach) -> Span:
    """Time to a part [s]; the smaller and the larger of the times of its two routes."""
    if reach.low is None:
        return span(None, None)
    if reach.high is None:
        return span(seconds(reach.low.time), None, 1)
    ends = sorted((seconds(reach.low.time), seconds(reach.high.time)))
    return span(ends[0], ends[1], 1)


def listing(names: list[str]) -> str:
    """Give names as a list in words: `a, b and c`."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
