"""Whatever is measured: the true size stays in the set, a better reading only narrows it, and areas hold together."""

from __future__ import annotations

import math
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from unfasten.photo.identify.datecode import read_date_code
from unfasten.photo.identify.drives import drives_for, known_drives
from unfasten.photo.identify.markings import compare
from unfasten.photo.identify.outline import area, covered
from unfasten.photo.identify.threads import known_threads, threads_for
from unfasten.photo.identify.window import Measured

DAY = date(2026, 11, 25)
THREADS = known_threads(DAY)
RECESSES = [drive for drive in known_drives(DAY) if drive.width is not None]
share = st.floats(0, 1)
error = st.floats(-2, 2)
small = st.floats(0.001, 0.2)


@given(st.sampled_from(THREADS), share, error, error, small, small)
def test_the_true_thread_is_always_in_the_set(thread, place, off, off_pitch, u, u_pitch) -> None:  # type: ignore[no-untyped-def]
    true = thread.limits.low + place * (thread.limits.high - thread.limits.low)
    diameter = Measured(max(1e-6, true + off * u), u)
    pitch = Measured(thread.pitch + off_pitch * u_pitch, u_pitch)
    found = threads_for(diameter, pitch, DAY)
    assert thread in found.candidates
    assert thread in threads_for(diameter, None, DAY).candidates
    assert (len(found.candidates) > 1) == ("several threads fit; none is chosen" in found.says)
    assert len(found.separations) == math.comb(len(found.candidates), 2)


@given(st.floats(0.3, 4.2), st.floats(0.1, 0.9), small, small, st.floats(0.05, 1))
def test_a_better_reading_only_narrows_the_set(d, p, u, u_pitch, better) -> None:  # type: ignore[no-untyped-def]
    wide = threads_for(Measured(d, u), Measured(p, u_pitch), DAY).candidates
    narrow = threads_for(Measured(d, u * better), Measured(p, u_pitch * better), DAY).candidates
    assert set(narrow) <= set(wide)


@given(st.sampled_from(RECESSES), share, error, small)
def test_the_true_drive_is_always_in_the_set(drive, place, off, u) -> None:  # type: ignore[no-untyped-def]
    true = drive.width.low + place * (drive.width.high - drive.width.low)
    assert drive in drives_for(Measured(max(1e-6, true + off * u), u), DAY).candidates


@given(st.dates(date(1961, 1, 1), date(2050, 12, 31)))
def test_the_week_of_a_day_is_among_the_readings_of_its_code(day: date) -> None:
    year, week, _ = day.isocalendar()
    found = read_date_code(f"{year % 100:02d}{week:02d}", max(day, DAY))
    assert (year, week) in [(one.year, one.week) for one in found.readings]


@given(st.text(max_size=8))
def test_any_code_is_answered(code: str) -> None:
    found = read_date_code(code, DAY)
    assert found.says
    assert not {one.year for one in found.readings} & {one.year for one in found.excluded}


words = st.text("ABDG0168", max_size=9)


@given(words, words)
def test_similarity_is_symmetric_and_full_only_for_equals(one: str, other: str) -> None:
    similarity, differences = compare(one, other)
    assert 0 <= similarity <= 100
    assert similarity == compare(other, one)[0]
    if one or other:
        assert (similarity == 100) == (one == other) == (not differences)


corner = st.tuples(st.integers(0, 30), st.integers(0, 30))
box = st.tuples(corner, st.integers(1, 12), st.integers(1, 12)).map(
    lambda b: (
        (b[0][0], b[0][1]),
        (b[0][0] + b[1], b[0][1]),
        (b[0][0] + b[1], b[0][1] + b[2]),
        (b[0][0], b[0][1] + b[2]),
    )
)


@settings(max_examples=60)
@given(st.lists(box, max_size=6))
def test_boxes_on_a_grid_cover_as_many_squares_as_are_counted(boxes) -> None:  # type: ignore[no-untyped-def]
    squares = {
        (x, y) for (left, low), _, (right, high), _ in boxes for x in range(left, right) for y in range(low, high)
    }
    assert math.isclose(covered(boxes), len(squares), abs_tol=1e-9)
    assert covered(boxes) <= sum(map(area, boxes)) + 1e-9
