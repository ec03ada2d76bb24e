"""What the check values of this edition are computed with: the same requirements, fed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from unfasten.evidence.checkvalue import Computed, Models
from unfasten.rules.decide import decide
from unfasten.rules.handcase import hand_case
from unfasten.rules.library import requirement_set

MODELS = Models()


@MODELS.model("eu-2023-1670.verdicts")
def verdicts(given: Mapping[str, Any]) -> Mapping[str, Computed]:
    """The verdict of every requirement on the day `on` (first day in force); `applies` tells whether the rules do."""
    rules = requirement_set("eu-2023-1670")
    day = date.fromisoformat(given["on"]) if "on" in given else rules.since
    answer = decide(rules, hand_case(given), day, given.get("readings"))
    out: dict[str, Computed] = {ruling.id: ruling.verdict for ruling in answer.rulings}
    return out | {"applies": "yes" if answer.applies else "no"}
