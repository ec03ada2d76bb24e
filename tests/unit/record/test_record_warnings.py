"""A valid record is warned about what it leaves open and what looks like a slip."""

from __future__ import annotations

import pytest

from unfasten.record.check import check_record
from unfasten.record.read import read_record

#: complete, plausible and without a warning; each test changes one thing
GOOD = """\
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet}
tools:
  hex-3: {name: Hexalobular driver 3, class: basic}
  pad: {name: Heating pad, class: commercial}
parts:
  frame: {name: Midframe, stays: true}
  back-cover: {name: Back cover, role: back-cover}
  display: {name: Display, role: display-assembly}
  battery:
    name: Battery
    role: battery
    lift: {side: back, behind: [back-cover], clear_of: [display], survey: partial}
    battery: {nominal_voltage: 3.87 V, rated_capacity: 5000 mAh, marked_energy: 19.35 Wh}
  front: {name: Front camera, role: front-camera}
  rear: {name: Rear camera, role: rear-camera}
  port: {name: Port, role: charging-port}
  button: {name: Button, role: button}
  microphone: {name: Microphone, role: microphone}
  speaker: {name: Speaker, role: speaker}
joints:
  screws:
    kind: screw
    holds: [back-cover, frame]
    reuse: reusable
    ways:
      - {tools: [hex-3], side: back, prepare: [{do: heat, tools: [pad]}], under: [display], clear_of: [speaker]}
  hinge: {kind: connector, holds: [back-cover, battery], reuse: reusable, ways: [{}]}
  rest:
    kind: clip
    holds: [display, battery, front, rear, port, button, microphone, speaker, frame]
    reuse: reusable
    ways: [{survey: partial}]
bundles:
  stack: {parts: [front, rear], lift: {survey: partial}}
swings:
  open: {part: back-cover, keeps: [hinge]}
log:
  - {at: "0:00:10", do: release, joint: rest}
  - {at: "0:00:20", do: lift, part: display}
  - {at: "0:00:30", do: release, joint: screws, way: 0}
  - {at: "0:00:30", do: swing, swing: open}
  - {do: release, joint: hinge}
  - {at: "0:00:40", do: lift, part: back-cover}
  - {at: "0:00:50", do: lift, part: battery}
  - {at: "0:00:55", do: lift, bundle: stack}
"""


def warnings(*changes: tuple[str, str]) -> list[tuple[str, str]]:
    text = GOOD
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    reading = read_record(text.encode(), "x.yaml")
    assert reading.record is not None, reading.findings
    found = check_record(reading.record, reading.document.line)
    assert all(finding.level == "warning" and finding.line and finding.remedy for finding in found)
    return [(finding.code, finding.at) for finding in found]


def test_a_complete_record_has_no_warning() -> None:
    assert warnings() == []


ROLES = [
    ("battery", "role: battery\n", "role: other\n"),
    ("display-assembly", "role: display-assembly", "role: other"),
    ("back-cover", "role: back-cover", "role: other"),
    ("front-camera", ", role: front-camera", ""),
    ("rear-camera", ", role: rear-camera", ""),
    ("charging-port", ", role: charging-port", ""),
    ("button", ", role: button", ""),
    ("microphone", ", role: microphone", ""),
    ("speaker", ", role: speaker", ""),
]


@pytest.mark.parametrize(("role", "old", "new"), ROLES, ids=[case[0] for case in ROLES])
def test_a_missing_role(role: str, old: str, new: str) -> None:
    assert warnings((old, new)) == [("record.role-missing", "parts")]


def test_the_hinge_is_expected_of_what_folds_and_nothing_of_other_things() -> None:
    assert warnings(("slate-tablet", "foldable-smartphone")) == [("record.role-missing", "parts")]
    assert warnings(("slate-tablet", "foldable-smartphone"), ("role: speaker", "role: hinge")) == [
        ("record.role-missing", "parts")
    ]
    assert warnings(("slate-tablet", "other"), (", role: speaker", "")) == []


WARNED = [
    ("driver 3, class: basic}", "driver 3}", "record.tool-class-unknown", "tools.hex-3"),
    ("frame]\n    reuse: reusable\n    ways:\n", "frame]\n    ways:\n", "record.reuse-unknown", "joints.screws"),
    ("tools: [hex-3], side", "side", "record.tool-unused", "tools.hex-3"),
    ("button, microphone, speaker, frame]", "button, microphone, frame]", "record.part-unheld", "parts.speaker"),
    ("  - {do: release, joint: hinge}\n", "", "record.log-still-held", "log[4].part"),
    ("[back-cover, battery]", "[back-cover]", "record.holds-one", "joints.hinge.holds"),
    ("under: [display]", "under: [frame]", "record.covers-itself", "joints.screws.ways[0].under[0]"),
    ("behind: [back-cover]", "behind: [battery]", "record.covers-itself", "parts.battery.lift.behind[0]"),
    (
        "lift: {survey: partial}}",
        "lift: {behind: [[front, rear]]}}",
        "record.covers-itself",
        "bundles.stack.lift.behind[0]",
    ),
    ("side: back, behind", "side: botom, behind", "record.side-unusual", "parts.battery.lift.side"),
    ("side: back, prepare", "side: up, prepare", "record.side-unusual", "joints.screws.ways[0].side"),
    ("clear_of: [display]", "clear_of: [back-cover]", "record.clear-of-cover", "parts.battery.lift"),
    ("clear_of: [speaker]", "clear_of: [display]", "record.clear-of-cover", "joints.screws.ways[0]"),
    ("19.35 Wh", "19.75 Wh", "record.energy-differs", "parts.battery.battery.marked_energy"),
    ("5000 mAh", "4.8 Ah", "record.energy-differs", "parts.battery.battery.marked_energy"),
    ("keeps: [hinge]}", "keeps: [hinge], lift: {survey: partial}}", "record.swing-survey", "swings.open.lift"),
    ('  - {at: "0:00:55", do: lift, bundle: stack}\n', "", "record.survey-not-reached", "bundles.stack"),
    ('  - {at: "0:00:50", do: lift, part: battery}\n', "", "record.survey-not-reached", "parts.battery"),
]


@pytest.mark.parametrize(("old", "new", "code", "at"), WARNED, ids=[f"{w[2]}-{w[3]}" for w in WARNED])
def test_one_slip_gives_its_warning(old: str, new: str, code: str, at: str) -> None:
    found = warnings((old, new))
    assert (code, at) in found
    # where the model itself becomes impossible, the log contradicts it as well
    assert {other for other, _ in found} - {code} <= {"record.log-cover-in-place", "record.log-behind"}


def test_small_rounding_of_the_energy_is_no_contradiction() -> None:
    assert warnings(("19.35 Wh", "19.7 Wh")) == []
    assert warnings((", marked_energy: 19.35 Wh", "")) == []


def test_both_figures_of_the_energy_are_said() -> None:
    reading = read_record(GOOD.replace("19.35 Wh", "21 Wh").encode(), "x.yaml")
    assert reading.record is not None
    (finding,) = check_record(reading.record)
    assert finding.message == "marked 21 Wh, but 3.87 V × 5000 mAh is 19.35 Wh"


def test_a_cover_that_can_be_swung_aside_may_cover_its_own_joint() -> None:
    assert warnings(("ways: [{}]", "ways: [{under: [back-cover]}]")) == []
    covered = ("keeps: [hinge]}", "keeps: [hinge], still_covers: [hinge]}")
    found = warnings(("ways: [{}]", "ways: [{under: [back-cover]}]"), covered)
    assert ("record.covers-itself", "joints.hinge.ways[0].under[0]") in found


def test_an_any_of_cover_with_one_outside_is_possible() -> None:
    assert warnings(("under: [display]", "under: [[frame, display]]")) == []


def test_a_clash_made_by_what_was_found_stands_at_the_entry() -> None:
    assert warnings((GOOD[-20:], GOOD[-20:] + "  - {do: found, joint: screws, under: [speaker]}\n")) == [
        ("record.clear-of-cover", "log[8]"),
        ("record.log-cover-in-place", "log[2].joint"),
    ] or warnings((GOOD[-20:], GOOD[-20:] + "  - {do: found, joint: screws, under: [speaker]}\n")) == [
        ("record.log-cover-in-place", "log[2].joint"),
        ("record.clear-of-cover", "log[8]"),
    ]


def test_partial_surveys_without_a_log_give_one_warning() -> None:
    text = GOOD[: GOOD.index("log:")]
    reading = read_record(text.encode(), "x.yaml")
    assert reading.record is not None
    (finding,) = check_record(reading.record)
    assert (finding.code, finding.at) == ("record.survey-not-reached", "log")
    assert finding.message.startswith("the log undoes nothing, so 3 partial")


def test_the_default_survey_counts() -> None:
    found = warnings(("tools:\n  hex-3", "setup: {survey: partial}\ntools:\n  hex-3"))
    assert ("record.survey-not-reached", "parts.speaker") in found
    assert ("record.survey-not-reached", "parts.frame") not in found
    assert ("record.survey-not-reached", "joints.screws") not in found


def test_warnings_work_without_a_file() -> None:
    record = read_record(GOOD.replace("driver 3, class: basic}", "driver 3}").encode(), "x.yaml").record
    assert record is not None
    (finding,) = check_record(record)
    assert finding.line is None
