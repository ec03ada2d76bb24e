"""The stated 95 % intervals hold the truth on rendered photographs: blur, noise, tilt to 40 degrees, lens distortion.

`benchmarks/bench_photo.py` runs more of them, whose table is in the documentation.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from unfasten.photo.trial import Case, run

COUNT = 2000


def share(cases: list[Case]) -> float:
    return sum(case.holds for case in cases) / len(cases)


@pytest.mark.long
def test_intervals_hold_the_truth_as_often_as_they_say_over_two_thousand_photographs() -> None:
    """One test for all that is asked of the cases, so that they are rendered once."""
    cases = list(run(COUNT, seed=7))
    assert len(cases) == COUNT
    assert 0.93 <= share(cases) <= 0.97
    for scale in ("mat", "card", "rectangle", "length"):
        own = [case for case in cases if case.scale == scale]
        assert len(own) > 200
        # three standard deviations of a share of 0.95 among so many
        assert share(own) > 0.95 - 3 * math.sqrt(0.95 * 0.05 / len(own)), scale
    scores = np.array([case.score for case in cases])
    assert abs(float(np.median(scores))) < 0.15
    assert 0.85 < float(np.sqrt(np.mean(np.clip(scores, -3, 3) ** 2))) < 1.15


def test_without_a_profile_the_wider_intervals_hold_the_truth_at_least_as_often() -> None:
    bare = list(run(60, seed=3, profile=False))
    assert share(bare) >= 0.95
    assert all("lens" in {part.name for part in case.reading.budget.components} for case in bare)


def test_a_trial_is_the_same_every_time() -> None:
    assert [case.reading.value for case in run(3, seed=5)] == [case.reading.value for case in run(3, seed=5)]
