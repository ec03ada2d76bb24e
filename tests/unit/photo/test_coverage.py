"""The stated 95 % intervals hold the truth on rendered photographs: blur, noise, tilt to 40 degrees, lens distortion.

Four hundred cases here; `benchmarks/bench_photo.py` runs the two thousand whose table is in the documentation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from unfasten.photo.trial import Case, run

COUNT = 400


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    return list(run(COUNT, seed=7))


def share(cases: list[Case]) -> float:
    return sum(case.holds for case in cases) / len(cases)


def test_intervals_hold_the_truth_as_often_as_they_say(cases: list[Case]) -> None:
    assert len(cases) == COUNT
    assert 0.93 <= share(cases) <= 0.97


@pytest.mark.parametrize("scale", ["mat", "card", "rectangle", "length"])
def test_every_scale_keeps_its_word(cases: list[Case], scale: str) -> None:
    own = [case for case in cases if case.scale == scale]
    assert len(own) > 40
    # three standard deviations of a share of 0.95 among so many
    assert share(own) > 0.95 - 3 * math.sqrt(0.95 * 0.05 / len(own))


def test_errors_have_no_side_and_the_stated_size(cases: list[Case]) -> None:
    scores = np.array([case.score for case in cases])
    assert abs(float(np.median(scores))) < 0.15
    assert 0.85 < float(np.sqrt(np.mean(np.clip(scores, -3, 3) ** 2))) < 1.15


def test_without_a_profile_the_wider_intervals_hold_the_truth_at_least_as_often() -> None:
    bare = list(run(60, seed=3, profile=False))
    assert share(bare) >= 0.95
    assert all("lens" in {part.name for part in case.reading.budget.components} for case in bare)


def test_a_trial_is_the_same_every_time() -> None:
    assert [case.reading.value for case in run(3, seed=5)] == [case.reading.value for case in run(3, seed=5)]
