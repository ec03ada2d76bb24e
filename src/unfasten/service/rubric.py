"""Scoring a record by a lab's own rubric."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from unfasten.record.record import Record
from unfasten.rules.rubric import Rubric, RubricResult, score
from unfasten.rules.rubricread import read_rubric, rubric_of
from unfasten.service.rubricfigures import RubricFigures

__all__ = ["RubricResult", "load_rubric", "rubric_of", "rubric_score"]


def load_rubric(path: Path) -> Rubric:
    """Read a rubric's file strictly; raises `InvalidFileError` with every problem and its line."""
    return read_rubric(path)


def rubric_score(record: Record, rubric: Rubric, on: date) -> RubricResult:
    """Score a record by a rubric on a day [percent]; raises `DataError` where it names a part that is not there."""
    figures = RubricFigures(record, on)
    return score(rubric, {mark.id: figures(mark) for mark in rubric.marks})
