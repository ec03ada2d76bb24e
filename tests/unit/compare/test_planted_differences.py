"""The comparison of the example tablets names every planted difference, and nothing that its README does not list."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from unfasten.compare.comparison import compare_records
from unfasten.compare.difference import Difference
from unfasten.record.read import read_record
from unfasten.record.record import Record

FOLDER = Path(__file__).parents[3] / "examples"

#: what README.md plants -> (kind, property, id of part or joint) as regular expressions; several where it takes several
TO_11 = {
    "1 part moved": [("moved", "held to", "microphone-main|microphone-boot")],
    "2 shorter cable of the front camera": [("changed", "cable.length", "front-camera")],
    "3 shorter cable of the battery": [("changed", "cable.length", "battery"), ("changed", "cable.needed", "battery")],
    "4 fixing hole shifted": [("changed", "holes", "rear-camera-bracket")],
    "5 glue for tray screws": [("re-fastened", "kind", "battery-glue")],
    "6 glue for back screws": [("re-fastened", "kind", "back-glue"), ("re-fastened", "count", "back-clips")],
    "7 brace covers more": [("covered", "under", "display-plug")],
    "8 other drive and thread": [("re-fastened", "drive", ".*-screws")],
    "9 sensor bracket merged": [
        ("merged", "part", "front-camera-bracket"),
        ("re-fastened", "count", "front-camera-bracket-screws"),
        ("changed", "mass", "front-camera-bracket"),
    ],
    "10 display brace merged": [
        ("merged", "part", "battery-brace"),
        ("re-fastened", "count", "battery-brace-screws"),
        ("changed", "mass", "battery-brace"),
    ],
    "11 charging port split off": [
        ("split", "part", "charging-port"),
        ("changed", "role", "port-board"),
        ("changed", "components", "port-board"),
    ],
    "12 radio split off": [
        ("split", "part", "upper-board"),
        ("new", "part", "radio-shield"),
        ("changed", "components", "logic-board"),
        ("changed", "mass", "logic-board"),
    ],
    "13 part new": [("new", "part", "near-field-coil")],
    "14 part gone": [("gone", "part", "headset-socket")],
    "15 other connector": [
        ("changed", "cable.connector", "speaker-.*"),
        ("re-fastened", "tools", "(speaker-.*|vibration-motor)-connector"),
    ],
    "16 pairing added": [("paired", "pairing", "display-assembly")],
    "17 spreader over the battery": [("moved", "held to", "heat-spreader"), ("changed", "size|mass", "heat-spreader")],
    "18 cable rerouted": [("moved", "held to", "port-flex"), ("changed", "cable.*", "port-flex")],
    "19 smaller holes, smaller board": [
        ("changed", "holes.diameter", "port-board"),
        ("changed", "size|mass", "port-board"),
    ],
    "20 battery": [("changed", r"battery\..*|marking|mass|name", "battery")],
    "21 what swings": [
        ("swings", "part", "display-open|cover-open|port-flex-aside"),
        ("re-fastened", "joint", "cover-cable"),
    ],
    "22 promises": [("promised", ".*", "supply")],
    "lesser: hazards": [("hazard", "hazards", "flash-board|lens-gasket")],
    "lesser: cleaning": [("re-fastened", "preparation|time", "lens-gasket-tape")],
    "lesser: paste": [("re-fastened", "joint", "logic-board-paste")],
    "lesser: logic board": [("changed", "holes|size|marking", "logic-board")],
    "lesser: work times": [("re-fastened", "time", "display-glue|heat-spreader-tape")],
    "lesser: sizes and masses": [
        ("changed", "size|mass", "back-cover|display-assembly|frame|logic-shield"),
        ("changed", "product.(size|mass)", "product"),
    ],
    "lesser: needed length": [("changed", "cable.needed", "coax-right")],
    "lesser: found on the bench": [("covered", "found under", "speaker-flex-tape")],
}
TO_PLUS = {
    "1 other battery": [
        ("changed", r"battery\..*|marking|mass|cable.*", "battery"),
    ],
    "2 board turned": [("changed", "holes.turned|size", "logic-board")],
    "3 longer cables": [("changed", "cable.(length|needed)", "front-camera|coax-right|port-flex|button-flex")],
    "4 shorter cable": [("changed", "cable.(length|needed)", "coax-left")],
    "5 spreader split": [
        ("split", "part", "battery-spreader"),
        ("changed", "size|mass", "heat-spreader"),
        ("re-fastened", "time", "heat-spreader-tape"),
    ],
    "6 second of its role": [("new", "part", "wide-camera")],
    "7 parts new": [("new", "part", "pen-coil|pen-magnet")],
    "8 parts gone": [("gone", "part", "accessory-board|accessory-bracket")],
    "9 pairing added": [("paired", "pairing", "battery")],
    "10 tool comes with the part": [("re-fastened", "preparation|time", "battery-glue")],
    "11 not known": [("re-fastened", "reuse", "battery-glue"), ("promised", ".*", "supply")],
    "12 longer bracket": [("changed", "holes|mass", "rear-camera-bracket")],
    "13 one way less": [("re-fastened", "ways", "battery-glue")],
    "lesser: larger": [
        ("changed", "size|mass|cable.*", "back-cover|display-assembly|frame|port-flex|speaker-flex"),
        ("changed", "product.(size|mass)", "product"),
        ("re-fastened", "count|time", "back-clips|back-glue|display-glue|battery-brace-screws"),
    ],
    "lesser: logic board": [("changed", "components|marking", "logic-board")],
    "lesser: found on the bench": [("covered", "found under", "speaker-flex-tape")],
}


@cache
def example(name: str) -> Record:
    record = read_record((FOLDER / f"{name}.yaml").read_bytes(), name).record
    assert record is not None
    return record


@cache
def differences(before: str, after: str) -> tuple[Difference, ...]:
    ((_, found),) = compare_records([example(before), example(after)]).steps
    return found


def claims(claim: tuple[str, str, str], one: Difference) -> bool:
    kind, what, about = claim
    ids = [name for name in one.about if name is not None]
    return one.kind == kind and bool(re.fullmatch(what, one.what)) and any(re.fullmatch(about, name) for name in ids)


PAIRS = [("tarn-9", "tarn-11", TO_11), ("tarn-11", "tarn-11-plus", TO_PLUS)]
PLANTED = [(b, a, name, claim) for b, a, table in PAIRS for name, list_ in table.items() for claim in list_]


@pytest.mark.parametrize(("before", "after", "name", "claim"), PLANTED)
def test_every_planted_difference_is_named(before: str, after: str, name: str, claim: tuple[str, str, str]) -> None:
    assert [one for one in differences(before, after) if claims(claim, one)], f"{name}: {claim}"


@pytest.mark.parametrize(("before", "after", "table"), PAIRS)
def test_nothing_else_is_named(before: str, after: str, table: dict[str, list[tuple[str, str, str]]]) -> None:
    every = [claim for list_ in table.values() for claim in list_]
    stray = [one for one in differences(before, after) if not any(claims(claim, one) for claim in every)]
    assert [(one.kind, one.what, one.about, one.before, one.after) for one in stray] == []


def only(before: str, after: str, kind: str, what: str, about: str) -> Difference:
    (found,) = [one for one in differences(before, after) if claims((kind, what, about), one)]
    return found


def test_the_shifted_hole_is_named_with_its_shift() -> None:
    found = only("tarn-9", "tarn-11", "changed", "holes", "rear-camera-bracket")
    assert found.before == "hole 2 at 17.90, 2.10 mm"
    assert found.after == "hole 2 at 18.50, 2.10 mm"
    assert found.note == "hole 2 out of place by 0.60 mm"


def test_the_front_camera_cable_says_what_is_to_spare_and_that_the_difference_is_beyond_doubt() -> None:
    found = only("tarn-9", "tarn-11", "changed", "cable.length", "front-camera")
    assert found.note == "spare length 8.0 mm before, 0.5 mm after"
    assert found.measured is not None
    assert found.measured.beyond == "exceeds"
    assert found.effect == "harder"


def test_the_turned_board_is_the_same_pattern() -> None:
    assert (
        only("tarn-11", "tarn-11-plus", "changed", "holes.turned", "logic-board").note
        == "the same pattern, turned by 90.0°"
    )


def test_a_merger_rests_on_the_covers_that_passed_over_and_on_the_masses() -> None:
    found = only("tarn-9", "tarn-11", "merged", "part", "front-camera-bracket")
    places = {item.at for item in found.evidence}
    assert {"joints.ambient-sensor-plug", "joints.ambient-sensor-tape", "parts.ambient-sensor.lift.behind"} <= places
    (mass,) = [item for item in found.evidence if item.kind == "measured"]
    assert "within 2 u" in mass.says


def test_masses_within_their_uncertainty_are_no_difference() -> None:
    masses = {one.about[0] for one in differences("tarn-9", "tarn-11") if one.what == "mass"}
    assert "antenna-left" not in masses  # 1.3 ± 0.1 g and 1.2 ± 0.1 g: u of the difference is 0.14 g
    assert "frame" in masses  # 95.0 ± 0.1 g and 92.6 ± 0.1 g


def test_a_swung_joint_keeps_its_log_entry_as_evidence() -> None:
    found = only("tarn-9", "tarn-11", "re-fastened", "kind", "battery-glue")
    logged = [item for item in found.evidence if item.kind == "log" and item.side == "after"]
    assert [item.says for item in logged] == ["released battery glue, at 0:15:05, p-007"]


UNCHANGED = {
    ("tarn-9", "tarn-11"): ["rear-camera", "card-tray", "power-button", "volume-button", "button-flex", "coax-left"],
    ("tarn-11", "tarn-11-plus"): ["charging-port", "speaker-upper-left", "rear-camera", "volume-button"],
}


@pytest.mark.parametrize(("pair", "parts"), list(UNCHANGED.items()))
def test_unchanged_parts_have_no_difference(pair: tuple[str, str], parts: list[str]) -> None:
    changed = {name for one in differences(*pair) if one.kind in ("changed", "moved", "paired") for name in one.about}
    assert changed.isdisjoint(parts)
