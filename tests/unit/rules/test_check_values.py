"""Every shipped check value is run, and the figures agree or differ as the check states."""

from __future__ import annotations

from pathlib import Path

import pytest

import unfasten
from unfasten.evidence.checkvalue import Check, load_checks, run_check
from unfasten.service.verify import check_files, models_of, verify

PAIRS = [(path, check) for path in check_files() for check in load_checks(path)]


@pytest.mark.parametrize(("path", "check"), PAIRS, ids=[check.id for _, check in PAIRS])
def test_printed_figures_are_met(path: Path, check: Check) -> None:
    outcome = run_check(check, models_of(path)[check.model])
    differ = [f"{v.expected.name}: {v.expected.printed}, got {v.computed}" for v in outcome.values if not v.agrees]
    assert outcome.as_stated, f"{check.source}: {differ}"
    assert check.note or check.agrees, "a check that differs says what differs and why"


def test_every_file_of_checks_is_run() -> None:
    package = Path(unfasten.__file__).parent
    in_folders = {path for folder in package.rglob("checks") for path in folder.iterdir() if path.is_file()}
    assert set(check_files()) == in_folders
    assert len(verify().outcomes) == len(PAIRS)
    assert verify().ok


def test_ids_are_used_once() -> None:
    ids = [check.id for _, check in PAIRS]
    assert len(set(ids)) == len(ids)


def test_the_worked_examples_are_all_there() -> None:
    worked = {check.source.at for _, check in PAIRS if check.source.doc == "unfasten-worked"}
    assert worked >= {f"E{number}" for number in range(1, 10)}
    steps = {check.given["parts"]["battery"]["steps"] for _, check in PAIRS if "-steps-" in check.id}
    assert steps >= {2, 3, 5, 6, 10, 11, 15, 16}
