"""Steps that pairing adds to a part: the figure stands in `counting.yaml` with its date and place in the law."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from importlib import resources
from pathlib import Path

from unfasten.evidence.parameter import load_parameters
from unfasten.record.paired import EVERY, noticed, paired
from unfasten.record.record import Record
from unfasten.routes.result import Additions

_NONE = Additions()


@cache
def _steps_each() -> int:
    """The only value so far; steps are counted the same way on days before it, where no index is computed."""
    (parameter,) = load_parameters([Path(str(resources.files("unfasten.routes") / "counting.yaml"))]).values()
    return int(parameter.history[-1].number)


def additions(record: Record, targets: Iterable[str]) -> Additions:
    """Steps that the targets' remote notifications and authorisations add, at least and at most.

    By the record and its swap tests (`record.paired`); none of the file is read without pairing.
    """
    low = high = 0
    for target in targets:
        if record.swap_tests or record.parts[target].pairing:
            found = paired(record, target)
            low += len(found.least)
            high += len(found.most)
    return Additions(low * _steps_each(), high * _steps_each()) if high else _NONE


def most_additions() -> int:
    """Steps that pairing can add to a part at most: for every kind of it."""
    return len(EVERY) * _steps_each()


def untested(record: Record) -> dict[str, int]:
    """Parts of whose pairing nothing is known but that none is listed, with the steps that it could add at most.

    Those that the device can notice, that list no pairing, and of which no swap test speaks.
    """
    return {
        name: most_additions()
        for name in noticed(record)
        if not record.parts[name].pairing and not record.parts[name].stays and not paired(record, name).tests
    }
