"""Recomputing every shipped check value on the user's machine."""

from __future__ import annotations

import importlib
import importlib.util
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from unfasten.evidence.checkvalue import Check, Model, Models, Outcome, load_checks, run_check
from unfasten.evidence.errors import DataError
from unfasten.evidence.fields import unknown_remedy

PACKAGE: Final = Path(__file__).parent.parent
_MODULE: Final = "checkmodels"


@dataclass(frozen=True, slots=True)
class Verification:
    """Every check that was run, in the order of the files."""

    outcomes: tuple[Outcome, ...]

    @property
    def ok(self) -> bool:
        """Tell whether every check turned out as it states."""
        return all(outcome.as_stated for outcome in self.outcomes)

    def as_json(self) -> dict[str, object]:
        """Give the JSON form."""
        return {"ok": self.ok, "checks": [outcome.as_json() for outcome in self.outcomes]}


def check_files() -> tuple[Path, ...]:
    """Every file of check values in the package, in order."""
    return tuple(sorted(PACKAGE.rglob("checks/*.yaml")))


def verify() -> Verification:
    """Run every check; raises `DataError` where a file has errors or names an unknown model."""
    outcomes = []
    for path in check_files():
        models = models_of(path)
        outcomes += [run_check(check, _model(check, models, path)) for check in load_checks(path)]
    return Verification(tuple(outcomes))


def models_of(path: Path) -> Models:
    """The models beside a folder of checks: `MODELS` of `checkmodels.py` in the folder above."""
    name = ".".join((PACKAGE.name, *path.parent.parent.relative_to(PACKAGE).parts, _MODULE))
    if importlib.util.find_spec(name) is None:
        remedy = f"add {_MODULE}.py with MODELS beside the folder checks"
        raise DataError("data.missing-file", path.name, f"there is no module {name}", remedy)
    models: Models = importlib.import_module(name).MODELS
    return models


def _model(check: Check, models: Models, path: Path) -> Model:
    if check.model not in models:
        message = f'check {check.id} names no known model: "{check.model}"'
        raise DataError("data.unknown-word", path.name, message, unknown_remedy(check.model, tuple(models)))
    return models[check.model]
