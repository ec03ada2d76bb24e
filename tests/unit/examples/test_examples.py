"""The shipped example records: valid, rich enough to teach, and different from one another where README.md says so."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from unfasten.evidence.quantity import Quantity
from unfasten.record.check import check_record
from unfasten.record.fold import fold_log
from unfasten.record.joint import Joint
from unfasten.record.log import Found, Lifted, Released
from unfasten.record.part import Battery, Cable, Part
from unfasten.record.read import read_record
from unfasten.record.record import Record
from unfasten.routes.result import Reach
from unfasten.routes.solve import solve
from unfasten.service.assess import assess

FOLDER = Path(__file__).parents[3] / "examples"
NAMES = ("tarn-9", "tarn-11", "tarn-11-plus")
#: warnings that are meant to be there
INTENDED = {"tarn-9": [], "tarn-11": [], "tarn-11-plus": ["record.reuse-unknown"]}


@cache
def example(name: str) -> Record:
    reading = read_record((FOLDER / f"{name}.yaml").read_bytes(), name)
    assert reading.findings == ()
    assert reading.record is not None
    return reading.record


@cache
def reaches(name: str) -> dict[str, Reach]:
    return solve(example(name))


def cable(part: Part) -> Cable:
    assert part.cable is not None
    return part.cable


def battery(name: str) -> Battery:
    label = example(name).parts["battery"].battery
    assert label is not None
    return label


def si(quantity: Quantity | None) -> Decimal:
    assert quantity is not None
    return quantity.si


def partial(record: Record) -> Iterator[str]:
    for name, joint in record.joints.items():
        yield from (name for way in joint.ways if way.survey == "partial")
    yield from (name for name, part in record.parts.items() if part.lift and part.lift.survey == "partial")
    yield from (name for name, bundle in record.bundles.items() if bundle.lift.survey == "partial")


def test_every_file_of_the_folder_is_tested() -> None:
    assert {path.stem for path in FOLDER.glob("*.yaml")} == set(NAMES)


@pytest.mark.parametrize("name", NAMES)
def test_warns_only_where_intended(name: str) -> None:
    assert [finding.code for finding in check_record(example(name))] == INTENDED[name]


@pytest.mark.parametrize("name", NAMES)
def test_size_of_a_real_tablet(name: str) -> None:
    record = example(name)
    assert record.product.id == name
    assert 35 <= len(record.parts) <= 60
    assert 60 <= len(record.joints) <= 110


@pytest.mark.parametrize("name", NAMES)
def test_shows_every_feature_of_the_format(name: str) -> None:
    record = example(name)
    ways = [way for joint in record.joints.values() for way in joint.ways]
    assert any(len(joint.ways) > 1 for joint in record.joints.values()), "alternative ways"
    assert any(len(way.tools) > 1 for way in ways), "two tools at the same time"
    assert any(p.do == "heat" for way in ways for p in way.prepare), "heating"
    assert len(record.bundles) >= 2
    assert record.swings
    assert 5 <= len(list(partial(record))) <= 12
    assert any(way.clear_of for way in ways)
    assert any(isinstance(entry, Found) for entry in record.log)
    assert {"note", "pause", "swing"} <= {entry.do for entry in record.log}
    assert any(part.holes for part in record.parts.values())
    assert any(part.components for part in record.parts.values())
    assert {"glass", "spring"} <= {hazard for part in record.parts.values() for hazard in part.hazards}


def test_any_of_covers_nested_bundle_and_cleaning_are_shown() -> None:
    record = example("tarn-11")
    assert ("port-flex", "port-board") in record.joints["battery-glue"].ways[0].under
    inner, outer = (set(record.bundles[name].parts) for name in ("board-stack", "logic-assembly"))
    assert inner < outer
    assert "still_covers" in record.swings["cover-open"].model_fields_set
    assert any(p.do == "clean" for p in record.joints["lens-gasket-tape"].ways[0].prepare)


@pytest.mark.parametrize("name", NAMES)
def test_inside_a_bundle_parts_cover_one_another(name: str) -> None:
    record = example(name)
    inside = [
        cover
        for bundle in record.bundles.values()
        for joint in record.joints.values()
        if set(joint.holds) <= set(bundle.parts)
        for way in joint.ways
        for clause in way.under
        for cover in clause
        if cover in set(bundle.parts) - set(joint.holds)
    ]
    assert inside


@pytest.mark.parametrize("name", NAMES)
def test_log_covers_nearly_everything_in_order_of_time(name: str) -> None:
    record = example(name)
    released = {entry.joint for entry in record.log if isinstance(entry, Released)}
    lifted = {entry.part for entry in record.log if isinstance(entry, Lifted) and entry.part}
    assert len(released) >= 0.95 * len(record.joints)
    assert len(lifted) >= 0.95 * (len(record.parts) - 1)
    clocks = [[int(field) for field in entry.at.split(":")] for entry in record.log if entry.at]
    assert len(clocks) == len(record.log)
    assert clocks == sorted(clocks)


@pytest.mark.parametrize("name", NAMES)
def test_label_energy_is_voltage_times_capacity(name: str) -> None:
    label = battery(name)
    energy = si(label.nominal_voltage) * si(label.rated_capacity) / 1000  # V x mAh -> Wh
    assert abs(energy - si(label.marked_energy)) <= Decimal("0.005")


@pytest.mark.parametrize("name", NAMES)
def test_energy_density_is_that_of_a_present_day_cell(name: str) -> None:
    label = battery(name)
    assert label.size is not None
    volume = label.size[0].si * label.size[1].si * label.size[2].si / Decimal(1_000_000)  # mm3 -> L
    assert 250 <= si(label.marked_energy) / volume <= 850  # Wh/L


@pytest.mark.parametrize("name", NAMES)
def test_parts_weigh_a_little_less_than_the_product(name: str) -> None:
    record = example(name)
    parts = sum((part.mass.si for part in record.parts.values() if part.mass), Decimal(0))
    rest = si(record.product.mass) - parts  # screws, glue and tapes were not weighed one by one
    assert 5 <= rest <= 25


@pytest.mark.parametrize("name", NAMES)
def test_every_part_is_reached_low_and_high_and_proven(name: str) -> None:
    for reach in reaches(name).values():
        assert reach.low is not None, reach.target
        assert reach.high is not None, reach.target
        assert (reach.low.proven, reach.high.proven) == (True, True), reach.target


@pytest.mark.parametrize(("name", "low", "high"), [("tarn-9", 4, 7), ("tarn-11", 8, 11), ("tarn-11-plus", 13, 14)])
def test_depth_of_the_battery_is_as_the_readme_prints_it(name: str, low: int, high: int) -> None:
    reach = reaches(name)["battery"]
    assert (reach.steps_low, reach.steps_high) == (low, high)
    line = next(line for line in (FOLDER / "README.md").read_text().splitlines() if line.startswith(f"| `{name}.yaml`"))
    assert f"{low} to {high}" in line
    assert f"| {len(example(name).parts)} | {len(example(name).joints)} |" in line


@pytest.mark.parametrize("name", NAMES)
def test_index_is_as_the_readme_prints_it(name: str) -> None:
    answer: Any = assess(example(name), reaches(name), date(2026, 3, 10)).as_json()
    low, high = (answer["index"][bound] for bound in ("low", "high"))
    classes = [answer["class"][bound] for bound in ("high", "low")]
    line = next(line for line in (FOLDER / "README.md").read_text().splitlines() if line.startswith(f"| `{name}.yaml`"))
    assert f"{low} to {high}, {classes[1]}" in line
    assert len(set(classes)) == 1 or f"{classes[1]} or {classes[0]}" in line


@pytest.mark.parametrize("name", NAMES)
def test_several_priority_parts_have_an_interval(name: str) -> None:
    record = example(name)
    priority = [part for part, data in record.parts.items() if data.role not in (None, "other")]
    assert sum(reaches(name)[part].steps_low != reaches(name)[part].steps_high for part in priority) >= 3


def test_the_film_took_off_more_than_the_shortest_route_needs() -> None:
    record = example("tarn-11")
    film = [entry.part for entry in record.log if isinstance(entry, Lifted)]
    between = film[film.index("back-cover") + 1 : film.index("battery")]
    low = reaches("tarn-11")["battery"].low
    assert low is not None
    needed = {action.part for action in low.actions if action.part} | {"port-flex"}  # the flex is only swung aside
    assert len(between) == 12
    assert len(needed.intersection(between)) == 4


@pytest.mark.parametrize(
    ("answers", "high"),
    [
        ({}, 11),
        ({"battery-glue": ("speaker-lower-left",)}, 10),
        ({"battery-glue": ("speaker-lower-left", "antenna-bracket-left")}, 9),
        ({"battery-glue": ("speaker-lower-left", "antenna-bracket-left"), "battery-plug": ("near-field-coil",)}, 8),
    ],
)
def test_each_answer_takes_a_step_off_the_high_depth(answers: dict[str, tuple[str, ...]], high: int) -> None:
    record = example("tarn-11")
    entries = [Found(do="found", joint=joint, way=0, clear_of=parts) for joint, parts in answers.items()]
    answered = fold_log(record.model_copy(update={"log": (*record.log, *entries)}))
    assert solve(answered, ["battery"])["battery"].steps_high == high


# -- planted differences, Tarn 9 to Tarn 11 --------------------------------------------------------------------------


def joints_of(name: str, joint: str) -> Joint:
    return example(name).joints[joint]


def test_microphone_moved_from_the_port_board_to_the_logic_board() -> None:
    assert "port-board" in joints_of("tarn-9", "microphone-main-plug").holds
    assert "logic-board" in joints_of("tarn-11", "microphone-main-plug").holds


def test_front_camera_cable_is_shorter_but_reaches() -> None:
    old, new = (cable(example(name).parts["front-camera"]) for name in ("tarn-9", "tarn-11"))
    assert (si(old.length), si(new.length)) == (Decimal("46.0"), Decimal("38.5"))
    assert si(new.needed) < si(new.length)


def test_one_hole_of_the_rear_camera_bracket_is_shifted() -> None:
    old, new = (example(name).parts["rear-camera-bracket"].holes for name in ("tarn-9", "tarn-11"))
    moved = [(b.at[0].si - a.at[0].si, b.at[1].si - a.at[1].si) for a, b in zip(old, new, strict=True)]
    still = Decimal(0)
    assert moved == [(still, still), (Decimal("0.60"), still), (still, still)]
    assert all(length.u is not None for hole in (*old, *new) for length in hole.at)


def test_battery_is_glued_in_place_of_screwed() -> None:
    assert (joints_of("tarn-9", "battery-tray-screws").kind, joints_of("tarn-9", "battery-tray-screws").reuse) == (
        "screw",
        "reusable",
    )
    assert (joints_of("tarn-11", "battery-glue").kind, joints_of("tarn-11", "battery-glue").reuse) == (
        "adhesive",
        "resupplied",
    )
    assert "battery-glue" not in example("tarn-9").joints
    assert "battery-tray-screws" not in example("tarn-11").joints


def test_battery_brace_covers_the_display_plugs_too() -> None:
    for joint in ("display-plug", "touch-plug"):
        assert ("display-brace",) in joints_of("tarn-9", joint).ways[0].under
        assert ("battery-brace",) in joints_of("tarn-11", joint).ways[0].under


def test_drive_and_thread_differ() -> None:
    for joint in ("battery-brace-screws", "port-brace-screws", "speaker-lower-left-screws"):
        assert (joints_of("tarn-9", joint).drive, joints_of("tarn-9", joint).thread) == (
            "cross recess 0",
            "M1.6 x 0.35",
        )
        assert (joints_of("tarn-11", joint).drive, joints_of("tarn-11", joint).thread) == (
            "hexalobular 3",
            "M1.4 x 0.3",
        )


def test_parts_merged_split_new_and_gone() -> None:
    old, new = (set(example(name).parts) for name in ("tarn-9", "tarn-11"))
    assert old - new == {"sensor-bracket", "display-brace", "headset-socket"}
    assert new - old == {"charging-port", "upper-board", "radio-shield", "near-field-coil"}
    assert example("tarn-9").parts["port-board"].role == "charging-port"
    assert example("tarn-11").parts["port-board"].role is None


def test_speakers_have_another_connector() -> None:
    for corner in ("upper-left", "upper-right", "lower-left", "lower-right"):
        assert cable(example("tarn-9").parts[f"speaker-{corner}"]).connector == "2-way plug"
        assert cable(example("tarn-11").parts[f"speaker-{corner}"]).connector == "spring contacts"


def test_pairing_was_added() -> None:
    pairing = {name: example(name).parts["display-assembly"].pairing for name in NAMES}
    assert pairing == {"tarn-9": (), "tarn-11": ("notification",), "tarn-11-plus": ("notification",)}
    assert example("tarn-11").parts["battery"].pairing == ()
    assert example("tarn-11-plus").parts["battery"].pairing == ("authorisation",)


# -- planted differences, Tarn 11 and Tarn 11 Plus -------------------------------------------------------------------


def test_logic_board_of_the_plus_is_turned_by_a_quarter() -> None:
    lying, upright = (example(name).parts["logic-board"] for name in ("tarn-11", "tarn-11-plus"))
    assert lying.size is not None
    width = lying.size[1].si
    turned = [(width - hole.at[1].si, hole.at[0].si) for hole in lying.holes]
    assert turned == [(hole.at[0].si, hole.at[1].si) for hole in upright.holes]


def test_battery_of_the_plus_has_less_charge_and_more_energy() -> None:
    one, two = battery("tarn-11"), battery("tarn-11-plus")
    assert (one.cells_in_series, two.cells_in_series) == (1, 2)
    assert si(two.rated_capacity) < si(one.rated_capacity)
    assert si(two.marked_energy) > si(one.marked_energy)


def test_front_camera_of_the_small_one_does_not_reach_in_the_plus() -> None:
    small, large = (cable(example(name).parts["front-camera"]) for name in ("tarn-11", "tarn-11-plus"))
    assert si(small.length) < si(large.needed)


def test_parts_of_the_plus() -> None:
    small, large = (set(example(name).parts) for name in ("tarn-11", "tarn-11-plus"))
    assert large - small == {"battery-spreader", "wide-camera", "pen-coil", "pen-magnet"}
    assert small - large == {"accessory-board", "accessory-bracket"}
    shared = ("charging-port", "rear-camera", "power-button", "volume-button", "speaker-lower-left")
    for part in shared:
        one, two = (example(name).parts[part] for name in ("tarn-11", "tarn-11-plus"))
        assert (one.size, one.cable, one.mass) == (two.size, two.cable, two.mass)


def test_supply_of_the_plus_is_partly_unknown() -> None:
    known, open_ = (example(name).supply for name in ("tarn-11", "tarn-11-plus"))
    assert known.spare_parts.professional == "all"
    assert known.updates is not None
    assert known.repair_information.public == "free"
    assert open_.spare_parts.professional is None
    assert open_.updates is None
    assert open_.repair_information.public is None
    assert joints_of("tarn-11-plus", "battery-glue").reuse is None
