"""Steps that pairing adds to a part: the figure stands in `counting.yaml` with its date and place in the law."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import load_parameters
from unfasten.record.record import Record


@cache
def _steps_each() -> int:
    """The only value so far; steps are counted the same way on days before it, where no index is computed."""
    (parameter,) = load_parameters([Path(str(resources.files("unfasten.routes") / "counting.yaml"))]).values()
    return int(parameter.history[-1].number)


def additions(record: Record, targets: Iterable[str]) -> int:
    """Steps that the targets' remote notifications and authorisations add; none of the file is read without pairing."""
    kinds = sum(len(set(record.parts[target].pairing)) for target in targets)
    return kinds and kinds * _steps_each()
