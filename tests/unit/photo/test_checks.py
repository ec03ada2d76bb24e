"""The check values of measuring come out as they state, by the functions that measure."""

from __future__ import annotations

from pathlib import Path

import pytest

import unfasten.photo
from unfasten.evidence.checkvalue import Check, load_checks, run_check
from unfasten.photo.checkmodels import MODELS

FOLDER = Path(unfasten.photo.__file__).parent / "checks"
CHECKS = [check for path in sorted(FOLDER.glob("*.yaml")) for check in load_checks(path)]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: check.id)
def test_check_value(check: Check) -> None:
    outcome = run_check(check, MODELS[check.model])
    assert outcome.as_stated, [(value.expected.printed, value.computed) for value in outcome.values]


def test_every_model_is_used() -> None:
    assert {check.model for check in CHECKS} == set(MODELS)
    assert {check.kind for check in CHECKS} == {"published", "worked"}
