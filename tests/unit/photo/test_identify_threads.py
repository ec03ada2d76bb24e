"""Sets of threads: traps of neighbouring sizes, limits and their basis, and what would tell candidates apart."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from unfasten.evidence.cite import sources
from unfasten.evidence.errors import CallError
from unfasten.photo.identify import figures
from unfasten.photo.identify.figures import parameters
from unfasten.photo.identify.threads import Thread, known_threads, threads_for
from unfasten.photo.identify.window import Measured, Window, places_for
from unfasten.service.identify import identify_thread

DAY = date(2026, 11, 25)


def thread(name: str) -> Thread:
    return next(one for one in known_threads(DAY) if one.name == name)


def names(diameter: float, pitch: float | None, u: float = 0.01, u_pitch: float = 0.01) -> list[str]:
    found = threads_for(Measured(diameter, u), None if pitch is None else Measured(pitch, u_pitch), DAY)
    return [one.name for one in found.candidates]


def test_the_outside_of_a_screw_is_never_rounded_to_the_nearest_size() -> None:
    # class 6g leaves an M2 between 1.886 and 1.981: 1.89 is nearer to M1.8 than to 2.0 only by its number
    assert names(1.89, 0.40) == ["M2"]
    # an M1.8 is at most 1.781, so 1.802 is none; an inch thread with nearly the same pitch can be
    assert names(1.802, 0.35) == ["#1-72"]


@pytest.mark.parametrize(
    ("diameter", "pitch", "wanted"),
    [
        (1.59, 0.35, ["M1.7", "M1.6"]),  # 0.006 below M1.7 and 0.009 above M1.6: the pitch is the same
        (1.55, 0.35, ["M1.6"]),
        (1.64, 0.35, ["M1.7"]),
        (1.74, 0.35, ["M1.8", "#1-72"]),
        (2.48, 0.45, ["M2.5", "M2.6"]),  # 2.480 is the end of one and the beginning of the other
        (2.43, 0.45, ["M2.5"]),
        (2.17, 0.45, ["M2.2", "#2-56"]),  # pitches 0.4500 and 0.4536
        (2.185, 0.45, ["#2-56", "M2.2"]),  # inside the one, 0.005 above the other
        (2.20, 0.40, ["M2.3"]),  # M2.2 has pitch 0.45
        (0.95, 0.25, ["M1", "S1.0"]),  # the miniature thread has the same sizes
        (2.92, 0.50, ["M3"]),
    ],
)
def test_neighbouring_sizes(diameter: float, pitch: float, wanted: list[str]) -> None:
    assert names(diameter, pitch) == wanted


def test_without_a_pitch_nothing_is_excluded_by_it() -> None:
    assert names(2.17, None) == ["M2.2", "#2-56", "M2.3"]
    assert any("pitch was not measured" in text for text in threads_for(Measured(2.17, 0.01), None, DAY).says)


def test_a_better_reading_only_takes_threads_away() -> None:
    wide, narrow = names(1.585, 0.35, u=0.05, u_pitch=0.03), names(1.585, 0.35, u=0.001)
    assert set(narrow) < set(wide)
    assert names(1.585, 0.35, u=0.001) == []
    assert set(wide) == {"M1.6", "M1.7", "#0-80"}


def test_what_just_misses_is_named_with_the_reason() -> None:
    found = threads_for(Measured(1.54, 0.02), Measured(0.35, 0.01), DAY)
    reasons = {one.name: reason for one, reason in found.near}
    assert reasons["#0-80"] == "its pitch is 0.3175 mm, 0.350 ± 0.010 mm was measured"
    assert reasons["M1.7"] == "its outside is 1.596 to 1.681 mm, 1.540 ± 0.020 mm was measured"


def test_what_would_tell_two_candidates_apart() -> None:
    (one,) = threads_for(Measured(1.59, 0.02), Measured(0.35, 0.01), DAY).separations
    # the gap 1.596 - 1.581 must be wider than 2 k u
    assert one.u_diameter == pytest.approx(0.015 / 4)
    assert one.u_pitch is None
    (two,) = threads_for(Measured(2.17, 0.01), Measured(0.45, 0.01), DAY).separations
    assert two.u_diameter is None
    assert two.u_pitch == pytest.approx((25.4 / 56 - 0.45) / 4)
    (three,) = threads_for(Measured(2.48, 0.01), Measured(0.45, 0.01), DAY).separations
    assert str(three) == "M2.5 and M2.6: by neither length; try a gauge or a nut of known thread"


@pytest.mark.parametrize(
    ("name", "low", "high", "basis"),
    [
        ("M1.6", 1.496, 1.581, "read"),
        ("M2.6", 2.480, 2.580, "read"),
        ("M1.7", 1.596, 1.681, "same pitch"),
        ("M1.8", 1.696, 1.781, "same pitch"),
        ("M2.2", 2.080, 2.180, "same pitch"),
        ("M2.3", 2.186, 2.281, "same pitch"),
        ("M1.2", 1.096, 1.200, "bracket"),
        ("#6-32", 3.505 - 0.162 * 0.79375 / 0.7, 3.505, "bracket"),
    ],
)
def test_limits_and_what_they_rest_on(name: str, low: float, high: float, basis: str) -> None:
    found = thread(name)
    assert (found.limits.low, found.limits.high) == pytest.approx((low, high), abs=6e-4)
    assert found.basis == basis


def test_a_bracket_is_never_narrower_than_limits_that_were_read() -> None:
    for one in known_threads(DAY):
        if one.basis == "read":
            coarser = [other for other in known_threads(DAY) if other.basis == "read" and other.pitch > one.pitch]
            assert all(one.d - one.limits.low < other.d - other.limits.low for other in coarser)


def test_a_set_with_brackets_says_that_it_may_be_too_wide() -> None:
    says = threads_for(Measured(0.95, 0.01), Measured(0.25, 0.01), DAY).says
    assert any("bracket" in text for text in says)
    assert not any("bracket" in text for text in threads_for(Measured(1.95, 0.01), Measured(0.4, 0.01), DAY).says)


def test_the_pitch_over_several_turns_is_the_better_known() -> None:
    found = identify_thread("2.12 ± 0.01 mm", DAY, length="4.5 ± 0.03 mm", turns=10)
    assert found.pitch is not None
    assert (found.pitch.value, found.pitch.u) == pytest.approx((0.45, 0.003))
    for how in (
        {"pitch": "0.45 ± 0.01 mm", "length": "1 ± 0.1 mm", "turns": 2},
        {"turns": 3},
        {"length": "1 ± 0.1 mm"},
    ):
        with pytest.raises(CallError) as caught:
            identify_thread("2.12 ± 0.01 mm", DAY, **how)  # type: ignore[arg-type]
        assert caught.value.code == "identify.pitch-twice"


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("1.58 mm", "identify.no-uncertainty"),
        ("1.58 ± 0 mm", "identify.no-uncertainty"),
        ("0 ± 0.1 mm", "identify.no-length"),
        ("1.58", "identify.no-length"),
        ("1.58 ± 0.01 g", "identify.no-length"),
    ],
)
def test_what_is_no_reading_is_refused(text: str, code: str) -> None:
    with pytest.raises(CallError) as caught:
        identify_thread(text, DAY)
    assert caught.value.code == code
    assert caught.value.remedy


def test_units_do_not_matter() -> None:
    assert identify_thread("158 ± 2 µm", DAY).diameter.value == pytest.approx(0.158)
    one = identify_thread("0.158 ± 0.002 cm", DAY, "350 ± 10 µm")
    assert [t.name for t in one.candidates] == ["M1.6", "M1.7"]


def test_windows_and_decimals() -> None:
    window = Window(1.0, 2.0)
    assert [window.outside(x) for x in (0.5, 1.5, 2.25)] == [0.5, 0.0, 0.25]
    assert window.may_be(Measured(2.2, 0.1))
    assert not window.may_be(Measured(2.2, 0.099))
    assert [places_for(u) for u in (0.02, 0.0019, 0.3, 5, 40, 0)] == [3, 4, 2, 1, 0, 3]


def test_every_figure_is_cited_with_unit_range_and_confidence() -> None:
    code = "".join(path.read_text("utf-8") for path in Path(figures.__file__).parent.glob("*.py"))
    assert [name for name in parameters() if f'"{name}"' not in code] == []
    for one in parameters().values():
        assert one.unit
        assert one.meaning
        assert one.confidence in ("A", "B")
        assert all(item.cite.doc in sources() and item.cite.at for item in one.history)
