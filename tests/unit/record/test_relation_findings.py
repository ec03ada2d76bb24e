"""Rules between the entries of a record, each broken in one way."""

from __future__ import annotations

import pytest

from unfasten.record.read import read_record

GOOD = """\
format: unfasten-record/1
product: {id: tarn-11, name: Tarn 11, maker: Fellwright, category: slate-tablet, predecessor: tarn-9}
parts:
  frame: {name: Midframe, stays: true}
  cover: {name: Back cover}
  plate: {name: Plate, lift: {behind: [cover]}}
joints:
  clips: {kind: clip, holds: [cover, frame], ways: [{under: [plate]}]}
  screw: {kind: screw, holds: [plate, frame], ways: [{}, {}]}
bundles:
  pair: {parts: [cover, plate]}
swings:
  open: {part: cover, keeps: [clips]}
log:
  - {do: release, joint: screw, way: 1}
  - {do: lift, part: cover}
  - {do: found, joint: screw, way: 0, under: [cover]}
  - {do: found, part: plate, behind: [cover]}
"""

BROKEN = [
    (", stays: true", "", "record.no-frame", "parts"),
    (", stays: true", ", stays: false", "record.no-frame", "parts"),
    ("{name: Plate,", "{name: Plate, stays: true,", "record.several-frames", "parts.plate.stays"),
    ("parts: [cover, plate]", "parts: [cover, frame]", "record.frame-moves", "bundles.pair.parts[1]"),
    ("open: {part: cover,", "open: {part: frame,", "record.frame-moves", "swings.open.part"),
    ("lift, part: cover", "lift, part: frame", "record.frame-moves", "log[1].part"),
    ("keeps: [clips]", "keeps: [screw]", "record.keeps-other-joint", "swings.open.keeps[0]"),
    ("under: [plate]", "under: [[]]", "record.empty-choice", "joints.clips.ways[0].under[0]"),
    ("lift: {behind: [cover]}", "lift: {behind: [cover, []]}", "record.empty-choice", "parts.plate.lift.behind[1]"),
    ("lift, part: cover", "lift", "record.no-target", "log[1]"),
    ("lift, part: cover", "lift, part: cover, bundle: pair", "record.several-targets", "log[1]"),
    ("found, joint: screw, way: 0,", "found, joint: screw, part: cover,", "record.several-targets", "log[2]"),
    ("found, part: plate, behind: [cover]", "found, clear_of: [cover]", "record.no-target", "log[3]"),
    ("way: 0, under: [cover]", "way: 0, behind: [cover]", "record.wrong-cover-key", "log[2].behind"),
    ("plate, behind: [cover]}\n", "plate, under: [cover]}\n", "record.wrong-cover-key", "log[3].under"),
    ("found, part: plate", "found, way: 0, part: plate", "record.way-without-joint", "log[3].way"),
    ("way: 1", "way: 2", "record.way-out-of-range", "log[0].way"),
    ("way: 0", "way: 2", "record.way-out-of-range", "log[2].way"),
    ("predecessor: tarn-9", "predecessor: tarn-11", "record.own-predecessor", "product.predecessor"),
]


def test_the_good_record_is_good() -> None:
    assert read_record(GOOD.encode(), "x.yaml").findings == ()


@pytest.mark.parametrize(("old", "new", "code", "at"), BROKEN, ids=[f"{case[2]}-{case[3]}" for case in BROKEN])
def test_broken_rules(old: str, new: str, code: str, at: str) -> None:
    assert old in GOOD
    reading = read_record(GOOD.replace(old, new, 1).encode(), "x.yaml")
    assert reading.record is None
    assert (code, at) in [(f.code, f.at) for f in reading.findings]
    others = {f.code for f in reading.findings} - {code}
    # a moved frame no longer holds to the swing's joints, which is said as well
    assert others <= {"record.keeps-other-joint"}


def test_a_frame_that_may_be_meant_is_not_called_missing() -> None:
    reading = read_record(GOOD.replace("stays: true", "stays: yes").encode(), "x.yaml")
    assert [f.code for f in reading.findings] == ["record.wrong-type"]
