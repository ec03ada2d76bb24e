"""What the check values of this edition are computed with: the same quantities, fed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.rules.decide import measure
from unfasten.rules.handcase import hand_case
from unfasten.rules.library import label_set

MODELS = Models()


@MODELS.model("eu-2023-1669-label.quantities")
def quantities(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """Every quantity: `ID.low`, `ID.high`, `ID.class`, `ID.shown`, and `ID` as number where it is known.

    A class or word that is open reads `low to high`.
    """
    rules = label_set("eu-2023-1669-label")
    day = date.fromisoformat(given["on"]) if "on" in given else rules.since
    out: dict[str, Computed] = {}
    for one in measure(rules, hand_case(given), day, given.get("readings")).measures:
        if one.figure is not None:
            out |= {f"{one.id}.low": one.figure.low}
            out |= {} if one.is_open_above else {f"{one.id}.high": one.figure.high}
            out |= {one.id: one.figure.low} if one.figure.is_known and not one.is_open_above else {}
        if one.grade is not None:
            out[f"{one.id}.class"] = str(one.grade)
        if one.words is not None:
            low, high = one.words
            out[f"{one.id}.shown"] = low if low == high else f"{low} to {high}"
    return out
