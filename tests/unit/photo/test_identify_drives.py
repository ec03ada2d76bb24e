"""Sets of drives and packages: limits, what is open, and numbers that standards give differently."""

from __future__ import annotations

from datetime import date

import pytest

from unfasten.evidence.errors import CallError
from unfasten.photo.identify.drives import describe_lobes, drives_for, known_drives
from unfasten.photo.identify.packages import known_packages, packages_for, read_size
from unfasten.photo.identify.window import Measured
from unfasten.service.identify import identify_drive, identify_package

DAY = date(2026, 11, 25)


def test_every_hexalobular_size_is_told_from_every_other() -> None:
    sizes = [drive for drive in known_drives(DAY) if drive.shape == "hexalobular"]
    assert [drive.size for drive in sizes] == [3, 4, 5, 6, 8, 10, 15, 20, 25, 30]
    for drive in sizes:
        assert drive.width is not None
        for points in (drive.width.low, (drive.width.low + drive.width.high) / 2, drive.width.high):
            found = drives_for(Measured(points, 0.005), DAY, ("hexalobular",)).candidates
            assert [one.size for one in found] == [drive.size]


def test_a_poor_reading_leaves_two_sizes() -> None:
    found = drives_for(Measured(1.27, 0.03), DAY, ("hexalobular",))
    assert [drive.name for drive in found.candidates] == ["hexalobular 4", "hexalobular 3"]
    near, far = (found.agreement(drive) for drive in found.candidates)
    assert near is not None
    assert far is not None
    assert near > far > 4.5
    assert "several drives fit; none is chosen" in found.says


def test_without_a_shape_both_stay_possible() -> None:
    found = drives_for(Measured(1.74, 0.01), DAY)
    assert {drive.shape for drive in found.candidates} == {"hexalobular", "cross"}


def test_a_thread_does_not_settle_the_number_of_a_cross_recess() -> None:
    # ISO 7045 gives M3 number 1, the Japanese standard number 2; M2: number 0, and 1
    for thread, numbers in (("M3", {1, 2}), ("M2", {0, 1})):
        found = drives_for(None, DAY, ("cross",), thread)
        assert {drive.size for drive in found.candidates} == numbers
        assert any("different numbers" in text for text in found.says)
    assert {drive.size for drive in drives_for(None, DAY, ("cross",), "M2.5").candidates} == {1}


def test_the_head_excludes_screws_whose_head_is_smaller() -> None:
    wide = drives_for(Measured(1.8, 0.02), DAY, ("cross",), head=Measured(3.9, 0.05))
    assert {drive.screw for drive in wide.candidates} == {"M2"}
    assert ("cross H 0", "pan heads M1.6 are at most 3.2 mm wide, 3.900 ± 0.050 mm was measured") in [
        (drive.name, reason) for drive, reason in wide.near
    ]
    small = drives_for(Measured(1.8, 0.02), DAY, ("cross",), head=Measured(3.0, 0.05))
    assert {drive.screw for drive in small.candidates} == {"M1.6", "M2"}


def test_what_the_table_does_not_hold_is_said() -> None:
    says = " ".join(drives_for(Measured(2.06, 0.02), DAY).says)
    assert "sizes 7 and 9 of the trade" in says
    assert "type S" in says
    assert "our allowance" in says


def test_lobes_without_a_public_sheet_are_described_and_not_named() -> None:
    told = describe_lobes(5, True)
    assert told.startswith("5 lobes, with a pin in the middle")
    assert "instead of a trade name" in told
    assert describe_lobes(4, None) == "four wings: cross"
    five = identify_drive(DAY, points="0.8 ± 0.02 mm", lobes=5)
    assert five.drives.candidates == ()
    six = identify_drive(DAY, points="1.74 ± 0.01 mm", lobes=6)
    assert [drive.name for drive in six.drives.candidates] == ["hexalobular 6"]


def test_small_sizes_rest_on_one_table() -> None:
    marks = {drive.size: drive.confidence for drive in known_drives(DAY) if drive.shape == "hexalobular"}
    assert {size for size, mark in marks.items() if mark == "B"} == {3, 4, 5}


@pytest.mark.parametrize(
    ("size", "balls", "wanted"),
    [
        ("11.52 ± 0.05 x 13.01 ± 0.05 mm", None, ["BGA-153"]),
        ("13 x 11.5 ± 0.05 mm", None, ["BGA-153"]),
        ("12.0 × 12.0 ± 0.05 mm", None, ["BGA-168", "BGA-216"]),
        ("12.0 x 12.0 ± 0.05 mm", 216, ["BGA-216"]),
        ("14 x 14 ± 0.05 mm", None, ["BGA-220", "BGA-240"]),
        ("1.0 ± 0.01 cm x 14.5 ± 0.1 mm", None, ["BGA-200"]),
        ("12 x 12.4 ± 0.05 mm", None, []),
    ],
)
def test_packages(size: str, balls: int | None, wanted: list[str]) -> None:
    assert [package.name for package in identify_package(size, DAY, balls).candidates] == wanted


def test_every_package_is_found_by_its_own_size() -> None:
    for package in known_packages(DAY):
        found = packages_for(Measured(package.width, 0.02), Measured(package.length, 0.02), DAY).candidates
        assert package in found


@pytest.mark.parametrize(
    "text", ["12 mm", "12 x 12 mm", "12 x 12 x 1 ± 0.1 mm", "12 x 12 ± 0.1", "a x b mm", "12 x 12 ± 0.1 g"]
)
def test_what_is_no_size_is_refused(text: str) -> None:
    with pytest.raises(CallError) as caught:
        read_size(text)
    assert caught.value.code in ("identify.no-size", "identify.no-uncertainty")
